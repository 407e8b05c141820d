//! Faults and what becomes of them in words.

use super::catalogue::left_out;
use super::fault::{DiskWrong, Fault, LeverBank, RomWrong, Slip, TapeWrong, Wrong};
use super::kind::Kind;
use super::outcome::{Check, Checks, Class, End, Ending, Outcome, Rest};
use super::scene::{Runs, Scene};
use super::wires::Defect;
use crate::notation::{Address, Notation, counted};
use crate::panel::sheet::Action;
use crate::project::{Artefacts, Home, Id, Plan, Start};
use crate::source::Diagnostics;

/// Who words the faults of a start.
pub struct Words {
    scene: Scene,
    notation: Notation,
    /// Output ports with what is connected to them.
    ports: Vec<(u8, String)>,
    /// Serial interfaces with a line.
    lines: Vec<String>,
    /// Drives.
    drives: Vec<String>,
}

impl Words {
    /// For the faults of a start.
    ///
    /// # Errors
    /// As for a rehearsal.
    pub fn new(plan: &Plan, made: &Artefacts, start: Id<Start>) -> Result<Words, Diagnostics> {
        let serial = plan.machine.serial.iter().filter(|serial| serial.line.is_some());
        let outputs = plan.machine.ports.outputs.iter().map(|(port, named)| (*port, named.name.clone()));
        Ok(Words {
            scene: Scene::new(plan, made, start, 0)?,
            notation: plan.machine.panel.notation,
            ports: outputs.collect(),
            lines: serial.map(|serial| serial.name.clone()).collect(),
            drives: plan.machine.drives.iter().map(|drive| drive.name.clone()).collect(),
        })
    }

    /// The notation in which addresses and bytes are written.
    pub fn notation(&self) -> Notation {
        self.notation
    }

    /// The names of the tapes, in the order in which they are read.
    pub fn tapes(&self) -> Vec<String> {
        self.scene.tapes.iter().map(|tape| tape.name.clone()).collect()
    }

    /// The stages in the order in which they run, each with its name, whether it is deposited by hand, and its bytes.
    pub fn stages(&self) -> impl Iterator<Item = (&str, bool, usize)> {
        let stage = |stage: &Runs| matches!(stage.home, Home::Panel(_));
        self.scene.stages.iter().map(move |runs| (runs.name.as_str(), stage(runs), runs.image.len()))
    }

    /// An output port, with what is connected to it.
    pub fn port(&self, port: u8) -> String {
        let name =
            self.ports.iter().find(|(known, _)| *known == port).map(|(_, name)| name.as_str()).unwrap_or_default();
        let number = format!("port {}", self.byte(port));
        if name.is_empty() { number } else { format!("{number}, {name}") }
    }

