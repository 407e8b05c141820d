//! What would bite at the bench, as data.

use std::collections::HashSet;

use super::disk::Trouble;
use crate::isa::TStates;
use crate::notation::Address;

/// Something the machine did that it should not have done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Incident {
    /// What happened.
    pub what: What,
    /// The instruction then running.
    pub pc: Address,
    /// When.
    pub at: TStates,
}

/// What an incident is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum What {
    /// An opcode was fetched from memory that nothing was ever put into, or from where there is no memory.
    ExecutesUnloaded(Address),
    /// An opcode was fetched from a byte that is data, or the second or third byte of an instruction.
    ExecutesData(Address),
    /// An instruction of a program that is still being loaded was fetched, before its entry was reached.
    ExecutesEarly(Address),
    /// An opcode was fetched from a place where no program of the chain has an instruction.
    ExecutesStray(Address),
    /// A byte was read from memory that nothing was ever put into, or from where there is no memory.
    ReadsUnloaded(Address),
    /// A byte was written to ROM.
    WritesRom(Address),
    /// A byte was written where there is no memory.
    WritesNowhere(Address),
    /// A byte was written over another that is still needed.
    Overwrites(Address),
    /// The stack was used before the stack pointer was loaded.
    StackUnset,
    /// A byte was pushed to, or popped from, where there is no memory.
    StackNowhere(Address),
    /// A byte was pushed over another that is still needed.
    StackOverwrites(Address),
    /// A byte was popped that what is being loaded was written over.
    StackSpoilt(Address),
    /// A port without a device was read.
    InputUnknown(u8),
    /// A port without a device was written.
    OutputUnknown(u8),
    /// A character was lost: it, or the one before it, had not been read when the next was complete.
    Overrun {
        /// The serial chip, in the order of the set-up.
        serial: usize,
        /// Which character of the line was lost, from 0.
        character: usize,
    },
    /// The received data were read although no character was waiting.
    ReadsNothing {
        /// The serial chip, in the order of the set-up.
        serial: usize,
    },
    /// A character came without a valid stop bit, or with the wrong parity.
    Garbled {
        /// The serial chip, in the order of the set-up.
        serial: usize,
        /// Which character of the line held the start bit, from 0.
        character: usize,
    },
    /// The status or the data of a chip were read that no program had set up.
    PollsUnset {
        /// The serial chip, in the order of the set-up.
        serial: usize,
    },
    /// A character was written to a transmitter that was not set up.
    NotSent {
        /// The serial chip, in the order of the set-up.
        serial: usize,
    },
    /// A character was written to a transmitter whose buffer was full: the one that waited there is lost.
    SentOver {
        /// The serial chip, in the order of the set-up.
        serial: usize,
    },
    /// A character was written to a transmitter that was off.
    HeldBack {
        /// The serial chip, in the order of the set-up.
        serial: usize,
    },
    /// A chip was reset that had not sent all that was written to it.
    CutOff {
        /// The serial chip, in the order of the set-up.
        serial: usize,
    },
    /// A port of a disk controller holds the processor that reads it, and nothing will let it go.
    HeldForever {
        /// The port.
        port: u8,
    },
    /// A disk controller, or its drive, ran into something.
    Disk {
        /// The drive, in the order of the set-up.
        disk: usize,
        /// What.
        trouble: Trouble,
    },
}

impl What {
    /// The same without its figures: of those that differ in them alone the first is kept.
    fn kind(self) -> What {
        match self {
            What::Disk { disk, trouble } => What::Disk { disk, trouble: trouble.kind() },
            other => other,
        }
    }

    /// Whether nothing sensible can follow, so that the run stops.
    pub fn is_fatal(self) -> bool {
        matches!(
            self,
            What::ExecutesUnloaded(_)
                | What::ExecutesData(_)
                | What::ExecutesEarly(_)
                | What::ExecutesStray(_)
                | What::WritesRom(_)
                | What::Overwrites(_)
                | What::StackUnset
                | What::StackNowhere(_)
                | What::StackOverwrites(_)
                | What::StackSpoilt(_)
                | What::HeldForever { .. }
        )
    }
}

/// The most incidents that are kept; a program gone wild makes no end of them.
const MOST: usize = 1000;

/// Incidents in the order in which they happened, each once for an instruction.
#[derive(Clone, Debug, Default)]
pub(super) struct Incidents {
    /// What happens is not kept, and only that ends a run after which nobody can know how it goes on.
    pub borne: bool,
    list: Vec<Incident>,
    seen: HashSet<(What, Address)>,
    fatal: Option<Incident>,
}

impl Incidents {
    #[cold]
    pub(super) fn note(&mut self, incident: Incident) {
        if self.borne {
            return self.bear(incident);
        }
        if self.list.len() < MOST && self.seen.insert((incident.what.kind(), incident.pc)) {
            self.list.push(incident);
        }
        if incident.what.is_fatal() {
            self.fatal.get_or_insert(incident);
        }
    }

    fn bear(&mut self, incident: Incident) {
        if matches!(incident.what, What::ExecutesUnloaded(_) | What::HeldForever { .. }) {
            self.fatal.get_or_insert(incident);
        }
    }

    pub(super) fn list(&self) -> &[Incident] {
        &self.list
    }

    /// The fatal incident since the last call.
    #[inline]
    pub(super) fn take_fatal(&mut self) -> Option<Incident> {
        self.fatal.take()
    }
}
