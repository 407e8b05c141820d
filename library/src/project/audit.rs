//! What only shows when a chain is looked at as a whole.

use std::collections::BTreeMap;

use super::chain_file::{HomeEntry, StageEntry, StartEntry};
use super::entries::Placed;
use super::listed::Id;
use super::machine::Machine;
use super::plan::{Home, Plan, PortUse, Stage};
use super::seated::{seated, share};
use crate::image::Image;
use crate::notation::{Address, Notation};
use crate::rom::{self, Socket};
use crate::source::{Code, Diagnostic, Diagnostics};

/// Checks a plan whose parts are all there.
pub fn audit(plan: &Plan, problems: &mut Diagnostics) {
    for stage in &plan.stages {
        room(plan, stage, problems);
        ports(plan, stage, problems);
        bits(plan, stage, problems);
        crossed(plan, stage, problems);
    }
    sockets(plan, problems);
    drives(plan, problems);
    overlaps(plan, problems);
}

/// Every name once.
pub fn unique<'a>(names: impl Iterator<Item = &'a Placed<String>>, what: &str, problems: &mut Diagnostics) {
    let mut seen: Vec<&Placed<String>> = Vec::new();
    for name in names.filter(|name| !name.value.is_empty()) {
        if let Some(first) = seen.iter().find(|first| first.value == name.value) {
            let problem = Diagnostic::error(Code::NameTwice, format!("two {what}s have the name `{}`", name.value));
            problems.push(problem.at(name.span, "the second").and_at(first.span, "the first"));
        }
        seen.push(name);
    }
}

/// Names in a list, each once: the stages and empty sockets of a start, the sockets of a stage.
pub fn once(names: &[Placed<String>], whose: &str, what: &str, problems: &mut Diagnostics) {
    for (at, name) in names.iter().enumerate() {
        if let Some(first) = names[..at].iter().find(|first| first.value == name.value) {
            let headline = format!("{whose} names the {what} `{}` twice", name.value);
            let problem = Diagnostic::error(Code::NameTwice, headline);
            problems.push(problem.at(name.span, "the second").and_at(first.span, "the first"));
        }
    }
}

/// No stage of a start lies in a socket that is empty in it.
pub fn empty(start: &StartEntry, stages: &[StageEntry], problems: &mut Diagnostics) {
    let names = start.stages.iter().map(|name| &name.value);
    let runs = stages.iter().filter(|stage| names.clone().any(|name| *name == stage.name.value));
    for stage in runs {
        let Some(HomeEntry::Sockets(sockets)) = &stage.home else { continue };
        for (socket, empty) in
            sockets.iter().filter_map(|it| Some((it, start.empty.iter().find(|empty| empty.value == it.value)?)))
        {
            let (start, name) = (&start.name.value, &stage.name.value);
            let headline =
                format!("the start `{start}` runs `{name}` from the socket `{}`, which is empty", empty.value);
            let problem = Diagnostic::error(Code::HomeUnknown, headline).at(empty.span, "said to be empty here");
            let problem = problem.and_at(socket.span, "the home of the stage");
            problems.push(problem.with_help("seat the socket in this start, or let it begin with another stage"));
        }
    }
}

