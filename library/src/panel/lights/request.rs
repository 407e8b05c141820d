//! How a run is to be made.

use std::collections::{BTreeMap, VecDeque};

use super::ground::Grounds;
use crate::notation::Address;
use crate::panel::live::LiveByte;
use crate::panel::model::Panel;

/// What is taken of that which nobody can know.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum World {
    /// It is open. Where a run has to go one way, a port in the list is taken to read its byte, as a line does on which
    /// nothing happens; every other open bit is taken to be zero.
    Open {
        /// By number of the port.
        idle: BTreeMap<u8, u8>,
    },
    /// Every port reads this byte; registers, and memory that nobody filled, are zero.
    Taken(u8),
}

impl Default for World {
    fn default() -> World {
        World::Open { idle: BTreeMap::new() }
    }
}

/// How a run is to be made.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// Where it starts.
    pub start: Address,
    /// Stop before the instruction at this address.
    pub until: Option<Address>,
    /// The most machine cycles.
    pub cycles: u64,
    /// Values that input ports give, one after the other; the last one stays.
    pub inputs: BTreeMap<u8, VecDeque<u8>>,
    /// What input ports show that lead to something which moves by itself, read after read; the last one stays. What is
    /// given in `inputs` goes before it.
    pub live: BTreeMap<u8, Vec<LiveByte>>,
    /// What is taken for granted of what input ports show, by number of the port.
    pub taken: BTreeMap<u8, String>,
    /// What everything else is.
    pub world: World,
    /// The panel that shows it: its status lights, its SINGLE STEP, its notation.
    pub panel: Panel,
    /// What lies at which address.
    pub grounds: Grounds,
}
