//! The arithmetic unit: results and flags, no bus.
//!
//! Source: Intel 8080 Microcomputer Systems User's Manual, September 1975, chapter 4; the auxiliary carry after AND
//! from the 8080/8085 Assembly Language Programming Manual (9800301), page 1-12.

use super::registers::Registers;
use crate::isa::{Flags, Pair, Register};

/// Sign, zero and parity of every byte.
static SIGN_ZERO_PARITY: [u8; 256] = {
    let mut table = [0; 256];
    let mut value = 0;
    while value < 256 {
        let byte = value as u8;
        let mut flags = byte & Flags::S.0;
        if byte == 0 {
            flags |= Flags::Z.0;
        }
        if byte.count_ones().is_multiple_of(2) {
            flags |= Flags::P.0;
        }
        table[value] = flags;
        value += 1;
    }
    table
};

/// The carry out of bit 3 stands in bit 4 of the carries, where the flag has its place.
const AUXILIARY: u8 = Flags::A.0;

impl Registers {
    #[inline]
    pub(super) fn carry(&self) -> u8 {
        self.flags().0 & Flags::C.0
    }

    #[inline]
    pub(super) fn set_carry(&mut self, carry: u8) {
        self.set_flags(Flags(self.flags().0 & Flags::SZAP.0 | carry & Flags::C.0));
    }

    /// Adds `byte` and `carry` (0 or 1) to the accumulator.
    #[inline]
    pub(super) fn add(&mut self, byte: u8, carry: u8) {
        let a = self.get(Register::A);
        let sum = u16::from(a) + u16::from(byte) + u16::from(carry);
        let [carry_out, result] = sum.to_be_bytes();
        self.conclude(result, (a ^ byte ^ result) & AUXILIARY | carry_out);
    }

    /// Subtracts `byte` and `borrow` (0 or 1) from the accumulator: adds the complement, and complements the carry.
    #[inline]
    pub(super) fn subtract(&mut self, byte: u8, borrow: u8) {
        self.add(!byte, 1 - borrow);
        self.set_carry(self.carry() ^ 1);
    }

    /// Sets the flags as a subtraction would.
    #[inline]
    pub(super) fn compare(&mut self, byte: u8) {
        let a = self.get(Register::A);
        self.subtract(byte, 0);
        self.set(Register::A, a);
    }

    #[inline]
    pub(super) fn and(&mut self, byte: u8) {
        let a = self.get(Register::A);
        self.conclude(a & byte, (a | byte) << 1 & AUXILIARY);
    }

    #[inline]
    pub(super) fn exclusive_or(&mut self, byte: u8) {
        self.conclude(self.get(Register::A) ^ byte, 0);
    }

    #[inline]
    pub(super) fn or(&mut self, byte: u8) {
        self.conclude(self.get(Register::A) | byte, 0);
    }

    /// `byte` plus one, with all flags but the carry.
    #[inline]
    pub(super) fn increment(&mut self, byte: u8) -> u8 {
        let result = byte.wrapping_add(1);
        self.set_flags(Flags(flags_of(result) | (byte ^ result) & AUXILIARY | self.carry()));
        result
    }

    /// `byte` minus one, with all flags but the carry. The auxiliary carry is that of adding 377 octal.
    #[inline]
    pub(super) fn decrement(&mut self, byte: u8) -> u8 {
        let result = byte.wrapping_sub(1);
        self.set_flags(Flags(flags_of(result) | !(byte ^ result) & AUXILIARY | self.carry()));
        result
    }

    /// Adds `word` to H and L; only the carry changes.
    #[inline]
    pub(super) fn add_to_hl(&mut self, word: u16) {
        let (sum, carry) = self.pair(Pair::H).overflowing_add(word);
        self.set_pair(Pair::H, sum);
        self.set_carry(carry.into());
    }

    /// Rotates the accumulator left; `into_low` enters bit 0.
    #[inline]
    pub(super) fn rotate_left(&mut self, into_low: u8) {
        let a = self.get(Register::A);
        self.set(Register::A, a << 1 | into_low);
        self.set_carry(a >> 7);
    }

    /// Rotates the accumulator right; `into_high` (0 or 1) enters bit 7.
    #[inline]
    pub(super) fn rotate_right(&mut self, into_high: u8) {
        let a = self.get(Register::A);
        self.set(Register::A, a >> 1 | into_high << 7);
        self.set_carry(a);
    }

    /// Makes two decimal digits of the sum of two such. The carry can be set by it, never cleared.
    pub(super) fn adjust_decimal(&mut self) {
        let a = self.get(Register::A);
        let carry = self.carry();
        let low = a & 0x0F > 9 || self.flags().contains(Flags::A);
        let high = a > 0x99 || carry != 0;
        self.add(if low { 0x06 } else { 0 } + if high { 0x60 } else { 0 }, 0);
        self.set_carry(high.into());
    }

    /// Puts `result` in the accumulator; `carries` holds the carry and the auxiliary carry.
    #[inline]
    fn conclude(&mut self, result: u8, carries: u8) {
        self.set(Register::A, result);
        self.set_flags(Flags(flags_of(result) | carries));
    }
}

#[inline]
fn flags_of(byte: u8) -> u8 {
    SIGN_ZERO_PARITY[usize::from(byte)]
}
