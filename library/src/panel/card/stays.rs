//! Where a program stays, in words.

use super::PanelLights;
use super::acts::Clerk;
use super::request::Home;
use super::seen::{Seen, Stays, Written};
use crate::notation::{Notation, counted};
use crate::panel::lamps::Lamp;
use crate::panel::model::{StatusLamps, Stop};
use crate::panel::ports::Port;

/// A port by its number and what is known of it.
fn words(port: u8, known: Option<&Port>, notation: Notation) -> String {
    let number = notation.byte(port);
    match known {
        Some(known) if !known.name.is_empty() => format!("port {number} \"{}\"", known.name),
        _ => format!("port {number}"),
    }
}

/// Words that begin a sentence.
fn sentence(words: &str) -> String {
    let mut characters = words.chars();
    characters.next().map_or_else(String::new, |first| first.to_uppercase().chain(characters).collect())
}

/// Characters that are shown of what a program types.
const SHOWN: usize = 40;

/// Why a card draws no lights where a program was seen to run on.
const STILL_BUSY: &str = "Its lights are not drawn: in the rehearsal it did not come to rest.";

impl Clerk<'_> {
    fn port_words(&self, port: u8) -> String {
        words(port, self.ports.inputs.get(&port), self.panel.notation)
    }

    /// What is seen where a program stays, what it means if something else is, and the lights; nothing of the last two if
    /// it was still busy.
    pub(super) fn stays(&self, seen: &Seen) -> (String, String, Option<PanelLights>) {
        let panel = self.panel;
        let put_out = self.put_out(seen);
        let given = match seen.assumed.as_slice() {
            [] => String::new(),
            ports => format!(" That is if nothing drives {}.", self.listed(ports)),
        };
        match &seen.stays {
            Stays::Circles { reads, waits, puts, lights } => {
                let goes = self.goes_round(reads, waits, puts);
                let flickers = match lights.status.iter().any(|&(name, lamp)| name == "INP" && lamp == Lamp::Flickers) {
                    true if panel.has(StatusLamps::INP) => "INP flickers, the",
                    _ => "the",
                };
                let open = match [&lights.address, &lights.data].into_iter().flatten().any(|lamp| *lamp == Lamp::Open) {
                    true => {
                        " An open one, a dashed square or ?, is lit, dark or flickers by what was there at power-on."
                    }
                    false => "",
                };
                let shows = format!("{put_out}{} {goes}: {flickers} lights stand as drawn.{open}{given}", seen.name);
                let halted =
                    if panel.has(StatusLamps::HLTA) { "HLTA lit or another pattern" } else { "Another pattern" };
                let otherwise = match waits.as_slice() {
                    [] => format!("{halted}: a byte is wrong. {}; check {}.", self.stop_words(), self.written_down()),
                    _ => format!(
                        "{halted}: a byte is wrong, or the port says ready when it is not. {}; check {}, port, polarity.",
                        self.stop_words(),
                        self.written_down()
                    ),
                };
                (shows, otherwise, Some(self.those_it_has(lights)))
            }
            Stays::Halts(lights) => (
                format!("{put_out}{} halts: {}the lights as drawn.{given}", seen.name, self.halted_words()),
                "Lights moving on: a byte is wrong, or an input answered otherwise.".to_owned(),
                Some(self.those_it_has(lights)),
            ),
            Stays::RunsOn => (format!("The address lights flicker. {put_out}{STILL_BUSY}{given}"), String::new(), None),
            Stays::Hangs => {
                let text = "does hangs on what memory and registers held at power-on: its lights are not drawn.";
                (format!("What {} {text}", seen.name), String::new(), None)
            }
            Stays::Depends(ports) => {
                let ports = self.listed(ports);
                (
                    format!(
                        "{put_out}What {} does hangs on {ports}, and nothing is known to answer there: its lights are not drawn.",
                        seen.name
                    ),
                    String::new(),
                    None,
                )
            }
        }
    }

    /// What a loop without end does.
    fn goes_round(&self, reads: &[u8], waits: &[u8], puts: &[Written]) -> String {
        let puts = puts.iter().map(|put| {
            let port = words(put.port, self.ports.outputs.get(&put.port), self.panel.notation);
            format!("{} goes out to {port}", self.byte_words(put))
        });
        let verb = if reads.len() == 1 { "is" } else { "are" };
        let reads = (waits.is_empty() && !reads.is_empty()).then(|| format!("{} {verb} read", self.listed(reads)));
        let does: Vec<_> = reads.into_iter().chain(puts).collect();
        let goes = match waits {
            [] => "goes round without end".to_owned(),
            ports => format!("waits for {}", self.listed(ports)),
        };
        if does.is_empty() { goes } else { format!("{goes}, where {}", does.join(" and ")) }
    }

    /// The lights, of the status lights those that the panel has.
    fn those_it_has(&self, lights: &PanelLights) -> PanelLights {
        let named = self.panel.lamps.names().collect::<Vec<_>>();
        let status = lights.status.iter().filter(|(name, _)| named.contains(name)).copied();
        PanelLights { status: status.collect(), ..lights.clone() }
    }

    /// What was lit and typed on the way, with a blank behind it.
    fn put_out(&self, seen: &Seen) -> String {
        let notation = self.panel.notation;
        let written = seen.written.iter().map(|written| {
            let port = words(written.port, self.ports.outputs.get(&written.port), notation);
            let last = self.byte_words(written);
            match written.count {
                _ if seen.stays == Stays::RunsOn => format!("Bytes go out to {port}. "),
                1 => format!("{} goes out to {port}. ", sentence(&last)),
                count => format!("{count} bytes go out to {port}, {last} last. "),
            }
        });
        let typed = seen.typed.iter().map(|typed| {
            if typed.open {
                let characters = counted(typed.text.chars().count() as u64, "character");
                return format!("{:?} gets {characters} that hang on what was there at power-on. ", typed.line);
            }
            let shown: String = typed.text.chars().take(SHOWN).collect();
            let more = if typed.text.chars().count() > SHOWN { " ..." } else { "" };
            format!("{:?} gets {shown:?}{more}. ", typed.line)
        });
        written.chain(typed).collect()
    }

    /// A byte that was put out, as far as anybody can know it.
    fn byte_words(&self, written: &Written) -> String {
        let notation = self.panel.notation;
        match written.open {
            0 => notation.byte(written.last).to_string(),
            0o377 => "what was there at power-on".to_owned(),
            open => {
                let known = notation.byte(written.last & !open);
                format!("{known}, with what was there at power-on in the bits of {},", notation.byte(open))
            }
        }
    }

    fn listed(&self, ports: &[u8]) -> String {
        ports.iter().map(|port| self.port_words(*port)).collect::<Vec<_>>().join(" and ")
    }

    /// By what the bytes can be checked: a start from parts alone has no sheet.
    fn written_down(&self) -> &'static str {
        match (self.request.home, self.request.deposits.is_empty()) {
            (Home::Panel, _) => "the sheet",
            (Home::Socket, true) => "the parts",
            (Home::Socket, false) => "the parts and the sheet",
        }
    }

    /// What it means if nothing moves when a program is started that does not come to rest.
    pub(super) fn not_started(&self) -> String {
        let panel = self.panel;
        let started = match (panel.has(StatusLamps::WAIT), panel.stop) {
            (true, Stop::Lever) => "WAIT lit: the machine did not start; the lever may still be at STOP. ",
            (true, _) => "WAIT lit: the machine did not start; a key may still be held. ",
            (false, _) => "Nothing changes: the machine did not start. ",
        };
        match panel.has(StatusLamps::HLTA) {
            true => format!("{started}HLTA lit: it halted; check {}.", self.written_down()),
            false => started.to_owned(),
        }
    }
}
