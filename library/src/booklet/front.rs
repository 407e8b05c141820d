//! The first pages: what the chain is, and what can hurt.

use super::flow::{BODY, BOLD, Flow};
use crate::cautions::{CAUTIONS, Caution, FIRST, Topic, When};
use crate::delivery::Drawn;
use crate::drawing::Page;
use crate::project::Plan;
use crate::rehearsal::Outcome;

/// What the chain is, whether its starts were rehearsed, and the cautions.
pub fn draw(plan: &Plan, drawn: &Drawn, rehearsed: Option<&[Outcome]>) -> Vec<Page> {
    let mut flow = Flow::new(drawn.paper, &plan.name);
    flow.strong("A cold start, from power-on to the payload: everything for the bench in one booklet.");
    let check = plan.check().figures(plan.machine.panel.notation);
    flow.paragraph(&format!("All stages in order: {check}. These figures stand at the head of every page; a page with others belongs to another chain."));
    doubts(plan, drawn, &mut flow);
    flow.heading("Stages");
    stages(plan, &mut flow);
    flow.heading("Starts");
    starts(plan, rehearsed, &mut flow);
    flow.heading(&format!("Cautions: {FIRST}"));
    for (topic, caution) in cautions(drawn) {
        flow.row(&[((0.0, 26.0), BOLD, topic.word()), ((28.0, flow.width() - 28.0), BODY, &caution)]);
    }
    flow.finish()
}

/// Why starts are not to be trusted.
fn doubts(plan: &Plan, drawn: &Drawn, flow: &mut Flow) {
    for card in &drawn.cards {
        for (what, why) in card.card.doubts.iter().map(crate::panel::card::Doubt::words) {
            let name = &plan.starts[card.start].name;
            let whose = if name.is_empty() { String::new() } else { format!("{name}: ") };
            flow.frame(&format!("{whose}{what}").to_uppercase(), &why);
        }
    }
}

fn stages(plan: &Plan, flow: &mut Flow) {
    let notation = plan.machine.panel.notation;
    let width = flow.width();
    let columns = [(0.0, 34.0), (36.0, 78.0), (116.0, 20.0), (138.0, 22.0), (162.0, width - 162.0)];
    let heads = ["stage", "where it comes from", "bytes", "starts at", "sum"];
    let cells: Vec<_> = columns.iter().zip(heads).map(|(&column, head)| (column, BOLD, head)).collect();
    flow.row(&cells);
    for stage in &plan.stages {
        let check = crate::panel::Check::of(stage.image.extents().map(|extent| extent.bytes));
        let texts = [
            stage.name.clone(),
            plan.home_words(&stage.home),
            check.bytes.to_string(),
            notation.address(stage.entry).to_string(),
            notation.word(check.sum).to_string(),
        ];
        let cells: Vec<_> = columns.iter().zip(&texts).map(|(&column, text)| (column, BODY, text.as_str())).collect();
        flow.row(&cells);
    }
}

fn starts(plan: &Plan, rehearsed: Option<&[Outcome]>, flow: &mut Flow) {
    for (number, start) in plan.starts.numbered() {
        let names: Vec<_> = start.stages.iter().map(|&stage| plan.stages[stage].name.as_str()).collect();
        let whose = if start.name.is_empty() { String::new() } else { format!("{}: ", start.name) };
        flow.strong(&format!("{whose}{}", names.join(", then ")));
        let outcome = rehearsed.and_then(|outcomes| outcomes.get(number.place()));
        flow.paragraph(match outcome {
            None => "Not rehearsed for this booklet: `coldwright rehearse` does it.",
            Some(outcome) if outcome.agrees() => {
                "Rehearsed with the very sheets, parts, tapes and disks of this booklet: it agrees with the description of \
                 the machine. What the machine file does not say was not tried."
            }
            Some(_) => "Rehearsed, and it does not agree with the description of the machine: do not start it like this.",
        });
    }
}

/// What can hurt in any of the starts, and at what else the booklet leads to, topic by topic.
fn cautions(drawn: &Drawn) -> Vec<(Topic, String)> {
    let on_cards = |caution: &Caution| {
        let mut told = drawn.cards.iter().flat_map(|card| &card.card.cautions);
        told.any(|(topic, text)| *topic == caution.topic && text.contains(caution.short))
    };
    let applies = |caution: &&Caution| on_cards(caution) || caution.when == When::Step && !drawn.lights.is_empty();
    let of_topic = |topic: Topic| {
        let told = CAUTIONS.iter().filter(|caution| caution.topic == topic).filter(applies);
        (topic, told.map(|caution| caution.short).collect::<Vec<_>>().join(" "))
    };
    Topic::ALL.into_iter().map(of_topic).filter(|(_, told)| !told.is_empty()).collect()
}
