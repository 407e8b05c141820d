//! The words of the card.

use super::seen::{Seen, Stays};
use super::{Act, Card, Deposit, Home, PanelLights, Request};
use crate::cautions::{Topic, When, applying};
use crate::notation::{Address, Notation, counted};
use crate::panel::lamps::Lamp;
use crate::panel::levers::{Hand, Levers};
use crate::panel::model::{Panel, Reset, StatusLamps, Stop};
use crate::panel::ports::{Port, Ports};
use crate::panel::program::Program;
use crate::panel::text::notation_name;

pub fn card(program: &Program, panel: &Panel, ports: &Ports, request: &Request, entry: Address) -> Card {
    let notation = panel.notation;
    let mut clerk = Clerk { program, panel, ports, request, entry, hand: Hand::new(panel), acts: Vec::new() };
    clerk.power();
    clerk.load();
    clerk.entry();
    clerk.sense();
    clerk.run();
    let facts = format!(
        "run card, {}: {}, entry {}, sense {}",
        notation_name(notation),
        counted(program.image.len() as u64, "byte"),
        notation.address(entry),
        notation.byte(request.sense)
    );
    let cautions = cautions(request);
    Card { name: program.name.clone(), panel: panel.clone(), check: program.check(), facts, cautions, acts: clerk.acts }
}

/// The cautions that apply to the machine and to what is done with it.
fn cautions(request: &Request) -> Vec<(Topic, String)> {
    let done = [&[When::Machine], request.done.as_slice()].concat();
    let mut list: Vec<(Topic, String)> = Vec::new();
    for caution in applying(&done) {
        match list.last_mut() {
            Some((topic, text)) if *topic == caution.topic => *text += &format!(" {}", caution.short),
            _ => list.push((caution.topic, caution.short.to_owned())),
        }
    }
    list
}

/// Writes the acts down, one after the other.
pub(super) struct Clerk<'a> {
    program: &'a Program,
    pub(super) panel: &'a Panel,
    ports: &'a Ports,
    pub(super) request: &'a Request,
    entry: Address,
    hand: Hand,
    acts: Vec<Act>,
}

/// The status lights that are lit, as a sentence with a blank behind it; empty if there is none.
pub(super) fn lit(lamps: StatusLamps) -> String {
    let names: Vec<_> = lamps.names().collect();
    match names.split_last() {
        None => String::new(),
        Some((only, [])) => format!("{only} lit. "),
        Some((last, others)) => format!("{} and {last} lit. ", others.join(", ")),
    }
}

/// A port by its number and what is known of it.
fn words(port: u8, known: Option<&Port>, notation: Notation) -> String {
    let number = notation.byte(port);
    match known {
        Some(known) if !known.name.is_empty() => format!("port {number} \"{}\"", known.name),
        _ => format!("port {number}"),
    }
}

/// Characters that are shown of what a program types.
const SHOWN: usize = 40;

/// A setting with every lever marked as to be set: nobody knows how they stood before.
fn every(levers: Levers) -> Levers {
    Levers { moved: u16::MAX, ..levers }
}

