//! `shorten`: what of a source could be shorter, and the source with it.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::json;

use super::files;
use super::outputs::{Outputs, is_standard_output};
use super::report::Report;
use super::source_file::{self, SourceOptions};
use coldwright::assembler::Assembly;
use coldwright::notation::{Notation, counted};
use coldwright::shortening::{Reason, Suggestion, Unseen, Way, shorten};
use coldwright::source::{Code, Diagnostic, Diagnostics, SourceId, SourceMap};

/// Find what could be shorter in a source without changing what it does
#[derive(Args, Debug)]
#[command(
    after_help = "Examples:\n  coldwright shorten chimes.asm\n  coldwright shorten chimes.asm --apply -o chimes-short.asm\n\n\
    Each suggestion is proved and holds by itself. It is taken that the program is entered at its entry, and where its data\n\
    or other instructions than jumps and calls name an instruction."
)]
pub struct Shorten {
    /// The source; lines of included files and of macros are left alone
    #[arg(value_name = "FILE")]
    source: PathBuf,
    #[command(flatten)]
    options: SourceOptions,
    /// Take the suggestions, one after the other, and write the changed source
    #[arg(long, requires = "output")]
    apply: bool,
    /// Where to write the changed source; `-` is standard output
    #[arg(short, long, value_name = "FILE", requires = "apply")]
    output: Option<PathBuf>,
    /// How addresses and bytes are written: octal, split or hex
    #[arg(long, value_name = "NOTATION", value_parser = super::values::notation, default_value = "octal")]
    notation: Notation,
}

/// A source that was assembled.
struct Assembled {
    sources: SourceMap,
    own: SourceId,
    assembly: Assembly,
}

impl Shorten {
    pub(super) fn run(self, report: &mut Report) {
        let text = match files::read(&self.source) {
            Ok(text) => text,
            Err(problem) => return report.problem(problem),
        };
        let mut sources = SourceMap::default();
        let (assembly, problems) = source_file::assemble(&self.source, text, &self.options, false, &mut sources);
        report.problems(problems, &sources);
        let Some(assembly) = assembly else { return };
        let own = SourceId::FIRST;
        let first = Assembled { sources, own, assembly };
        let work = Work { path: &self.source, options: &self.options };
        let found = match work.suggestions(&first) {
            Ok(found) => found,
            Err(unseen) => return report.problem(unseen_problem(unseen)),
        };
        match &self.output {
            None => report.print(self.said(&found, report.json())),
            Some(output) => {
                let (text, taken) = work.all(&first, found);
                let said = self.said(&taken, report.json());
                let saved: usize = taken.iter().map(|it| it.saves).sum();
                let was = first.assembly.image.len();
                let mut outputs = Outputs::default();
                outputs.add(output, text.into_bytes());
                if outputs.finish(Diagnostics::default(), &SourceMap::default(), report) && !is_standard_output(output)
                {
                    report.print(said);
                    if !report.json() {
                        report.print(format!("{}: {} of {was} bytes saved\n", output.display(), saved));
                    }
                }
            }
        }
    }

    fn said(&self, found: &[Suggestion], json: bool) -> String {
        if json {
            return found.iter().map(|it| format!("{}\n", self.json(it))).collect();
        }
        let mut out = String::new();
        for it in found {
            let last = it.line + it.before.len() - 1;
            let lines = if last == it.line { format!("line {last}") } else { format!("lines {} to {last}", it.line) };
            let time = match it.states {
                0 => String::new(),
                states if states < 0 => format!(", {} T-states less", -states),
                states => format!(", {states} T-states more"),
            };
            let _ = writeln!(out, "{lines}: saves {}{time}", counted(it.saves, "byte"));
            for (sign, lines) in [('-', &it.before), ('+', &it.after)] {
                out.extend(lines.iter().map(|line| format!("  {sign} {}\n", line.trim_end())));
            }
            if let Some((line, label)) = &it.label {
                let _ = writeln!(out, "  line {line} gets the label {label}");
            }
            let _ = writeln!(out, "  {}", self.why(&it.reason));
        }
        if !found.is_empty() && self.options.defines() {
            out += "all this holds for the values given with `--define`; for others look at the source anew\n";
        }
        match (found.len(), self.apply) {
            (0, _) => out += "nothing was found that could be shorter and is proved to be the same\n",
            (1.., false) => {
                let _ = writeln!(
                    out,
                    "{}, each by itself; `--apply` takes one after the other",
                    counted(found.len(), "suggestion")
                );
            }
            _ => {}
        }
        out
    }