    /// What is not played, each in a line.
    pub fn left_out(&self) -> Vec<&'static str> {
        left_out(&self.scene)
    }

    fn address(&self, address: Address) -> String {
        self.notation.address(address).to_string()
    }

    fn byte(&self, byte: u8) -> String {
        self.notation.byte(byte).to_string()
    }

    fn stage(&self, place: usize) -> &str {
        self.scene.stage(place).map_or("", |stage| &stage.name)
    }

    /// What exactly is wrong.
    pub fn fault(&self, fault: &Fault) -> String {
        match &fault.wrong {
            Wrong::Row { row, slip } => self.slip(*row, *slip),
            Wrong::Again { after } if *after > self.scene.last() => "after the first start".into(),
            Wrong::Again { after } => format!("when `{}` had been started", self.stage(*after)),
            Wrong::Lever { bank, lever, up } => {
                let bank = match bank {
                    LeverBank::Address => "address",
                    LeverBank::Data => "data",
                    LeverBank::Sense => "sense",
                };
                format!("{bank} switch {lever} always {}", if *up { "up" } else { "down" })
            }
            Wrong::Address(defect) => lines("A", *defect),
            Wrong::Data(defect) => lines("D", *defect),
            Wrong::Cell(cell) => {
                format!("bit {} at {} always {}", cell.bit, self.address(cell.address), u8::from(cell.one))
            }
            Wrong::StatusTurned { serial, bit } => format!("bit {bit} of {}", self.lines[*serial]),
            Wrong::StatusCrossed { serial, bits: (one, other) } => {
                format!("bits {one} and {other} of {}", self.lines[*serial])
            }
            Wrong::Ports { serial } | Wrong::Absent { serial } => self.lines[*serial].clone(),
            Wrong::Rom(wrong) => self.rom(*wrong),
            Wrong::Clock { per_mille } => {
                let way = if *per_mille < 0 { "slow" } else { "fast" };
                format!("{} % too {way}", f64::from(per_mille.abs()) / 10.0)
            }
            Wrong::Tape { tape, wrong } => self.tape(*tape, *wrong),
            Wrong::Sender { serial, sender } => format!("{} sent as {sender}", self.lines[*serial]),
            Wrong::Disk { drive, wrong } => self.disk(*drive, *wrong),
        }
    }

    fn slip(&self, row: usize, slip: Slip) -> String {
        let task = &self.scene.tasks[row];
        let stage = self.scene.stage_named(task.stage);
        let what = match &task.row.action {
            Action::Address(address) => format!("the address {} of `{stage}`", self.address(*address)),
            Action::Byte { address, byte, .. } => {
                format!("{} at {} of `{stage}`", self.byte(*byte), self.address(*address))
            }
            Action::Entry(address) => format!("EXAMINE {} of `{stage}`", self.address(*address)),
            Action::Sense(byte) => format!("sense switches {}", self.byte(*byte)),
            Action::Check { .. } | Action::Sum { .. } | Action::Run => "a row".into(),
        };
        match slip {
            Slip::Lever(lever) => format!("lever {lever} of {what}"),
            Slip::LeftOut => what,
            Slip::Twice => what,
            Slip::Exchanged => format!("{what}, done after the next row"),
        }
    }

    fn rom(&self, wrong: RomWrong) -> String {
        let name = |socket: usize| self.scene.sockets[socket].name.clone();
        let seat = |socket: usize, seat: usize| self.scene.sockets[socket].seat_names().nth(seat).unwrap_or_default();
        match wrong {
            RomWrong::Bit { address, bit } => format!("bit {bit} at {}", self.address(address)),
            RomWrong::Halves { socket, seat: place } => seat(socket, place),
            RomWrong::Exchanged { one, other } => format!("{} and {}", seat(one.0, one.1), seat(other.0, other.1)),
            RomWrong::Absent { socket } => name(socket),
        }
    }

    fn tape(&self, tape: usize, wrong: TapeWrong) -> String {
        let name = |tape: usize| &self.scene.tapes[tape].name;
        let of = format!("of `{}`", name(tape));
        match wrong {
            TapeWrong::Bit { frame, bit } => format!("bit {bit} in frame {frame} {of}"),
            TapeWrong::Lost(frame) | TapeWrong::Twice(frame) => format!("frame {frame} {of}"),
            TapeWrong::Without { from, to } => format!("frames {from} to {} {of}", to - 1),
            TapeWrong::Early(seconds) => format!("`{}`, {seconds} s before RUN", name(tape)),
            TapeWrong::Late(seconds) => format!("`{}`, {seconds} s later than the run card says", name(tape)),
            TapeWrong::Other(other) => format!("`{}` in place of `{}`", name(other), name(tape)),
            TapeWrong::Blank | TapeWrong::TurnedOver | TapeWrong::Backwards => format!("`{}`", name(tape)),
        }
    }

    fn disk(&self, drive: usize, wrong: DiskWrong) -> String {
        let of = format!("of `{}`", self.drives.get(drive).map_or("", String::as_str));
        match wrong {
            DiskWrong::Sector { sector, byte, bit } => {
                let layout = self.scene.disks.iter().find(|lies| lies.drive == drive).map(|lies| &lies.layout);
                let spot = layout.map(|layout| layout.spot(sector));
                let (track, number) = spot.map_or((0, 0), |spot| (spot.track, spot.sector));
                format!("track {track}, sector {number}: bit {bit} of byte {byte}")
            }
            DiskWrong::Door(0) => format!("the door {of}, from the beginning"),
            DiskWrong::Door(after) => format!("the door {of}, opened {:.3} s after RUN", f64::from(after) / 1000.0),
            DiskWrong::Blank => format!("an empty disk in the drive {of}"),
            DiskWrong::Empty => format!("no disk in the drive {of}"),
            DiskWrong::Unsettled(more) => format!("the head {of} takes {:.1} times as long", f64::from(more) / 100.0),
            DiskWrong::Turns(off) => format!("the disk {of} turns {:+.1} % off", off as f64 / 1000.0),
        }
    }

    /// What would have found a fault before it did harm.
    pub fn found_by(&self, fault: &Fault) -> &'static str {
        let Wrong::Row { row, .. } = fault.wrong else { return fault.kind.finds() };
        match self.scene.tasks[row].row.action {
            Action::Entry(_) => Kind::EntryLever.finds(),
            Action::Sense(_) => Kind::SenseLever.finds(),
            _ => fault.kind.finds(),
        }
    }

    /// What becomes of a fault, in a line.
    pub fn outcome(&self, outcome: &Outcome) -> String {
        let ending = self.ending(&outcome.ending);
        match (&outcome.otherwise, outcome.class()) {
            (_, Class::Sheet) => format!("{}; unchecked, {ending}", self.checks(&outcome.checks)),
            (None, Class::Depends) if outcome.strays => format!("{ending}; {STRAYS}"),
            (Some(otherwise), _) => format!("{ending}; with other noise, {}", self.ending(otherwise)),
            (None, _) => ending,
        }
    }

    /// What becomes of it without what differs from one fault of a kind to the next: by this, faults are told together.
    pub fn gist(&self, outcome: &Outcome) -> String {
        let ending = outcome.worst();
        match outcome.class() {
            Class::Told | Class::Starts => self.ending(ending),
            Class::Sheet => format!("unchecked: {}", ending.class().words()),
            Class::Silent => self.silence(ending),
            Class::Depends if outcome.strays => format!("{}; {STRAYS}", self.ending(ending)),
            Class::Depends => match ending.rest {
                Rest::Noise { .. } => format!("`{}` runs into memory that holds noise", self.stage(ending.place)),
                _ => format!("`{}` does one thing or another", self.stage(ending.place)),
            },
            Class::Stops => {
                let does = match ending.rest {
                    Rest::Halts { .. } => "halts where it should not",
                    Rest::Circles { port: Some(_), .. } => "waits for what does not come",
                    Rest::Circles { .. } => "goes round for ever",
                    Rest::RunsOn => "is still at work when it is given up",
                    Rest::Held { .. } => "is held by a port",
                    Rest::Noise { .. } => "runs into memory that holds noise",
                };
                format!("`{}` {does}", self.stage(ending.place))
            }
        }
    }

    fn checks(&self, checks: &Checks) -> String {
        let Some(first) = checks.first.first() else { return String::new() };
        let first = match *first {
            Check::Byte { address, expected, found } => {
                let (found, expected) = (self.byte(found), self.byte(expected));
                format!("CHECK shows {found} instead of {expected} at {}", self.address(address))
            }
            Check::Address { expected, found } => {
                let (found, expected) = (self.address(found), self.address(expected));
                format!("the block ends at {found} instead of {expected}")
            }
        };
        match checks.count - 1 {
            0 => first,
            more => format!("{first}, and {more} more differ"),
        }
    }

    fn silence(&self, ending: &Ending) -> String {
        let End::Silent { bytes, acts, astray } = ending.end else { return self.ending(ending) };
        let name = self.stage(self.scene.last());
        let mut says = Vec::new();
        if astray {
            says.push("it was not started at its entry".to_owned());
        }
        if bytes > 0 {
            says.push(format!("{} wrong in what it uses", counted(bytes, "byte")));
        }
        if acts && !astray {
            says.push("it does something else".to_owned());
        }
        format!("`{name}` runs: {}", says.join(", "))
    }

    /// How a start ends, in a line.
    pub fn ending(&self, ending: &Ending) -> String {
        match ending.end {
            End::Starts => format!("`{}` runs as it should", self.stage(self.scene.last())),
            End::Silent { .. } => self.silence(ending),
            End::Told { .. } | End::Stops => {
                let rest = format!("`{}` {}", self.stage(ending.place), self.rest(ending));
                let shows = self.shows(ending);
                if shows.is_empty() { rest } else { format!("{rest}; {shows}") }
            }
        }
    }

    fn rest(&self, ending: &Ending) -> String {
        match ending.rest {
            Rest::Halts { at } => {
                let lights = ending.halted_lamps().unwrap_or(at);
                format!("halts at {}, address lights {}", self.address(at), self.address(lights))
            }
            Rest::Circles { low, high, port } => {
                let place = match low == high {
                    true => format!("at {}", self.address(low)),
                    false => format!("from {} to {}", self.address(low), self.address(high)),
                };
                let reads = port.map_or(String::new(), |port| format!(", reading port {}", self.byte(port)));
                format!("goes round {place}{reads}")
            }
            Rest::RunsOn => "is still at work when it is given up".into(),
            Rest::Held { port } => format!("is held by port {}", self.byte(port)),
            Rest::Noise { at } => format!("runs into noise at {}", self.address(at)),
        }
    }

    /// What stands at the ports.
    fn shows(&self, ending: &Ending) -> String {
        let port = |(port, byte): &(u8, u8)| {
            let name = self.ports.iter().find(|(known, _)| known == port).map_or("", |(_, name)| name.as_str());
            let port = if name.is_empty() { format!("port {}", self.byte(*port)) } else { name.to_owned() };
            format!("{port} {}", self.byte(*byte))
        };
        ending.ports.iter().map(port).collect::<Vec<_>>().join(", ")
    }
}

/// What is said of a start that stores where it should not.
const STRAYS: &str = "something is stored at an address that nobody set";

fn lines(name: &str, defect: Defect) -> String {
    match defect {
        Defect::Stuck { line, high } => format!("{name}{line} always {}", if high { "high" } else { "low" }),
        Defect::Crossed(line) | Defect::Touching(line) => format!("{name}{line} and {name}{}", line + 1),
    }
}
