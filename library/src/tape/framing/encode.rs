//! Programs to the bytes of a tape.

use std::ops::Range;

use super::chunks::{chunks, told_apart};
use super::declared::{Filler, Framing};
use super::decode::decode;
use super::part::Part;
use super::program::Program;
use crate::notation::{Address, Notation};
use crate::record::{Digits, Field, Record, Spot, Unfit, Values};
use crate::source::{Code, Diagnostic};
use crate::tape::lettering;

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

/// Puts programs on a tape, one behind the other. Problems are told in `notation`.
///
/// # Errors
/// A diagnostic if the framing cannot carry a program: no entry where it needs one, bytes where it has no room, a byte
/// that it must avoid, lettering that a decoder would take for a block, more frames than 4,194,304.
pub fn encode(framing: &Framing, programs: &[Program], notation: Notation) -> Result<Tape, Diagnostic> {
    told_apart(framing, programs)?;
    let mut writer = Writer { framing, notation, tape: Tape::default(), program: 0 };
    for (index, program) in programs.iter().enumerate() {
        writer.program = index;
        writer.program(program)?;
    }
    Ok(writer.tape)
}

struct Writer<'a> {
    framing: &'a Framing,
    notation: Notation,
    tape: Tape,
    program: usize,
}

impl Writer<'_> {
    fn program(&mut self, program: &Program) -> Result<(), Diagnostic> {
        self.lettering(program.lettering)?;
        self.filler(&self.framing.leader, PieceKind::Leader)?;
        let blocks = chunks(self.framing, program, self.notation)?;
        let first = blocks.first().map_or(self.framing.origin, |&(base, _)| base);
        let byte = |address| program.image.byte(address);
        let values = |base, count, number| Values {
            base,
            count,
            number,
            label: program.name,
            entry: program.image.entry,
            here: Spot::default(),
            next: None,
            byte: &byte,
        };
        if let Some(head) = &self.framing.head {
            let count = if head.variable().is_some() { program.name.len().min(head.most()) } else { head.fewest() };
            self.block(Part::Head, head, program, &values(first, count, 0))?;
        }
        let (modulus, start) = self.framing.block.sequence().map_or((1, 0), |(_, word, first)| (word.modulus(), first));
        let number = |index: usize| ((usize::from(start) + index) % modulus) as u16;
        for (index, &(base, count)) in blocks.iter().enumerate() {
            self.block(Part::Block, &self.framing.block, program, &values(base, count, number(index)))?;
        }
        if let Some(end) = &self.framing.end {
            self.block(Part::End, end, program, &values(first, end.fewest(), number(blocks.len())))?;
        }
        self.filler(&self.framing.trailer, PieceKind::Trailer)
    }

    fn lettering(&mut self, text: &str) -> Result<(), Diagnostic> {
        if text.is_empty() {
            return Ok(());
        }
        let columns = lettering::columns(text)?;
        if decode(self.framing, &columns).blocks().next().is_some() {
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
        let characters = self.framing.characters;
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

    /// Writes a head, block or end, and the gap behind it.
    fn block(&mut self, part: Part, record: &Record, program: &Program, values: &Values) -> Result<(), Diagnostic> {
        let written = record.write(&self.framing.coding, values);
        let characters = written.map_err(|unfit| self.unfit(unfit, record, program, values.base))?;
        let carries = record.data().next().is_some();
        let (base, count) = if carries { (Some(values.base), values.count) } else { (None, 0) };
        let tracks = self.framing.characters;
        self.push(PieceKind::Block { part, base, count }, |out| {
            out.extend(characters.iter().map(|&character| tracks.punch(character)));
        });
        self.filler(&self.framing.gap, PieceKind::Gap)
    }

    fn unfit(&self, unfit: Unfit, record: &Record, program: &Program, base: Address) -> Diagnostic {
        match unfit {
            Unfit::NoEntry => {
                let headline = format!("`{}` has no entry address, and this tape must carry one", program.name);
                Diagnostic::error(Code::TapeUnfit, headline).with_help("say where it starts with `--entry ADDRESS`")
            }
            Unfit::EntryElsewhere(entry) => {
                let [entry, base] = [entry, base].map(|address| self.notation.address(address).to_string());
                let headline = format!("the entry `{entry}` is in another page than the block at {base}");
                Diagnostic::error(Code::TapeUnfit, headline)
                    .with_note("this tape carries only the low byte of the entry")
            }
            Unfit::Avoided { field, character } => self.avoided(character, &record.fields[field], base),
        }
    }

    fn avoided(&self, character: u8, field: &Field, base: Address) -> Diagnostic {
        let coding = &self.framing.coding;
        let (byte, at) = (self.notation.byte(character), self.notation.address(base));
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
