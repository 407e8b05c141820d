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
    /// On or off: it comes from the world.
    Window,
    /// Neither on nor off: it changes faster than the eye.
    Flickers,
}

impl Lamp {
    /// Its sign in plain text.
    pub const fn sign(self) -> char {
        match self {
            Lamp::Lit => '*',
            Lamp::Dark => '.',
            Lamp::Window => '?',
            Lamp::Flickers => '+',
        }
    }
}

/// The lowest `count` bits of a value as lamps, the highest first.
pub fn lamps(value: u16, count: u32) -> Vec<Lamp> {
    (0..count).rev().map(|bit| if value >> bit & 1 == 1 { Lamp::Lit } else { Lamp::Dark }).collect()
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
