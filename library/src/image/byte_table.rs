//! Byte tables as source text: arrays in C, or `DB` lines in 8080 assembly. They go into other people's sources, and
//! come back.
//!
//! | line | in C | in assembly |
//! | --- | --- | --- |
//! | title | `/* coldwright byte table, C */` | `; coldwright byte table, assembly` |
//! | entry, if there is one | `/* entry 0xFE00 sum 0xFE */` | `; entry 0FE00H sum 0FEH` |
//! | an extent begins | `const unsigned char extent_FE00[512] = {` | `        ORG     0FE00H          ; 512 bytes` |
//! | up to eight bytes | `    0x3E, 0x03, /* 0xFE00 sum 0x41 */` | `        DB      03EH,003H ; 0FE00H sum 041H` |
//! | an extent ends | `};` | |
//! | the last line | `/* end: 512 bytes, check 0x29B1 */` | `; end: 512 bytes, check 029B1H` |
//!
//! Each row names its address and the sum of its bytes modulo 256; the entry has the sum of its two bytes. The check of the last line is CRC-16/IBM-3740 over
//! every extent (base and length, high byte first, then its bytes) and the entry, if there is one (high byte first).
//! Reading takes exactly these lines, in either case and with any blanks, and holds every part of a line against the
//! others: a damaged character does not pass. Tables of other tools are refused, since they name no addresses.

mod language;
mod read;
mod row;

pub use language::Language;
pub use read::read;

use super::{Extent, Image};
use row::ROW;

/// The bytes and the entry of an image as a table. Symbols are left out.
pub fn write(image: &Image, language: Language) -> Vec<u8> {
    let mut out = Vec::with_capacity(image.len() * 9 + 256);
    push_line(&mut out, &language.title());
    if let Some(entry) = image.entry {
        push_line(&mut out, &language.entry(entry));
    }
    for Extent { base, bytes } in image.extents() {
        push_line(&mut out, &language.open(base, bytes.len()));
        for (row, bytes) in bytes.chunks(ROW).enumerate() {
            language.push_row(&mut out, base.wrapping_add((row * ROW) as u16), bytes);
            out.push(b'\n');
        }
        if language == Language::C {
            push_line(&mut out, "};");
        }
    }
    push_line(&mut out, &language.end(image));
    out
}

fn push_line(out: &mut Vec<u8>, line: &str) {
    out.extend_from_slice(line.as_bytes());
    out.push(b'\n');
}
