//! What came of reading a file, and the problems that every format shares.

use super::{Image, InsertError, MEMORY, Overlap};
use crate::notation::{Address, Notation, wide};
use crate::source::{Code, Diagnostic, Diagnostics, Position, SourceId, Span};

/// What came of reading a file.
#[derive(Debug, Default)]
pub struct Reading {
    /// What could be read; not to be trusted if `problems` holds an error.
    pub image: Image,
    /// Every malformed part of the file, and notes on what was passed over.
    pub problems: Diagnostics,
    /// What the file says of itself, as a name and a value: its header, how many records it has.
    pub facts: Vec<(&'static str, String)>,
}

/// Reading stops after so many problems: the file is something else.
pub(super) const MOST_PROBLEMS: usize = 1000;

/// Whether there are too many problems to go on; says so once.
pub(super) fn give_up(reading: &mut Reading, at: Span) -> bool {
    let over = reading.problems.len() >= MOST_PROBLEMS;
    if over {
        reading.problems.push(
            Diagnostic::error(Code::RecordText, format!("reading stopped after `{MOST_PROBLEMS}` problems"))
                .at(at, "what follows was not read")
                .with_help("look whether the file is of another format"),
        );
    }
    over
}

/// Puts the bytes of one record or section into an image, reporting what does not fit.
///
/// `base` may lie above the memory; `text` is the text in which `span` and every earlier position lie.
pub(super) fn put(reading: &mut Reading, base: u64, bytes: &[u8], span: Span, text: &str) {
    let past_top = || {
        let first = base.max(MEMORY as u64);
        Diagnostic::error(Code::ImagePastTop, format!("data at `{}` lies past the top of memory", wide(first)))
            .at(span, format!("these bytes belong at {} to {}", wide(base), wide(base + bytes.len() as u64 - 1)))
            .with_help("an 8080 has addresses 0000..=FFFF (hexadecimal) only")
    };
    if bytes.is_empty() {
        return;
    }
    let Ok(address) = u16::try_from(base) else { return reading.problems.push(past_top()) };
    match reading.image.insert(Address(address), bytes, span.position()) {
        Ok(()) => {}
        Err(InsertError::PastTop(_)) => reading.problems.push(past_top()),
        Err(InsertError::Overlap(overlap)) => reading.problems.push(overlapping(overlap, span, text)),
    }
}

fn overlapping(overlap: Overlap, span: Span, text: &str) -> Diagnostic {
    let address = Notation::Hexadecimal.address(overlap.address);
    Diagnostic::error(Code::ImageOverlap, format!("address `{address}` is given twice"))
        .at(span, "these bytes were left out")
        .and_at(line_at(overlap.first, text), format!("this gave the byte at {address} first"))
        .with_help("keep one of the two, even if the bytes are the same")
}

/// From a place to the end of its line.
fn line_at(place: Position, text: &str) -> Span {
    let rest = &text[place.offset as usize..];
    let length = rest.find(['\r', '\n']).unwrap_or(rest.len());
    Span { source: place.source, start: place.offset, end: place.offset + length as u32 }
}

/// A span of a text.
pub(super) const fn span(source: SourceId, start: usize, end: usize) -> Span {
    Span { source, start: start as u32, end: end as u32 }
}
