//! `explain`: the page of a diagnostic code.

use clap::Args;

use super::report::Report;
use coldwright::source::{Code, Diagnostic};

/// Explain a diagnostic code, with a wrong and a right example
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright explain file-unreadable\n  coldwright explain")]
pub struct Explain {
    /// The code as printed in square brackets; without one, all codes are listed
    code: Option<String>,
}

impl Explain {
    pub(super) fn run(self, report: &mut Report) {
        let Some(name) = self.code else {
            let list: String = Code::ALL.iter().map(|code| format!("{code}\n")).collect();
            return report.print(list);
        };
        match Code::from_name(&name) {
            Some(code) => report.print(code.page()),
            None => report.problem(unknown(&name)),
        }
    }
}

fn unknown(name: &str) -> Diagnostic {
    let near = coldwright::source::nearest(name, Code::ALL.iter().map(|code| code.name()));
    let problem = Diagnostic::error(Code::CodeUnknown, format!("`{name}` is not a diagnostic code"));
    match near {
        Some(near) => problem.with_help(format!("did you mean `{near}`?")),
        None => problem.with_help("`coldwright explain` lists all codes"),
    }
}
