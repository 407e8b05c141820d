//! All that decides how a run goes on, bit by bit.

use std::collections::{BTreeMap, HashMap};

use super::bits::{Bit, Byte, Origin, Unknowns, Word, bits, halves, word};
use super::ground::{Ground, Grounds};
use crate::image::{Image, MEMORY};
use crate::isa::{Pair, Register};

/// The bytes of an image, which they are, and what they lie in.
pub struct Base {
    bytes: Box<[Option<u8>]>,
    grounds: Box<[Ground]>,
}

impl Base {
    pub fn new(image: &Image, grounds: &Grounds) -> Base {
        let mut bytes = vec![None; MEMORY];
        for extent in image.extents() {
            let cells = &mut bytes[extent.base.index()..];
            cells.iter_mut().zip(extent.bytes).for_each(|(cell, byte)| *cell = Some(*byte));
        }
        Base { bytes: bytes.into(), grounds: grounds.under(image) }
    }

    /// What lies at an address.
    pub fn ground(&self, address: u16) -> Ground {
        self.grounds[usize::from(address)]
    }
}

/// Registers, memory and inputs at one moment.
#[derive(Clone)]
pub struct State {
    /// By register code; in the place of `M`, which is none, the low byte of PSW.
    registers: [Byte; 8],
    pub sp: Word,
    pub pc: u16,
    /// Bytes of memory that are not as in the image: written, or read where the image has none.
    changed: BTreeMap<u16, Byte>,
    /// How many given values of a port were used up.
    pub used: BTreeMap<u8, usize>,
    /// At how many machine cycles a stepped panel has stopped.
    pub stops: u64,
}

const FLAGS: usize = Register::M as usize;

impl State {
    /// Registers that are zero, and the program counter at `pc`.
    pub fn zero(pc: u16) -> State {
        let mut registers = [bits(0); 8];
        registers[FLAGS][1] = Bit::ONE;
        State { registers, sp: bits(0), pc, changed: BTreeMap::new(), used: BTreeMap::new(), stops: 0 }
    }

    /// Registers as they happen to be after power-on.
    pub fn open(pc: u16, unknowns: &mut Unknowns) -> State {
        let mut state = State::zero(pc);
        for register in Register::ALL.into_iter().filter(|register| *register != Register::M) {
            state.registers[register as usize] = unknowns.open(Some(Origin::Register(register.name())), 0);
        }
        state.set_flags(unknowns.open(Some(Origin::Flags), 0));
        state.sp = unknowns.open(Some(Origin::Register("SP")), 0);
        state
    }

    /// A register; for `M` the low byte of PSW.
    pub fn get(&self, register: Register) -> Byte {
        self.registers[register as usize]
    }

    /// Sets a register other than `M`.
    pub fn set(&mut self, register: Register, byte: Byte) {
        self.registers[register as usize] = byte;
    }

    pub fn flags(&self) -> Byte {
        self.registers[FLAGS]
    }

    /// Sets the flags; the bits of PSW that are none keep their fixed values.
    pub fn set_flags(&mut self, flags: Byte) {
        let [carry, _, parity, _, auxiliary, _, zero, sign] = flags;
        self.registers[FLAGS] = [carry, Bit::ONE, parity, Bit::ZERO, auxiliary, Bit::ZERO, zero, sign];
    }

    pub fn set_carry(&mut self, carry: Bit) {
        self.registers[FLAGS][0] = carry;
    }

    pub fn pair(&self, pair: Pair) -> Word {
        match pair {
            Pair::Sp => self.sp,
            Pair::Psw => word(self.get(Register::A), self.flags()),
            Pair::B | Pair::D | Pair::H => {
                let at = usize::from(pair.code()) * 2;
                word(self.registers[at], self.registers[at + 1])
            }
        }
    }

    pub fn set_pair(&mut self, pair: Pair, word: Word) {
        let (high, low) = halves(word);
        match pair {
            Pair::Sp => self.sp = word,
            Pair::Psw => {
                self.set(Register::A, high);
                self.set_flags(low);
            }
            Pair::B | Pair::D | Pair::H => {
                let at = usize::from(pair.code()) * 2;
                (self.registers[at], self.registers[at + 1]) = (high, low);
            }
        }
    }

    /// The byte at an address; `None` where nobody put one and nobody looked.
    pub fn byte(&self, base: &Base, address: u16) -> Option<Byte> {
        let changed = self.changed.get(&address).copied();
        changed.or_else(|| base.bytes[usize::from(address)].map(|byte| bits(u16::from(byte))))
    }

    /// Whether somebody put a byte there.
    pub fn is_filled(&self, base: &Base, address: u16) -> bool {
        base.bytes[usize::from(address)].is_some() || self.changed.contains_key(&address)
    }

    pub fn store(&mut self, address: u16, byte: Byte) {
        self.changed.insert(address, byte);
    }

    /// Where memory is not as in the image.
    pub fn changed(&self) -> impl ExactSizeIterator<Item = u16> {
        self.changed.keys().copied()
    }

    /// Takes the variable of an open bit to be such that the bit is `value`, wherever it stands.
    pub fn settle(&mut self, bit: Bit, value: bool) {
        let Some((variable, complement)) = bit.variable() else { return };
        let settle = |bit: &mut Bit| {
            if let Some((other, flipped)) = bit.variable()
                && other == variable
            {
                *bit = Bit::from(value != complement).flipped(flipped);
            }
        };
        self.registers.iter_mut().flatten().for_each(settle);
        self.sp.iter_mut().for_each(settle);
        self.changed.values_mut().flatten().for_each(settle);
    }

    /// Whether whatever can follow from `other` can follow from this: known bits are equal, and open ones may be what the
    /// other's are, each of them the same wherever it stands.
    pub fn covers(&self, other: &State, base: &Base) -> bool {
        let mut stands_for: HashMap<u32, Bit> = HashMap::new();
        let mut covers = |mine: &[Bit], others: &[Bit]| {
            mine.iter().zip(others).all(|(&mine, &other)| match mine.variable() {
                None => mine == other,
                Some((variable, complement)) => {
                    let other = other.flipped(complement);
                    *stands_for.entry(variable).or_insert(other) == other
                }
            })
        };
        self.pc == other.pc
            && self.used == other.used
            && covers(&self.sp, &other.sp)
            && self.registers.iter().zip(&other.registers).all(|(mine, others)| covers(mine, others))
            && self.changed.keys().chain(other.changed.keys()).all(|&address| {
                match (self.byte(base, address), other.byte(base, address)) {
                    (Some(mine), Some(others)) => covers(&mine, &others),
                    (mine, _) => mine.is_none(),
                }
            })
    }
}
