//! An ELF file as an image.

use object::elf;

use super::contents::{Contents, contents};
use super::note::Checks;
use crate::image::reading::{put, span};
use crate::image::{Image, MEMORY, Reading, Symbol};
use crate::notation::{Address, wide};
use crate::source::{Code, Diagnostic, Origin, SourceMap, Span};

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
    take_entry(&contents, title, &mut reading);
    take_symbols(&contents, title, &mut reading);
    judge(&contents, title, &mut reading);
    reading
}

fn take_entry(contents: &Contents<'_>, title: Span, reading: &mut Reading) {
    match u16::try_from(contents.entry) {
        Ok(0) => {}
        Ok(entry) => reading.image.entry = Some(Address(entry)),
        Err(_) => reading.problems.push(
            Diagnostic::error(
                Code::ImagePastTop,
                format!("entry `{}` is past the top of memory", wide(contents.entry.into())),
            )
            .at(title, "expected 0..=FFFF"),
        ),
    }
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
        let headline = format!("`{large}` symbols have values past {} and were left out", wide(MEMORY as u64 - 1));
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
