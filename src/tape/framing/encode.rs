//! Programs to the bytes of a tape.

use std::ops::Range;

use super::chunks::{chunks, told_apart};
use super::coding::Digits;
use super::field::{Data, Field, Kind, Part, Pointer};
use super::layout::Layout;
use super::{Filler, Framing};
use crate::image::Image;
use crate::notation::{Address, Notation};
use crate::source::{Code, Diagnostic};
use crate::tape::lettering;

/// A program to be put on a tape.
#[derive(Clone, Copy, Debug)]
pub struct Program<'a> {
    /// What a label field says.
    pub name: &'a str,
    /// Its bytes, and its entry if the framing carries one.
    pub image: &'a Image,
    /// What is punched before the leader to be read by eye; may be empty.
    pub lettering: &'a str,
}

/// The bytes of a tape, and what each stretch of them is.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tape {
    /// One byte a frame; bit 0 in track 1.
    pub bytes: Vec<u8>,
    /// In the order of the tape, without gap or overlap.
    pub pieces: Vec<Piece>,
}

/// A stretch of a tape that was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Piece {
    /// Offsets on the tape.
    pub range: Range<usize>,
    /// Which of the programs.
    pub program: usize,
    /// What it is.
    pub kind: PieceKind,
}

/// What a stretch of a written tape is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PieceKind {
    /// Punched lettering.
    Lettering,
    /// Leader.
    Leader,
    /// A gap behind a block.
    Gap,
    /// Trailer.
    Trailer,
    /// A head, block or end.
    Block {
        /// Which of the three.
        part: Part,
        /// The lowest address of a block's bytes.
        base: Option<Address>,
        /// How many bytes of the program it carries.
        count: usize,
    },
}

impl Tape {
    /// Where the heads, blocks and ends stop, for a line that rests behind them.
    pub fn block_ends(&self) -> impl Iterator<Item = usize> + '_ {
        let blocks = self.pieces.iter().filter(|piece| matches!(piece.kind, PieceKind::Block { .. }));
        blocks.map(|piece| piece.range.end)
    }
}

/// The most frames of a tape: more than ten kilometres of paper. What asks for more is a slip in a framing.
pub const MOST_FRAMES: usize = 1 << 22;

/// Puts programs on a tape, one behind the other.
///
/// # Errors
/// A diagnostic if the framing cannot carry a program: no entry where it needs one, bytes where it has no room, a byte
/// that it must avoid, lettering that a decoder would take for a block, more frames than 4,194,304.
pub fn encode(framing: &Framing, programs: &[Program]) -> Result<Tape, Diagnostic> {
    told_apart(framing, programs)?;
    let mut writer = Writer { framing, tape: Tape::default(), program: 0 };
    for (index, program) in programs.iter().enumerate() {
        writer.program = index;
        writer.program(program)?;
    }
    Ok(writer.tape)
}

/// What one head, block or end says.
struct Content<'a> {
    program: &'a Program<'a>,
    base: Address,
    count: usize,
    number: u16,
}

struct Writer<'a> {
    framing: &'a Framing,
    tape: Tape,
    program: usize,
}

