//! What an ELF file holds for the memory, before it becomes an image.

use object::elf;
use object::endian::Endianness;
use object::read::elf::{FileHeader, ProgramHeader, SectionHeader, SectionTable, Sym};

use super::note::{CHECKS, Checks, OWNER};
use crate::image::SymbolKind;
use crate::notation::counted;
use crate::source::{Code, Diagnostic};

type Header = elf::FileHeader32<Endianness>;
type Segment = elf::ProgramHeader32<Endianness>;
type Sections<'a> = SectionTable<'a, Header>;

/// More LOAD segments than any program of 64 KiB has.
const MOST_SEGMENTS: usize = 256;

/// What an ELF file holds for the memory.
pub(super) struct Contents<'a> {
    pub(super) title: String,
    pub(super) machine: u16,
    pub(super) entry: u32,
    pub(super) chunks: Vec<Chunk<'a>>,
    pub(super) symbols: Vec<(String, u32, SymbolKind)>,
    pub(super) checks: Option<Checks>,
}

/// A section or segment to be loaded.
pub(super) struct Chunk<'a> {
    /// What it is, in one line.
    pub(super) line: String,
    pub(super) address: u64,
    pub(super) bytes: &'a [u8],
}

/// Why nothing could be read.
pub(super) enum Refusal {
    /// The file breaks the format.
    Malformed(String),
    /// The file is not of a kind that can be loaded as it stands.
    Unfit(&'static str, &'static str),
}

impl From<object::read::Error> for Refusal {
    fn from(error: object::read::Error) -> Self {
        let mut why = error.to_string();
        if let Some(first) = why.get_mut(..1) {
            first.make_ascii_lowercase();
        }
        Refusal::Malformed(why)
    }
}

impl Refusal {
    /// The problem, and what to say at the spot.
    pub(super) fn diagnostic(self) -> (Diagnostic, &'static str) {
        match self {
            Refusal::Malformed(why) => {
                let problem = Diagnostic::error(Code::ElfMalformed, format!("malformed ELF file: {why}"));
                (problem.with_help("copy or build the file again"), "nothing of it was read")
            }
            Refusal::Unfit(what, mend) => (Diagnostic::error(Code::ElfUnfit, what).with_help(mend), "not loadable"),
        }
    }
}

pub(super) fn contents(bytes: &[u8]) -> Result<Contents<'_>, Refusal> {
    if let [0x7F, b'E', b'L', b'F', class, ..] = bytes
        && *class != elf::ELFCLASS32.0
    {
        return Err(Refusal::Unfit("the ELF file is not of 32 bits", "build it for a 32-bit target"));
    }
    let header = Header::parse(bytes)?;
    let endian = header.endian()?;
    let sections = header.sections(endian, bytes)?;
    let relocated = sections.iter().any(|section| matches!(section.sh_type(endian), elf::SHT_REL | elf::SHT_RELA));
    match header.e_type(endian) {
        elf::ET_EXEC => {}
        elf::ET_REL if !relocated => {}
        _ => return Err(Refusal::Unfit("the ELF file has no final addresses", "link it first, to type EXEC")),
    }
    check_table(header, endian, bytes, &sections)?;
    let chunks = chunks(header, endian, bytes, &sections)?;
    let checks = checks(endian, bytes, &sections)?;
    if chunks.is_empty() && checks.is_none() {
        return Err(Refusal::Unfit("the ELF file holds no bytes for memory", "look at it with `readelf -S`"));
    }
    Ok(Contents {
        title: format!("ELF file of {} bytes", bytes.len()),
        machine: header.e_machine(endian).0,
        entry: header.e_entry(endian),
        chunks,
        symbols: symbols(endian, bytes, &sections)?,
        checks,
    })
}

/// A table of sections that begins at the wrong place would be read as others: its first entry must be null, and the
/// one of section names a string table.
fn check_table(header: &Header, endian: Endianness, bytes: &[u8], sections: &Sections<'_>) -> Result<(), Refusal> {
    if sections.is_empty() {
        return Ok(());
    }
    let start = header.e_shoff(endian) as usize;
    let null = bytes.get(start..start + size_of::<elf::SectionHeader32<Endianness>>());
    let counted_there = header.e_shnum(endian) == 0;
    if !counted_there && null.is_none_or(|null| null.iter().any(|&byte| byte != 0)) {
        return Err(Refusal::Malformed("the first section header is not null".into()));
    }
    let names = sections.section(header.section_strings_index(endian, bytes)?)?;
    if names.sh_type(endian) != elf::SHT_STRTAB {
        return Err(Refusal::Malformed("the section of section names is not a string table".into()));
    }
    Ok(())
}

