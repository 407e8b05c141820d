//! `disassemble`: old bytes back to source.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::json;

use super::files::{self, STREAM};
use super::outputs::{Outputs, is_standard_output};
use super::readings::{ReadingOptions, Readings, short_name};
use super::report::Report;
use super::source_file;
use super::values;
use coldwright::disassembly::{Disassembled, Hints, Merged, Reading, Wish, disassemble, merge, prove};
use coldwright::notation::{Address, Notation, counted};
use coldwright::source::{Code, Diagnostic, Diagnostics, Origin, Position, SourceMap};

/// Turn old bytes into a source that assembles back to them
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  \
    coldwright disassemble rooster.hex --hints rooster-hints.toml -o again.asm\n  \
    coldwright disassemble parts --socket U7=82S131@0o177000 -o again.asm")]
pub struct Disassemble {
    /// The program: an image of any format, a folder of part files, a .tape or a .wav; several readings of one program are
    /// merged byte by byte; `-` reads standard input
    #[arg(required = true, value_name = "PROGRAM")]
    readings: Vec<PathBuf>,
    #[command(flatten)]
    options: ReadingOptions,
    /// What you know of the program: a file of hints, which every further run takes again
    #[arg(long, value_name = "FILE")]
    hints: Option<PathBuf>,
    /// Where execution begins, besides what file and hints say; may be given several times
    #[arg(long = "entry", value_name = "ADDRESS", value_parser = values::address)]
    entries: Vec<Address>,
    /// Write the T-states of each instruction beside it
    #[arg(long)]
    t_states: bool,
    /// Where to write the source; without it, standard output
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

impl Disassemble {
    pub(super) fn run(self, report: &mut Report) {
        let (mut sources, mut problems) = (SourceMap::default(), Diagnostics::default());
        if let Some(done) = self.made(&mut sources, &mut problems, report) {
            self.deliver(&done, problems, &sources, report);
        } else {
            report.problems(problems, &sources);
            report.fail();
        }
    }

    /// The source, proven; problems are reported or pushed.
    fn made(&self, sources: &mut SourceMap, problems: &mut Diagnostics, report: &mut Report) -> Option<Done> {
        let mut readings = self.options.resolve(report)?;
        let merged = self.merged(&mut readings, sources, problems, report)?;
        let hints = self.hints(sources, problems)?;
        if merged.image.is_empty() {
            let headline = format!("`{}` holds no byte", self.readings[0].display());
            problems.push(Diagnostic::error(Code::FormatUnknown, headline).with_help("is it the right file?"));
            return None;
        }
        for entry in self.entries.iter().filter(|entry| merged.image.byte(**entry).is_none()) {
            let headline = format!("no byte lies at the entry `{}`", readings.notation.address(*entry));
            problems.push(Diagnostic::warning(Code::HintUnused, headline).with_help("is the address right?"));
        }
        let title = short_name(&self.readings[0]);
        let wish = Wish {
            title: &title,
            hints: &hints,
            entries: &self.entries,
            machine: readings.machine.as_ref(),
            disputed: &merged.disputed,
            notation: readings.notation,
            states: self.t_states,
        };
        let mut made = disassemble(&merged.image, &wish);
        problems.append(std::mem::take(&mut made.problems));
        let name = self.output.as_deref().map_or_else(|| "(the source)".to_owned(), source_file::shown);
        match prove(&made.text, &name, &merged.image, made.entry, sources) {
            Ok(()) => Some(Done { made, merged, notation: readings.notation }),
            Err(found) => {
                problems.append(found);
                None
            }
        }
    }

