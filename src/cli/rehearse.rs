//! `rehearse`: the cold start of a chain, simulated.

use std::collections::BTreeMap;
use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use super::report::Report;
use super::{chain, files};
use crate::notation::{Address, Notation, counted, parse_number};
use crate::project::{Plan, Start};
use crate::rehearsal::{self, Outcome, Request, StageOutcome};
use crate::source::SourceMap;

/// Rehearse the cold start of a chain, from power-on to the payload
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright rehearse examples/belfry\n  \
    coldwright rehearse examples/rooster --start \"with the ROM\" --json")]
pub struct Rehearse {
    /// The folder of the chain, or its chain file
    #[arg(default_value = ".", value_name = "DIR")]
    chain: PathBuf,
    /// Rehearse this way to start only
    #[arg(long, value_name = "NAME")]
    start: Option<String>,
    /// Play the bytes of a file instead of what the chain makes for a tape; may be given for several tapes
    #[arg(long = "tape", value_name = "NAME=FILE", value_parser = tape)]
    tapes: Vec<(String, PathBuf)>,
    /// Let the hand set a byte wrong at the panel; may be given several times
    #[arg(long = "slip", value_name = "ADDRESS=BYTE", value_parser = slip)]
    slips: Vec<(Address, u8)>,
    /// What the noise in memory at power-on is drawn from
    #[arg(long, value_name = "NUMBER", default_value = "1")]
    seed: u64,
    /// Print every instruction with its time and its source
    #[arg(long)]
    trace: bool,
}

fn tape(text: &str) -> Result<(String, PathBuf), String> {
    let (name, file) = text.split_once('=').ok_or("expected a tape's name, `=` and a file")?;
    Ok((name.to_owned(), file.into()))
}

fn slip(text: &str) -> Result<(Address, u8), String> {
    let (address, byte) = text.split_once('=').ok_or("expected an address, `=` and a byte")?;
    let number = |text: &str| parse_number(text).map_err(|error| format!("`{text}` is {error}"));
    let byte = number(byte)?;
    Ok((Address(number(address)?), u8::try_from(byte).map_err(|_| format!("`{byte}` is more than a byte"))?))
}

impl Rehearse {
    pub(super) fn run(self, report: &mut Report) {
        let mut sources = SourceMap::default();
        let Some(plan) = chain::load(&self.chain, &mut sources, report) else { return };
        let Some(request) = self.request(&plan, report) else { return };
        let named = |start: &&Start| self.start.as_ref().is_none_or(|name| *name == start.name);
        let starts: Vec<_> = plan.starts.iter().filter(named).collect();
        if starts.is_empty() {
            let names: Vec<_> = plan.starts.iter().map(|start| start.name.as_str()).collect();
            return report.problem(unknown("start", &self.start.unwrap_or_default(), &names));
        }
        let mut outcomes = Vec::new();
        for start in starts {
            let mut print = |line: &str| report.print(format!("{line}\n"));
            let trace: Option<&mut rehearsal::Trace> = if self.trace { Some(&mut print) } else { None };
            outcomes.push(rehearsal::rehearse(&plan, start, &request, &sources, trace));
        }
        tell(&plan, outcomes, &sources, report);
    }

    fn request(&self, plan: &Plan, report: &mut Report) -> Option<Request> {
        let mut tapes = BTreeMap::new();
        for (name, path) in &self.tapes {
            if !plan.tapes.iter().any(|tape| tape.name == *name) {
                let names: Vec<_> = plan.tapes.iter().map(|tape| tape.name.as_str()).collect();
                report.problem(unknown("tape", name, &names));
                return None;
            }
            let bytes = files::read(path).map_err(|problem| report.problem(problem)).ok()?;
            tapes.insert(name.clone(), bytes);
        }
        Some(Request { seed: self.seed, slips: self.slips.clone(), tapes })
    }
}

/// Every way to start a chain, rehearsed without faults.
pub(super) fn all(plan: &Plan, sources: &SourceMap) -> Vec<Outcome> {
    let request = Request::default();
    plan.starts.iter().map(|start| rehearsal::rehearse(plan, start, &request, sources, None)).collect()
}

