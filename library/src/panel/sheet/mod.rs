//! The deposit sheet: what a person does, row by row, to get an image into memory by hand, and to make sure of it.
//!
//! [`Sheet::new`] makes the rows; each row knows its [`Step`]s, so that what is printed is what a simulated panel plays.
//! [`Sheet::draw`] and [`Sheet::text`] set the same rows on the same pages.

mod clerk;
mod draw;
mod layout;
mod write;

use super::levers::Levers;
use super::model::{Pace, Panel};
use super::program::{Check, Remark};
use super::steps::{Key, Step};
use crate::notation::{Address, Notation};
use crate::source::{Code, Diagnostic};

/// A deposit sheet as data.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// What it is headed with.
    pub name: String,
    /// The panel it is for.
    pub panel: Panel,
    /// Where the program starts.
    pub entry: Address,
    /// What the sense switches show when it starts.
    pub sense: u8,
    /// Whether the program is started at the end of the sheet; else others are deposited or started first.
    pub starts: bool,
    /// Blocks of bytes by rising address, then the start, if it starts; a section is never split between pages.
    pub sections: Vec<Section>,
    /// What it takes.
    pub totals: Totals,
    /// How fast the estimate assumes the hand to be.
    pub pace: Pace,
}

/// Rows that stay together on a page.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// In the order in which they are done.
    pub rows: Vec<Row>,
}

/// One row.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// What it is for.
    pub action: Action,
    /// How the levers stand after it, if it sets any.
    pub levers: Option<Levers>,
    /// The keys pressed for it, in this order; EXAMINE NEXT and EXAMINE before anything else.
    pub keys: Vec<Key>,
}

/// What a row is for.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// Bring an address up, to deposit there next.
    Address(Address),
    /// Deposit a byte.
    Byte {
        /// Where.
        address: Address,
        /// What.
        byte: u8,
        /// What the source says of it, at the first byte of a statement.
        remark: Option<Remark>,
    },
    /// Bring an address up and compare the lights, stepping on, with the bytes that were deposited from there.
    Check {
        /// Where the pass begins.
        address: Address,
        /// What the lights must show.
        bytes: Vec<u8>,
    },
    /// The end of a block.
    Sum {
        /// The last address of the block, which the check left on the lights.
        last: Address,
        /// The sum of all bytes from the beginning of the sheet to here, modulo 65536.
        running: u16,
    },
    /// Bring the entry address up.
    Entry(Address),
    /// Set the sense switches.
    Sense(u8),
    /// Start the program.
    Run,
}

/// What a sheet takes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Totals {
    /// The bytes deposited.
    pub check: Check,
    /// Levers pushed.
    pub levers: u64,
    /// Keys pressed.
    pub keys: u64,
    /// Rows read and lights compared, each with a tick.
    pub ticks: u64,
}

/// Why there can be no sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SheetError {
    /// The image has no byte.
    Empty,
    /// An address has a one where the panel has no switch.
    Unreachable {
        /// The address that would have to be set.
        address: Address,
        /// How many switches there are.
        switches: u8,
    },
}

impl SheetError {
    /// What the person is told.
    pub fn diagnostic(self, notation: Notation) -> Diagnostic {
        match self {
            SheetError::Empty => Diagnostic::error(Code::NothingToDeposit, "the program has no byte")
                .with_help("put an instruction or data into it: there is nothing to deposit"),
            SheetError::Unreachable { address, switches } => {
                let headline =
                    format!("`{}` cannot be set on `{switches}` address switches", notation.address(address));
                Diagnostic::error(Code::AddressUnreachable, headline)
                    .with_note(format!(
                        "the highest address that can be set is {}",
                        notation.address(Address(((1u32 << switches) - 1) as u16))
                    ))
                    .with_help("give the panel its real number of `switches`, or move the program down")
            }
        }
    }
}

impl Sheet {
    /// All rows in the order in which they are done.
    pub fn rows(&self) -> impl Iterator<Item = &Row> {
        self.sections.iter().flat_map(|section| &section.rows)
    }

    /// The estimated time in seconds.
    pub fn seconds(&self) -> f64 {
        self.pace.seconds(self.totals.levers, self.totals.keys, self.totals.ticks)
    }
}

impl Row {
    /// The acts of the row, in order.
    pub fn steps(&self) -> Vec<Step> {
        match &self.action {
            Action::Address(address) | Action::Entry(address) => {
                vec![Step::SetAddress(*address), Step::Press(Key::Examine)]
            }
            Action::Byte { byte, .. } => {
                let (last, before) = match self.keys.split_last() {
                    Some(split) => split,
                    None => return vec![Step::SetData(*byte)],
                };
                let before = before.iter().map(|key| Step::Press(*key));
                before.chain([Step::SetData(*byte), Step::Press(*last)]).collect()
            }
            Action::Check { address, bytes } => check_steps(*address, bytes),
            Action::Sum { .. } => Vec::new(),
            Action::Sense(byte) => vec![Step::SetSense(*byte)],
            Action::Run => vec![Step::Press(Key::Run)],
        }
    }
}

fn check_steps(address: Address, bytes: &[u8]) -> Vec<Step> {
    let mut steps = vec![Step::SetAddress(address), Step::Press(Key::Examine)];
    for (at, byte) in bytes.iter().enumerate() {
        if at > 0 {
            steps.push(Step::Press(Key::ExamineNext));
        }
        steps.push(Step::Compare(address.wrapping_add(at as u16), *byte));
    }
    steps
}

impl Row {
    /// Whether the row has a box to tick when it is done.
    pub fn has_first_box(&self) -> bool {
        !matches!(self.action, Action::Sum { .. } | Action::Check { .. })
    }

    /// Whether the row has a box to tick when the lights agreed.
    pub fn has_second_box(&self) -> bool {
        matches!(self.action, Action::Byte { .. } | Action::Check { .. })
    }
}
