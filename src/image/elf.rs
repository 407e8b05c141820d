//! ELF32, for general toolchains. Sources: System V Application Binary Interface, chapters 4 and 5 (object files), and
//! its rule that notes have an owner's name.
//!
//! | part | as written |
//! | --- | --- |
//! | header | 32 bits, least significant byte first, type EXEC, machine NONE: no number is registered for the 8080 |
//! | `e_entry` | the entry; zero stands for none |
//! | `.note.coldwright` | owner `coldwright`, type 1: CRC-32 of the extents and entry, then the sum of the CRC-32 of each symbol |
//! | `.at_FE00` | one section per extent, PROGBITS with ALLOC and EXECINSTR, `sh_addr` its base |
//! | `.symtab` | every symbol, GLOBAL: labels in the section of their extent, those outside of all extents as OBJECT in ABS, constants as NOTYPE in ABS |
//!
//! `objcopy` takes a file without a machine only if told its kind: `objcopy -I elf32-little`. `readelf`, `nm` and
//! `objdump -s` need no help.
//!
//! ELF has no check of its own; the note is ours, and is verified where it is found. Read are 32-bit files of type EXEC
//! and those of type REL without relocations: the PROGBITS sections with ALLOC at their load addresses, or the LOAD
//! segments of a file without sections.

mod contents;
mod read;
mod write;

pub use read::read;
pub use write::write;

use crc::{CRC_32_ISO_HDLC, Crc};

use super::{Image, Symbol, SymbolKind};
use crate::notation::Address;

/// The owner of the note.
const OWNER: &[u8] = b"coldwright";

/// The type of the note.
const CHECKS: u32 = 1;

const CRC: Crc<u32, crc::Table<16>> = Crc::<u32, crc::Table<16>>::new(&CRC_32_ISO_HDLC);

/// What the note holds against damage.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Checks {
    memory: u32,
    symbols: u32,
}

impl Checks {
    fn of(image: &Image) -> Self {
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
fn entry_field(entry: Option<Address>) -> u32 {
    entry.map_or(0, |entry| u32::from(entry.0))
}
