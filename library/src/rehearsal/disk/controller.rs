//! What sits between the ports of a machine and a drive.

use std::fmt::Debug;

use super::drive::Drive;
use super::fd1771::Trouble as ChipTrouble;
use super::mishap::Mishap;
use crate::isa::TStates;

/// Something that a controller or its drive ran into.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Trouble {
    /// The drive could not do what it was told.
    Drive(Mishap),
    /// A byte was not fetched before the next one came.
    Lost {
        /// Which byte behind the sync of its sector.
        byte: usize,
        /// By how much what was fetched next came too late for it.
        late: TStates,
    },
    /// The data were fetched although no byte waited.
    NothingWaits,
    /// A byte was not given in time while a sector was written.
    NotGiven {
        /// Which byte of what is written.
        byte: usize,
        /// By how much the next one came too late, if one came.
        late: TStates,
    },
    /// What the chip of a controller says of a command.
    Chip(ChipTrouble),
}

impl Trouble {
    /// The same without its figures.
    pub(crate) fn kind(self) -> Trouble {
        let none = TStates(0);
        match self {
            Trouble::Drive(mishap) => Trouble::Drive(mishap.kind()),
            Trouble::Lost { .. } => Trouble::Lost { byte: 0, late: none },
            Trouble::NotGiven { .. } => Trouble::NotGiven { byte: 0, late: none },
            Trouble::NothingWaits | Trouble::Chip(_) => self,
        }
    }
}

/// What can be had twice.
pub trait Copied {
    /// Another that stands where this one does.
    fn copied(&self) -> Box<dyn Controller>;
}

impl<T: Controller + Clone + 'static> Copied for T {
    fn copied(&self) -> Box<dyn Controller> {
        Box::new(self.clone())
    }
}

impl Clone for Box<dyn Controller> {
    fn clone(&self) -> Box<dyn Controller> {
        (**self).copied()
    }
}

/// A controller with its drive. Its ports are told apart by numbers of its own (`role`).
pub trait Controller: Debug + Copied + Send + Sync {
    /// The drive.
    fn drive(&self) -> &Drive;

    /// The drive, to put a disk in or to open its door.
    fn drive_mut(&mut self) -> &mut Drive;

    /// What a port reads, without what reading it does.
    fn peek(&self, role: usize, at: TStates) -> u8;

    /// The processor reads a port.
    fn input(&mut self, role: usize, at: TStates) -> u8;

    /// Whether a port gives the bytes of a sector.
    fn gives_data(&self, role: usize) -> bool;

    /// The processor writes a port.
    fn output(&mut self, role: usize, byte: u8, at: TStates);

    /// Until when a port holds the processor that reads it from `at` on; `at` itself if it does not. What is due until then
    /// has happened afterwards. Nothing if it holds the processor for ever.
    fn held_until(&mut self, role: usize, at: TStates) -> Option<TStates> {
        let _ = role;
        Some(at)
    }

    /// How often anything of it has changed other than as [`Controller::next_change`] said: by what the processor did, or by
    /// itself.
    fn changes(&self) -> u64;

    /// By when what a port reads may next change by itself, after a moment: not later than it does. A loop that reads it and
    /// comes back to where it was goes on alike until then.
    fn next_change(&self, role: usize, after: TStates) -> Option<TStates>;

    /// When the controller next does something by itself that must be played, whoever looks.
    fn next_event(&self) -> Option<TStates>;

    /// Lets happen what is due up to and including `now`.
    fn settle(&mut self, now: TStates);

    /// What it and its drive ran into since the last call, in order.
    fn take_trouble(&mut self) -> Vec<(TStates, Trouble)>;
}
