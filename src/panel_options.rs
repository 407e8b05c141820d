//! What the commands of the panel share: the program, the machine behind the panel, and the pages they write.

use std::io::{self, BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::files::STREAM;
use super::input::{Loaded, ProgramOptions, load};
use super::outputs::Outputs;
use super::pages::{PaperWord, add_drawing};
use super::report::Report;
use super::sockets::read_machine;
use super::{source_file, values};
use coldwright::drawing::Drawing;
use coldwright::image::entry_outside;
use coldwright::notation::{Address, Notation};
use coldwright::panel::{Paper, Program};
use coldwright::project::Machine;
use coldwright::source::{Code, Diagnostic, SourceMap};

/// The program and the machine it is for.
#[derive(Args, Clone, Debug)]
pub struct PanelArguments {
    /// The program: an assembly source or an image of any format; `-` reads standard input
    file: PathBuf,
    #[command(flatten)]
    options: ProgramOptions,
    /// The machine file: panel, memory, ports
    #[arg(long, value_name = "FILE")]
    machine: Option<PathBuf>,
    /// How addresses and bytes are written: octal, split or hex; else as the machine file says
    #[arg(long, value_parser = values::notation)]
    notation: Option<Notation>,
    /// Address switches of the panel; else as the machine file says
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u8).range(8..=16))]
    switches: Option<u8>,
    /// Keys besides EXAMINE and DEPOSIT; else as the machine file says
    #[arg(long, value_enum, value_delimiter = ',', value_name = "KEY,...")]
    keys: Option<Vec<NextKey>>,
}

/// A key that not every panel has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum NextKey {
    /// Shows the next address
    ExamineNext,
    /// Steps to the next address and deposits there
    DepositNext,
    /// Neither
    None,
}

/// What the arguments name, read.
pub struct Bench {
    /// The texts behind it.
    pub sources: SourceMap,
    /// The program.
    pub program: Program,
    /// The machine.
    pub machine: Machine,
}

impl Bench {
    /// Warns of an entry that was asked for and is none of the program's bytes; of the program's own, it was said when it
    /// was read.
    pub fn check_entry(&self, asked: Option<Address>, report: &mut Report) {
        let asked = asked.filter(|asked| self.program.image.entry != Some(*asked));
        if let Some(problem) = asked.and_then(|entry| entry_outside(&self.program.image, entry)) {
            report.problem(problem);
        }
    }
}

impl PanelArguments {
    /// Reads the machine file and the program, and reports their problems. `None` if one has errors.
    pub fn load(&self, report: &mut Report) -> Option<Bench> {
        let mut sources = SourceMap::default();
        let machine = self.machine(&mut sources, report);
        let program = self.program(machine.as_ref(), &mut sources, report);
        Some(Bench { program: program?, machine: machine?, sources })
    }

    /// Whether a machine file is named: without one, nothing is known of memory and sockets.
    pub fn names_machine(&self) -> bool {
        self.machine.is_some()
    }

    fn program(&self, machine: Option<&Machine>, sources: &mut SourceMap, report: &mut Report) -> Option<Program> {
        let (loaded, problems) = load(&self.file, &self.options, sources);
        report.problems(problems, sources);
        let (Loaded { image, from_source }, name) = (loaded?, source_file::title(&self.file));
        if from_source {
            return Some(Program::from_source(name, image, sources));
        }
        let notation = machine.map(|machine| machine.panel.notation).unwrap_or_default();
        Some(Program::from_bytes(name, image, notation))
    }

    fn machine(&self, sources: &mut SourceMap, report: &mut Report) -> Option<Machine> {
        let mut machine = match &self.machine {
            Some(path) => read_machine(path, sources).map_err(|problems| report.problems(problems, sources)).ok()?,
            None => Machine::default(),
        };
        if let Some(notation) = self.notation {
            machine.panel.notation = notation;
        }
        if let Some(switches) = self.switches {
            machine.panel.set_switches(switches);
        }
        if let Some(keys) = &self.keys {
            machine.panel.examine_next = keys.contains(&NextKey::ExamineNext);
            machine.panel.deposit_next = keys.contains(&NextKey::DepositNext);
        }
        Some(machine)
    }
}

/// Where the pages go.
#[derive(Args, Clone, Debug)]
pub struct PageArguments {
    /// Write an output, by extension: .txt, .html, .pdf, or .svg (a file a page); may be given several times. Without
    /// it, text on standard output
    #[arg(short, long = "output", value_name = "FILE")]
    outputs: Vec<PathBuf>,
    /// The paper of drawn pages
    #[arg(long, value_enum, default_value = "a4")]
    paper: PaperWord,
}

impl PageArguments {
    /// Writes every output asked for. `json` is what standard output gets when results are wanted as JSON.
    pub fn write(
        &self,
        text: impl Fn() -> String,
        draw: impl Fn(Paper) -> Drawing,
        json: impl Fn() -> serde_json::Value,
        report: &mut Report,
    ) {
        if self.outputs.is_empty() {
            return report.print(if report.json() { format!("{}\n", json()) } else { text() });
        }
        let paper = self.paper.paper();
        let mut outputs = Outputs::default();
        for path in &self.outputs {
            if let Err(problem) = add_pages(&mut outputs, path, &text, || draw(paper)) {
                return report.problem(problem);
            }
        }
        if let Err(problem) = outputs.commit(report) {
            report.problem(problem);
        }
    }
}

fn add_pages(
    outputs: &mut Outputs,
    path: &Path,
    text: impl Fn() -> String,
    draw: impl Fn() -> Drawing,
) -> Result<(), Diagnostic> {
    let extension = path.extension().map(|extension| extension.to_ascii_lowercase());
    match extension.as_ref().and_then(|extension| extension.to_str()) {
        None if path == Path::new(STREAM) => outputs.add(path, text()),
        Some("txt") => outputs.add(path, text()),
        _ => return add_drawing(outputs, path, draw, ".txt, "),
    }
    Ok(())
}

/// What to say of sense switches that no port reads.
pub fn no_sense_port(machine_is_named: bool) -> Diagnostic {
    let problem = Diagnostic::error(Code::SenseContradiction, "no port is known that reads the sense switches");
    problem.with_help(match machine_is_named {
        true => "say `sense_port` under `panel` in the machine file, or leave `--sense` out",
        false => {
            "name a machine file with a `sense_port` by `--machine`; or say `--input PORT=BYTE` of the port itself"
        }
    })
}

/// Asks a person at the terminal; `None` if nobody is there.
pub fn ask(question: &str) -> Option<bool> {
    if !io::stdin().is_terminal() || !io::stderr().is_terminal() {
        return None;
    }
    let mut answer = String::new();
    write!(io::stderr(), "{question} [y/N] ").and_then(|()| io::stdin().lock().read_line(&mut answer)).ok()?;
    Some(matches!(answer.trim(), "y" | "Y" | "yes"))
}

/// The name of a notation, for JSON.
pub fn notation_word(notation: Notation) -> &'static str {
    Notation::ALL.iter().find(|(_, known)| *known == notation).map_or("octal", |(word, _)| word)
}