impl Clerk<'_> {
    pub(super) fn act(
        &mut self,
        action: impl Into<String>,
        shows: impl Into<String>,
        otherwise: impl Into<String>,
    ) -> &mut Act {
        let [action, shows, otherwise] =
            [action.into(), shows.into(), otherwise.into()].map(|text: String| text.trim_end().to_owned());
        self.acts.push(Act { action, levers: None, shows, lights: None, otherwise });
        let last = self.acts.len() - 1;
        &mut self.acts[last]
    }

    fn power(&mut self) {
        let driven = match self.request.driven.as_slice() {
            [] => "what the outputs drive".to_owned(),
            driven => driven.iter().map(|name| format!("{name:?}")).collect::<Vec<_>>().join(", "),
        };
        self.act(format!("Disconnect or block {driven}."), "Nothing that can hurt obeys a port.", "Leave power off.");
        self.act(
            "Every lever down. Power on.",
            "Lights come up in any pattern: memory holds noise.",
            "No light at all: power off, pull the plug. Fuses and supply are work for a qualified person.",
        );
        self.stop_machine();
    }

    /// The processor is stopped, and at zero where the panel has a RESET.
    fn stop_machine(&mut self) {
        let panel = self.panel;
        let action = match (panel.reset, panel.stop) {
            (Reset::Runs, Stop::Lever) | (Reset::Stopped, Stop::Lever) => "Lever to STOP. RESET.",
            (Reset::Runs, _) => "Hold STOP, press RESET; let go of RESET first.",
            (Reset::Stopped, Stop::Key) => "STOP, then RESET.",
            (Reset::Stopped, Stop::Nothing) => "RESET.",
            (Reset::Missing, Stop::Lever) => "Lever to STOP.",
            (Reset::Missing, _) => "STOP.",
        };
        if panel.reset == Reset::Missing {
            self.act(
                action,
                format!("{}All lights stand still, in any pattern.", lit(panel.examined.within(StatusLamps::WAIT))),
                "Address lights moving: the processor still runs. Do it again.",
            );
            return;
        }
        let shows =
            format!("{}All address lights dark. Data lights show whatever is at address zero.", lit(panel.examined));
        let otherwise = match (panel.reset, panel.stop) {
            (Reset::Runs, Stop::Key) => {
                "Address lights lit or moving: the processor still runs. Hold STOP while RESET is pressed and let go."
            }
            _ => "Address lights lit or moving: the processor still runs. Do it again.",
        };
        self.act(action, shows, otherwise).lights = Some(PanelLights::of(0, None));
    }

    fn load(&mut self) {
        for Deposit { name, bytes } in &self.request.deposits {
            let bytes = counted(*bytes as u64, "byte");
            self.act(
                format!("Deposit {bytes} of {name} by its deposit sheet, with its check."),
                "Every box of the sheet is ticked.",
                "A byte differs at the check: EXAMINE its address, set its levers, DEPOSIT, and check again from there.",
            );
        }
        let bytes = counted(self.program.image.len() as u64, "byte");
        match self.request.home {
            Home::Panel => self.act(
                format!("Deposit {bytes} by the deposit sheet, with its check."),
                "Every box of the sheet is ticked.",
                "A byte differs at the check: EXAMINE its address, set its levers, DEPOSIT, and check again from there.",
            ),
            Home::Socket => self.act(
                format!("The program is in ROM ({bytes}): nothing to deposit."),
                "The right parts are seated, all the way, pin 1 where it belongs.",
                "A part missing or turned: power off before it is touched.",
            ),
        };
    }

    fn entry(&mut self) {
        let notation = self.panel.notation;
        let address = notation.address(self.entry).to_string();
        let byte = self.program.image.byte(self.entry);
        let shows = match byte {
            Some(byte) => {
                format!("Address {address}, data {}. {}", notation.byte(byte), lit(self.panel.examined))
            }
            None => format!("Address {address}; the byte there is not part of this program."),
        };
        let otherwise = match self.request.home {
            Home::Panel => {
                "Another address: a lever is wrong. Another byte: it was not deposited; back to the sheet's check."
            }
            Home::Socket => "Another address: a lever is wrong. All data lights on: no ROM answers at this address.",
        };
        let levers = every(self.hand.set_address(self.entry.0));
        let act = self.act(format!("Set {address}. EXAMINE."), shows, otherwise);
        act.levers = Some(levers);
        act.lights = Some(PanelLights::of(levers.value, byte));
    }

    fn sense(&mut self) {
        let byte = self.panel.notation.byte(self.request.sense).to_string();
        let levers = every(self.hand.set_sense(self.request.sense));
        let act = self.act(
            format!("Set the sense switches to {byte}."),
            "No light changes.",
            "A light changes: a key was touched. Do the step before again.",
        );
        act.levers = Some(levers);
    }

    fn port_words(&self, port: u8) -> String {
        words(port, self.ports.inputs.get(&port), self.panel.notation)
    }

    /// How the hand stops a program.
    pub(super) fn stop_words(&self) -> &'static str {
        match self.panel.stop {
            Stop::Key => "STOP",
            Stop::Lever => "Lever to STOP",
            Stop::Nothing => "RESET",
        }
    }

    /// What a status light says of a halt, with a comma and a blank behind it.
    pub(super) fn halted_words(&self) -> &'static str {
        if self.panel.has(StatusLamps::HLTA) { "HLTA lit, " } else { "" }
    }

    /// What is seen where a program stays, what it means if something else is, and the lights; nothing of the last two if
    /// it was still busy.
    pub(super) fn stays(&self, seen: &Seen) -> (String, String, Option<PanelLights>) {
        let panel = self.panel;
        let put_out = self.put_out(seen);
        match &seen.stays {
            Stays::Circles { reads, assumed, lights } => {
                let waits = match reads.as_slice() {
                    [] => "goes round without end".to_owned(),
                    ports => format!("waits for {}", self.listed(ports)),
                };
                let flickers = match lights.status.iter().any(|&(name, lamp)| name == "INP" && lamp == Lamp::Flickers) {
                    true if panel.has(StatusLamps::INP) => "INP flickers, the",
                    _ => "the",
                };
                let given = match assumed.as_slice() {
                    [] => String::new(),
                    ports => format!(" That is if nothing drives {}.", self.listed(ports)),
                };
                let shows = format!("{put_out}{} {waits}: {flickers} lights stand as drawn.{given}", seen.name);
                let halted =
                    if panel.has(StatusLamps::HLTA) { "HLTA lit or another pattern" } else { "Another pattern" };
                let otherwise = match reads.as_slice() {
                    [] => format!("{halted}: a byte is wrong. {}; check the sheet.", self.stop_words()),
                    _ => format!(
                        "{halted}: a byte is wrong, or the port says ready when it is not. {}; check sheet, port, polarity.",
                        self.stop_words()
                    ),
                };
                (shows, otherwise, Some(self.those_it_has(lights)))
            }
            Stays::Halts(lights) => (
                format!("{put_out}{} halts: {}the lights as drawn.", seen.name, self.halted_words()),
                "Lights moving on: a byte is wrong, or an input answered otherwise.".to_owned(),
                Some(self.those_it_has(lights)),
            ),
            Stays::RunsOn => (format!("The address lights flicker. {put_out}"), String::new(), None),
            Stays::Depends(ports) => {
                let ports = self.listed(ports);
                (
                    format!("{put_out}What {} does hangs on {ports}, and nothing is known to answer there.", seen.name),
                    String::new(),
                    None,
                )
            }
        }
    }

    /// The lights, of the status lights those that the panel has.
    fn those_it_has(&self, lights: &PanelLights) -> PanelLights {
        let named = self.panel.lamps.names().collect::<Vec<_>>();
        let status = lights.status.iter().filter(|(name, _)| named.contains(name)).copied();
        PanelLights { status: status.collect(), ..lights.clone() }
    }

    /// What a program lit and typed on the way, with a blank behind it.
    fn put_out(&self, seen: &Seen) -> String {
        let notation = self.panel.notation;
        let written = seen.written.iter().map(|written| {
            let port = words(written.port, self.ports.outputs.get(&written.port), notation);
            let last = notation.byte(written.last);
            match written.count {
                _ if seen.stays == Stays::RunsOn => format!("{} writes to {port}. ", seen.name),
                1 => format!("{} puts {last} out to {port}. ", seen.name),
                count => format!("{} puts {count} bytes out to {port}, {last} last. ", seen.name),
            }
        });
        let typed = seen.typed.iter().map(|typed| {
            let shown: String = typed.text.chars().take(SHOWN).collect();
            let more = if typed.text.chars().count() > SHOWN { " ..." } else { "" };
            format!("{} sends to {:?}: {shown:?}{more} ", seen.name, typed.line)
        });
        written.chain(typed).collect()
    }

    fn listed(&self, ports: &[u8]) -> String {
        ports.iter().map(|port| self.port_words(*port)).collect::<Vec<_>>().join(" and ")
    }

    /// What it means if nothing moves when a program is started that does not come to rest.
    fn not_started(&self) -> String {
        let panel = self.panel;
        let started = match (panel.has(StatusLamps::WAIT), panel.stop) {
            (true, Stop::Lever) => "WAIT lit: the machine did not start; the lever may still be at STOP. ",
            (true, _) => "WAIT lit: the machine did not start; a key may still be held. ",
            (false, _) => "Nothing changes: the machine did not start. ",
        };
        let halted = if panel.has(StatusLamps::HLTA) { "HLTA lit: it halted; check the sheet." } else { "" };
        format!("{started}{halted}")
    }

    fn run(&mut self) {
        let request = self.request;
        if let Some(tape) = request.tapes.first() {
            self.place(tape);
        }
        let panel = self.panel;
        let waits = if panel.has(StatusLamps::WAIT) { "WAIT goes out. " } else { "" };
        let (shows, otherwise, lights) = match &request.seen {
            Some(seen) => self.stays(seen),
            None => ("The address lights flicker.".to_owned(), String::new(), None),
        };
        let otherwise = if lights.is_some() { otherwise } else { self.not_started() };
        let shows = format!("{waits}{shows}");
        let action = if panel.stop == Stop::Lever { "Lever to RUN." } else { "RUN." };
        self.act(action, shows, otherwise).lights = lights;
        for (at, tape) in request.tapes.iter().enumerate() {
            self.play(tape, at == 0);
        }
    }
}
