//! A rehearsal for programs.

use serde_json::{Value, json};

use super::loaders::Loader;
use coldwright::project::Plan;
use coldwright::rehearsal::{Basis, NOT_SHOWN, Outcome, Played, StageOutcome, TapeOutcome};

pub fn to_json(plan: &Plan, rehearsed: &[(Outcome, Vec<Loader>)]) -> Value {
    json!({ "chain": plan.name, "starts": rehearsed.iter().map(start_json).collect::<Vec<_>>() })
}

fn start_json((outcome, loaders): &(Outcome, Vec<Loader>)) -> Value {
    let events = outcome.events.iter().map(|event| {
        json!({
            "t_states": event.at.0,
            "seconds": outcome.seconds(event.at),
            "by_hand": event.by_hand,
            "what": event.what,
            "lights": event.lights,
        })
    });
    let gaps = outcome.gaps.iter().map(|gap| json!({ "below": gap.below, "above": gap.above, "bytes": gap.bytes }));
    let problems = outcome.problems.iter().map(|problem| {
        json!({ "code": problem.code.name(), "severity": problem.severity.word(), "headline": problem.headline })
    });
    json!({
        "name": outcome.start,
        "agrees": outcome.agrees(),
        "rests_on": basis_json(outcome),
        "does_not_show": NOT_SHOWN,
        "clock_hz": outcome.clock_hz,
        "t_states": outcome.ended.0,
        "instructions": outcome.instructions,
        "events": events.collect::<Vec<_>>(),
        "stages": outcome.stages.iter().map(stage_json).collect::<Vec<_>>(),
        "tapes": outcome.tapes.iter().map(tape_json).collect::<Vec<_>>(),
        "lines_faster": outcome.haste.as_ref().map(|haste| json!({
            "agrees_per_cent": haste.keeps,
            "fails_per_cent": haste.fails.as_ref().map(|(faster, _)| *faster),
            "fails_in": haste.fails.as_ref().map(|(_, stage)| stage),
        })),
        "loaders": loaders.iter().map(Loader::json).collect::<Vec<_>>(),
        "gaps": gaps.collect::<Vec<_>>(),
        "problems": problems.collect::<Vec<_>>(),
    })
}

fn basis_json(outcome: &Outcome) -> Value {
    let Basis { machine, programs, assumed, departures } = &outcome.basis;
    json!({ "machine": machine, "programs": programs, "taken_for_granted": assumed, "otherwise": departures })
}

fn stage_json(stage: &StageOutcome) -> Value {
    json!({
        "name": stage.name,
        "bytes": stage.bytes,
        "entry": stage.entry.0,
        "entered": stage.entered.0,
        "arrived": stage.arrived.map(|(first, last)| json!({ "first": first.0, "last": last.0 })),
        "tightest_read": stage.margin.as_ref().map(|line| json!({
            "line": line.line,
            "format": line.format,
            "character_t_states": line.character_states,
            "t_states": line.margin.states.0,
            "per_cent": line.margin.per_cent,
            "address": line.margin.pc.0,
            "at": line.margin.at.0,
        })),
        "mismatch": stage.mismatch.as_ref().map(|mismatch| json!({
            "severity": "warning",
            "line": mismatch.line,
            "set": mismatch.set,
            "format": mismatch.format,
        })),
        "deepest_stack": stage.stack.map(|stack| json!({
            "bytes": stack.depth(),
            "top": stack.top.0,
            "lowest": stack.lowest.0,
            "bytes_above_top": stack.above,
        })),
    })
}

fn tape_json(tape: &TapeOutcome) -> Value {
    let played = match tape.played {
        Played::Frames => "frames",
        Played::Recording => "recording",
        Played::GivenFrames => "given frames",
        Played::GivenRecording => "given recording",
    };
    json!({
        "name": tape.name,
        "frames": tape.frames,
        "played": played,
        "started": tape.started.0,
        "seconds_before_run": tape.before,
        "first_character": tape.begins.0,
        "ends": tape.ends.0,
        "may_be_stopped": tape.done.map(|done| done.0),
    })
}
