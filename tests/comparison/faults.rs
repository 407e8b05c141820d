//! Programs, and what goes wrong with them, drawn by a generator.

use std::fs;
use std::path::Path;

use coldwright::comparison::{Change, Reason};
use coldwright::image::Image;
use coldwright::notation::Address;
use coldwright::source::{Origin, Position, SourceMap};

use crate::corpus;

/// Steele, Lea, Flood, OOPSLA 2014 (SplitMix64).
pub struct Draw(pub u64);

impl Draw {
    pub fn below(&mut self, end: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut word = self.0;
        word = (word ^ word >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        word = (word ^ word >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        (word ^ word >> 31) % end
    }

    fn bit(&mut self) -> bool {
        self.below(2) == 1
    }

    fn byte(&mut self, end: u8) -> u8 {
        self.below(end.into()) as u8
    }
}

/// A program in a part: its bytes from a base on, and its source if it can be assembled anew.
pub struct Part {
    pub name: String,
    pub base: u16,
    pub bytes: Vec<u8>,
    pub text: Option<String>,
}

/// Parts with programs of the library, the examples and the tests, filled up to a power of two with what is erased.
pub fn parts() -> Vec<Part> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let all = corpus::all().into_iter().filter(|known| known.image.len() >= 110);
    all.filter_map(|known| {
        let text = fs::read_to_string(root.join(&known.name)).ok().filter(|text| text.contains("        ORG     "));
        let text = text.filter(|_| known.name.starts_with("tests/") && known.image.extents().count() == 1);
        let (base, bytes) = filled(&known.image)?;
        Some(Part { name: known.name, base, bytes, text })
    })
    .collect()
}

fn filled(image: &Image) -> Option<(u16, Vec<u8>)> {
    let extents: Vec<_> = image.extents().collect();
    let (first, last) = (extents.first()?.base.index(), extents.last()?.last().index());
    let mut size = 256;
    while first / size != last / size {
        size *= 2;
    }
    let base = first / size * size;
    let byte = |at: usize| image.byte(Address((base + at) as u16)).unwrap_or(0xFF);
    (size <= 4096).then(|| (base as u16, (0..size).map(byte).collect()))
}

/// Bytes as an image.
pub fn image(base: u16, bytes: &[u8]) -> Image {
    let mut sources = SourceMap::default();
    let made_by = Position { source: sources.add("test", "", Origin::Given), offset: 0 };
    let mut image = Image::default();
    image.insert(Address(base), bytes, made_by).unwrap();
    image
}

/// A fault, and the bytes after it.
pub struct Faulty {
    pub reason: Reason,
    pub bytes: Vec<u8>,
}

/// Does something to the bytes of a part: one of the kinds, drawn. `text` is the source, if they are those it makes.
pub fn fault(draw: &mut Draw, base: u16, bytes: &[u8], text: Option<&str>) -> Faulty {
    let lines = bytes.len().trailing_zeros() as u8;
    let kinds = if text.is_some() { 15 } else { 12 };
    let change = match draw.below(kinds) {
        0 | 1 => Change::DataStuck(draw.byte(8), draw.bit()),
        2 => crossed(draw, 8, Change::DataCrossed),
        3 if draw.bit() => Change::DataInverted(draw.byte(8)),
        3 => Change::AllInverted,
        4 => Change::AddressStuck(draw.byte(lines), draw.bit()),
        5 => crossed(draw, lines, Change::AddressCrossed),
        6 => return went(draw, bytes),
        7 => return went(draw, bytes),
        8 => {
            let by = 1 + draw.below(bytes.len() as u64 / 8) as i32;
            Change::Shifted(if draw.bit() { by } else { -by })
        }
        9 => Change::Nibbles,
        10 => Change::BlocksChanged(if draw.bit() { lines - 1 } else { 0 }),
        11 => {
            let size = lines - 2;
            let (one, other) = if draw.bit() { (0, 2) } else { (1, 3) };
            let block = |number: u16| base + (number << size);
            Change::Exchanged(size, block(one), block(other))
        }
        12 => return moved(draw, base, bytes.len(), text.unwrap()),
        _ => return version(draw, base, bytes.len(), text.unwrap()),
    };
    Faulty { reason: Reason::Change(change), bytes: changed(change, base, bytes) }
}

fn crossed(draw: &mut Draw, of: u8, make: fn(u8, u8) -> Change) -> Change {
    let one = draw.byte(of - 1);
    let other = one + 1 + draw.byte(of - 1 - one);
    make(one, other)
}

/// What a reader sees of a part after a change; a place that is not the part's reads as an empty bus.
pub fn changed(change: Change, base: u16, bytes: &[u8]) -> Vec<u8> {
    let read = |at: usize| {
        let lies = change.address(usize::from(base) + at).and_then(|at| at.checked_sub(base.into()));
        lies.and_then(|at| bytes.get(at)).map_or(0xFF, |byte| change.byte(*byte))
    };
    (0..bytes.len()).map(read).collect()
}

/// Bits that went one way, a few or many.
fn went(draw: &mut Draw, bytes: &[u8]) -> Faulty {
    let (up, many) = (draw.bit(), [200, 40, 12, 5][draw.below(4) as usize]);
    let mut after = bytes.to_vec();
    for byte in &mut after {
        for bit in 0..8 {
            if draw.below(many) == 0 {
                *byte = if up { *byte | 1 << bit } else { *byte & !(1 << bit) };
            }
        }
    }
    Faulty { reason: Reason::OneWay(up), bytes: after }
}

fn assembled(text: &str, base: u16, size: usize) -> Vec<u8> {
    let known = corpus::assemble("test.asm", text.to_owned(), Path::new("."));
    (0..size).map(|at| known.image.byte(Address(base.wrapping_add(at as u16))).unwrap_or(0xFF)).collect()
}

/// The same source for another place, read where the first one lies.
fn moved(draw: &mut Draw, base: u16, size: usize, text: &str) -> Faulty {
    let by = (1 + draw.below(15) as u16) << [4, 8, 10][draw.below(3) as usize];
    let origin = text.lines().find(|line| line.trim_start().starts_with("ORG")).unwrap();
    let other = text.replacen(origin, &format!("{origin}+{by}"), 1);
    Faulty { reason: Reason::Moved(by), bytes: assembled(&other, base.wrapping_add(by), size) }
}

/// Instructions put in or taken out somewhere.
fn version(draw: &mut Draw, base: u16, size: usize, text: &str) -> Faulty {
    let lines: Vec<&str> = text.lines().collect();
    let plain: Vec<usize> = (0..lines.len())
        .filter(|at| lines[*at].starts_with("        CALL") || lines[*at].starts_with("        INX"))
        .collect();
    let at = plain[draw.below(plain.len() as u64) as usize];
    let mut after = lines.clone();
    match draw.below(3) {
        0 => drop(after.remove(at)),
        1 => after.insert(at, "        INX     D"),
        _ => after.insert(at, "        PUSH    B\n        LXI     B,1234\n        POP     B"),
    }
    Faulty { reason: Reason::Version(Vec::new()), bytes: assembled(&after.join("\n"), base, size) }
}
