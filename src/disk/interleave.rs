//! `disk interleave`: in which order of its sectors a loader is quickest.

use std::fmt::Write;
use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use crate::chain;
use crate::progress::{self, Counted};
use crate::rehearse::unknown;
use crate::report::Report;
use coldwright::disk::Numbering;
use coldwright::project::Plan;
use coldwright::rehearsal::Slower;
use coldwright::rehearsal::interleave::{
    Bench, OnDisk, Spacing, Spare, Took, Varied, declared_order, on_disks, varied,
};
use coldwright::source::{Code, Diagnostic, SourceMap};

/// Run the loader of a chain at every distance between sectors, and name the quickest
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright disk interleave examples/headland\n  \
    coldwright disk interleave examples/headland --start \"from the cassette\" --json")]
pub struct Interleave {
    /// The folder of the chain, or its chain file
    #[arg(default_value = ".", value_name = "DIR")]
    chain: PathBuf,
    /// The way to start whose loader is run [default: the first that reads a disk]
    #[arg(long, value_name = "NAME")]
    start: Option<String>,
}

/// What was found of a stage.
struct Found {
    what: OnDisk,
    clock_hz: u64,
    turn_states: f64,
    spacings: Vec<Spacing>,
    /// The distance of the layout, if it is one of those that were tried.
    declared: Option<usize>,
    as_declared: Took,
    /// Of the quickest distance, and of the layout's own if that is another.
    spares: Vec<(Option<usize>, Spare, Spare)>,
}

impl Interleave {
    pub(super) fn run(self, report: &mut Report) {
        let mut sources = SourceMap::default();
        let Some(mut plan) = chain::load(&self.chain, &mut sources, report) else { return };
        if let Some(name) = self.start.as_ref().filter(|name| !plan.starts.iter().any(|start| start.name == **name)) {
            let names: Vec<_> = plan.starts.iter().map(|start| start.name.as_str()).collect();
            return report.problem(unknown("start", name, &names));
        }
        let all = on_disks(&plan);
        let start = match &self.start {
            Some(name) => plan.starts.find(|start| start.name == *name),
            None => all.first().map(|what| what.start),
        };
        let read: Vec<_> = all.into_iter().filter(|what| Some(what.start) == start).collect();
        if read.is_empty() {
            let problem = Diagnostic::error(Code::HomeUnknown, "no stage is read from a disk");
            return report
                .problem(problem.with_help("a stage lies on one by `home = { disk = \"NAME\", area = \"AREA\" }`"));
        }
        for what in read {
            let found = found(&mut plan, &sources, what, report.json());
            report.print(if report.json() { format!("{}\n", json(&plan, &found)) } else { text(&plan, &found) });
            if best(&found).is_none() {
                report.fail();
            }
        }
    }
}

/// Runs the loader of a stage at every distance, and slower at the best of them and at that of the layout.
fn found(plan: &mut Plan, sources: &SourceMap, what: OnDisk, json: bool) -> Found {
    let layout = &plan.disks[what.disk].layout;
    let places = 1..=layout.sectors().saturating_sub(1).max(1);
    let own = declared_order(plan, what).to_vec();
    let bar = progress::bar(Counted::Plays, places.clone().count() as u64, json);
    let mut bench = Bench::new(plan, sources, what);
    let spacings: Vec<_> = places.map(|places| bench.spaced(places)).inspect(|_| bar.inc(1)).collect();
    let as_declared = bench.declared();
    let declared = spacings.iter().find(|spacing| spacing.value == own).map(|spacing| spacing.places);
    let (clock_hz, turn_states) = (bench.clock_hz(), bench.turn_states());
    let mut found = Found { what, clock_hz, turn_states, spacings, declared, as_declared, spares: Vec::new() };
    let best = best(&found).map(|spacing| Some(spacing.places));
    let tried = best.into_iter().chain(Some(declared).filter(|it| Some(*it) != best));
    let (cell, turn) = (bench.byte_states(), turn_states as u32);
    for places in tried.collect::<Vec<_>>() {
        let byte = bench.spare(places, cell, |byte| Slower { byte, sector: 0 });
        let sector = bench.spare(places, turn, |sector| Slower { byte: 0, sector });
        found.spares.push((places, byte, sector));
    }
    bar.finish_and_clear();
    found
}

/// The quickest distance, the shorter of two that are as quick.
fn best(found: &Found) -> Option<&Spacing> {
    let time = |spacing: &&Spacing| match spacing.took {
        Took::Time(time) => Some(time),
        Took::Failed(_) => None,
    };
    found.spacings.iter().filter(|it| time(it).is_some()).min_by_key(time)
}

