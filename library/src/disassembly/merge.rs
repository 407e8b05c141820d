//! Several readings of one program put together, byte by byte; what they disagree on is marked.

use std::collections::BTreeMap;

use crate::image::Image;
use crate::notation::{Address, Notation};
use crate::source::Position;

/// A reading with its name.
pub struct Reading {
    /// What a person calls it.
    pub name: String,
    /// Its bytes.
    pub image: Image,
}

/// Readings put together.
pub struct Merged {
    /// The bytes: what most readings have; of as many, what the first of them has.
    pub image: Image,
    /// Where they disagree, what each has.
    pub disputed: BTreeMap<Address, String>,
    /// Bytes that not all readings have.
    pub lacking: usize,
}

/// Puts readings of one program together. There is one at least.
pub fn merge(mut readings: Vec<Reading>, made_by: Position, notation: Notation) -> Merged {
    if readings.len() == 1 {
        return Merged { image: readings.remove(0).image, disputed: BTreeMap::new(), lacking: 0 };
    }
    let (mut bytes, mut disputed, mut lacking) = (BTreeMap::<usize, u8>::new(), BTreeMap::new(), 0);
    for at in 0..=u16::MAX {
        let address = Address(at);
        let all: Vec<_> = readings.iter().filter_map(|it| Some((it.image.byte(address)?, it.name.as_str()))).collect();
        let Some(&(first, _)) = all.first() else { continue };
        lacking += usize::from(all.len() < readings.len());
        let votes = |byte: u8| all.iter().filter(|(other, _)| *other == byte).count();
        let best = all.iter().fold(first, |best, (byte, _)| if votes(*byte) > votes(best) { *byte } else { best });
        if votes(best) < all.len() {
            let told = all.iter().map(|(byte, name)| format!("{} in {name}", notation.byte(*byte)));
            let told = told.collect::<Vec<_>>().join(", ");
            disputed.insert(address, format!("the readings differ at {}: {told}", notation.address(address)));
        }
        bytes.insert(address.index(), best);
    }
    let mut image = Image::default();
    for (at, byte) in bytes {
        // Each address comes once.
        let _ = image.insert(Address(at as u16), &[byte], made_by);
    }
    image.entry = readings.iter().find_map(|reading| reading.image.entry);
    image.symbols = readings.swap_remove(0).image.symbols;
    Merged { image, disputed, lacking }
}
