//! The sentences of a lights sheet.

use super::bits::{Cause, Origin};
use super::fold;
use super::ground::Ground;
use super::sheet::Lights;
use super::trace::{Cycle, Fork, Lost};
use super::ways::{Branch, End, Place, Way};
use crate::cautions::{When, applying};
use crate::isa::CycleKind;
use crate::notation::{Address, Notation, counted};
use crate::panel::model::{Reach, Reset, StatusLamps, Stop};
use crate::panel::ports::{Port, Ports};

/// Who knows how things are called.
pub struct Wordsmith<'a> {
    pub notation: Notation,
    pub ports: &'a Ports,
    /// The branch whose rows are worded.
    pub branch: Option<usize>,
}

/// The port of an input or output cycle.
pub fn port_number(address: u16) -> u8 {
    address.to_le_bytes()[0]
}

impl Wordsmith<'_> {
    /// What a port is called.
    pub fn port(&self, reads: bool, number: u8) -> Option<&Port> {
        if reads { self.ports.inputs.get(&number) } else { self.ports.outputs.get(&number) }
    }

    /// The bus action of a machine cycle.
    pub fn cycle(&self, cycle: &Cycle) -> String {
        let byte = match cycle.open_data {
            0 => self.notation.byte(cycle.data.unwrap_or_default()).to_string(),
            0xFF => "an open byte".to_owned(),
            _ => "a byte, open in part,".to_owned(),
        };
        let place = self.place(cycle);
        let words = match cycle.kind {
            CycleKind::Fetch | CycleKind::Read | CycleKind::StackRead => format!("reads {byte} from {place}"),
            CycleKind::Input if cycle.live.is_some_and(|live| live.moving() != 0) => format!("reads {place}: it moves"),
            CycleKind::Input => match cycle.taken {
                Some(idle) => format!("reads {place}: open (idle: {})", self.notation.byte(idle)),
                None if cycle.open_data == 0xFF => format!("reads {place}: open"),
                None => format!("reads {byte} from {place}"),
            },
            CycleKind::Write | CycleKind::StackWrite | CycleKind::Output => format!("writes {byte} to {place}"),
            CycleKind::HaltAcknowledge => "halts".into(),
            CycleKind::InterruptAcknowledge | CycleKind::InterruptAcknowledgeWhileHalted => {
                format!("takes {byte} from the interrupting device")
            }
            CycleKind::Internal => "internal: no lights, no stop".into(),
        };
        let words = match (cycle.ground, cycle.kind) {
            (Ground::Nothing, _) => format!("{words}, where no memory is"),
            (Ground::Socket, _) => format!("{words}, a socket of which nothing is known"),
            (Ground::Rom, CycleKind::Write | CycleKind::StackWrite) => format!("{words}, a ROM, which keeps its own"),
            (Ground::Either, CycleKind::Write | CycleKind::StackWrite) => {
                format!("{words}, where a ROM may lie over memory")
            }
            _ => words,
        };
        match self.varying(cycle) {
            Some(last) => format!("{words} (last pass: {last})"),
            None => words,
        }
    }

    /// Where the byte of a cycle goes or comes from.
    pub fn place(&self, cycle: &Cycle) -> String {
        let Some(address) = cycle.address else { return String::new() };
        let memory = match cycle.open_address {
            0 => self.notation.address(Address(address)).to_string(),
            _ => "an open address".to_owned(),
        };
        match cycle.kind {
            CycleKind::Input | CycleKind::Output if cycle.open_address != 0 => "an open port".into(),
            CycleKind::Input | CycleKind::Output => {
                self.port_name(cycle.kind == CycleKind::Input, port_number(address))
            }
            CycleKind::StackRead | CycleKind::StackWrite => format!("the stack at {memory}"),
            _ => memory,
        }
    }

    fn port_name(&self, reads: bool, number: u8) -> String {
        let text = format!("port {}", self.notation.byte(number));
        match self.port(reads, number) {
            Some(port) if !port.name.is_empty() => format!("{text} \"{}\"", port.name),
            _ => text,
        }
    }

    /// What the last pass of a loop showed instead.
    fn varying(&self, cycle: &Cycle) -> Option<String> {
        let last = cycle.varying?;
        let (other_data, other_address) = (last.data != cycle.data, last.address != cycle.address);
        if other_data && !matches!(cycle.open_data, 0 | 0xFF) || other_address && cycle.open_address != 0 {
            return Some("other lights".into());
        }
        let byte = last.data.filter(|_| other_data).map(|byte| self.notation.byte(byte).to_string());
        let address = last.address.filter(|_| other_address);
        let address = address.map(|address| self.notation.address(Address(address)).to_string());
        match (byte, address) {
            (Some(byte), Some(address)) => {
                let way = if matches!(cycle.kind, CycleKind::Write | CycleKind::StackWrite) { "to" } else { "from" };
                Some(format!("{byte} {way} {address}"))
            }
            (Some(one), None) | (None, Some(one)) => Some(one),
            (None, None) => None,
        }
    }

    /// Why a run, or a branch of it, ends.
    pub fn end(&self, end: End, cycles: u64) -> String {
        let address = |address| self.notation.address(address).to_string();
        match end {
            End::Halted => "The processor has halted.".into(),
            End::Reached(at) => format!("The run is ended before {}, as asked.", address(at)),
            End::Count(at) => {
                let what = self.branch.map_or("run", |_| "branch");
                format!("The {what} is ended after {cycles} cycles; it would go on at {}.", address(at))
            }
            End::CountWithin(at) => {
                let what = self.branch.map_or("run", |_| "branch");
                format!("The {what} is ended after {cycles} cycles, within the instruction at {}.", address(at))
            }
            End::Endless => "END OF LOOP: it repeats for ever, unless an input changes.".into(),
            End::NoProgram(at) => format!("The run comes to {}, where nobody put a program.", address(at)),
            End::Joined(place) => format!("It goes on as from {}.", self.step(place)),
            End::Lost(lost) => self.lost(lost),
        }
    }

    fn lost(&self, lost: Lost) -> String {
        let (what, origin) = match lost {
            Lost::Way(origin) => ("Where it goes on is open".to_owned(), origin),
            Lost::Write(origin) => {
                ("Which byte this changes is open, and so what every byte is from now on".into(), origin)
            }
            Lost::Opcode(at, origin) => {
                (format!("Which instruction lies at {} is open", self.notation.address(at)), origin)
            }
        };
        match origin {
            Some(origin) => format!("{what}: it depends on {}. The rows end here.", self.origin(origin)),
            None => format!("{what}. The rows end here."),
        }
    }

    fn origin(&self, origin: Origin) -> String {
        match origin {
            Origin::Port { port, step } => format!("{}, read at step {step}", self.port_name(true, port)),
            Origin::Memory(address) => {
                format!("what lies at {}, where nobody put a byte", self.notation.address(Address(address)))
            }
            Origin::Blank(address) => {
                format!("what the bus shows at {}, where no memory answers", self.notation.address(Address(address)))
            }
            Origin::Register("SP") => "the stack pointer, which nothing has set".into(),
            Origin::Register(name) => format!("register {name}, which nothing has set"),
            Origin::Flags => "a flag that nothing has set".into(),
        }
    }

    /// A step as another row speaks of it.
    fn step(&self, Place { branch, step }: Place) -> String {
        match branch {
            _ if branch == self.branch => format!("step {step}"),
            Some(branch) => format!("step {step} of branch {}", letter(branch)),
            None => format!("step {step} before the branches"),
        }
    }

    /// When the other way is gone.
    fn condition(&self, Fork { flag: (flag, set), cause, lit, .. }: Fork) -> String {
        let state = if set { "set" } else { "clear" };
        let look = if lit { "lit" } else { "dark" };
        match cause {
            Cause {
                origin: Some(origin @ (Origin::Port { .. } | Origin::Memory(_) | Origin::Blank(_))),
                bit: Some(bit),
            } => {
                format!("bit {bit} of {}, is {look}", self.origin(origin))
            }
            Cause { origin: Some(Origin::Register(name)), bit: Some(bit) } => {
                let one = u8::from(lit);
                format!("bit {bit} of {}, is {one}", self.origin(Origin::Register(name)))
            }
            Cause { origin: Some(Origin::Flags), .. } => {
                format!("the {flag} flag is {state}: it hangs on flags that nothing has set")
            }
            Cause { origin: Some(origin), .. } => {
                format!("the {flag} flag is {state}, as several bits decide of {}", self.origin(origin))
            }
            Cause { origin: None, .. } => format!("the {flag} flag is {state}, as several open bits decide"),
        }
    }

    /// What stands below a branch on an open flag: when it goes the other way, and where that is drawn.
    pub fn fork(&self, fork: Fork, way: Way, here: Place) -> String {
        let way = match way {
            Way::Row(place) if place.branch == here.branch && place.step <= here.step => {
                format!("back to step {}", place.step)
            }
            Way::Row(place) => format!("on as from {}", self.step(place)),
            Way::Branch(number) => format!("see branch {}", letter(number)),
            Way::Like(number) => {
                format!("to the instruction with which branch {} begins, but with other lights", letter(number))
            }
            Way::Unfollowed => "another way, which is not drawn".into(),
        };
        format!("IF {}: {way}.", self.condition(fork))
    }

    /// The heading of a branch.
    pub fn branch_opens(&self, number: usize, branch: &Branch) -> String {
        let after = match branch.after.branch {
            Some(from) => format!("step {} of branch {}", branch.after.step, letter(from)),
            None => format!("step {}", branch.after.step),
        };
        format!("BRANCH {}: after {after}, if {}.", letter(number), self.condition(branch.fork))
    }
}

