//! The programmer's registers.

use crate::isa::{Flags, Pair, Register};

/// Registers, flags, stack pointer and program counter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Registers {
    /// By register code. Code 6 means memory, so its place holds the flags, always in the form of the low byte of PSW.
    bytes: [u8; 8],
    /// Stack pointer: the address of the byte last pushed.
    pub sp: u16,
    /// Program counter: the address of the next byte to fetch.
    pub pc: u16,
}

const FLAGS: usize = Register::M as usize;

/// Bits of the low byte of PSW that are no flags: bit 1 reads one, bits 3 and 5 read zero.
/// Source: Intel 8080 Microcomputer Systems User's Manual, September 1975, `PUSH PSW` (from memory).
const FIXED_ONES: u8 = 0x02;

impl Default for Registers {
    fn default() -> Registers {
        let mut bytes = [0; 8];
        bytes[FLAGS] = FIXED_ONES;
        Registers { bytes, sp: 0, pc: 0 }
    }
}

impl Registers {
    /// The value of a register. For `M`, which is a byte in memory and no register, the low byte of PSW.
    #[inline]
    pub fn get(&self, register: Register) -> u8 {
        self.bytes[register as usize]
    }

    /// Sets a register. `M`, which is no register, is left alone.
    #[inline]
    pub fn set(&mut self, register: Register, value: u8) {
        if register != Register::M {
            self.bytes[register as usize] = value;
        }
    }

    /// The value of a register pair; that of PSW has the accumulator in its high byte.
    #[inline]
    pub fn pair(&self, pair: Pair) -> u16 {
        match pair {
            Pair::Sp => self.sp,
            Pair::Psw => u16::from_be_bytes([self.get(Register::A), self.bytes[FLAGS]]),
            Pair::B | Pair::D | Pair::H => {
                let at = usize::from(pair.code()) * 2;
                u16::from_be_bytes([self.bytes[at], self.bytes[at + 1]])
            }
        }
    }

    /// Sets a register pair. Of PSW, bits 1, 3 and 5 keep their fixed values.
    #[inline]
    pub fn set_pair(&mut self, pair: Pair, value: u16) {
        let [high, low] = value.to_be_bytes();
        match pair {
            Pair::Sp => self.sp = value,
            Pair::Psw => {
                self.set(Register::A, high);
                self.set_flags(Flags(low));
            }
            Pair::B | Pair::D | Pair::H => {
                let at = usize::from(pair.code()) * 2;
                self.bytes[at] = high;
                self.bytes[at + 1] = low;
            }
        }
    }

    /// The flags that are set.
    #[inline]
    pub fn flags(&self) -> Flags {
        Flags(self.bytes[FLAGS] & Flags::ALL.0)
    }

    /// Sets all five flags; bits of `flags` that are no flags are ignored.
    #[inline]
    pub fn set_flags(&mut self, flags: Flags) {
        self.bytes[FLAGS] = flags.0 & Flags::ALL.0 | FIXED_ONES;
    }
}
