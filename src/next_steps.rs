//! What to do with what was built, in order.

use std::fmt::Write;

use coldwright::delivery::{Artefact, Of};
use coldwright::drawing::html::escape;
use coldwright::project::Plan;
use coldwright::rehearsal::Outcome;

/// The guide: under what it is listed, what it is, and its file.
pub const GUIDE: (&str, &str, &str) = ("The chain", "Guide for a tablet at the panel", "guide.html");

/// The booklet, likewise.
pub const BOOKLET: (&str, &str, &str) = (GUIDE.0, "Booklet of all pages, to print", "booklet.pdf");

/// The steps as an ordered list of HTML: to the panel, if the chain is known to start; else to what is to be done before.
pub fn next_steps(plan: &Plan, artefacts: &[Artefact], outcomes: Option<&[Outcome]>) -> String {
    let mut steps = Vec::new();
    match outcomes {
        None => steps.push(
            "Rehearse it: <code>coldwright build --rehearse</code>. Until then nothing says that it starts.".into(),
        ),
        Some(outcomes) if !outcomes.iter().all(Outcome::agrees) => {
            steps.push(
                "Mend what the rehearsal finds, below, and build again. What follows is for a chain that starts."
                    .into(),
            );
        }
        Some(_) => {}
    }
    steps.push("Read the <a href=\"#cautions\">cautions</a>.".to_owned());
    let of = |test: fn(Of) -> bool| artefacts.iter().filter(move |made| test(made.of));
    let ending = |end: &'static str| move |made: &&Artefact| made.file.ends_with(end);
    let parts: Vec<_> = of(|of| matches!(of, Of::Socket(_))).filter(ending(".hex")).collect();
    if !parts.is_empty() {
        let labels =
            of(|of| matches!(of, Of::Socket(_))).filter(|made| made.file.starts_with("labels")).collect::<Vec<_>>();
        steps.push(format!("Program the parts: {}. Their labels: {}.", links(&parts), links(&labels)));
    }
    for (number, tape) in plan.tapes.numbered() {
        let made = || artefacts.iter().filter(move |made| made.of == Of::Tape(number));
        let sound: Vec<_> = made().filter(ending(".wav")).collect();
        let punched: Vec<_> = made().filter(ending("-punch.bin")).collect();
        let frames: Vec<_> = made().filter(ending(".bin")).collect();
        let what = match (sound.is_empty(), punched.is_empty()) {
            (false, _) => format!("record {}", links(&sound)),
            (_, false) => format!("punch {}", links(&punched)),
            _ => format!("send or punch {}", links(&frames)),
        };
        steps.push(format!("Make the tape {}: {what}.", escape(&tape.name)));
    }
    for (number, disk) in plan.disks.numbered() {
        let made: Vec<_> =
            artefacts.iter().filter(|made| made.of == Of::Disk(number)).filter(ending(".disk")).collect();
        steps.push(format!("Write the disk {}: {}.", escape(&disk.name), links(&made)));
    }
    let printed: Vec<_> = artefacts.iter().filter(ending(".pdf")).filter(|made| is_at_the_panel(made)).collect();
    let printed = printed.into_iter().map(|made| link(made, &by_hand(plan, made))).collect::<Vec<_>>().join(", ");
    let bound: Vec<_> = artefacts.iter().filter(|made| made.file == BOOKLET.2).collect();
    steps.push(format!("Print what is done by hand: {printed}. Or all pages in one: {}.", links(&bound)));
    let guide: Vec<_> = artefacts.iter().filter(|made| made.file == GUIDE.2).collect();
    steps.push(format!("At the panel, open the {} and do one step after the other.", links(&guide)));
    let other = "The lights are not as shown? <code>coldwright diagnose</code> takes in words what is seen. If <code>coldwright \
                 faults</code> is run before a build, the guide asks the same questions at the panel, and the booklet shows \
                 what each failure looks like.";
    steps.push(other.into());
    let mut out = String::from("<ol class=\"steps\">\n");
    for step in steps {
        // Writing to a string cannot fail.
        let _ = writeln!(out, "<li>{step}</li>");
    }
    out + "</ol>\n"
}

/// Whether a file is a sheet or a card, by which hands go.
fn is_at_the_panel(made: &Artefact) -> bool {
    made.file.starts_with("card") || made.title.starts_with("Deposit sheet")
}

fn links(made: &[&Artefact]) -> String {
    made.iter().map(|made| link(made, &made.title)).collect::<Vec<_>>().join(", ")
}

fn link(made: &Artefact, words: &str) -> String {
    format!("<a href=\"{}\">{}</a>", escape(&made.file), escape(words))
}

/// A sheet or a card, with the stage that it is of.
fn by_hand(plan: &Plan, made: &Artefact) -> String {
    let title = made.title.trim_end_matches(", to print");
    match made.of {
        Of::Stage(stage) => format!("{title} of {}", plan.stages[stage].name),
        _ => title.to_owned(),
    }
}
