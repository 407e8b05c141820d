//! Memory as it is at power-on and after: noise until something is put there.

use std::sync::Arc;

use crate::image::{Image, MEMORY};
use crate::notation::Address;

/// 64 KiB of address space. Each cell knows whether RAM, ROM or nothing is there, and whether anything was ever put
/// into it.
#[derive(Clone)]
pub struct Memory {
    bytes: Box<[u8; MEMORY]>,
    cells: Box<[u16; MEMORY]>,
    /// What the payload's bytes are to become.
    expected: Arc<[u8; MEMORY]>,
    arrived: usize,
}

/// Marks of a cell.
pub(super) mod mark {
    /// RAM is there.
    pub const RAM: u16 = 1 << 0;
    /// ROM is there.
    pub const ROM: u16 = 1 << 1;
    /// The byte was loaded, deposited or written: it is no noise.
    pub const KNOWN: u16 = 1 << 2;
    /// The byte must not be written over.
    pub const NEEDED: u16 = 1 << 3;
    /// The byte is not the first of an instruction.
    pub const DATA: u16 = 1 << 4;
    /// A run stops before an instruction here.
    pub const STOP: u16 = 1 << 5;
    /// The byte belongs to a program that may run.
    pub const PROGRAM: u16 = 1 << 6;
    /// The byte belongs to the program that runs; the stack must not grow over it.
    pub const RUNNING: u16 = 1 << 7;
    /// The byte belongs to a program that is being loaded.
    pub const PAYLOAD: u16 = 1 << 8;
    /// It is there already.
    pub const ARRIVED: u16 = 1 << 9;
    /// The byte was pushed and not yet popped.
    pub const STACKED: u16 = 1 << 10;
}

/// What a bus reads that nothing drives.
pub const UNDRIVEN: u8 = 0o377;

impl Memory {
    /// Address space with nothing in it.
    pub(super) fn empty() -> Memory {
        Memory {
            bytes: Box::new([UNDRIVEN; MEMORY]),
            cells: Box::new([0; MEMORY]),
            expected: Arc::new([0; MEMORY]),
            arrived: 0,
        }
    }

    /// Puts RAM at an address, full of noise drawn from `noise`.
    pub(super) fn add_ram(&mut self, base: Address, size: usize, noise: &mut Noise) {
        for at in range(base, size) {
            self.bytes[at] = noise.byte();
            self.cells[at] = mark::RAM;
        }
    }

    /// Puts ROM at an address; it takes the place of RAM there.
    pub(super) fn add_rom(&mut self, base: Address, bytes: &[u8]) {
        for (at, &byte) in range(base, bytes.len()).zip(bytes) {
            self.bytes[at] = byte;
            self.cells[at] = mark::ROM | mark::KNOWN;
        }
    }

    /// The byte that the bus reads at an address.
    #[inline]
    pub fn byte(&self, address: Address) -> u8 {
        self.bytes[address.index()]
    }

    /// The `count` bytes from an address on, wrapping at the top.
    pub fn bytes(&self, base: Address, count: usize) -> Vec<u8> {
        (0..count).map(|at| self.byte(base.wrapping_add(at as u16))).collect()
    }

    /// Whether the byte was ever loaded, deposited or written, or lies in ROM.
    pub fn is_known(&self, address: Address) -> bool {
        self.marks(address) & mark::KNOWN != 0
    }

    /// Whether RAM is at an address.
    pub fn is_ram(&self, address: Address) -> bool {
        self.marks(address) & mark::RAM != 0
    }

    /// Whether ROM is at an address.
    pub fn is_rom(&self, address: Address) -> bool {
        self.marks(address) & mark::ROM != 0
    }

    #[inline]
    pub(super) fn marks(&self, address: Address) -> u16 {
        self.cells[address.index()]
    }

    pub(super) fn set_mark(&mut self, address: Address, mark: u16, on: bool) {
        let cell = &mut self.cells[address.index()];
        *cell = if on { *cell | mark } else { *cell & !mark };
    }

    /// Takes a mark off every cell.
    pub(super) fn clear_mark(&mut self, mark: u16) {
        self.cells.iter_mut().for_each(|cell| *cell &= !mark);
    }

    /// Watches for the bytes of a program that is to be loaded; those of an earlier one are no longer watched.
    pub(super) fn expect(&mut self, image: &Image) {
        self.clear_mark(mark::PAYLOAD | mark::ARRIVED);
        self.arrived = 0;
        let expected = Arc::make_mut(&mut self.expected);
        for extent in image.extents() {
            for (at, &byte) in range(extent.base, extent.bytes.len()).zip(extent.bytes) {
                self.cells[at] |= mark::PAYLOAD;
                expected[at] = byte;
            }
        }
    }

    /// Puts a byte into ROM, which keeps it from then on: another part lies in the socket.
    pub fn program(&mut self, address: Address, byte: u8) {
        if self.is_rom(address) {
            self.bytes[address.index()] = byte;
        }
    }

    /// All 64 KiB as the bus reads them.
    pub fn whole(&self) -> &[u8; MEMORY] {
        &self.bytes
    }

    /// Which addresses were ever loaded, deposited or written, or lie in ROM; 64 of them to a word.
    pub fn known(&self) -> Vec<u64> {
        let word =
            |cells: &[u16]| cells.iter().rev().fold(0, |word, cell| word << 1 | u64::from(cell & mark::KNOWN != 0));
        self.cells.chunks(64).map(word).collect()
    }

    /// How many bytes of the program that is being loaded are in their places, or were once.
    pub(super) fn arrived(&self) -> usize {
        self.arrived
    }

    /// Puts a byte into RAM; says whether it differs from what was there. ROM and empty places ignore it.
    #[inline]
    pub(super) fn store(&mut self, address: Address, byte: u8) -> bool {
        let at = address.index();
        if self.cells[at] & mark::RAM == 0 {
            return false;
        }
        self.cells[at] |= mark::KNOWN;
        if self.cells[at] & (mark::PAYLOAD | mark::ARRIVED) == mark::PAYLOAD && byte == self.expected[at] {
            self.cells[at] |= mark::ARRIVED;
            self.arrived += 1;
        }
        std::mem::replace(&mut self.bytes[at], byte) != byte
    }
}

fn range(base: Address, size: usize) -> std::ops::Range<usize> {
    base.index()..(base.index() + size).min(MEMORY)
}

impl std::fmt::Debug for Memory {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let known = self.cells.iter().filter(|&&cell| cell & mark::KNOWN != 0).count();
        f.debug_struct("Memory").field("known", &known).finish_non_exhaustive()
    }
}

/// What memory, registers and flags hold at power-on: a sequence that one seed fixes (the generator SplitMix64). Of an even
/// seed and the odd one after it each has the other's bits turned over, so that what hangs on a single bit shows in one of
/// the two.
#[derive(Clone, Debug)]
pub(super) struct Noise {
    state: u64,
    turned: u16,
}

impl Noise {
    pub(super) fn new(seed: u64) -> Noise {
        Noise { state: seed >> 1, turned: if seed & 1 == 0 { 0 } else { u16::MAX } }
    }

    pub(super) fn byte(&mut self) -> u8 {
        self.word().to_le_bytes()[0]
    }

    pub(super) fn word(&mut self) -> u16 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.state;
        mixed = (mixed ^ mixed >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ mixed >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        (mixed ^ mixed >> 31) as u16 ^ self.turned
    }
}
