//! `build`: everything of a chain as files.

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;
use serde::{Deserialize, Serialize};
use serde_json::json;

use super::ExitStatus;
use super::chain;
use super::files::{self, Outputs};
use super::rehearse::Rehearse;
use super::report::Report;
use crate::assembler::STDLIB;
use crate::drawing::html::escape;
use crate::project::{self, Artefact, Plan};
use crate::source::SourceMap;

/// Build all files of a chain, and a page that shows them
#[derive(Args, Debug)]
#[command(
    after_help = "Examples:\n  coldwright build examples/belfry --rehearse\n  coldwright build examples/belfry -o tower"
)]
pub struct Build {
    /// The folder of the chain, or its chain file
    #[arg(default_value = ".", value_name = "DIR")]
    chain: PathBuf,
    /// The folder for the files; else `out` beside the chain file; made if it is not there
    #[arg(short, long, value_name = "DIR")]
    output: Option<PathBuf>,
    /// Rehearse the chain too, as `rehearse` does
    #[arg(long)]
    rehearse: bool,
}

/// The page that shows and links everything.
const INDEX: &str = "index.html";

/// What was built from what, kept beside the files.
const RECORD: &str = ".built.json";

/// What a build was made from and what it made; by it the next one knows what has changed.
#[derive(Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Record {
    /// The program that built it, with its library.
    program: String,
    /// Every file that was read, with the sum of its bytes.
    inputs: Vec<(String, u64)>,
    /// Every file that was made.
    outputs: Vec<(String, u64)>,
}

impl Build {
    pub(super) fn run(self, report: &mut Report) {
        self.build(report);
        if self.rehearse && report.status() == ExitStatus::Done {
            Rehearse::of(self.chain).run(report);
        }
    }

    fn build(&self, report: &mut Report) {
        let file = chain::chain_file(&self.chain);
        let folder = self.output.clone().unwrap_or_else(|| file.parent().unwrap_or(Path::new("")).join("out"));
        if is_fresh(&folder) {
            return self.tell(&folder, 0, report);
        }
        let mut sources = SourceMap::default();
        let Some((plan, inputs)) = chain::load_with_inputs(&self.chain, &mut sources, report) else { return };
        let artefacts = match project::artefacts(&plan, &sources) {
            Ok(artefacts) => artefacts,
            Err(problems) => return report.problems(problems, &sources),
        };
        match write(&folder, &plan, &artefacts, inputs) {
            Ok(written) => self.tell(&folder, written, report),
            Err(problem) => report.problem(problem),
        }
    }

    fn tell(&self, folder: &Path, written: usize, report: &mut Report) {
        let index = folder.join(INDEX).display().to_string();
        report.print(match (report.json(), written) {
            (true, _) => format!("{}\n", json!({ "index": index, "written": written })),
            (false, 0) => format!("nothing has changed: {index}\n"),
            (false, 1) => format!("1 file written: {index}\n"),
            (false, _) => format!("{written} files written: {index}\n"),
        });
    }
}

/// Writes what differs from what is there; says how many files that were.
fn write(
    folder: &Path,
    plan: &Plan,
    artefacts: &[Artefact],
    inputs: Vec<PathBuf>,
) -> Result<usize, crate::source::Diagnostic> {
    let refuse = |error: std::io::Error| {
        let headline = format!("cannot make `{}`: {error}", folder.display());
        crate::source::Diagnostic::error(crate::source::Code::FileUnwritable, headline)
    };
    fs::create_dir_all(folder).map_err(refuse)?;
    let page = index(plan, artefacts);
    let files = artefacts.iter().map(|made| (made.file.as_str(), made.bytes.as_slice()));
    let files: Vec<_> = files.chain([(INDEX, page.as_bytes())]).collect();
    let mut outputs = Outputs::default();
    let mut written = 0;
    for (name, bytes) in &files {
        let path = folder.join(name);
        if fs::read(&path).is_ok_and(|there| there == *bytes) {
            continue;
        }
        written += 1;
        outputs.add(path, *bytes);
    }
    let record = Record {
        program: program(),
        inputs: inputs.iter().filter_map(|path| Some((path.display().to_string(), sum_of(path)?))).collect(),
        outputs: files.iter().map(|(name, bytes)| ((*name).to_owned(), sum(bytes))).collect(),
    };
    if let Ok(text) = serde_json::to_vec(&record) {
        outputs.add(folder.join(RECORD), text);
    }
    outputs.commit()?;
    Ok(written)
}

/// Whether nothing has changed since the folder was built: no file that was read, none that was made.
fn is_fresh(folder: &Path) -> bool {
    let record = fs::read(folder.join(RECORD)).ok().and_then(|text| serde_json::from_slice::<Record>(&text).ok());
    record.is_some_and(|record| {
        record.program == program()
            && record.inputs.iter().all(|(path, sum)| sum_of(Path::new(path)) == Some(*sum))
            && record.outputs.iter().all(|(name, sum)| sum_of(&folder.join(name)) == Some(*sum))
    })
}

/// The program and the library that is built into it.
fn program() -> String {
    let library: Vec<u8> = STDLIB.iter().flat_map(|file| file.text.bytes()).collect();
    format!("{} {:016x}", env!("CARGO_PKG_VERSION"), sum(&library))
}

fn sum_of(path: &Path) -> Option<u64> {
    files::read(path).ok().map(|bytes| sum(&bytes))
}

/// Tells files apart.
fn sum(bytes: &[u8]) -> u64 {
    crc::Crc::<u64, crc::Table<16>>::new(&crc::CRC_64_XZ).checksum(bytes)
}

/// The page that shows and links everything.
fn index(plan: &Plan, artefacts: &[Artefact]) -> String {
    let name = escape(&plan.name);
    let mut out = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<title>{name}</title>\n<style>\n{STYLE}</style>\n\
         </head>\n<body>\n<h1>{name}</h1>\n"
    );
    let mut groups: Vec<&str> = Vec::new();
    for made in artefacts.iter().rev() {
        if !groups.contains(&made.group.as_str()) {
            groups.push(&made.group);
        }
    }
    // The chain as a whole comes first, then stages, sockets and tapes in their order.
    groups[1..].reverse();
    for group in groups {
        out += &format!("<h2>{}</h2>\n<ul>\n", escape(group));
        for made in artefacts.iter().filter(|made| made.group == group) {
            out += &format!(
                "<li><a href=\"{}\">{}</a> <small>{}</small></li>\n",
                escape(&made.file),
                escape(&made.title),
                escape(&made.file)
            );
        }
        out += "</ul>\n";
    }
    out + "<h2>Map of memory</h2>\n<img src=\"memory.svg\" alt=\"map of memory\">\n</body>\n</html>\n"
}

const STYLE: &str = "\
body { font-family: sans-serif; max-width: 48em; margin: 2em auto; padding: 0 1em; line-height: 1.5; }
small { font-family: monospace; color: #555; }
img { width: 100%; border: 1px solid #999; }
";
