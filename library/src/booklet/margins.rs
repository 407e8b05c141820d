//! What each start had to spare when it was rehearsed, and what no rehearsal shows.

use super::flow::{BODY, BOLD, Flow};
use super::known::Known;
use crate::drawing::Page;
use crate::limits::{LEFT_OUT, Limits, not_played, rows};
use crate::notation::counted;
use crate::panel::Paper;
use crate::project::Plan;
use crate::rehearsal::{NOT_SHOWN, Outcome};

/// The page.
pub fn draw(plan: &Plan, rehearsed: Option<&[Outcome]>, known: &[Known], paper: Paper) -> Vec<Page> {
    let mut flow = Flow::new(paper, "What there was to spare");
    match rehearsed {
        None => flow.paragraph(
            "The chain was not rehearsed for this booklet, so nothing is known of it: coldwright rehearse finds it.",
        ),
        Some(outcomes) => outcomes.iter().for_each(|outcome| start(plan, outcome, &mut flow)),
    }
    flow.heading("What a rehearsal does not show");
    flow.paragraph(&format!("It does not show {}.", NOT_SHOWN.join(", ")));
    for (start, known) in plan.starts.iter().zip(known) {
        if let Some(found) = &known.limits {
            limits(plan, &start.name, found, &mut flow);
        }
    }
    if known.iter().all(|known| known.limits.is_none()) {
        flow.paragraph(
            "How far the clock and the lines may be off is not in this booklet: coldwright limits plays it, and a booklet that is \
             bound behind it has it.",
        );
    }
    if known.iter().all(|known| known.failures.is_none()) {
        flow.heading("When it does not start");
        flow.paragraph(
            "Every action of a run card says what it means if something else shows. What each single fault would make of a \
             start is not in this booklet: coldwright faults plays them, and a booklet that is bound behind it has what they \
             look like. coldwright diagnose goes from what is seen back to the fault.",
        );
    }
    flow.finish()
}

/// How far each thing of a start may go.
fn limits(plan: &Plan, start: &str, found: &Limits, flow: &mut Flow) {
    let of = if start.is_empty() { String::new() } else { format!(": {start}") };
    flow.heading(&format!("How far each thing may go{of}"));
    for row in rows(&found.limits, plan.machine.panel.notation) {
        flow.strong(&row.what.replace('`', ""));
        row.lines.iter().for_each(|line| flow.paragraph(&line.replace('`', "")));
    }
    flow.paragraph(&format!("{LEFT_OUT} {}.", not_played().join("; ")));
}

fn start(plan: &Plan, outcome: &Outcome, flow: &mut Flow) {
    flow.heading(if outcome.start.is_empty() { "The start" } else { &outcome.start });
    let columns = [(0.0, 34.0), (36.0, flow.width() - 36.0)];
    for stage in &outcome.stages {
        let told = stage.margins(outcome, plan.machine.panel.notation);
        flow.row(&[(columns[0], BOLD, &stage.name), (columns[1], BODY, &told)]);
    }
    for gap in &outcome.gaps {
        let told = format!("{} between {} and {}", counted(gap.bytes, "byte"), gap.below, gap.above);
        flow.row(&[(columns[0], BOLD, "room"), (columns[1], BODY, &told)]);
    }
    for problem in outcome.problems.iter() {
        flow.row(&[
            (columns[0], BOLD, problem.severity.word()),
            (columns[1], BODY, &problem.headline.replace('`', "")),
        ]);
    }
    for taken in &outcome.basis.assumed {
        flow.row(&[(columns[0], BOLD, "taken for granted"), (columns[1], BODY, &taken.replace('`', ""))]);
    }
}