/// How the sense switches stand for stages that run one after the other: all that care must want the same. A machine
/// whose file is wrong is not asked whether it has such switches.
pub fn sense(list: &[&StageEntry], machine: Option<&Machine>, problems: &mut Diagnostics) -> u8 {
    let mut wanted: Option<(&StageEntry, &Placed<u8>)> = None;
    for stage in list {
        let Some(sense) = &stage.sense else { continue };
        if machine.is_some_and(|machine| machine.sense_port.is_none()) {
            let problem = Diagnostic::error(Code::SenseContradiction, "the machine has no sense switches")
                .at(sense.span, "set here")
                .with_help("say `sense_port` under `panel` in the machine file");
            problems.push(problem);
        }
        match wanted {
            Some((first, setting)) if setting.value != sense.value => {
                let notation = machine.map_or_else(Notation::default, |machine| machine.panel.notation);
                let [before, now] = [setting.value, sense.value].map(|byte| notation.byte(byte));
                let headline = format!(
                    "`{}` wants the sense switches at `{before}`, `{}` wants them at `{now}`",
                    first.name.value, stage.name.value
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
    match stage.home.sockets() {
        [] => problems.append(plan.machine.unwritable(&stage.image)),
        [_] => {}
        several => divided(plan, stage, several, problems),
    }
}

/// A stage that is divided among sockets: none of its bytes is left over, and none of the sockets goes without.
fn divided(plan: &Plan, stage: &Stage, sockets: &[Id<Socket>], problems: &mut Diagnostics) {
    let list: Vec<_> = sockets.iter().map(|&number| plan.machine.sockets[number].clone()).collect();
    let (_, found) = rom::fit(&stage.image, &list, 0, plan.machine.panel.notation);
    let is_left_over = |problem: &&Diagnostic| matches!(problem.code, Code::SocketOverflow | Code::SocketStray);
    problems.extend(found.iter().filter(is_left_over).cloned().map(|problem| match problem.primary {
        Some(_) => problem,
        None => problem.at(stage.span, "this stage"),
    }));
    for socket in list.iter().filter(|socket| share(stage, socket).next().is_none()) {
        let headline = format!("`{}` has no byte in socket `{}`, where it is said to lie", stage.name, socket.name);
        let problem = Diagnostic::warning(Code::HomeUnknown, headline).at(stage.span, "this stage");
        problems.push(problem.with_help("leave the socket out of its home, or correct its `base` in the machine file"));
    }
}

/// Ports that a program uses and the machine file does not know: each told once, at its first place.
fn ports(plan: &Plan, stage: &Stage, problems: &mut Diagnostics) {
    let mut unknown: BTreeMap<(u8, bool), (&PortUse, usize)> = BTreeMap::new();
    for used in stage.code.iter().flat_map(|code| &code.ports) {
        let known = if used.output { &plan.machine.ports.outputs } else { &plan.machine.ports.inputs };
        if !known.contains_key(&used.port) {
            unknown.entry((used.port, used.output)).or_insert((used, 0)).1 += 1;
        }
    }
    problems.extend(unknown.into_values().map(|(first, count)| unwired(plan, stage, first, count - 1)));
}

/// `more` are the instructions besides the first.
fn unwired(plan: &Plan, stage: &Stage, first: &PortUse, more: usize) -> Diagnostic {
    let (known, verb) = match first.output {
        true => (&plan.machine.ports.outputs, "written"),
        false => (&plan.machine.ports.inputs, "read"),
    };
    let notation = plan.machine.panel.notation;
    let (port, name) = (notation.byte(first.port), &stage.name);
    let headline = format!("port `{port}` is {verb} by `{name}`, and the machine file knows of nothing there");
    let label = match more {
        0 => "this instruction".to_owned(),
        1 => "here first, and once more".to_owned(),
        more => format!("here first, and {more} times more"),
    };
    let list: Vec<_> = known.iter().map(|(port, at)| format!("{} {}", notation.byte(*port), at.name)).collect();
    let problem = Diagnostic::warning(Code::PortUnwired, headline)
        .at(first.span, label)
        .with_help("correct the number where the source defines it, or describe the port in the machine file");
    if list.is_empty() { problem } else { problem.with_note(format!("known: {}", list.join(", "))) }
}

/// Bits that a program tests of a port of which others have a meaning and these have none: each port told once.
fn bits(plan: &Plan, stage: &Stage, problems: &mut Diagnostics) {
    let mut told = Vec::new();
    for used in stage.code.iter().flat_map(|code| &code.ports).filter(|used| used.tested != 0) {
        let Some(port) = plan.machine.ports.inputs.get(&used.port) else { continue };
        let known = (0..8).filter(|&bit| !port.bits[bit].is_empty()).fold(0, |known, bit| known | 1 << bit);
        let unknown = used.tested & !known;
        if known == 0 || unknown == 0 || told.contains(&used.port) {
            continue;
        }
        told.push(used.port);
        let numbers: Vec<_> =
            (0..8).rev().filter(|bit| unknown >> bit & 1 == 1).map(|bit: u8| bit.to_string()).collect();
        let (number, name) = (plan.machine.panel.notation.byte(used.port), &stage.name);
        let (bits, them) = if numbers.len() == 1 { ("bit", "it") } else { ("bits", "them") };
        let headline = format!(
            "`{name}` tests {bits} {} of port `{number}`, and the machine file does not say what shows there",
            numbers.join(", ")
        );
        let problem = Diagnostic::warning(Code::PortUnwired, headline)
            .at(used.span, format!("this instruction, with the mask behind it, keeps {them}"))
            .with_note(format!("known of {}: {}", port.name, port.bit_words()))
            .with_help(
                "describe what is wired there in the machine file, or correct the mask: a bit that nothing drives never \
                 changes",
            );
        problems.push(problem);
    }
}

/// A program that takes the data port of a serial interface for its status port: it masks a single bit of the one, and of the
/// other, which it reads too, none. A status may be tested in other ways, so it is a warning.
fn crossed(plan: &Plan, stage: &Stage, problems: &mut Diagnostics) {
    let reads = |port: u8| {
        let ports = stage.code.iter().flat_map(|code| &code.ports);
        ports.filter(move |used| !used.output && used.port == port)
    };
    let notation = plan.machine.panel.notation;
    for serial in &plan.machine.serial {
        let (mut status, mut data) = (reads(serial.status).peekable(), reads(serial.data).peekable());
        let Some(first) = data.peek().copied() else { continue };
        let takes_bits = data.all(|used| used.tested.is_power_of_two());
        if !takes_bits || status.peek().is_none() || status.any(|used| used.tested != 0) {
            continue;
        }
        let [data, status] = [serial.data, serial.status].map(|port| notation.byte(port));
        let headline = format!(
            "`{}` masks a bit of port `{data}`, which has the data of `{}`, and none of its status at port `{status}`",
            stage.name, serial.name
        );
        let problem = Diagnostic::warning(Code::PortUnwired, headline)
            .at(first.span, "this instruction, with the mask behind it")
            .with_help(
                "status and data ports may be changed over: compare the source with the machine file and the board",
            );
        problems.push(problem);
    }
}

/// Stages in sockets must fit, all those of one socket together.
fn sockets(plan: &Plan, problems: &mut Diagnostics) {
    for (number, socket) in plan.machine.sockets.numbered() {
        match seated(plan, number) {
            Ok(Some(seated)) => {
                let notation = plan.machine.panel.notation;
                problems.append(rom::fit(&seated.image, std::slice::from_ref(socket), 0, notation).1);
            }
            Ok(None) => {}
            Err(problem) => problems.push(*problem),
        }
    }
}

/// A drive holds one disk in a start: nobody changes it on the way. An area holds one stage.
fn drives(plan: &Plan, problems: &mut Diagnostics) {
    let on = |stage: &Stage| match &stage.home {
        Home::Disk { disk, area } => Some((*disk, area.clone())),
        _ => None,
    };
    for (at, stage) in plan.stages.iter().enumerate() {
        let Some(home) = on(stage) else { continue };
        if let Some(first) = plan.stages.iter().take(at).find(|other| on(other).as_ref() == Some(&home)) {
            let headline = format!("`{}` and `{}` both lie in the area `{}`", first.name, stage.name, home.1);
            let problem = Diagnostic::error(Code::DiskUnfit, headline).at(stage.span, "the second");
            problems.push(problem.and_at(first.span, "the first").with_help("give each an area of its own"));
        }
    }
    for start in &plan.starts {
        let stages: Vec<_> = start.stages.iter().map(|&stage| &plan.stages[stage]).collect();
        for (at, stage) in stages.iter().enumerate() {
            let Some((disk, _)) = on(stage) else { continue };
            let clashes = |other: &&&Stage| {
                on(other).is_some_and(|(first, _)| first != disk && plan.disks[first].drive == plan.disks[disk].drive)
            };
            if let Some(first) = stages[..at].iter().find(clashes) {
                let drive = &plan.machine.drives[plan.disks[disk].drive].name;
                let headline = format!("two disks would have to lie in the drive `{drive}`");
                let problem = Diagnostic::error(Code::DiskUnfit, headline).at(stage.span, "the one with this stage");
                let problem = problem.and_at(first.span, "and the one with this");
                problems.push(problem.with_help("let both stages lie on one disk, or use two drives"));
            }
        }
    }
}

/// Stages that cannot be in memory together.
fn overlaps(plan: &Plan, problems: &mut Diagnostics) {
    for start in &plan.starts {
        for pair in start.stages.windows(2) {
            let (loader, loaded) = (&plan.stages[pair[0]], &plan.stages[pair[1]]);
            // Of two stages with one name, or in one socket, it is told elsewhere.
            let loaders = loader.home.sockets();
            let seated_together = loaded.home.sockets().iter().any(|socket| loaders.contains(socket));
            if loaded.over.contains(&pair[0]) || loader.name == loaded.name || seated_together {
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
