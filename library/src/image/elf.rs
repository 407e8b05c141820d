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
mod note;
mod read;
mod write;

pub use read::read;
pub use write::write;
