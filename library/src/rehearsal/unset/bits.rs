//! Which bits nobody set, and what was done with them.

use std::collections::{BTreeMap, BTreeSet};

use crate::image::MEMORY;
use crate::isa::{Flags, Pair, Register};
use crate::notation::Address;
use crate::rehearsal::board::Board;

/// Something that a program does with bits that nobody set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::rehearsal) enum Misuse {
    /// Which way it goes hangs on them.
    Branches,
    /// It goes to an address that has such bits, or runs an instruction that has.
    Goes,
    /// It stores at an address that has such bits.
    Stores,
    /// It gives a byte that has such bits to a line, a chip or a controller.
    Gives,
}

/// Bits of a byte that nobody set.
pub(super) type Bits = u8;

/// The bits that nobody set, and what was done with them.
#[derive(Clone)]
pub(in crate::rehearsal) struct Unset {
    /// By register code; the place of `M` has the flags, as in PSW.
    pub(super) registers: [Bits; 8],
    pub(super) sp: u16,
    /// Of bytes that were stored.
    pub(super) memory: Box<[Bits; MEMORY]>,
    pub(super) misused: BTreeSet<(Misuse, Address)>,
    /// Outputs by their number, with the bits of each that nobody set.
    pub(super) put: BTreeMap<usize, Bits>,
    /// The serial chips that were given such bytes to send.
    pub(super) gave: BTreeSet<usize>,
    /// What the last instruction had on the address and on the data lights, but for its own bytes.
    pub(super) shown: (u16, Bits),
}

impl std::fmt::Debug for Unset {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Unset")
            .field("registers", &self.registers)
            .field("misused", &self.misused)
            .finish_non_exhaustive()
    }
}

pub(super) const FLAGS: usize = Register::M as usize;
pub(super) const A: usize = Register::A as usize;

impl Unset {
    /// At power-on nothing is set.
    pub(in crate::rehearsal) fn new() -> Unset {
        Unset {
            registers: [0o377; 8],
            sp: u16::MAX,
            memory: Box::new([0; MEMORY]),
            misused: BTreeSet::new(),
            put: BTreeMap::new(),
            gave: BTreeSet::new(),
            shown: (0, 0),
        }
    }

    /// Takes what was found so far: what was done, and by which instruction.
    pub(in crate::rehearsal) fn take_misused(&mut self) -> Vec<(Misuse, Address)> {
        std::mem::take(&mut self.misused).into_iter().collect()
    }

    /// The bits of an output that nobody set, by its number.
    pub(in crate::rehearsal) fn put(&self, output: usize) -> Bits {
        self.put.get(&output).copied().unwrap_or(0)
    }

    /// Whether a serial chip was given bytes to send that have bits which nobody set.
    pub(in crate::rehearsal) fn gave(&self, serial: usize) -> bool {
        self.gave.contains(&serial)
    }

    /// The bits on the address and on the data lights, during the last instruction, that nobody set.
    pub(in crate::rehearsal) fn shown(&self) -> (u16, Bits) {
        self.shown
    }

    pub(super) fn pair(&self, pair: Pair) -> u16 {
        match pair {
            Pair::Sp => self.sp,
            Pair::Psw => u16::from_be_bytes([self.registers[A], self.registers[FLAGS]]),
            _ => {
                let at = usize::from(pair.code()) * 2;
                u16::from_be_bytes([self.registers[at], self.registers[at + 1]])
            }
        }
    }

    pub(super) fn set_pair(&mut self, pair: Pair, bits: u16) {
        let [high, low] = bits.to_be_bytes();
        match pair {
            Pair::Sp => self.sp = bits,
            Pair::Psw => (self.registers[A], self.registers[FLAGS]) = (high, low & Flags::ALL.0),
            _ => {
                let at = usize::from(pair.code()) * 2;
                (self.registers[at], self.registers[at + 1]) = (high, low);
            }
        }
    }

    /// The bits of a byte in memory that nobody set.
    pub(in crate::rehearsal) fn byte(&self, board: &Board, address: Address) -> Bits {
        match board.memory.is_ram(address) && !board.memory.is_known(address) {
            true => 0o377,
            false => self.memory[address.index()],
        }
    }

    pub(super) fn shows(&mut self, address: u16, data: Bits) {
        self.shown = (self.shown.0 | address, self.shown.1 | data);
    }

    pub(super) fn misuse(&mut self, what: Misuse, pc: u16) {
        self.misused.insert((what, Address(pc)));
    }

    pub(super) fn flag(&self, flag: Flags) -> bool {
        self.registers[FLAGS] & flag.0 != 0
    }

    pub(super) fn set_flag(&mut self, flag: Flags, unset: bool) {
        let flags = &mut self.registers[FLAGS];
        *flags = if unset { *flags | flag.0 } else { *flags & !flag.0 };
    }
}
