//! An ELF file as an image.

use object::elf;
use object::endian::Endianness;
use object::read::elf::{FileHeader, ProgramHeader, SectionHeader, SectionTable, Sym};

use super::{CHECKS, Checks, OWNER};
use crate::image::reading::{put, span};
use crate::image::{Image, MEMORY, Reading, Symbol, SymbolKind};
use crate::notation::Address;
use crate::source::{Code, Diagnostic, Origin, SourceMap, Span};

type Header = elf::FileHeader32<Endianness>;
type Sections<'a> = SectionTable<'a, Header>;

/// Reads an ELF32 file. The source that is added describes the file, a line for each section that is loaded; every byte
/// goes back to the line of its section.
pub fn read(bytes: &[u8], name: &str, sources: &mut SourceMap) -> Reading {
    let mut reading = Reading::default();
    let contents = match contents(bytes) {
        Ok(contents) => contents,
        Err(problem) => {
            let text = format!("ELF file of {} bytes\n", bytes.len());
            let source = sources.add(name, text.as_str(), Origin::Given);
            let (problem, label) = problem.diagnostic();
            reading.problems.push(problem.at(span(source, 0, text.len() - 1), label));
            return reading;
        }
    };
    let text: String = contents
        .title
        .lines()
        .chain(contents.chunks.iter().map(|chunk| &*chunk.line))
        .flat_map(|line| [line, "\n"])
        .collect();
    let source = sources.add(name, text.as_str(), Origin::Given);
    let title = span(source, 0, contents.title.len());
    let mut start = contents.title.len() + 1;
    for chunk in &contents.chunks {
        put(&mut reading, chunk.address, chunk.bytes, span(source, start, start + chunk.line.len()), &text);
        start += chunk.line.len() + 1;
    }
    match u16::try_from(contents.entry) {
        Ok(0) => {}
        Ok(entry) => reading.image.entry = Some(Address(entry)),
        Err(_) => reading.problems.push(
            Diagnostic::error(Code::ImagePastTop, format!("entry `{:X}` is past the top of memory", contents.entry))
                .at(title, "expected 0..=FFFF"),
        ),
    }
    take_symbols(&contents, title, &mut reading);
    judge(&contents, title, &mut reading);
    reading
}

/// What an ELF file holds for the memory.
struct Contents<'a> {
    title: String,
    machine: u16,
    entry: u32,
    chunks: Vec<Chunk<'a>>,
    symbols: Vec<(String, u32, SymbolKind)>,
    checks: Option<Checks>,
}

/// A section or segment to be loaded.
struct Chunk<'a> {
    /// What it is, in one line.
    line: String,
    address: u64,
    bytes: &'a [u8],
}

/// Why nothing could be read.
enum Refusal {
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
    fn diagnostic(self) -> (Diagnostic, &'static str) {
        match self {
            Refusal::Malformed(why) => {
                let problem = Diagnostic::error(Code::ElfMalformed, format!("malformed ELF file: {why}"));
                (problem.with_help("copy or build the file again"), "nothing of it was read")
            }
            Refusal::Unfit(what, mend) => (Diagnostic::error(Code::ElfUnfit, what).with_help(mend), "not loadable"),
        }
    }
}

fn contents(bytes: &[u8]) -> Result<Contents<'_>, Refusal> {
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

fn chunks<'a>(
    header: &Header,
    endian: Endianness,
    bytes: &'a [u8],
    sections: &Sections<'a>,
) -> Result<Vec<Chunk<'a>>, Refusal> {
    let segments: Vec<_> = header
        .program_headers(endian, bytes)?
        .iter()
        .filter(|segment| segment.p_type(endian) == elf::PT_LOAD && segment.p_filesz(endian) > 0)
        .collect();
    let mut chunks = Vec::new();
    if sections.is_empty() {
        for (index, segment) in segments.iter().enumerate() {
            let data = segment
                .data(endian, bytes)
                .map_err(|()| Refusal::Malformed("a segment lies outside the file".into()))?;
            let address = u64::from(segment.p_paddr(endian));
            chunks.push(Chunk { line: line("segment", index, "", address, data), address, bytes: data });
        }
        return Ok(chunks);
    }
    for (index, section) in sections.enumerate() {
        let loaded = section.sh_type(endian) == elf::SHT_PROGBITS && section.sh_flags(endian).contains(elf::SHF_ALLOC);
        let data = if loaded { section.data(endian, bytes)? } else { &[] };
        if data.is_empty() {
            continue;
        }
        let name = String::from_utf8_lossy(sections.section_name(endian, section)?);
        let (offset, mut address) = (section.sh_offset(endian), u64::from(section.sh_addr(endian)));
        let holds = |segment: &&&elf::ProgramHeader32<Endianness>| {
            let start = segment.p_offset(endian);
            start <= offset && offset - start < segment.p_filesz(endian)
        };
        if let Some(segment) = segments.iter().find(holds) {
            address = u64::from(segment.p_paddr(endian)) + u64::from(offset - segment.p_offset(endian));
        }
        chunks.push(Chunk { line: line("section", index.0, &name, address, data), address, bytes: data });
    }
    Ok(chunks)
}

fn line(what: &str, index: usize, name: &str, address: u64, data: &[u8]) -> String {
    let name: String = name.chars().filter(|char| !char.is_control()).take(40).collect();
    let name = if name.is_empty() { name } else { format!(" {name}") };
    format!("{what} {index}{name}: {} bytes at {address:04X}", data.len())
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

fn take_symbols(contents: &Contents<'_>, title: Span, reading: &mut Reading) {
    let mut large = 0;
    for (name, value, kind) in &contents.symbols {
        match u16::try_from(*value) {
            Ok(value) => reading.image.symbols.push(Symbol { name: name.clone(), value, kind: *kind }),
            Err(_) => large += 1,
        }
    }
    if large > 0 {
        let headline = format!("`{large}` symbols have values past {:X} and were left out", MEMORY - 1);
        reading.problems.push(Diagnostic::warning(Code::ElfUnfit, headline).at(title, "an 8080 has 16-bit addresses"));
    }
}

/// Holds what was read against the note, and says what machine the file is for.
fn judge(contents: &Contents<'_>, title: Span, reading: &mut Reading) {
    if contents.machine != elf::EM_NONE.0 {
        let headline = format!("the ELF file is for another machine, number `{}`", contents.machine);
        reading.problems.push(
            Diagnostic::warning(Code::ElfUnfit, headline)
                .at(title, "no number is registered for the 8080; expected 0, none")
                .with_note("its bytes were read all the same"),
        );
    }
    let found = Checks::of(&reading.image);
    let verdict = match contents.checks {
        None => "none in the file: damage would not be noticed",
        Some(checks) if checks == found => "right",
        Some(checks) => {
            reading.problems.push(changed(checks, found, title, &reading.image));
            "wrong"
        }
    };
    reading.facts.push(("check", verdict.into()));
}

fn changed(checks: Checks, found: Checks, title: Span, image: &Image) -> Diagnostic {
    let help =
        "if it was changed on purpose, drop the check: `objcopy -I elf32-little --remove-section .note.coldwright`";
    if checks.memory == found.memory {
        let headline = "symbols were changed since the file was written";
        let label = format!("{} symbols were read", image.symbols.len());
        return Diagnostic::warning(Code::ElfChanged, headline).at(title, label).with_help(help);
    }
    Diagnostic::error(Code::ElfChanged, "bytes, addresses or entry were changed since the file was written")
        .at(title, format!("check `{:08X}` is expected, `{:08X}` was found", checks.memory, found.memory))
        .with_help(help)
}
