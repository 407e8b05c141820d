//! What a rehearsal says, what it rests on, and what it does not show: the same words on the screen, on the page and for
//! programs.

use coldwright::rehearsal::{DiskOutcome, NOT_SHOWN, Outcome, Played, TapeOutcome};

/// The verdict as the beginning of a sentence.
pub fn verdict(outcome: &Outcome) -> String {
    let start = match outcome.start.as_str() {
        "" => "the start".to_owned(),
        name => format!("start `{name}`"),
    };
    let verb = if outcome.agrees() { "agrees" } else { "does not agree" };
    format!("{start} {verb} with the description")
}

/// What the verdict rests on, each kind under its heading; what there is none of is left out.
pub fn basis(outcome: &Outcome) -> Vec<(&'static str, String)> {
    let basis = &outcome.basis;
    let files = std::iter::once(&basis.machine).chain(&basis.programs).filter(|file| !file.is_empty());
    let files = files.map(|file| file.rsplit('/').next().unwrap_or(file).to_owned());
    let rests: Vec<String> =
        files.chain(outcome.tapes.iter().map(tape)).chain(outcome.disks.iter().map(disk)).collect();
    [
        ("it rests on", rests.join(", ")),
        ("taken for granted", basis.assumed.join(", ")),
        ("otherwise than described", basis.departures.join(", ")),
        ("it does not show", NOT_SHOWN.join(", ")),
    ]
    .into_iter()
    .filter(|(_, text)| !text.is_empty())
    .collect()
}

fn disk(disk: &DiskOutcome) -> String {
    let given = if disk.given { "given " } else { "" };
    format!("the {given}sectors of disk {}", disk.name)
}

fn tape(tape: &TapeOutcome) -> String {
    match tape.played {
        Played::Frames => format!("the frames of tape {}", tape.name),
        Played::Recording => format!("the recording of tape {}", tape.name),
        Played::GivenFrames => format!("the given frames of tape {}", tape.name),
        Played::GivenRecording => format!("the given recording of tape {}", tape.name),
    }
}
