//! What only shows when a chain is looked at as a whole.

use super::chain_file::Placed;
use super::machine::Machine;
use super::plan::{Home, Plan, Stage};
use crate::image::Image;
use crate::notation::{Address, Notation};
use crate::rom;
use crate::source::{Code, Diagnostic, Diagnostics};

/// Checks a plan whose parts are all there.
pub fn audit(plan: &Plan, problems: &mut Diagnostics) {
    for stage in &plan.stages {
        room(plan, stage, problems);
        ports(plan, stage, problems);
    }
    sockets(plan, problems);
    overlaps(plan, problems);
}

/// Every name once.
pub fn unique<'a>(names: impl Iterator<Item = &'a Placed<String>>, what: &str, problems: &mut Diagnostics) {
    let mut seen: Vec<&Placed<String>> = Vec::new();
    for name in names {
        if let Some(first) = seen.iter().find(|first| first.value == name.value) {
            let problem = Diagnostic::error(Code::NameTwice, format!("two {what}s have the name `{}`", name.value));
            problems.push(problem.at(name.span, "the second").and_at(first.span, "the first"));
        }
        seen.push(name);
    }
}

/// How the sense switches stand for stages that run one after the other: all that care must want the same.
pub fn sense(list: &[usize], stages: &[Stage], machine: &Machine, problems: &mut Diagnostics) -> u8 {
    let mut wanted: Option<(&Stage, &Placed<u8>)> = None;
    for stage in list.iter().map(|&number| &stages[number]) {
        let Some(sense) = &stage.sense else { continue };
        if machine.sense_port.is_none() {
            let problem = Diagnostic::error(Code::SenseContradiction, "the machine has no sense switches")
                .at(sense.span, "set here")
                .with_help("say `sense_port` under `panel` in the machine file");
            problems.push(problem);
        }
        match wanted {
            Some((first, setting)) if setting.value != sense.value => {
                let headline = format!(
                    "`{}` wants the sense switches at `{:03o}`, `{}` wants them at `{:03o}`",
                    first.name, setting.value, stage.name, sense.value
                );
                let problem = Diagnostic::error(Code::SenseContradiction, headline)
                    .at(sense.span, "this stage runs after the other")
                    .and_at(setting.span, "set differently here")
                    .with_help("nobody turns a switch between two stages: agree on one setting");
                problems.push(problem);
            }
            Some(_) => {}
            None => wanted = Some((stage, sense)),
        }
    }
    wanted.map_or(0, |(_, sense)| sense.value)
}

/// Whether a stage can be where it belongs.
fn room(plan: &Plan, stage: &Stage, problems: &mut Diagnostics) {
    if let Home::Panel(Some(limit)) = stage.home
        && stage.image.len() > limit
    {
        let headline =
            format!("`{}` has `{}` bytes to toggle, more than its limit of `{limit}`", stage.name, stage.image.len());
        let problem = Diagnostic::error(Code::PanelLimit, headline).at(stage.span, "this stage");
        problems.push(problem.with_help("shorten the loader, or raise `limit` in its home"));
    }
    if !matches!(stage.home, Home::Socket(_)) {
        problems.append(plan.machine.unwritable(&stage.image));
    }
}

/// Ports that a program uses and the machine file does not know.
fn ports(plan: &Plan, stage: &Stage, problems: &mut Diagnostics) {
    for used in stage.code.iter().flat_map(|code| &code.ports) {
        let (known, verb) = match used.output {
            true => (&plan.machine.ports.outputs, "written"),
            false => (&plan.machine.ports.inputs, "read"),
        };
        if !known.contains_key(&used.port) {
            let headline = format!("port `{:03o}` is {verb}, and the machine file knows of nothing there", used.port);
            let list: Vec<_> = known.iter().map(|(port, at)| format!("{port:03o} {}", at.name)).collect();
            let problem = Diagnostic::warning(Code::PortUnwired, headline).at(used.span, "this instruction");
            let problem = problem.with_help("correct the number, or describe the port under `[[port]]`");
            problems.push(match list.is_empty() {
                true => problem,
                false => problem.with_note(format!("known: {}", list.join(", "))),
            });
        }
    }
}

/// Stages in sockets must fit, all those of one socket together.
fn sockets(plan: &Plan, problems: &mut Diagnostics) {
    for (number, socket) in plan.machine.sockets.iter().enumerate() {
        for stage in plan.stages.iter().filter(|stage| stage.home == Home::Socket(number)) {
            let (_, found) = rom::fit(&stage.image, std::slice::from_ref(socket), 0, plan.machine.panel.notation);
            problems.append(found);
        }
    }
}

/// Stages that cannot be in memory together.
fn overlaps(plan: &Plan, problems: &mut Diagnostics) {
    for start in &plan.starts {
        for pair in start.stages.windows(2) {
            let (loader, loaded) = (&plan.stages[pair[0]], &plan.stages[pair[1]]);
            if loaded.over.contains(&pair[0]) {
                continue;
            }
            if let Some((first, last)) = common(&loader.image, &loaded.image) {
                problems.push(overlap(plan, loader, loaded, first, last));
            }
        }
    }
}

fn overlap(plan: &Plan, loader: &Stage, loaded: &Stage, first: Address, last: Address) -> Diagnostic {
    let notation: Notation = plan.machine.panel.notation;
    let range = format!("`{}` to `{}`", notation.address(first), notation.address(last));
    let headline = format!("`{}` and the loader that reads it, `{}`, both lie at {range}", loaded.name, loader.name);
    let mut problem = Diagnostic::error(Code::StagesOverlap, headline)
        .at(loaded.span, "loaded here")
        .and_at(loader.span, "by this one");
    for (stage, verb) in [(loaded, "loaded"), (loader, "loading")] {
        if let Some(place) = stage.made_by(first) {
            problem = problem.and_at(place.span(), format!("the first byte of the {verb} stage there"));
        }
    }
    problem.with_help(format!(
        "move one of them; or, if the loader is done with those bytes by then, say `over = [\"{}\"]` in the stage `{}`",
        loader.name, loaded.name
    ))
}

/// The first and the last address that two images share.
pub fn common(first: &Image, second: &Image) -> Option<(Address, Address)> {
    let mut shared = first.extents().flat_map(|extent| extent.base.index()..=extent.last().index());
    let mut shared = shared.by_ref().filter(|&at| second.byte(Address(at as u16)).is_some());
    let low = shared.next()?;
    let high = shared.last().unwrap_or(low);
    Some((Address(low as u16), Address(high as u16)))
}
