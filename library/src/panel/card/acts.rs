//! The words of the card.

use super::lights::PanelLights;
use super::request::{Deposit, Holds, Home, Request, SocketUse};
use super::seen::Stays;
use super::{Act, Card, Task};
use crate::cautions::{Topic, When, applying};
use crate::notation::{Address, counted};
use crate::panel::levers::{Hand, Levers};
use crate::panel::model::{Panel, Reset, StatusLamps, Stop};
use crate::panel::ports::Ports;
use crate::panel::program::Program;

impl Card {
    /// The card for a program; `None` if the image is empty.
    pub fn new(program: &Program, panel: &Panel, ports: &Ports, request: &Request) -> Option<Card> {
        let first = program.image.extents().next()?.base;
        let entry = request.entry.or(program.image.entry).unwrap_or(first);
        let notation = panel.notation;
        let mut clerk = Clerk { program, panel, ports, request, entry, hand: Hand::new(panel), acts: Vec::new() };
        clerk.power();
        clerk.load();
        clerk.disks();
        clerk.entry();
        clerk.sense();
        clerk.run();
        let sense = if panel.senses { format!(", sense {}", notation.byte(request.sense)) } else { String::new() };
        let facts = format!(
            "{}: {}, entry {}{sense}",
            notation.name(),
            counted(program.image.len() as u64, "byte"),
            notation.address(entry),
        );
        let cautions = cautions(request);
        Some(Card {
            name: program.name.clone(),
            panel: panel.clone(),
            check: program.check(),
            facts,
            doubts: request.doubts.clone(),
            cautions,
            acts: clerk.acts,
        })
    }
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

/// Why a card draws no lights where a program was not seen.
const UNSEEN: &str = "Its lights are not drawn: no rehearsal comes here without a mistake.";
/// Why it draws none where its rehearsal makes no mistake.
const UNREACHED: &str =
    "Its lights are not drawn: left alone as long as that before its tapes, the start does not come here.";

/// Writes the acts down, one after the other.
pub(super) struct Clerk<'a> {
    program: &'a Program,
    pub(super) panel: &'a Panel,
    pub(super) ports: &'a Ports,
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
        self.acts.push(Act { task: Task::Other, action, levers: None, shows, lights: None, otherwise });
        let last = self.acts.len() - 1;
        &mut self.acts[last]
    }

    fn power(&mut self) {
        let driven = match self.request.driven.as_slice() {
            [] => "what the outputs drive".to_owned(),
            driven => {
                let named: Vec<_> = driven.iter().map(|name| format!("{name:?}")).collect();
                format!("{} and whatever else an output drives", named.join(", "))
            }
        };
        self.act(format!("Disconnect or block {driven}."), "Nothing that can hurt obeys a port.", "Leave power off.");
        self.sockets();
        if self.request.home == Home::Socket && self.request.sockets.is_empty() {
            let bytes = counted(self.program.image.len() as u64, "byte");
            self.act(
                format!("The program is in ROM ({bytes}): look at its parts."),
                "The right parts are seated, all the way, pin 1 where it belongs.",
                "A part missing or turned: power stays off, plug out, before it is touched.",
            );
        }
        let levers = match self.panel.stop {
            Stop::Lever => "The lever of STOP and RUN at STOP, every other lever down. Power on.",
            _ => "Every lever down. Power on.",
        };
        self.act(
            levers,
            "Lights come up in any pattern: memory holds noise.",
            "No light at all: power off, pull the plug. Fuses and supply are work for a qualified person.",
        );
        self.stop_machine();
    }

    /// What is known to be in the sockets is looked at while power is off.
    fn sockets(&mut self) {
        let sockets = &self.request.sockets;
        let empty = sockets.iter().filter(|socket| socket.holds == Holds::Nothing).map(|socket| socket.name.as_str());
        let empty: Vec<_> = empty.collect();
        if !empty.is_empty() {
            self.act(
                format!("Leave {} empty.", empty.join(" and ")),
                "No part is seated there.",
                "Power stays off, plug out, while a part is drawn.",
            );
        }
        for SocketUse { name, holds } in sockets {
            match holds {
                Holds::Programs { names, runs } => {
                    let idle = if *runs { "" } else { " This start does not run it, and was played with it seated." };
                    self.act(
                        format!("Look at the parts in {name}: ROM with {}.{idle}", names.join(" and ")),
                        "The right parts are seated, all the way, pin 1 where it belongs.",
                        "A part missing or turned: power stays off, plug out, before it is touched.",
                    );
                }
                Holds::Unknown => {
                    self.act(
                        format!("Look whether {name} is empty."),
                        "No part is seated there: no program of this chain lies in it, and the start was played without.",
                        "A part answers at its addresses, and nobody has played that. To draw it: power stays off, plug out.",
                    );
                }
                Holds::Nothing => {}
            }
        }
    }

    /// How the processor is stopped, and reset where the panel can.
    fn stopping(&self) -> &'static str {
        match (self.panel.reset, self.panel.stop) {
            (Reset::Runs, Stop::Lever) | (Reset::Stopped, Stop::Lever) => "Lever to STOP. RESET.",
            (Reset::Runs, _) => "Hold STOP, press RESET; let go of RESET first.",
            (Reset::Stopped, Stop::Key) => "STOP, then RESET.",
            (Reset::Stopped, Stop::Nothing) => "RESET.",
            (Reset::Missing, Stop::Lever) => "Lever to STOP.",
            (Reset::Missing, _) => "STOP.",
        }
    }

    /// How to try a tape again, from which data have come already or not. A chip that was set up once has to be reset, and
    /// a loader to which data have come may have been written over, if only by itself.
    pub(super) fn once_more(&self, data_came: bool) -> String {
        if self.panel.reset == Reset::Missing {
            return "Power off; begin again with this page.".into();
        }
        let check = match (data_came, self.request.home) {
            (true, Home::Panel) => "check every byte of the sheet again, ",
            _ => "",
        };
        format!("{} Wind back, {check}go on from EXAMINE.", self.stopping())
    }

    /// The processor is stopped, and at zero where the panel has a RESET.
    fn stop_machine(&mut self) {
        let (panel, action) = (self.panel, self.stopping());
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
            self.deposit(*bytes, &format!(" of {name} by its deposit sheet"));
        }
        if self.request.home == Home::Panel {
            self.deposit(self.program.image.len(), " by the deposit sheet");
        }
    }

    /// Disks go in while power is on, and the processor stopped: common practice.
    fn disks(&mut self) {
        for (disk, drive) in &self.request.disks {
            self.act(
                format!("Put the disk {disk} into the drive {drive}, and close its door."),
                "The disk is heard to turn. The lamp of the drive lights when the program selects it, not before.",
                "No sound of turning: the door is not closed, or the drive has no power.",
            );
        }
    }

    fn deposit(&mut self, bytes: usize, by: &str) {
        self.act(
            format!("Deposit {}{by}, with its check.", counted(bytes as u64, "byte")),
            "Every box of the sheet is ticked.",
            "A byte differs at the check: EXAMINE its address, set its levers, DEPOSIT, and check again from there.",
        )
        .task = Task::Deposit;
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
        if !self.panel.senses {
            return;
        }
        let byte = self.panel.notation.byte(self.request.sense).to_string();
        let levers = every(self.hand.set_sense(self.request.sense));
        let act = self.act(
            format!("Set the sense switches to {byte}."),
            "No light changes.",
            "A light changes: a key was touched. Do the step before again.",
        );
        act.levers = Some(levers);
    }

    /// Why no lights are drawn of what was not seen.
    pub(super) fn unseen(&self) -> &'static str {
        let is_sound = self.request.doubts.is_empty() && self.request.tapes.iter().any(|tape| tape.read.is_some());
        if is_sound { UNREACHED } else { UNSEEN }
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

    fn run(&mut self) {
        let request = self.request;
        if let Some(tape) = request.tapes.first() {
            self.place(tape);
        }
        let panel = self.panel;
        let halts = request.seen.as_ref().is_some_and(|seen| matches!(seen.stays, Stays::Halts(_)));
        let was_lit = panel.has(StatusLamps::WAIT) && panel.examined.contains(StatusLamps::WAIT);
        let waits = if was_lit && !halts { "WAIT goes out. " } else { "" };
        let (shows, otherwise, lights) = match &request.seen {
            Some(seen) => self.stays(seen),
            None => (format!("The address lights flicker. {}", self.unseen()), String::new(), None),
        };
        let otherwise = if lights.is_some() { otherwise } else { self.not_started() };
        let shows = format!("{waits}{shows}");
        let action = if panel.stop == Stop::Lever { "Lever to RUN." } else { "RUN." };
        let act = self.act(action, shows, otherwise);
        act.task = Task::Run;
        act.lights = lights;
        for (at, tape) in request.tapes.iter().enumerate() {
            self.play(tape, at == 0);
        }
    }
}
