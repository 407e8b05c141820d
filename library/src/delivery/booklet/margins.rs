//! What each start had to spare when it was rehearsed, and what no rehearsal shows.

use super::flow::{BODY, BOLD, Flow};
use crate::drawing::Page;
use crate::notation::counted;
use crate::panel::Paper;
use crate::project::Plan;
use crate::rehearsal::{NOT_SHOWN, Outcome};

/// The page.
pub fn draw(plan: &Plan, rehearsed: Option<&[Outcome]>, paper: Paper) -> Vec<Page> {
    let mut flow = Flow::new(paper, "What there was to spare");
    match rehearsed {
        None => flow.paragraph(
            "The chain was not rehearsed for this booklet, so nothing is known of it: `coldwright rehearse` finds it.",
        ),
        Some(outcomes) => outcomes.iter().for_each(|outcome| start(plan, outcome, &mut flow)),
    }
    flow.heading("What a rehearsal does not show");
    flow.paragraph(&format!("It does not show {}.", NOT_SHOWN.join(", ")));
    flow.paragraph("How far the clock and the lines may be off, `coldwright limits` plays; it is not in this booklet.");
    flow.heading("When it does not start");
    flow.paragraph(
        "Every action of a run card says what it means if something else shows. What each single fault would make of a start \
         is not in this booklet: `coldwright faults` plays them, and `coldwright diagnose` goes from what is seen back to \
         the fault.",
    );
    flow.finish()
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
