//! The timeline: what a person at the machine could notice, and what there is to do.

use std::collections::BTreeSet;

use super::chain::Run;
use super::machine::Stop;
use super::outcome::{Event, TapeOutcome};
use super::round::Round;
use super::stays::circles;
use super::tapes::Played;
use super::words::seconds;
use crate::isa::TStates;
use crate::notation::{Address, counted};
use crate::project::{Home, Id, Stage};
use crate::source::{Code, Diagnostic};

/// Characters that are shown of what a stage sends.
const SHOWN: usize = 40;

/// Bytes that are shown of what the last stage puts out to ports.
const SHOWN_OUTPUTS: usize = 8;

impl Run<'_> {
    /// Adds to the timeline.
    pub fn event(&mut self, at: TStates, what: String, lights: String) {
        self.outcome.events.push(Event { at, by_hand: None, what, lights });
    }

    /// A stage is entered.
    pub fn tell_start(&mut self, place: usize) {
        let stage = &self.plan.stages[self.start.stages[place]];
        let notation = self.plan.machine.panel.notation;
        let entry = notation.address(stage.entry);
        let what = if place == 0 {
            let sense = match self.plan.machine.sense_port {
                Some(_) if self.senses() => format!("sense switches {}, ", notation.byte(self.sense)),
                _ => String::new(),
            };
            format!("EXAMINE {entry}, {sense}RUN: `{}` starts", stage.name)
        } else {
            format!("`{}` starts at {entry}", stage.name)
        };
        self.event(self.machine.cpu.clock, what, String::new());
    }

    /// Whether it matters how the sense switches stand.
    fn senses(&self) -> bool {
        let cares = |&stage: &Id<Stage>| self.plan.stages[stage].sense.is_some();
        self.request.sense.is_some() || self.start.stages.iter().any(cares)
    }

    /// A tape is started.
    pub fn tell_played(&mut self, tape: &TapeOutcome) {
        let frames = counted(tape.frames, "frame");
        let characters = counted(tape.frames, "character");
        let (name, clock) = (&tape.name, self.outcome.clock_hz as f64);
        let what = match tape.played {
            Played::Frames => format!("the tape `{name}`: {frames}"),
            Played::GivenFrames => format!("the tape `{name}` that was given: {frames}"),
            Played::Recording => format!("the recording of the tape `{name}`: {characters}"),
            Played::GivenRecording => format!("the recording that was given for the tape `{name}`: {characters}"),
        };
        let lead = (tape.begins.0 - tape.started.0) as f64 / clock;
        let what = match tape.before {
            before if before > 0.0 => format!("running for {} already: {what}", seconds(before)),
            _ if lead >= 0.001 => format!("start {what}, the first after {}", seconds(lead)),
            _ => format!("start {what}"),
        };
        self.event(tape.started, what, String::new());
    }

    /// A stage is entered behind which nothing is read from the tape that it came on.
    pub fn tell_tapes_done(&mut self, place: usize) {
        let home = |place: usize| &self.plan.stages[self.start.stages[place]].home;
        let Home::Tape { tape, .. } = *home(place) else { return };
        let more = (place + 1..self.start.stages.len())
            .any(|later| matches!(home(later), Home::Tape { tape: other, .. } if *other == tape));
        let now = self.machine.cpu.clock;
        let name = &self.plan.tapes[tape].name;
        let Some(outcome) = self.outcome.tapes.iter_mut().find(|outcome| outcome.name == *name) else { return };
        if more {
            return;
        }
        outcome.done = Some(now);
        let what = match outcome.ends {
            ends if ends <= now => format!("stop the tape `{name}`: it has run out"),
            _ => format!("stop the tape `{name}`: nothing more is read from it"),
        };
        self.event(now, what, String::new());
    }

    /// What a person could see while a stage was loaded.
    pub fn tell_loaded(&mut self, loaded: &Stage, stop: Stop) {
        let notation = self.plan.machine.panel.notation;
        let words = |(low, high): (Address, Address)| {
            let (first, last) = (notation.address(low), notation.address(high));
            match low == high {
                true => format!("the address lights flicker: it goes round at {first}"),
                false => format!("the address lights flicker: it goes round from {first} to {last}"),
            }
        };
        let longest = self.recorder.waits();
        let Some(arrival) = self.machine.board.arrival() else {
            // Where it stays, if it does; it may have waited elsewhere before.
            let lights = match stop {
                Stop::Endless { .. } => circles(&self.machine).map(words),
                _ => longest.map(|at| format!("for a while {}", words(at))),
            };
            if let (Some(event), Some(lights)) = (self.outcome.events.last_mut(), lights) {
                event.lights = lights;
            }
            return;
        };
        let lights = longest.map(words);
        let whole = loaded.image.len();
        let lights = lights.map(|lights| format!("until then {lights}")).unwrap_or_default();
        self.event(arrival.first, format!("the first byte of `{}` is stored", loaded.name), lights);
        let stored = counted(whole, "byte");
        let what = match arrival.count {
            count if count == whole => format!("the last of {stored} of `{}` is stored", loaded.name),
            count => format!("no more than {count} of {stored} of `{}` have come", loaded.name),
        };
        self.event(arrival.last, what, String::new());
    }

    /// What the last stage put out to ports, from the output of that number on.
    pub fn tell_outputs(&mut self, stage: &Stage, from: usize) {
        let notation = self.plan.machine.panel.notation;
        let outputs = &self.machine.board.outputs()[from..];
        let more = outputs.len().saturating_sub(SHOWN_OUTPUTS) as u64;
        let open = |number| self.recorder.unset.as_ref().is_some_and(|unset| unset.put(number) != 0);
        let told = outputs.iter().zip(from..).take(SHOWN_OUTPUTS).map(|(output, number)| {
            let name = self.plan.machine.ports.outputs.get(&output.port).map_or("", |port| port.name.as_str());
            let (byte, port) = (notation.byte(output.byte), notation.byte(output.port));
            let what = match open(number) {
                false => format!("`{}` puts {byte} out to port {port} {name}", stage.name),
                true => {
                    let what = format!("`{}` puts what nobody set out to port {port} {name}", stage.name);
                    format!("{}: {byte} this time", what.trim_end())
                }
            };
            Event { at: output.at, by_hand: None, what: what.trim_end().into(), lights: String::new() }
        });
        self.outcome.events.extend(told);
        let hanging = outputs.iter().zip(from..).filter(|(_, number)| open(*number));
        let hanging: BTreeSet<_> = hanging.map(|(output, _)| (output.pc, output.port)).collect();
        let next = outputs.get(SHOWN_OUTPUTS).map(|next| next.at);
        for (pc, port) in hanging {
            let headline = format!("`{}` shows at port `{}` what nobody set", stage.name, notation.byte(port));
            let problem = Diagnostic::warning(Code::HangsOnNoise, headline);
            let problem = self.hanging(problem, stage, pc, "this byte hangs on what was there at power-on");
            self.outcome.problems.push(problem);
        }
        if let Some(at) = next {
            let what = format!("`{}` puts out {} more while it is watched", stage.name, counted(more, "byte"));
            self.outcome.events.push(Event { at, by_hand: None, what, lights: String::new() });
        }
    }

    /// What the last stage does when it is no longer watched.
    pub fn tell_end(&mut self, stage: &Stage, stop: Stop) {
        let notation = self.plan.machine.panel.notation;
        let name = &stage.name;
        let what = match stop {
            Stop::Halted if self.machine.cpu.interrupts_enabled() => {
                format!("`{name}` halts until an interrupt; none is played")
            }
            Stop::Halted => format!("`{name}` halts"),
            Stop::Endless { port, .. } => match Round::of(&self.machine).waits_at(port) {
                Some((port, _)) => format!("`{name}` waits at port {}", notation.byte(port)),
                None => format!("`{name}` goes round without end"),
            },
            _ => format!("`{name}` runs on; it is no longer watched"),
        };
        self.event(self.machine.cpu.clock, what, String::new());
    }

    /// What a stage sent down the lines.
    pub fn tell_sent(&mut self, place: usize, before: &[usize]) {
        let plan = self.plan;
        let name = &plan.stages[self.start.stages[place]].name;
        let lines = plan.machine.serial.iter().filter(|serial| serial.line.is_some()).enumerate();
        for (number, serial) in lines {
            let sent = &self.machine.board.sent(number)[before[number]..];
            let Some(first) = sent.first() else { continue };
            let text: String = sent.iter().take(SHOWN).map(|sent| char::from(sent.byte & 0x7F)).collect();
            let more = if sent.len() > SHOWN { " ..." } else { "" };
            let characters = counted(sent.len(), "character");
            let open = self.recorder.unset.as_ref().is_some_and(|unset| unset.gave(number));
            let open = if open { ", not all of which somebody set" } else { "" };
            let what = format!("`{name}` sends {characters} to {}: {text:?}{more}{open}", serial.name);
            self.outcome.events.push(Event { at: first.at, by_hand: None, what, lights: String::new() });
        }
        self.outcome.events.sort_by_key(|event| event.at);
    }

    /// How many characters each line has carried from the machine.
    pub fn sent_so_far(&self) -> Vec<usize> {
        let lines = self.plan.machine.serial.iter().filter(|serial| serial.line.is_some());
        (0..lines.count()).map(|number| self.machine.board.sent(number).len()).collect()
    }
}