    fn why(&self, reason: &Reason) -> String {
        match reason {
            Reason::Form { known, unread } => {
                let mut why = "the same in every state".to_owned();
                if !known.is_empty() {
                    let known: Vec<_> =
                        known.iter().map(|(it, byte)| format!("{} is {}", it.name(), self.notation.byte(*byte))).collect();
                    why += &format!(" in which {}", known.join(" and "));
                }
                if !unread.is_empty() {
                    why += &format!("; what differs is read by nobody behind it: {}", unread.join(", "));
                }
                why
            }
            Reason::Way(Way::ToNext) => "the jump goes to what follows it".into(),
            Reason::Way(Way::ToReturn) => "the jump goes to a return".into(),
            Reason::Way(Way::CallAndReturn) => {
                "the routine leaves the stack as it found it, and returns to whoever called here; bytes below the stack differ".into()
            }
            Reason::Way(Way::OverJump) => "the first jump only goes round the second".into(),
            Reason::Way(Way::SharedTail) => "the same instructions stand there".into(),
        }
    }

    fn json(&self, it: &Suggestion) -> serde_json::Value {
        json!({
            "line": it.line, "before": it.before, "after": it.after, "saves": it.saves, "t_states": it.states,
            "label": it.label.as_ref().map(|(line, label)| json!({ "line": line, "label": label })),
            "why": self.why(&it.reason),
        })
    }
}

/// A source under work.
struct Work<'a> {
    path: &'a Path,
    options: &'a SourceOptions,
}

impl Work<'_> {
    fn assemble(&self, text: &str) -> Option<(SourceMap, SourceId, Assembly)> {
        let mut sources = SourceMap::default();
        let text = text.as_bytes().to_vec();
        let (assembly, _) = source_file::assemble(self.path, text, self.options, false, &mut sources);
        Some((sources, SourceId::FIRST, assembly?))
    }

    fn suggestions(&self, it: &Assembled) -> Result<Vec<Suggestion>, Unseen> {
        shorten(&it.sources, it.own, &it.assembly, &|text| self.assemble(text))
    }

    /// Takes the suggestion that saves most, and looks again, until nothing is left.
    fn all(&self, first: &Assembled, mut found: Vec<Suggestion>) -> (String, Vec<Suggestion>) {
        let mut text = first.sources.get(first.own).text().to_owned();
        let mut taken = Vec::new();
        while !found.is_empty() {
            let best = found.swap_remove(0);
            text.clone_from(&best.text);
            taken.push(best);
            let Some((sources, own, assembly)) = self.assemble(&text) else { break };
            found = self.suggestions(&Assembled { sources, own, assembly }).unwrap_or_default();
        }
        (text, taken)
    }
}

/// How many bytes all suggestions for a source save together; nothing if none can be told.
pub fn could_save(path: &Path, options: &SourceOptions) -> Option<usize> {
    let text = files::read(path).ok()?;
    let work = Work { path, options };
    let (sources, own, assembly) = work.assemble(&String::from_utf8(text).ok()?)?;
    let first = Assembled { sources, own, assembly };
    let (_, taken) = work.all(&first, work.suggestions(&first).ok()?);
    Some(taken.iter().map(|it| it.saves).sum())
}

fn unseen_problem(unseen: Unseen) -> Diagnostic {
    let (headline, note) = match unseen {
        Unseen::Moved => {
            ("nothing can be said of code that runs elsewhere than where it lies", "a region is moved before it runs")
        }
        Unseen::NoEntry => ("it is not known where the program starts", "what is reached follows from its entry"),
        Unseen::Empty => ("there is no instruction to make shorter", "the source has data only"),
        Unseen::Interrupts => (
            "nothing can be said of a program that enables interrupts",
            "what an interrupt runs may read any register at any place",
        ),
        Unseen::Overlapping => ("instructions lie within each other", "what a change would change cannot be told"),
    };
    let problem = Diagnostic::error(Code::ShortenUnseen, headline).with_note(note);
    match unseen {
        Unseen::NoEntry => problem.with_help("end the source with `END` and the label"),
        _ => problem,
    }
}