/// Prints what came of rehearsals; one that failed fails the run.
pub(super) fn tell(plan: &Plan, outcomes: Vec<Outcome>, sources: &SourceMap, report: &mut Report) {
    let json = report.json();
    if json {
        report.print(format!("{}\n", to_json(plan, &outcomes)));
    }
    for outcome in outcomes {
        if !json {
            report.print(text(plan, &outcome));
        }
        let proven = outcome.is_proven();
        report.problems(outcome.problems, sources);
        if !proven {
            report.fail();
        }
    }
}

fn unknown(what: &str, name: &str, known: &[&str]) -> crate::source::Diagnostic {
    use crate::source::{Code, Diagnostic, nearest};
    let problem = Diagnostic::error(Code::HomeUnknown, format!("the chain has no {what} `{name}`"));
    match nearest(name, known.iter().copied()) {
        Some(near) => problem.with_help(format!("did you mean `{near}`?")),
        None if known.iter().all(|name| name.is_empty()) => problem.with_help(format!("leave out `--{what}`")),
        None => problem.with_help(format!("known: {}", known.join(", "))),
    }
}

/// The timeline and the margins for people.
fn text(plan: &Plan, outcome: &Outcome) -> String {
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
    for gap in &outcome.gaps {
        out += &format!("{} between {} and {}\n", counted(gap.bytes, "byte"), gap.below, gap.above);
    }
    let verdict = if outcome.is_proven() { "proven" } else { "failed" };
    let seconds = outcome.seconds(outcome.ended);
    out + &format!("{verdict}: {seconds:.3} s of the machine, {} instructions\n", outcome.instructions)
}

/// What one stage had to spare.
fn margins(stage: &StageOutcome, outcome: &Outcome, notation: Notation) -> String {
    let mut out = format!("{}: {} at {}", stage.name, counted(stage.bytes, "byte"), notation.address(stage.entry));
    if let Some((first, last)) = stage.arrived {
        out += &format!(", loaded in {:.3} s", outcome.seconds(last) - outcome.seconds(first));
    }
    out.push('\n');
    if let Some(line) = &stage.margin {
        let margin = line.margin;
        out += &format!(
            "  tightest read: {} T-states, {:.1} % of a character of `{}` on {}, at {}\n",
            margin.states,
            margin.per_cent,
            line.format,
            line.line,
            notation.address(margin.pc)
        );
    }
    if let Some((set, line)) = &stage.other_stop_bits {
        out += &format!("  set to `{set}` on a line of `{line}`: heard all the same\n");
    }
    if let Some(stack) = stage.stack {
        let lowest = notation.address(stack.lowest);
        out += &format!("  deepest stack: {}, down to {lowest}\n", counted(stack.depth(), "byte"));
    }
    out
}

/// `2 min 5 s`
pub(super) fn span(seconds: f64) -> String {
    let seconds = seconds.round() as u64;
    if seconds < 60 { format!("{seconds} s") } else { format!("{} min {} s", seconds / 60, seconds % 60) }
}

fn to_json(plan: &Plan, outcomes: &[Outcome]) -> Value {
    json!({ "chain": plan.name, "starts": outcomes.iter().map(start_json).collect::<Vec<_>>() })
}

fn start_json(outcome: &Outcome) -> Value {
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
    json!({
        "name": outcome.start,
        "proven": outcome.is_proven(),
        "clock_hz": outcome.clock_hz,
        "t_states": outcome.ended.0,
        "instructions": outcome.instructions,
        "events": events.collect::<Vec<_>>(),
        "stages": outcome.stages.iter().map(stage_json).collect::<Vec<_>>(),
        "gaps": gaps.collect::<Vec<_>>(),
    })
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
        "deepest_stack": stage.stack.map(|stack| json!({
            "bytes": stack.depth(),
            "top": stack.top.0,
            "lowest": stack.lowest.0,
        })),
    })
}