/// The sections of a file that are loaded, or its segments if it has no sections.
fn chunks<'a>(
    header: &Header,
    endian: Endianness,
    bytes: &'a [u8],
    sections: &Sections<'a>,
) -> Result<Vec<Chunk<'a>>, Refusal> {
    let headers = header.program_headers(endian, bytes)?.iter();
    let loaded = |segment: &&Segment| segment.p_type(endian) == elf::PT_LOAD && segment.p_filesz(endian) > 0;
    let segments: Vec<_> = headers.filter(loaded).collect();
    if segments.len() > MOST_SEGMENTS {
        return Err(Refusal::Malformed(format!("{} segments are too many to be true", segments.len())));
    }
    if !sections.is_empty() {
        return section_chunks(endian, bytes, sections, &segments);
    }
    let chunk = |(index, segment): (usize, &&Segment)| {
        let outside = |()| Refusal::Malformed("a segment lies outside the file".into());
        let (data, address) = (segment.data(endian, bytes).map_err(outside)?, segment.p_paddr(endian).into());
        Ok(Chunk { line: line("segment", index, "", address, data), address, bytes: data })
    };
    segments.iter().enumerate().map(chunk).collect()
}

/// The sections that occupy memory and have contents. A section within a segment goes where the segment is loaded.
fn section_chunks<'a>(
    endian: Endianness,
    bytes: &'a [u8],
    sections: &Sections<'a>,
    segments: &[&Segment],
) -> Result<Vec<Chunk<'a>>, Refusal> {
    let mut chunks = Vec::new();
    for (index, section) in sections.enumerate() {
        let loaded = section.sh_type(endian) == elf::SHT_PROGBITS && section.sh_flags(endian).contains(elf::SHF_ALLOC);
        let data = if loaded { section.data(endian, bytes)? } else { &[] };
        if data.is_empty() {
            continue;
        }
        let name = String::from_utf8_lossy(sections.section_name(endian, section)?);
        let offset = section.sh_offset(endian);
        let within = segments.iter().find_map(|segment| {
            let from_start = offset.checked_sub(segment.p_offset(endian))?;
            let inside = from_start < segment.p_filesz(endian);
            inside.then(|| u64::from(segment.p_paddr(endian)) + u64::from(from_start))
        });
        let address = within.unwrap_or(section.sh_addr(endian).into());
        chunks.push(Chunk { line: line("section", index.0, &name, address, data), address, bytes: data });
    }
    Ok(chunks)
}

fn line(what: &str, index: usize, name: &str, address: u64, data: &[u8]) -> String {
    let name: String = name.chars().filter(|char| !char.is_control()).take(40).collect();
    let name = if name.is_empty() { name } else { format!(" {name}") };
    format!("{what} {index}{name}: {} at {address:04X}", counted(data.len(), "byte"))
}

/// Names with values: what is defined and is neither a section nor a file.
fn symbols(
    endian: Endianness,
    bytes: &[u8],
    sections: &Sections<'_>,
) -> Result<Vec<(String, u32, SymbolKind)>, Refusal> {
    let table = sections.symbols(endian, bytes, elf::SHT_SYMTAB)?;
    let mut symbols = Vec::new();
    for symbol in table.iter() {
        let (kind, place) = (symbol.st_type(), symbol.st_shndx(endian));
        let name = String::from_utf8_lossy(symbol.name(endian, table.strings())?).into_owned();
        if matches!(kind, elf::STT_SECTION | elf::STT_FILE) || place == elf::SHN_UNDEF || name.is_empty() {
            continue;
        }
        let constant = place == elf::SHN_ABS && kind == elf::STT_NOTYPE;
        let kind = if constant { SymbolKind::Constant } else { SymbolKind::Label };
        symbols.push((name, symbol.st_value(endian), kind));
    }
    Ok(symbols)
}

/// The checks of our note, wherever it stands.
fn checks(endian: Endianness, bytes: &[u8], sections: &Sections<'_>) -> Result<Option<Checks>, Refusal> {
    for section in sections.iter() {
        let Some(mut notes) = section.notes(endian, bytes)? else { continue };
        while let Some(note) = notes.next()? {
            if note.name() == OWNER
                && note.n_type(endian).0 == CHECKS
                && let [a, b, c, d, e, f, g, h] = *note.desc()
            {
                let memory = u32::from_le_bytes([a, b, c, d]);
                return Ok(Some(Checks { memory, symbols: u32::from_le_bytes([e, f, g, h]) }));
            }
        }
    }
    Ok(None)
}