    fn merged(
        &self,
        readings: &mut Readings,
        sources: &mut SourceMap,
        problems: &mut Diagnostics,
        report: &mut Report,
    ) -> Option<Merged> {
        let mut all = Vec::new();
        for path in &self.readings {
            let image = readings.read(path, sources, problems, report);
            all.extend(image.map(|image| Reading { name: short_name(path), image }));
        }
        if all.len() < self.readings.len() {
            return None;
        }
        let made_by = Position { source: sources.add(short_name(&self.readings[0]), "", Origin::Given), offset: 0 };
        let merged = merge(all, made_by, readings.notation);
        if let Some((first, told)) = merged.disputed.first_key_value() {
            let headline = format!("the readings disagree on {}", counted(merged.disputed.len(), "byte"));
            let note =
                format!("at {}, {}", readings.notation.address(*first), told.split_once(": ").map_or("", |it| it.1));
            let problem = Diagnostic::warning(Code::ReadingsDiffer, headline).with_note(note);
            problems
                .push(problem.with_help("each stands in a comment of the source; read the part or tape again there"));
        }
        if merged.lacking > 0 {
            let are = if merged.lacking == 1 { "is" } else { "are" };
            let headline = format!("{} {are} not in every reading", counted(merged.lacking, "byte"));
            let problem = Diagnostic::warning(Code::ReadingsDiffer, headline);
            problems.push(problem.with_help("are they readings of one program?"));
        }
        Some(merged)
    }

    fn hints(&self, sources: &mut SourceMap, problems: &mut Diagnostics) -> Option<Hints> {
        let Some(path) = &self.hints else { return Some(Hints::default()) };
        let text = files::read(path).map_err(|problem| problems.push(problem)).ok()?;
        let id = sources.add(source_file::shown(path), text, Origin::Given);
        let mut found = Diagnostics::default();
        let hints = Hints::read(sources, id, &mut found);
        let sound = !found.has_errors();
        problems.append(found);
        sound.then_some(hints)
    }

    fn deliver(&self, done: &Done, problems: Diagnostics, sources: &SourceMap, report: &mut Report) {
        let path = self.output.as_deref().unwrap_or(Path::new(STREAM));
        let mut outputs = Outputs::default();
        let summary = if report.json() { done.json() } else { done.text(&short_name(&self.readings[0])) };
        if is_standard_output(path) {
            match report.json() {
                true => report.print(done.json_with_source()),
                false => report.print(&done.made.text),
            }
            return report.problems(problems, sources);
        }
        outputs.add(path, done.made.text.clone());
        if outputs.finish(problems, sources, report) {
            report.print(summary);
        }
    }
}

/// A source that was proven.
struct Done {
    made: Disassembled,
    merged: Merged,
    notation: Notation,
}

impl Done {
    fn text(&self, name: &str) -> String {
        let Disassembled { code, data, unknown, entry, .. } = &self.made;
        let count = counted(self.merged.image.len(), "byte");
        let mut out = format!("{name}: {count}: {code} of instructions, {data} of data, {unknown} not known\n");
        if let Some(entry) = entry {
            out += &format!("entry {}\n", self.notation.address(*entry));
        }
        for moved in self.made.found.places.moved() {
            let address = |at: usize| self.notation.address(Address(at as u16));
            let (first, last) = (address(moved.from.start), address(moved.from.end - 1));
            out += &format!("{first} to {last} runs at {}\n", self.notation.address(Address(moved.to)));
        }
        out + "assembled again: the same bytes\n"
    }

    fn object(&self) -> serde_json::Value {
        let Disassembled { code, data, unknown, entry, .. } = &self.made;
        let disputed: BTreeMap<String, &String> =
            self.merged.disputed.iter().map(|(at, told)| (at.0.to_string(), told)).collect();
        let moved = self.made.found.places.moved().iter();
        let moved = moved.map(|it| json!({ "from": it.from.start, "bytes": it.from.len(), "runs_at": it.to }));
        json!({
            "bytes": self.merged.image.len(), "code": code, "data": data, "unknown": unknown,
            "entry": entry.map(|entry| entry.0), "moved": moved.collect::<Vec<_>>(), "disputed": disputed,
        })
    }

    fn json(&self) -> String {
        format!("{}\n", self.object())
    }

    fn json_with_source(&self) -> String {
        let mut object = self.object();
        object["source"] = self.made.text.as_str().into();
        format!("{object}\n")
    }
}
