//! The words of the card.

use super::wait::{Rest, rest};
use super::{Act, Card, Home, PanelLights, Request};
use crate::notation::{Address, counted};
use crate::panel::lamps::lamps;
use crate::panel::levers::{Hand, Levers};
use crate::panel::model::Panel;
use crate::panel::ports::Ports;
use crate::panel::program::Program;
use crate::panel::text::notation_name;

/// What can hurt. Local electrical codes and qualified people come before this card.
const CAUTIONS: [&str; 4] = [
    "Old power supplies hold mains voltage inside, and charge after they are off. Covers stay on; work inside is for \
     qualified people, by the local electrical code.",
    "Power off, mains plug out, and wait before a card, a ROM or a cable is seated or pulled. Ground yourself first: \
     static kills memory.",
    "Turn a cassette player's volume down before it is plugged in; raise it slowly.",
    "Keep hands clear of whatever the outputs drive until the program is proven. A rehearsal on paper or in a simulation \
     does not make it safe.",
];

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
    let cautions = CAUTIONS.map(String::from).to_vec();
    Card { name: program.name.clone(), panel: panel.clone(), check: program.check(), facts, cautions, acts: clerk.acts }
}

struct Clerk<'a> {
    program: &'a Program,
    panel: &'a Panel,
    ports: &'a Ports,
    request: &'a Request,
    entry: Address,
    hand: Hand,
    acts: Vec<Act>,
}

/// A setting with every lever marked as to be set: nobody knows how they stood before.
fn every(levers: Levers) -> Levers {
    Levers { moved: u16::MAX, ..levers }
}

impl Clerk<'_> {
    fn act(&mut self, action: impl Into<String>, shows: impl Into<String>, otherwise: impl Into<String>) -> &mut Act {
        let (action, shows, otherwise) = (action.into(), shows.into(), otherwise.into());
        self.acts.push(Act { action, levers: None, shows, lights: None, otherwise });
        let last = self.acts.len() - 1;
        &mut self.acts[last]
    }

    fn power(&mut self) {
        self.act(
            "Every lever down. Power on.",
            "Lights come up in any pattern: memory holds noise.",
            "No light at all: power off, pull the plug. Fuses and supply are work for a qualified person.",
        );
        self.act(
            "STOP, then RESET; let go of RESET first.",
            "WAIT, MEMR, M1 and WO lit. All address lights dark. Data lights show whatever is at address zero.",
            "Address lights lit or moving: the processor still runs. Hold STOP while RESET is pressed and let go.",
        )
        .lights = Some(PanelLights { address: lamps(0, 16), data: Vec::new() });
    }

    fn load(&mut self) {
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
            Some(byte) => format!("Address {address}, data {}; MEMR, M1, WO and WAIT lit.", notation.byte(byte)),
            None => format!("Address {address}; the byte there is not part of this program."),
        };
        let otherwise = match self.request.home {
            Home::Panel => {
                "Another address: a lever is wrong. Another byte: it was not deposited; back to the sheet's check."
            }
            Home::Socket => "Another address: a lever is wrong. All data lights on: no ROM answers at this address.",
        };
        let levers = every(self.hand.set_address(self.entry.0));
        let data = byte.map_or_else(Vec::new, |byte| lamps(u16::from(byte), 8));
        let act = self.act(format!("Set {address}. EXAMINE."), shows, otherwise);
        act.levers = Some(levers);
        act.lights = Some(PanelLights { address: lamps(levers.value, 16), data });
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
        let number = self.panel.notation.byte(port);
        match self.ports.inputs.get(&port) {
            Some(known) if !known.name.is_empty() => format!("port {number} \"{}\"", known.name),
            _ => format!("port {number}"),
        }
    }

    fn run(&mut self) {
        if let Some(tape) = &self.request.tape {
            let place = if self.request.lettered { ", behind the lettering" } else { "" };
            self.act(
                format!("Place the tape {tape:?} at the beginning of its leader{place}. Do not start it."),
                "No light changes.",
                "No leader to be seen or heard: it is wound past its beginning. Wind back.",
            );
        }
        let sense = self.request.sense_port.map(|port| (port, self.request.sense));
        let rest = rest(self.program, self.entry, self.panel.notation, sense);
        let (shows, otherwise, lights) = match &rest {
            Rest::Waits { ports, lights } => {
                let ports = ports.iter().map(|port| self.port_words(*port)).collect::<Vec<_>>().join(" and ");
                let shows = format!(
                    "WAIT goes out. The program waits for {ports}: INP flickers, the address lights stand as drawn."
                );
                let otherwise = "HLTA lit or another pattern: a byte is wrong, or the port answers where nothing is \
                                 ready. STOP; check the sheet, then the port and its polarity.";
                (shows, otherwise, Some(lights.clone()))
            }
            Rest::Halts(lights) => (
                "The program halts: HLTA lit, the address lights as drawn.".into(),
                "Lights moving on: a byte is wrong, or an input answered otherwise.",
                Some(lights.clone()),
            ),
            Rest::Unknown => (
                "WAIT goes out, the address lights flicker.".into(),
                "WAIT lit: the machine did not start; STOP may still be held. HLTA lit: it halted; check the sheet.",
                None,
            ),
        };
        self.act("RUN.", shows, otherwise).lights = lights;
        if let Some(tape) = &self.request.tape {
            self.act(
                format!("Start the tape {tape:?}."),
                "While the leader passes nothing changes; when the data come the address lights move on.",
                "Nothing changes after the leader: wrong speed, port or cable, or no signal. Started but lost: STOP, wind \
                 back, and go on from EXAMINE.",
            );
        }
    }
}
