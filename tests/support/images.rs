//! Images and formats for tests.

#![allow(dead_code, reason = "each test binary uses its own part")]

use coldwright::image::byte_table::Language;
use coldwright::image::raw::Gaps;
use coldwright::image::s_record::Width;
use coldwright::image::{Format, Image, Reading, Symbol, SymbolKind};
use coldwright::notation::Address;
use coldwright::source::{Origin, Position, SourceMap};
use proptest::prelude::*;

/// Every format, each width and language.
pub const FORMATS: [Format; 8] = [
    Format::Raw,
    Format::IntelHex,
    Format::SRecord(Width::S19),
    Format::SRecord(Width::S28),
    Format::SRecord(Width::S37),
    Format::Elf,
    Format::ByteTable(Language::C),
    Format::ByteTable(Language::Assembly),
];

/// An image of extents; what overlaps an earlier one is left out.
pub fn image(extents: &[(u16, Vec<u8>)], entry: Option<u16>) -> Image {
    let mut image = Image::default();
    image.entry = entry.map(Address);
    let mut sources = SourceMap::default();
    let made_by = Position { source: sources.add("test", "", Origin::Given), offset: 0 };
    for (base, bytes) in extents {
        let _ = image.insert(Address(*base), bytes, made_by);
    }
    image
}

/// An image of one extent with the entry at its base.
pub fn one_extent(base: u16, bytes: &[u8]) -> Image {
    image(&[(base, bytes.to_vec())], Some(base).filter(|&base| base > 0))
}

/// The images at the edges: empty, one byte at either end, both ends with a gap, all of memory.
pub fn edges() -> Vec<Image> {
    let all: Vec<u8> = (0..0x1_0000u32).map(|at| (at.wrapping_mul(0x9E37_79B1) >> 24) as u8).collect();
    vec![
        image(&[], None),
        image(&[(0, vec![0])], None),
        image(&[(0xFFFF, vec![0xFF])], Some(0xFFFF)),
        image(&[(0, vec![1, 2, 3]), (0xFFF0, vec![0; 16])], Some(0xFFF0)),
        image(&[(0, all)], Some(0x0100)),
    ]
}

/// Random images: up to six extents of up to 300 bytes, some at the ends of memory, perhaps an entry.
pub fn images() -> impl Strategy<Value = Image> {
    let base = prop_oneof![Just(0u16), 0u16..0x400, any::<u16>(), 0xFE00u16..=0xFFFF];
    let extent = (base, prop::collection::vec(any::<u8>(), 1..300)).prop_map(|(base, mut bytes)| {
        bytes.truncate(0x1_0000 - usize::from(base));
        (base, bytes)
    });
    let entry = prop::option::of(1u16..=0xFFFF);
    (prop::collection::vec(extent, 0..6), entry).prop_map(|(extents, entry)| image(&extents, entry))
}

/// Symbols of an image: labels within and outside of its extents, and constants.
pub fn symbols() -> impl Strategy<Value = Vec<Symbol>> {
    let kind = prop_oneof![Just(SymbolKind::Label), Just(SymbolKind::Constant)];
    let symbol =
        ("[A-Z?@][A-Z0-9]{0,7}", any::<u16>(), kind).prop_map(|(name, value, kind)| Symbol { name, value, kind });
    prop::collection::vec(symbol, 0..8).prop_map(|mut symbols| {
        symbols.sort_by(|a, b| a.name.cmp(&b.name));
        symbols.dedup_by(|a, b| a.name == b.name);
        symbols
    })
}

/// An image as a file; gaps of a raw binary are filled with zeros.
pub fn write(format: Format, image: &Image) -> Vec<u8> {
    format.write(image, Gaps::Fill(0)).unwrap()
}

/// A file as an image; a raw binary begins at zero.
pub fn read(format: Format, bytes: &[u8]) -> (Reading, SourceMap) {
    let origin = (format == Format::Raw).then_some(Address(0));
    let mut sources = SourceMap::default();
    let reading = format.read(bytes.to_vec(), "file", origin, &mut sources);
    (reading, sources)
}

/// A file that must be sound.
pub fn read_sound(format: Format, bytes: &[u8]) -> Image {
    let (reading, sources) = read(format, bytes);
    let problems: Vec<_> = reading.problems.sorted(&sources);
    assert!(problems.is_empty(), "{}: {problems:?}\n{}", format.title(), String::from_utf8_lossy(bytes));
    reading.image
}
