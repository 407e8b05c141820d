//! The note that holds an ELF file of ours against damage.

use crc::{CRC_32_ISO_HDLC, Crc};

use crate::image::{Image, Symbol, SymbolKind};
use crate::notation::Address;

/// The owner of the note.
pub(super) const OWNER: &[u8] = b"coldwright";

/// The type of the note.
pub(super) const CHECKS: u32 = 1;

const CRC: Crc<u32, crc::Table<16>> = Crc::<u32, crc::Table<16>>::new(&CRC_32_ISO_HDLC);

/// What the note holds against damage.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Checks {
    pub(super) memory: u32,
    pub(super) symbols: u32,
}

impl Checks {
    pub(super) fn of(image: &Image) -> Self {
        let mut memory = CRC.digest();
        for extent in image.extents() {
            memory.update(&extent.base.0.to_le_bytes());
            memory.update(&(extent.bytes.len() as u32).to_le_bytes());
            memory.update(extent.bytes);
        }
        memory.update(&entry_field(image.entry).to_le_bytes());
        let symbols = image.symbols.iter().map(symbol_check).fold(0, u32::wrapping_add);
        Checks { memory: memory.finalize(), symbols }
    }
}

fn symbol_check(symbol: &Symbol) -> u32 {
    let mut digest = CRC.digest();
    digest.update(symbol.name.as_bytes());
    digest.update(&[0, u8::from(symbol.kind == SymbolKind::Constant)]);
    digest.update(&symbol.value.to_le_bytes());
    digest.finalize()
}

/// The value of `e_entry`.
pub(super) fn entry_field(entry: Option<Address>) -> u32 {
    entry.map_or(0, |entry| u32::from(entry.0))
}
