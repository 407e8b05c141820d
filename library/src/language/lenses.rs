//! What stands beside the lines: addresses and bytes, sizes, times.

use std::collections::HashMap;

use super::rows::{instruction, rows, shown, statements_in};
use super::view::View;
use crate::assembler::{Meaning, Statement, Worth};
use crate::isa::Mnemonic;
use crate::notation::{Address, counted};
use crate::project::{Home, Serial, Surveyed};
use crate::source::{Severity, SourceId, Span};

/// The most bytes that stand beside a line.
const MOST: usize = 4;

/// Something that is said above a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lens {
    /// What it is about.
    pub span: Span,
    /// What is said.
    pub title: String,
}

/// The address and the bytes of every line of a source that has any, with the offset of the end of the line.
pub fn hints(view: &View, source: SourceId) -> Vec<(u32, String)> {
    let Some(program) = view.program_of(source) else { return Vec::new() };
    let notation = view.notation();
    let line = |(end, row): (u32, super::rows::Row)| {
        (end, format!("{}: {}", notation.address(row.address), shown(&row.bytes, MOST, notation)))
    };
    rows(view, program, source).into_iter().map(line).collect()
}

/// What is said above the stages, routines and loops of a file.
pub fn lenses(view: &View, name: &str) -> Vec<Lens> {
    let mut found = Vec::new();
    for program in view.programs.iter().filter(|it| view.sources.get(it.root).name() == name) {
        let span = Span { source: program.root, start: 0, end: 0 };
        found.push(Lens { span, title: stage(view, program) });
    }
    if let Some((source, program)) = view.programs_at(name).next() {
        found.extend(sizes(program, source));
        found.extend(loops(view, program, source));
    }
    found.sort_by_key(|lens| lens.span.start);
    found
}

/// How many bytes a stage has, and of how many.
fn stage(view: &View, program: &Surveyed) -> String {
    let bytes = program.assembly.image.len();
    let of = |most: usize| format!("{bytes} of {}", counted(most, "byte"));
    let machine = view.machine.as_ref();
    let told = match &program.home {
        Some(Home::Panel(Some(limit))) => format!("{} at the panel", of(*limit)),
        Some(Home::Panel(None)) => format!("{} at the panel", counted(bytes, "byte")),
        Some(Home::Sockets(sockets)) => {
            let seats = machine.map(|machine| sockets.iter().map(|&id| &machine.sockets[id]).collect::<Vec<_>>());
            let seats = seats.unwrap_or_default();
            let names: Vec<_> = seats.iter().map(|socket| socket.name.as_str()).collect();
            format!("{} in {}", of(seats.iter().map(|socket| socket.span()).sum()), names.join(" and "))
        }
        Some(Home::Tape { framing, .. }) => format!("{} on tape as {}", counted(bytes, "byte"), framing.name),
        Some(Home::Disk { area, .. }) => format!("{} on disk in {area}", counted(bytes, "byte")),
        None => counted(bytes, "byte"),
    };
    // Its size is none while lines of it are left out.
    let told = if is_wrong(view, program) { format!("not whole; without what is wrong {told}") } else { told };
    if program.name.is_empty() { told } else { format!("stage {}: {told}", program.name) }
}

/// Whether a text of a program has an error.
fn is_wrong(view: &View, program: &Surveyed) -> bool {
    let errors = view.problems.iter().filter(|it| it.severity == Severity::Error);
    let mut texts = errors.filter_map(|it| Some(it.primary.as_ref()?.span.source));
    texts.any(|text| view.program_of(text).is_some_and(|own| own.root == program.root))
}

/// The bytes of each routine of a text: of what is called, and of where the program starts.
fn sizes(program: &Surveyed, source: SourceId) -> Vec<Lens> {
    let assembly = &program.assembly;
    let called = called(program);
    let mut starts: Vec<(u16, Span)> = Vec::new();
    for name in assembly.names.all() {
        let Some(entry) = assembly.symbols.get(name).filter(|entry| entry.meaning == Meaning::Label) else { continue };
        let (Worth::Known(at), Some(span)) = (entry.worth, entry.defined) else { continue };
        if called.contains(&at) && span.source == source {
            starts.push((at, span));
        }
    }
    // A routine goes on to the next one, or to the first byte that is no instruction.
    let lengths = instructions(program);
    let ends = |at: u16| {
        let mut end = at;
        while let Some(length) = lengths.get(&end).filter(|_| end == at || !called.contains(&end)) {
            end = end.wrapping_add(*length);
            if end <= at {
                break;
            }
        }
        usize::from(end.wrapping_sub(at))
    };
    let lens = |(at, span): (u16, Span)| (ends(at), span);
    let sized = starts.into_iter().map(lens).filter(|(size, _)| *size > 0);
    sized.map(|(size, span)| Lens { span, title: format!("routine: {}", counted(size, "byte")) }).collect()
}

