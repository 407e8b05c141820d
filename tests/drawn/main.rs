//! The numbers of demonstration: what stands in examples, pages and tests for want of a real machine.
//!
//! Nobody makes such numbers up, for what comes to mind has been somebody's machine. `numbers.txt` lists what is drawn,
//! and for which files. Every number is drawn here anew from the name of its place and its own, and what the files say
//! is searched for numbers that nobody drew.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its table fails")]

mod found;
mod table;

use std::collections::BTreeSet;

use found::{Kind, found, lines};
use table::{Drawn, Place, places};

/// A generator of one state word: G. L. Steele, D. Lea, C. H. Flood, "Fast Splittable Pseudorandom Number Generators",
/// OOPSLA 2014 (SplitMix64). Its constants are from memory of the paper.
pub struct Generator(u64);

impl Generator {
    /// Seeded by a text, byte by byte.
    pub fn of(text: &str) -> Generator {
        let mut generator = Generator(0);
        for byte in text.bytes() {
            generator.0 ^= u64::from(byte);
            generator.0 = generator.next();
        }
        generator
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut word = self.0;
        word = (word ^ word >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        word = (word ^ word >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        word ^ word >> 31
    }

    /// A number of a range.
    pub fn draw(&mut self, range: std::ops::RangeInclusive<u16>) -> u16 {
        let count = u64::from(range.end() - range.start()) + 1;
        range.start() + (self.next() % count) as u16
    }
}

#[test]
fn every_number_of_the_table_is_the_one_that_is_drawn() {
    let mut wrong = Vec::new();
    for place in places() {
        for (item, drawn) in place.items.iter().zip(place.draw()) {
            if item.value != drawn.to_string() {
                wrong.push(format!("{}, {}: {drawn} is drawn, not {}", place.name, item.name, item.value));
            }
        }
    }
    assert!(wrong.is_empty(), "tests/drawn/numbers.txt:\n{}", wrong.join("\n"));
}

/// What is drawn for the files of a path, as numbers of one kind.
fn allowed(places: &[Place], path: &str, kind: Kind) -> BTreeSet<u16> {
    let of = places.iter().filter(|place| place.holds(path));
    of.flat_map(Place::draw).flat_map(|drawn| drawn.numbers(kind)).collect()
}

#[test]
fn no_number_was_drawn_by_nobody() {
    let places = places();
    let mut stray = Vec::new();
    for line in lines() {
        for (kind, number) in found(&line) {
            if !kind.is_free(number) && !allowed(&places, &line.path, kind).contains(&number) {
                stray.push(format!("{}:{}: {kind:?} {number:#o}: {}", line.path, line.number, line.text.trim()));
            }
        }
    }
    assert!(stray.is_empty(), "numbers that nobody drew:\n{}", stray.join("\n"));
}

#[test]
fn every_number_that_is_drawn_is_used() {
    let lines = lines();
    let mut unused = Vec::new();
    for place in places() {
        let of_place: Vec<_> = lines.iter().filter(|line| place.holds(&line.path)).collect();
        for (item, drawn) in place.items.iter().zip(place.draw()) {
            let is_said = match &drawn {
                Drawn::Text(text) => of_place.iter().any(|line| line.text.contains(&format!("'{text}'"))),
                Drawn::Level(level) => {
                    of_place.iter().any(|line| line.text.contains(&format!("\"{level}\""))) || *level == "high"
                }
                Drawn::Page(page) => of_place.iter().any(|line| line.text.contains(&format!("{page:o}"))),
                _ => {
                    let said: BTreeSet<_> = of_place.iter().flat_map(|line| found(line)).collect();
                    Kind::ALL
                        .iter()
                        .all(|&kind| drawn.numbers(kind).iter().all(|&number| said.contains(&(kind, number))))
                }
            };
            if !is_said {
                unused.push(format!("{}, {}: {drawn}", place.name, item.name));
            }
        }
    }
    assert!(unused.is_empty(), "drawn, and nowhere said:\n{}", unused.join("\n"));
}