impl Writer<'_> {
    fn program(&mut self, program: &Program) -> Result<(), Diagnostic> {
        self.lettering(program.lettering)?;
        self.filler(&self.framing.leader, PieceKind::Leader)?;
        let blocks = chunks(self.framing, program)?;
        let first = blocks.first().map_or(self.framing.origin, |&(base, _)| base);
        if let Some(head) = &self.framing.head {
            let count = if head.variable().is_some() { program.name.len().min(head.most()) } else { head.fewest() };
            self.block(head, &Content { program, base: first, count, number: 0 })?;
        }
        let (modulus, start) = self.framing.block.sequence().map_or((1, 0), |(_, word, first)| (word.modulus(), first));
        let number = |index: usize| ((usize::from(start) + index) % modulus) as u16;
        for (index, &(base, count)) in blocks.iter().enumerate() {
            self.block(&self.framing.block, &Content { program, base, count, number: number(index) })?;
        }
        if let Some(end) = &self.framing.end {
            let content = Content { program, base: first, count: end.fewest(), number: number(blocks.len()) };
            self.block(end, &content)?;
        }
        self.filler(&self.framing.trailer, PieceKind::Trailer)
    }

    fn lettering(&mut self, text: &str) -> Result<(), Diagnostic> {
        if text.is_empty() {
            return Ok(());
        }
        let columns = lettering::columns(text)?;
        if super::decode(self.framing, &columns).blocks().next().is_some() {
            let headline = format!("the lettering `{text}` would be read as a block of `{}`", self.framing.name);
            return Err(Diagnostic::error(Code::LetteringUnfit, headline).with_help("letter the tape with other words"));
        }
        self.push(PieceKind::Lettering, |out| out.extend_from_slice(&columns));
        Ok(())
    }

    fn filler(&mut self, filler: &Filler, kind: PieceKind) -> Result<(), Diagnostic> {
        let frames = self.tape.bytes.len().saturating_add(filler.frames());
        if frames > MOST_FRAMES {
            let name = &self.framing.name;
            let headline = format!("as `{name}` the tape would be longer than {MOST_FRAMES} frames");
            return Err(Diagnostic::error(Code::TapeUnfit, headline)
                .with_note("that is more than ten kilometres of paper")
                .with_help("shorten its `leader`, `gap` or `trailer`, or put more data into a block"));
        }
        let characters = self.framing.coding.characters;
        if filler.frames() > 0 {
            let frames = filler.bytes.iter().map(|&byte| characters.punch(byte));
            let frames: Vec<_> = frames.collect();
            self.push(kind, |out| (0..filler.count).for_each(|_| out.extend_from_slice(&frames)));
        }
        Ok(())
    }

    fn push(&mut self, kind: PieceKind, write: impl FnOnce(&mut Vec<u8>)) {
        let start = self.tape.bytes.len();
        write(&mut self.tape.bytes);
        let range = start..self.tape.bytes.len();
        self.tape.pieces.push(Piece { range, program: self.program, kind });
    }

    fn block(&mut self, layout: &Layout, content: &Content) -> Result<(), Diagnostic> {
        let ranges = layout.ranges(content.count);
        let body = body(layout, content, &ranges)?;
        let characters = self.coded(layout, content, &body, &ranges)?;
        let coding = self.framing.coding.characters;
        let carries = layout.data().next().is_some();
        let (base, count) = if carries { (Some(content.base), content.count) } else { (None, 0) };
        self.push(PieceKind::Block { part: layout.part, base, count }, |out| {
            out.extend(characters.iter().map(|&character| coding.punch(character)));
        });
        self.filler(&self.framing.gap, PieceKind::Gap)
    }

    /// The characters of all fields, as they stand on the tape but for their parity.
    fn coded(
        &self,
        layout: &Layout,
        content: &Content,
        body: &[u8],
        ranges: &[Range<usize>],
    ) -> Result<Vec<u8>, Diagnostic> {
        let coding = &self.framing.coding;
        let mut characters = Vec::with_capacity(coding.most_frames(body.len()));
        for (field, range) in layout.fields.iter().zip(ranges) {
            let bytes = &body[range.clone()];
            if let Kind::Mark(_) = field.kind {
                characters.extend_from_slice(bytes);
                continue;
            }
            let start = characters.len();
            coding.write(bytes, &mut characters);
            if let Some(&avoided) = characters[start..].iter().find(|&&character| coding.avoid.contains(character)) {
                return Err(self.avoided(avoided, field, content));
            }
        }
        Ok(characters)
    }

    fn avoided(&self, character: u8, field: &Field, content: &Content) -> Diagnostic {
        let coding = &self.framing.coding;
        let (byte, at) = (Notation::Octal.byte(character), Notation::Octal.address(content.base));
        let digit = match coding.digits {
            Digits::Binary => String::new(),
            _ => format!(" (the digit {})", char::from(character)),
        };
        let headline = format!("`{byte}` in the {} of the block at {at} must not stand on this tape", field.name);
        let escapes = if coding.escape.is_some() { "does not escape it" } else { "escapes nothing" };
        Diagnostic::error(Code::TapeUnfit, headline)
            .with_note(format!("the framing `{}` avoids {byte}{digit} and {escapes}", self.framing.name))
            .with_help("take a framing that escapes it, or move or change the program")
    }
}

