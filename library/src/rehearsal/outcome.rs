//! What a rehearsal found, as data.

use super::records::{StackUse, WentOut};
use super::serial::Margin;
use super::tapes::Played;
use crate::isa::TStates;
use crate::notation::{Address, Notation, counted};
use crate::source::{Diagnostic, Diagnostics};

/// The rehearsal of one way to start.
#[derive(Debug)]
pub struct Outcome {
    /// What the start is called; empty if there is only one.
    pub start: String,
    /// T-states in a second.
    pub clock_hz: u64,
    /// What happened, in order.
    pub events: Vec<Event>,
    /// The stages as far as they were reached.
    pub stages: Vec<StageOutcome>,
    /// The tapes that were played, in the order in which they were started.
    pub tapes: Vec<TapeOutcome>,
    /// The disks that lay in drives.
    pub disks: Vec<DiskOutcome>,
    /// Distances between what lies in memory, by rising address.
    pub gaps: Vec<Gap>,
    /// How much faster its lines may be, if that was tried.
    pub haste: Option<Haste>,
    /// Why it failed, and warnings; without an error the start agrees with its description.
    pub problems: Diagnostics,
    /// A stage was given up for the bound on instructions: with more of them, it might have gone on well.
    pub gave_up: bool,
    /// The machine's time when it ended.
    pub ended: TStates,
    /// Instructions that the machine ran.
    pub instructions: u64,
    /// What the machine put out.
    pub went_out: WentOut,
    /// What all of this rests on.
    pub basis: Basis,
    /// Branches that hang on what nobody set, each as the problem that it is if it makes a difference.
    pub(super) forks: Vec<Diagnostic>,
    /// Where it came to rest.
    pub(super) rest: Option<Rest>,
}

/// Where a start came to rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Rest {
    /// It halted, by this instruction.
    Halts(Address),
    /// It goes round without end; the lowest instruction of the round.
    Circles(Address),
}

/// What a rehearsal rests on, besides the tapes that it played.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Basis {
    /// The machine file, as shown.
    pub machine: String,
    /// The files of the stages, as shown, each once.
    pub programs: Vec<String>,
    /// What was taken for granted because the machine file does not say it.
    pub assumed: Vec<String>,
    /// What was otherwise than the chain says, because that was asked for.
    pub departures: Vec<String>,
}

impl Outcome {
    /// Nothing has happened yet.
    pub(super) fn new(start: String, clock_hz: u64) -> Outcome {
        Outcome {
            start,
            clock_hz,
            events: Vec::new(),
            stages: Vec::new(),
            tapes: Vec::new(),
            disks: Vec::new(),
            gaps: Vec::new(),
            haste: None,
            problems: Diagnostics::default(),
            gave_up: false,
            ended: TStates(0),
            instructions: 0,
            went_out: WentOut::default(),
            basis: Basis::default(),
            forks: Vec::new(),
            rest: None,
        }
    }

    /// Whether everything went as the machine file, the programs and the tapes say it should.
    pub fn agrees(&self) -> bool {
        !self.problems.has_errors()
    }

    /// A time of the machine in seconds.
    pub fn seconds(&self, states: TStates) -> f64 {
        states.0 as f64 / self.clock_hz as f64
    }
}

/// Something that a person at the machine could notice.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// When; the machine's time starts when RUN is pressed first.
    pub at: TStates,
    /// How long it takes, where it is the work of a hand, in seconds.
    pub by_hand: Option<f64>,
    /// What happens.
    pub what: String,
    /// What the lights show meanwhile; may be empty.
    pub lights: String,
}

/// A stage that was reached.
#[derive(Clone, Debug, PartialEq)]
pub struct StageOutcome {
    /// Its name.
    pub name: String,
    /// Its bytes.
    pub bytes: usize,
    /// Where it starts.
    pub entry: Address,
    /// When it was entered.
    pub entered: TStates,
    /// When its first and its last byte came, if it was loaded by another.
    pub arrived: Option<(TStates, TStates)>,
    /// The tightest read while it was running.
    pub margin: Option<LineMargin>,
    /// It gave a chip other stop bits than its line has and sent nothing, so that it does no harm.
    pub mismatch: Option<Mismatch>,
    /// The deepest stack while it was running.
    pub stack: Option<StackUse>,
}

impl StageOutcome {
    /// What it had to spare.
    pub fn margins(&self, outcome: &Outcome, notation: Notation) -> String {
        let mut text = counted(self.bytes, "byte");
        if let Some((first, last)) = self.arrived {
            text += &format!(", loaded in {:.3} s", outcome.seconds(last) - outcome.seconds(first));
        }
        if let Some(line) = &self.margin {
            text += &format!(", tightest read {:.1} % of a character of {}", line.margin.per_cent, line.format);
        }
        if let Some(stack) = self.stack {
            text += &format!(", deepest stack {}", stack.words(notation));
        }
        text
    }
}

/// A tape that was played.
#[derive(Clone, Debug, PartialEq)]
pub struct TapeOutcome {
    /// Its name.
    pub name: String,
    /// The frames on it.
    pub frames: usize,
    /// How it was played.
    pub played: Played,
    /// When the player was started, or when RUN was pressed if it ran before.
    pub started: TStates,
    /// Seconds for which it ran before RUN was pressed.
    pub before: f64,
    /// When its first character began, or 0 if that was before RUN was pressed.
    pub begins: TStates,
    /// When its last character ends.
    pub ends: TStates,
    /// When the last stage on it was started: from then on it may be stopped.
    pub done: Option<TStates>,
}

/// A disk that lay in a drive.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DiskOutcome {
    /// Its name.
    pub name: String,
    /// Whether a file was given for it.
    pub given: bool,
}

/// A chip that is set up otherwise than its line, and hears all the same.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mismatch {
    /// What is on the line.
    pub line: String,
    /// How the chip is set up.
    pub set: String,
    /// Speed and characters of the line.
    pub format: String,
}

/// The tightest read of a line.
#[derive(Clone, Debug, PartialEq)]
pub struct LineMargin {
    /// The line.
    pub line: String,
    /// Speed and characters of it.
    pub format: String,
    /// A character in T-states.
    pub character_states: f64,
    /// The read.
    pub margin: Margin,
}

/// How much faster than described the lines of a start may be, found by playing it so.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Haste {
    /// By so many per cent, and it still agrees; 0 if by none that was tried.
    pub keeps: u32,
    /// By so many per cent, and it does not; with the stage that runs then.
    pub fails: Option<(u32, String)>,
}

/// Free bytes between two things in memory.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gap {
    /// What lies below.
    pub below: String,
    /// What lies above.
    pub above: String,
    /// Bytes between them; 0 if they touch.
    pub bytes: usize,
}