/// The key of the layout file with its value: a number, where one says it.
fn written(plan: &Plan, found: &Found, spacing: &Spacing) -> String {
    let layout = &plan.disks[found.what.disk].layout;
    let (first, count) = (layout.first, layout.sectors());
    let number = (1..count.max(2)).find(|&step| Numbering::every(step, first, count).numbers() == spacing.value);
    let key = match varied(layout) {
        Varied::Order => "order",
        Varied::Passing => "interleave",
    };
    match number {
        Some(number) => format!("{key} = {number}"),
        None => {
            let list: Vec<_> = spacing.value.iter().map(u8::to_string).collect();
            format!("{key} = [{}]", list.join(", "))
        }
    }
}

fn text(plan: &Plan, found: &Found) -> String {
    let (disk, stage) = (&plan.disks[found.what.disk], &plan.stages[found.what.stage]);
    let start = &plan.starts[found.what.start].name;
    let start = if start.is_empty() { String::new() } else { format!(", start `{start}`") };
    let what = match varied(&disk.layout) {
        Varied::Order => "each sector is read so many holes behind the one before it",
        Varied::Passing => "each number passes so many places behind the one before it",
    };
    let mut out = format!("`{}` on the disk `{}`{start}: {what}\n", stage.name, disk.name);
    for spacing in &found.spacings {
        let own = if found.declared == Some(spacing.places) { "  as the layout says" } else { "" };
        let _ = writeln!(out, "{:>5}  {}{own}", spacing.places, took(found, &spacing.took));
    }
    if found.declared.is_none() {
        let _ = writeln!(out, "as the layout says, by a list of its own: {}", took(found, &found.as_declared));
    }
    match best(found) {
        Some(best) => {
            let _ = writeln!(out, "quickest: {}, {}", best.places, written(plan, found, best));
        }
        None => out += "the loader reads none of them: does it follow an order of its own?\n",
    }
    for (places, byte, sector) in &found.spares {
        let at = places.map_or("as the layout says".into(), |places| format!("at {places}"));
        for (each, spare) in [("byte", byte), ("sector", sector)] {
            let _ =
                writeln!(out, "{at}, a loader that is slower by T-states for each {each}: {}", spared(found, spare));
        }
    }
    out
}

fn took(found: &Found, took: &Took) -> String {
    match took {
        Took::Time(time) => {
            let turns = time.0 as f64 / found.turn_states;
            let seconds = time.0 as f64 / found.clock_hz as f64;
            format!("{turns:6.2} turns  {seconds:7.3} s")
        }
        Took::Failed(why) => format!("fails: {why}"),
    }
}

fn spared(found: &Found, spare: &Spare) -> String {
    let then = |it: &Took| match it {
        Took::Time(_) => took(found, it).split_whitespace().collect::<Vec<_>>().join(" "),
        Took::Failed(why) => format!("it fails: {why}"),
    };
    match (&spare.costly, spare.free) {
        (Some((_, costly)), 0) => format!("1 costs {}", then(costly)),
        (Some((most, costly)), free) => format!("{free} cost less than a sector's time; {most}: {}", then(costly)),
        (None, free) => format!("{free} cost less than a sector's time, and more were not tried"),
    }
}

fn json(plan: &Plan, found: &Found) -> Value {
    let took = |took: &Took| match took {
        Took::Time(time) => json!({ "states": time.0, "turns": time.0 as f64 / found.turn_states }),
        Took::Failed(why) => json!({ "fails": why }),
    };
    let spacing = |spacing: &Spacing| {
        json!({
            "places": spacing.places, "order": spacing.value, "took": took(&spacing.took),
            "declared": found.declared == Some(spacing.places),
        })
    };
    let spare = |spare: &Spare| {
        let costly = spare.costly.as_ref().map(|(more, then)| json!({ "states": more, "took": took(then) }));
        json!({ "one": took(&spare.one), "free": spare.free, "costly": costly })
    };
    let spares = found
        .spares
        .iter()
        .map(|(places, byte, sector)| json!({ "places": places, "byte": spare(byte), "sector": spare(sector) }));
    json!({
        "stage": plan.stages[found.what.stage].name, "disk": plan.disks[found.what.disk].name,
        "start": plan.starts[found.what.start].name, "turn_states": found.turn_states,
        "spacings": found.spacings.iter().map(spacing).collect::<Vec<_>>(), "declared": took(&found.as_declared),
        "quickest": best(found).map(|best| best.places), "slower": spares.collect::<Vec<_>>(),
    })
}