/// The bytes of all fields.
fn body(layout: &Layout, content: &Content, ranges: &[Range<usize>]) -> Result<Vec<u8>, Diagnostic> {
    let mut body = vec![0; ranges.last().map_or(0, |last| last.end)];
    for (field, range) in layout.fields.iter().zip(ranges) {
        let out = &mut body[range.clone()];
        match &field.kind {
            Kind::Mark(bytes) | Kind::Literal(bytes) => out.copy_from_slice(bytes),
            Kind::Length { word, counts, of } => word.write(layout.length_value(*counts, of, content.count), out),
            Kind::Last(word) => word.write(ends(layout, content).1, out),
            Kind::Address(Pointer::Whole(word)) => word.write(ends(layout, content).0, out),
            Kind::Address(_) => out[0] = (content.base.0 >> 8) as u8,
            Kind::Sequence { word, .. } => word.write(content.number, out),
            Kind::Data(data) => fill(data, content, out),
            Kind::Label(_) => out.copy_from_slice(&content.program.name.as_bytes()[..content.count]),
            Kind::Entry(pointer) => write_entry(*pointer, content, out)?,
            Kind::Check { .. } => {}
        }
    }
    for &index in &layout.checks {
        if let Kind::Check { kind, word, stored, over } = &layout.fields[index].kind {
            let value = Layout::check_value(*kind, *stored, over, &body, ranges);
            word.write(value, &mut body[ranges[index].clone()]);
        }
    }
    Ok(body)
}

/// The addresses of the first and the last byte as they stand on the tape.
fn ends(layout: &Layout, content: &Content) -> (u16, u16) {
    let (low, high) = (content.base.0, content.base.0.wrapping_add((content.count as u16).wrapping_sub(1)));
    if layout.from_the_top() { (high, low) } else { (low, high) }
}

fn fill(data: &Data, content: &Content, out: &mut [u8]) {
    let base = content.base.wrapping_add(data.at);
    let carried = content.count.min(data.most);
    for (distance, byte) in out.iter_mut().enumerate() {
        let present =
            if distance < carried { content.program.image.byte(base.wrapping_add(distance as u16)) } else { None };
        *byte = present.or(data.pad).unwrap_or(0);
    }
    if data.falling {
        out[..carried].reverse();
    }
}

fn write_entry(pointer: Pointer, content: &Content, out: &mut [u8]) -> Result<(), Diagnostic> {
    let Some(entry) = content.program.image.entry else {
        let headline = format!("`{}` has no entry address, and this tape must carry one", content.program.name);
        return Err(
            Diagnostic::error(Code::TapeUnfit, headline).with_help("say where it starts with `--entry ADDRESS`")
        );
    };
    match pointer {
        Pointer::Whole(word) => word.write(entry.0, out),
        Pointer::Page => out[0] = (entry.0 >> 8) as u8,
        Pointer::Low => {
            if entry.0 >> 8 != content.base.0 >> 8 {
                let [entry, base] = [entry, content.base].map(|address| Notation::Octal.address(address).to_string());
                let headline = format!("the entry `{entry}` is in another page than the block at {base}");
                return Err(Diagnostic::error(Code::TapeUnfit, headline)
                    .with_note("this tape carries only the low byte of the entry"));
            }
            out[0] = entry.0 as u8;
        }
    }
    Ok(())
}
