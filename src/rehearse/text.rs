//! The timeline and the margins as people read them.

use super::basis;
use super::loaders::Loader;
use coldwright::notation::{Notation, counted};
use coldwright::project::Plan;
use coldwright::rehearsal::{Haste, Outcome, Played, StageOutcome};

/// The timeline and the margins for people.
pub fn text(plan: &Plan, outcome: &Outcome, loaders: &[Loader]) -> String {
    let notation = plan.machine.panel.notation;
    let title = match outcome.start.as_str() {
        "" => format!("{}\n", plan.name),
        start => format!("{}: {start}\n", plan.name),
    };
    let mut out = title;
    for event in &outcome.events {
        let time = match event.by_hand {
            Some(seconds) => format!("{} by hand", span(seconds)),
            None => format!("{:.3} s", outcome.seconds(event.at)),
        };
        out += &format!("{time:>16}  {}\n", event.what);
        if !event.lights.is_empty() {
            out += &format!("{:>16}  lights: {}\n", "", event.lights);
        }
    }
    out += "\n";
    for stage in &outcome.stages {
        out += &margins(stage, outcome, notation);
    }
    if let Some(haste) = &outcome.haste {
        out += &format!("{}\n", haste_words(haste));
    }
    out.extend(loaders.iter().map(Loader::text));
    for gap in &outcome.gaps {
        out += &format!("{} between {} and {}\n", bytes(gap.bytes), gap.below, gap.above);
    }
    for tape in outcome.tapes.iter().filter(|tape| tape.played == Played::Frames) {
        if plan.tapes.iter().any(|known| known.name == tape.name && known.sound.is_some()) {
            out += &format!("the recording of the tape {} was not played: `--sound` plays it\n", tape.name);
        }
    }
    let verdict = basis::verdict(outcome);
    let seconds = outcome.seconds(outcome.ended);
    let instructions = counted(outcome.instructions, "instruction");
    out += &format!("{verdict}: {seconds:.3} s of the machine, {instructions}\n");
    for (heading, text) in basis::basis(outcome) {
        out += &format!("  {heading}: {text}\n");
    }
    out
}

/// How much faster lines may be, in words.
pub fn haste_words(haste: &Haste) -> String {
    let keeps = match haste.keeps {
        0 => String::new(),
        keeps => format!("lines {keeps} % faster: the start agrees"),
    };
    let Some((fails, stage)) = &haste.fails else { return keeps };
    let fails = format!("{fails} % faster: the start fails while `{stage}` runs");
    if keeps.is_empty() { format!("lines {fails}") } else { format!("{keeps}; {fails}") }
}

/// What one stage had to spare.
fn margins(stage: &StageOutcome, outcome: &Outcome, notation: Notation) -> String {
    let mut out = format!("{}: {} at {}", stage.name, bytes(stage.bytes), notation.address(stage.entry));
    if let Some((first, last)) = stage.arrived {
        out += &format!(", loaded in {:.3} s", outcome.seconds(last) - outcome.seconds(first));
    }
    out.push('\n');
    if let Some(line) = &stage.margin {
        let margin = line.margin;
        out += &format!(
            "  tightest read: {} to spare, {:.1} % of a character of `{}` on {}, at {}\n",
            counted(margin.states.0, "T-state"),
            margin.per_cent,
            line.format,
            line.line,
            notation.address(margin.pc)
        );
    }
    if let Some(mismatch) = &stage.mismatch {
        out += &format!(
            "  mismatch: {} is set to `{}`, and the line is `{}`; it is heard all the same\n",
            mismatch.line, mismatch.set, mismatch.format
        );
    }
    if let Some(stack) = stage.stack {
        out += &format!("  deepest stack: {}\n", stack.words(notation));
    }
    out
}

fn bytes(number: usize) -> String {
    counted(number, "byte")
}

/// `2 min 5 s`
pub fn span(seconds: f64) -> String {
    let seconds = seconds.round() as u64;
    if seconds < 60 { format!("{seconds} s") } else { format!("{} min {} s", seconds / 60, seconds % 60) }
}
