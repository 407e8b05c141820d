//! `tape framing`: the bundled framings, and whether a framing file is sound.

use std::fmt::Write;

use clap::Args;
use serde_json::json;

use super::verdicts::listed;
use crate::framings::load_framing;
use crate::report::Report;
use coldwright::notation::Notation;
use coldwright::record::Record;
use coldwright::tape::framing::{BUNDLED, Framing, Part, bundled, unseen_losses};

/// List the bundled framings, show the file of one, or check a file of your own
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright tape framing\n  coldwright tape framing blocks > mine.toml")]
pub struct Show {
    /// A bundled framing, whose file is printed and what it notices told beside it, or a framing file, which is checked
    name: Option<String>,
}

impl Show {
    pub(super) fn run(self, report: &mut Report) {
        let Some(name) = self.name else { return report.print(list(report.json())) };
        if let Some((_, text)) = BUNDLED.iter().find(|(bundled, _)| *bundled == name) {
            let told = bundled(&name).map(|framing| summary(&framing, report.json()));
            return match (report.json(), told) {
                (true, Some(told)) => report.print(told),
                (_, told) => {
                    report.print(text);
                    // Beside the file, which may be on its way into another.
                    told.iter().for_each(|told| report.mention(told.trim_end()));
                }
            };
        }
        if let Some(framing) = load_framing(&name, Notation::default(), report) {
            report.print(summary(&framing, report.json()));
        }
    }
}

fn list(json: bool) -> String {
    let framings = BUNDLED.iter().filter_map(|(name, _)| bundled(name));
    if json {
        return framings.map(|framing| summary(&framing, true)).collect();
    }
    framings.map(|framing| format!("{:10} {}\n", framing.name, framing.about)).collect()
}

/// What no check covers, as part and field.
fn unproved(framing: &Framing) -> impl Iterator<Item = String> {
    let of = |(part, record): (Part, &Record)| {
        record.unproved_names().into_iter().map(move |field| format!("{} {field}", part.key()))
    };
    framing.parts().flat_map(of)
}

fn summary(framing: &Framing, json: bool) -> String {
    let most = framing.block.most();
    if json {
        let object = json!({
            "name": framing.name, "about": framing.about, "most_bytes_a_block": most,
            "checked": framing.is_checked(), "numbered": framing.block.sequence().is_some(),
            "entry": framing.carries_entry(), "unproved": unproved(framing).collect::<Vec<_>>(),
            "lost_unseen": unseen_losses(framing),
        });
        return format!("{object}\n");
    }
    let mut out = format!("{}: can be written and read\n", framing.name);
    let numbered = if framing.block.sequence().is_some() { "numbered" } else { "not numbered" };
    let (has_check, outside) = (!framing.block.checks.is_empty(), framing.block.unproved_names());
    let checked = match has_check {
        false => "not checked: damage can go unnoticed".into(),
        true if outside.is_empty() => "checked".into(),
        true => format!("checked but for their {}: a change there goes unnoticed", listed(&outside)),
    };
    let _ = writeln!(out, "blocks of up to {most} bytes, {numbered}, {checked}");
    for (part, record) in framing.parts().filter(|(part, _)| *part != Part::Block) {
        let outside = record.unproved_names();
        if !outside.is_empty() {
            let _ = writeln!(out, "no check covers the {} of the {}", listed(&outside), part.key());
        }
    }
    if has_check {
        out += &losses(framing);
    }
    let entry = if framing.carries_entry() { "the entry is on the tape" } else { "no entry on the tape" };
    let _ = writeln!(out, "{entry}");
    out
}

/// What becomes of a frame that is lost within a block whose check is to tell it.
fn losses(framing: &Framing) -> String {
    let unseen = unseen_losses(framing);
    let missed: Vec<_> =
        unseen.iter().take(MOST_VALUES).map(|&value| Notation::default().byte(value).to_string()).collect();
    match unseen.len() {
        0 => "a frame lost from the data goes unnoticed by chance only, whatever its value\n".into(),
        count if count > MOST_VALUES => {
            format!(
                "a frame lost from the data goes unnoticed if it is one of {count} values, such as {}\n",
                listed(&missed)
            )
        }
        _ => format!(
            "a frame lost from the data goes unnoticed if it is {}: the frame behind the block is read as its last\n",
            listed(&missed)
        ),
    }
}

/// Values that are named; more of them are counted.
const MOST_VALUES: usize = 4;