/// What a branch is called: `A` to `Z`.
fn letter(branch: usize) -> char {
    char::from(b'A' + (branch % 26) as u8)
}

/// The words around the rows.
pub struct Frame {
    /// The name of what is run.
    pub name: String,
    /// What the sheet is.
    pub kind: String,
    /// Start and length.
    pub facts: String,
    /// What can hurt at the steps.
    pub caution: String,
    /// How it is used, in paragraphs.
    pub how: Vec<String>,
}

/// How a panel that stops in every machine cycle is read.
const CYCLE: &str = "The panel holds the processor in the wait state between T2 and T3 of the cycle. So {WAIT}\
                     address and status stand still, and the data lights show the byte that is about to be read, or the \
                     byte being written. A cycle inside the processor has no status and no wait state: the panel does not \
                     stop in it.";
/// How a panel that stops in the first cycle of an instruction is read.
const INSTRUCTION: &str = "The panel holds the processor in the wait state between T2 and T3 of that cycle. So {WAIT}\
                           address and status stand still, and the data lights show the byte that is about to be \
                           read. The rows without a box pass too fast to be seen.";

impl Lights {
    /// Where a panel lights other status lamps after EXAMINE than the cycle has that it stands before.
    fn but_for_status(&self) -> String {
        let (panel, fetch) = (&self.panel, self.panel.lamps.within(StatusLamps::FETCH));
        if panel.examined == fetch {
            return String::new();
        }
        let lit: Vec<_> = panel.examined.names().collect();
        format!(
            ", but the status lights, of which EXAMINE lights {}",
            if lit.is_empty() { "none".into() } else { lit.join(", ") }
        )
    }

