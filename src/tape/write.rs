//! `tape write`: images to the bytes of a tape, and a report of its length and times.

use std::fmt::Write as _;
use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use crate::framings::load_framing;
use crate::input::{ProgramOptions, load_image};
use crate::notation_options::NotationOptions;
use crate::outputs::{Outputs, is_standard_output};
use crate::report::Report;
use crate::values;
use coldwright::image::Image;
use coldwright::line::LineFormat;
use coldwright::notation::{Address, Notation, counted};
use coldwright::source::{Code, Diagnostic, Diagnostics, SourceMap};
use coldwright::tape::framing::{Framing, PieceKind, Program, Tape, encode};
use coldwright::tape::summary::{READERS, Reader, lengths, spell};

/// Write one or several programs on a tape, in their order
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright tape write chimes.asm --framing blocks -o chimes.tape\n  \
    coldwright tape write courier.asm --framing bare --letter COURIER -o courier.tape")]
pub struct Write {
    /// The programs: assembly sources, or images of any format
    #[arg(required = true, value_name = "FILE")]
    images: Vec<PathBuf>,
    #[command(flatten)]
    options: ProgramOptions,
    /// The framing: a bundled one (see `tape framing`) or a file that ends with .toml
    #[arg(long, value_name = "FRAMING", default_value = "blocks")]
    framing: String,
    /// Where to write the tape, one byte a frame; `-` is standard output
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// Where a program starts, if nothing else tells; once for each program, in their order
    #[arg(long = "entry", value_name = "ADDRESS", value_parser = values::address)]
    entries: Vec<Address>,
    /// Punch this before the leader, to be read by eye; once for each program, in their order. Start the reader behind it
    #[arg(long = "letter", value_name = "TEXT")]
    lettering: Vec<String>,
    /// Tell the time on a reader of so many frames a second
    #[arg(long = "reader", value_name = "RATE", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    readers: Vec<u32>,
    /// Tell the time on a serial line, as in "300 8N2"
    #[arg(long = "line", value_name = "LINE", value_parser = values::line)]
    lines: Vec<LineFormat>,
    #[command(flatten)]
    written: NotationOptions,
    #[arg(skip)]
    notation: Notation,
}

/// An image with the name by which it is called.
struct Named {
    name: String,
    image: Image,
    lettering: String,
}

impl Write {
    pub(super) fn run(mut self, report: &mut Report) {
        let Some(notation) = self.written.resolve(report) else { return };
        self.notation = notation;
        let mut sources = SourceMap::default();
        let mut problems = Diagnostics::default();
        let framing = load_framing(&self.framing, self.notation, report);
        let images = self.load(&mut sources, &mut problems);
        let mut outputs = Outputs::default();
        let mut written = String::new();
        if let (Some(framing), false) = (&framing, problems.has_errors()) {
            warn(framing, &images, &mut problems);
            match encode(framing, &programs(&images), self.notation) {
                Ok(tape) => {
                    written = self.summary(framing, &images, &tape, report.json());
                    outputs.add(&self.output, tape.bytes);
                }
                Err(problem) => problems.push(problem),
            }
        }
        let done = outputs.finish(problems, &sources, report);
        if done && framing.is_some() && !is_standard_output(&self.output) {
            report.print(written);
        }
    }

    fn load(&self, sources: &mut SourceMap, problems: &mut Diagnostics) -> Vec<Named> {
        for (what, count) in [("--entry", self.entries.len()), ("--letter", self.lettering.len())] {
            if count > self.images.len() {
                let headline = format!("`{what}` stands more often than there are programs");
                problems.push(Diagnostic::error(Code::TapeUnfit, headline));
            }
        }
        let named = self.images.iter().enumerate().filter_map(|(index, path)| {
            let (image, found) = load_image(path, &self.options, sources);
            problems.append(found);
            let mut image = image?;
            image.entry = self.entries.get(index).copied().or(image.entry);
            let name = path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
            Some(Named { name, image, lettering: self.lettering.get(index).cloned().unwrap_or_default() })
        });
        named.collect()
    }

    fn readers(&self) -> Vec<Reader> {
        let asked = self.readers.iter().map(|&rate| Reader::Frames(rate));
        let asked: Vec<_> = asked.chain(self.lines.iter().map(|&line| Reader::Line(line))).collect();
        if asked.is_empty() { READERS.to_vec() } else { asked }
    }

    fn summary(&self, framing: &Framing, images: &[Named], tape: &Tape, json: bool) -> String {
        let frames = tape.bytes.len();
        let (inches, metres) = lengths(frames);
        let readers = self.readers();
        if json {
            let times: Vec<_> = readers
                .iter()
                .map(|it| json!({ "by": it.to_string(), "seconds": it.time(frames).as_secs_f64() }))
                .collect();
            let programs: Vec<_> = images.iter().enumerate().map(|(index, it)| program_json(it, index, tape)).collect();
            let object = json!({
                "framing": framing.name, "frames": frames, "inches": inches, "metres": metres, "times": times,
                "programs": programs,
            });
            return format!("{object}\n");
        }
        let mut out = String::new();
        for (index, named) in images.iter().enumerate() {
            out += &self.program_line(framing, named, index, tape);
        }
        let _ = writeln!(out, "{frames} frames: {inches:.1} inches, {metres:.2} m at ten frames to the inch");
        for reader in readers {
            let _ = writeln!(out, "{:>10}  {reader}", spell(reader.time(frames)));
        }
        out
    }

    fn program_line(&self, framing: &Framing, named: &Named, index: usize, tape: &Tape) -> String {
        let (first, last) = ends(&named.image);
        let (first, last) = (self.notation.address(first), self.notation.address(last));
        let blocks = blocks(tape, index);
        let entry = match named.image.entry.filter(|_| framing.carries_entry()) {
            Some(entry) => format!(", entry {}", self.notation.address(entry)),
            None => String::new(),
        };
        let (bytes, blocks) = (counted(named.image.len(), "byte"), counted(blocks, "block"));
        format!("{}: {first} to {last}, {bytes} in {blocks}{entry}\n", named.name)
    }
}

fn programs(images: &[Named]) -> Vec<Program<'_>> {
    images.iter().map(|Named { name, image, lettering }| Program { name, image, lettering }).collect()
}

/// Notes on what the tape will not carry, and on what a loader may not bear.
fn warn(framing: &Framing, images: &[Named], problems: &mut Diagnostics) {
    for named in images {
        if named.image.entry.is_some() && !framing.carries_entry() {
            let headline = format!("the entry of `{}` is not on the tape", named.name);
            let note = format!("`{}` has no field for it: note it on the tape's label", framing.name);
            problems.push(Diagnostic::note(Code::TapeUnfit, headline).with_note(note));
        }
    }
}

fn ends(image: &Image) -> (Address, Address) {
    let first = image.extents().next().map_or(Address(0), |extent| extent.base);
    (first, image.extents().last().map_or(first, |extent| extent.last()))
}

fn blocks(tape: &Tape, program: usize) -> usize {
    let carries = |kind: &PieceKind| matches!(kind, PieceKind::Block { base: Some(_), .. });
    tape.pieces.iter().filter(|piece| piece.program == program && carries(&piece.kind)).count()
}

fn program_json(named: &Named, index: usize, tape: &Tape) -> Value {
    let (first, last) = ends(&named.image);
    json!({
        "name": named.name, "first": first.0, "last": last.0, "bytes": named.image.len(),
        "blocks": blocks(tape, index), "entry": named.image.entry.map(|entry| entry.0),
    })
}
