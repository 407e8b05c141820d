//! Lights: how one looks, and a bank of them as text.

use super::levers::opens_group;
use crate::notation::Notation;

/// How one light looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lamp {
    /// On.
    Lit,
    /// Off.
    Dark,
    /// On or off: it depends on what nobody can know.
    Open,
    /// Neither on nor off: it changes faster than the eye.
    Flickers,
    /// It goes on and off while the processor waits: its brightness in five steps, 1 to 5.
    Live(u8),
}

impl Lamp {
    /// Its sign in plain text.
    pub const fn sign(self) -> char {
        match self {
            Lamp::Lit => '*',
            Lamp::Dark => '.',
            Lamp::Open => '?',
            Lamp::Flickers => '+',
            Lamp::Live(step) => (b'0' + step % 10) as char,
        }
    }
}

/// The lowest `count` bits of a value as lamps, the highest first.
pub fn lamps(value: u16, count: u32) -> Vec<Lamp> {
    lamps_with_open(value, 0, count)
}

/// The same, where the bits that are ones in `open` may be either.
pub fn lamps_with_open(value: u16, open: u16, count: u32) -> Vec<Lamp> {
    let look = |bit| match (open >> bit & 1, value >> bit & 1) {
        (1, _) => Lamp::Open,
        (_, 1) => Lamp::Lit,
        _ => Lamp::Dark,
    };
    (0..count).rev().map(look).collect()
}

/// A bank of `count` lamps as text, a blank between groups; a lamp that is not there is a dash.
pub fn text(lamps: &[Lamp], count: u8, notation: Notation) -> String {
    let mut out = String::new();
    for number in (0..count).rev() {
        if !out.is_empty() && opens_group(number, notation) {
            out.push(' ');
        }
        out.push(lamps.get(usize::from(count - 1 - number)).map_or('-', |lamp| lamp.sign()));
    }
    out
}
