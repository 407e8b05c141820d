//! One look after the other, until one fault is left.

use std::collections::BTreeSet;
use std::io;

use super::inquiry::{Inquiry, observations};
use super::text;
use crate::report::Report;
use crate::stop;
use coldwright::diagnosis::{self, Look, Next, shows};
use coldwright::faults::Words;

/// Asks until no look tells what is left apart, or nobody answers any more.
pub fn ask(mut inquiry: Inquiry, report: &mut Report) {
    let mut had = BTreeSet::new();
    let mut lines = io::stdin().lines();
    report.print("Answer as at the panel; an empty line leaves a look out, Ctrl-D ends.\n");
    loop {
        let suspects = inquiry.suspects();
        let Some(next) = inquiry.archive.next(&suspects, &had).filter(|_| !stop::is_stopped()) else { break };
        let look = next.look;
        had.insert(look);
        report.print(format!("{} faults are left: {}\n", suspects.len(), question(&inquiry, &next)));
        let Some(Ok(line)) = lines.next() else { break };
        if !line.trim().is_empty() {
            heard(&mut inquiry, look, line.trim(), &mut had, report);
        }
    }
    let suspects = inquiry.suspects();
    let mut out = String::new();
    text::told(&mut out, &inquiry, &suspects);
    if inquiry.archive.next(&suspects, &had).is_none() {
        text::last(&mut out, suspects.len());
    }
    report.print(out);
}

/// An answer is taken, unless it cannot be read or goes with nothing.
fn heard(inquiry: &mut Inquiry, look: Look, line: &str, had: &mut BTreeSet<Look>, report: &mut Report) {
    let words = &inquiry.told.words;
    let sentence = sentence(words, look, line);
    let seen = match observations(&mut inquiry.sources, &sentence, words.notation()) {
        Ok(seen) => seen,
        Err(problems) => {
            had.remove(&look);
            report.problems(problems, &inquiry.sources);
            // It is asked again: nothing has failed.
            return report.begin_anew();
        }
    };
    let count = inquiry.seen.len();
    inquiry.seen.extend(seen);
    if let Err(problems) = inquiry.play_pairs(report) {
        return report.problems(problems, &inquiry.sources);
    }
    if inquiry.suspects().is_empty() {
        let mut out = String::new();
        text::nothing(&mut out, inquiry);
        out += "The last answer is left out.\n";
        report.print(out);
        inquiry.seen.truncate(count);
    }
}

fn question(inquiry: &Inquiry, next: &Next) -> String {
    let words = &inquiry.told.words;
    let answers: Vec<_> = next.answers.iter().take(4).map(|(answer, _)| shows(words, answer)).collect();
    format!("{} ({})", diagnosis::question(words, next.look), answers.join(", "))
}

/// A short answer as a sentence; a sentence of its own stays.
fn sentence(words: &Words, look: Look, line: &str) -> String {
    let notation = words.notation();
    let first = line.split_whitespace().next().unwrap_or_default().to_ascii_lowercase();
    let is_number = notation.read_typed(&first).is_ok() && !line.contains(" holds ");
    match look {
        Look::Address if is_number || first.starts_with("flicker") => format!("address {line}"),
        Look::Port(port) if is_number || first.starts_with("flicker") => {
            format!("port {} shows {line}", notation.byte(port))
        }
        Look::Tape(tape) if ["ran", "still", "runs", "running"].contains(&first.as_str()) => {
            format!("tape \"{}\" {line}", words.tapes()[tape])
        }
        Look::Terminal if first == "nothing" || first.starts_with('"') => format!("terminal shows {line}"),
        Look::Listing(stage) if first.starts_with("agree") || first.starts_with("differ") => {
            let (name, ..) = words.stages().nth(stage).unwrap_or_default();
            format!("listing \"{name}\" {line}")
        }
        Look::Memory(at) if is_number => format!("{} holds {line}", notation.address(at)),
        _ => line.to_owned(),
    }
}