/// The length of every instruction, by where it runs.
fn instructions(program: &Surveyed) -> HashMap<u16, u16> {
    let length = |it: &Statement| Some((it.location, instruction(program, it)?.length.into()));
    program.assembly.statements.iter().filter_map(length).collect()
}

/// The addresses that the program calls, and where it starts.
fn called(program: &Surveyed) -> Vec<u16> {
    let image = &program.assembly.image;
    let target =
        |it: &Statement| it.instruction().filter(|it| it.calls() && *it != Mnemonic::Rst).and_then(|_| to(program, it));
    let calls = program.assembly.statements.iter().filter_map(target);
    calls.chain(image.entry.map(|entry| entry.0)).collect()
}

/// The address behind the opcode of a statement.
fn to(program: &Surveyed, statement: &Statement) -> Option<u16> {
    let image = &program.assembly.image;
    let at = Address(statement.deposit());
    Some(u16::from_le_bytes([image.byte(at.wrapping_add(1))?, image.byte(at.wrapping_add(2))?]))
}

/// The most instructions of a loop that is counted.
const LONGEST: usize = 64;

/// The time of each loop of a text, once through, beside that of a character of the line that it looks at.
fn loops(view: &View, program: &Surveyed, source: SourceId) -> Vec<Lens> {
    let own: Vec<_> = statements_in(program, source, 0..usize::MAX).filter(|it| it.instruction().is_some()).collect();
    let mut found = Vec::new();
    for (last, jump) in own.iter().enumerate() {
        let goes = jump.instruction().is_some_and(|it| it.goes_to_address() && !it.calls());
        let Some(target) = goes.then(|| to(program, jump)).flatten().filter(|to| *to <= jump.location) else {
            continue;
        };
        let body = &own[last.saturating_sub(LONGEST)..=last];
        let Some(first) = body.iter().rposition(|it| it.location == target) else { continue };
        found.extend(turn(view, program, &body[first..]));
    }
    found
}

/// What one turn of a loop takes; nothing where it does not lie in one piece.
fn turn(view: &View, program: &Surveyed, body: &[&Statement]) -> Option<Lens> {
    let mut states = 0;
    let mut next = body.first()?.location;
    for statement in body {
        let found = instruction(program, statement)?;
        if statement.location != next {
            return None;
        }
        next = next.wrapping_add(found.length.into());
        // Straight through: a conditional return or call in it does not take place.
        states += found.states_not_taken().unwrap_or(found.states()).0;
    }
    let calls = body.iter().any(|it| it.instruction() == Some(Mnemonic::Call));
    let machine = view.machine.as_ref();
    let clock = machine.and_then(|machine| machine.clock_hz);
    let mut title = format!("loop, once straight through: {states} T-states");
    if let Some(clock) = clock {
        title += &format!(" ({:.1} us)", states as f64 * 1e6 / clock as f64);
    }
    if calls {
        title += ", without what it calls";
    }
    let inputs = body.iter().filter(|it| it.instruction() == Some(Mnemonic::In));
    let ports: Vec<u8> =
        inputs.filter_map(|it| program.assembly.image.byte(Address(it.deposit()).wrapping_add(1))).collect();
    let serial = machine.into_iter().flat_map(|machine| machine.serial.iter());
    for serial in serial.filter(|it| ports.contains(&it.status) || ports.contains(&it.data)) {
        title += &character(serial, clock);
    }
    Some(Lens { span: body.first()?.span(), title })
}

/// The time of a character of an interface.
fn character(serial: &Serial, clock: Option<u64>) -> String {
    let Some(line) = &serial.line else { return String::new() };
    let time = line.character_time().as_secs_f64();
    let states = clock.map(|clock| format!("{:.0} T-states, ", time * clock as f64)).unwrap_or_default();
    format!("; a character of {}: {states}{:.1} us", serial.name, time * 1e6)
}