    /// The words around the rows.
    pub(super) fn frame(&self) -> Frame {
        let start = self.panel.notation.address(self.start);
        let (next, held) = match self.panel.step {
            Reach::Cycle => ("row: one machine cycle", CYCLE),
            Reach::Instruction => ("row with a box: the first machine cycle of the next instruction", INSTRUCTION),
        };
        let steps = match fold::steps(&self.passages) {
            steps if steps == self.cycles => String::new(),
            steps => format!(", {}", counted(steps, "step")),
        };
        let stop = match (self.panel.stop, self.panel.reset) {
            (Stop::Key, _) => "STOP",
            (Stop::Lever, _) => "Lever to STOP",
            (Stop::Nothing, Reset::Missing) => "With the machine stopped",
            (Stop::Nothing, _) => "RESET",
        };
        let wait = if self.panel.has(StatusLamps::WAIT) { "WAIT is lit, " } else { "" };
        let held = held.replace("{WAIT}", wait);
        Frame {
            name: self.name.clone(),
            kind: format!("lights sheet, {}", self.panel.notation.name()),
            facts: format!("from {start}, {}{steps}", counted(self.cycles, "machine cycle")),
            caution: applying(&[When::Step]).filter(|_| self.writes_ports()).map(|caution| caution.short).collect(),
            how: vec![
                format!(
                    "{stop}, set {start}, EXAMINE: row 1 stands{}. Each press of SINGLE STEP brings the next {next}.",
                    self.but_for_status()
                ),
                held,
            ],
        }
    }
}
