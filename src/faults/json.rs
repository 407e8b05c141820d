//! The faults for programs.

use serde_json::json;

use coldwright::faults::{Class, Played, Words};
use coldwright::project::Plan;

/// A start with all its faults, on a line.
pub fn to_json(plan: &Plan, start: &str, played: &[Played], words: &Words) -> String {
    let count = |class| played.iter().filter(|played| played.outcome.class() == class).count();
    let counts: serde_json::Map<_, _> =
        Class::ALL.into_iter().map(|class| (word(&json!(class)), count(class).into())).collect();
    let faults = played.iter().map(|Played { fault, outcome }| {
        json!({
            "group": fault.kind.group(),
            "kind": fault.kind,
            "name": fault.kind.name(),
            "weight": fault.kind.weight(),
            "fault": words.fault(fault),
            "wrong": fault.wrong,
            "class": outcome.class(),
            "becomes": words.outcome(outcome),
            "found_by": words.found_by(fault),
            "mend": fault.kind.mend(),
            "outcome": outcome,
        })
    });
    let faults: Vec<_> = faults.collect();
    format!(
        "{}\n",
        json!({ "chain": plan.name, "start": start, "counts": counts, "faults": faults, "not_played": words.left_out() })
    )
}

fn word(value: &serde_json::Value) -> String {
    value.as_str().unwrap_or_default().to_owned()
}
