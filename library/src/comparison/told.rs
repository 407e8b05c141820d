//! Reasons in words.

use super::change::Change;
use super::reason::Reason;
use super::version::Edit;
use crate::notation::{Address, Notation, counted};

/// Edits of a version that are told one by one.
const EDITS: usize = 6;

impl Reason {
    /// The reason in a sentence without a stop. `near` says what lies at an address of the second side.
    pub fn told(&self, notation: Notation, near: &dyn Fn(Address) -> String) -> String {
        match self {
            Reason::Change(change) => change.told(notation),
            Reason::OneWay(true) => "bits went from 0 to 1 only".to_owned(),
            Reason::OneWay(false) => "bits went from 1 to 0 only".to_owned(),
            Reason::Moved(by) => {
                let (way, by) = if *by < 0x8000 { ("higher", *by) } else { ("lower", by.wrapping_neg()) };
                format!("made for another place: its addresses are {} ({by} bytes) {way}", notation.constant(by))
            }
            Reason::Version(edits) => {
                let mut told: Vec<_> = edits.iter().take(EDITS).map(|edit| edit.told(notation, near)).collect();
                if edits.len() > EDITS {
                    told.push(format!("and {} more", counted(edits.len() - EDITS, "place")));
                }
                format!("another version of the same source: {}", told.join("; "))
            }
        }
    }

    /// What it may be at the bench, if there is something to say.
    pub fn advice(&self) -> Option<&'static str> {
        Some(match self {
            Reason::Change(Change::DataStuck(..) | Change::AddressStuck(..)) => {
                "look for a pin that makes no contact, a solder bridge, or a driver that is dead"
            }
            Reason::Change(Change::DataCrossed(..) | Change::AddressCrossed(..)) => {
                "compare the wiring with the socket's; `data=` and `address=` of a socket say how it is wired"
            }
            Reason::Change(Change::AllInverted) => "is there an inverter between? `inverted` of a socket says so",
            Reason::Change(Change::DataInverted(_)) => "look at the driver of this line",
            Reason::Change(Change::DataOrder(order)) if (0..8).all(|line| (order[line] < 4) == (line >= 4)) => {
                "the two parts of 4 bits are changed over, and `data=` of their socket crosses lines; or the wiring is another"
            }
            Reason::Change(Change::DataOrder(_)) => {
                "compare the wiring with the socket's; `data=` of a socket says how it is wired"
            }
            Reason::Change(Change::Nibbles) => "the two parts of 4 bits are changed over",
            Reason::Change(Change::BlocksChanged(_) | Change::Exchanged(..)) => {
                "are two parts in each other's sockets, or an address line turned round?"
            }
            Reason::Change(Change::Shifted(_)) => "was it read from another address on?",
            Reason::OneWay(true) => {
                "a part whose erased cells read 1 is not fully programmed or loses charge: read it again, and with another supply"
            }
            Reason::OneWay(false) => {
                "a part whose erased cells read 0 is not fully programmed or loses charge; one whose erased cells read 1 was \
                 programmed over something else"
            }
            Reason::Moved(_) | Reason::Version(_) => return None,
        })
    }
}

impl Change {
    fn told(self, notation: Notation) -> String {
        match self {
            Change::DataStuck(bit, one) => format!("data line {bit} always reads {}", u8::from(one)),
            Change::DataCrossed(one, other) => format!("data lines {one} and {other} are crossed"),
            Change::DataInverted(bit) => format!("data line {bit} is inverted"),
            Change::AllInverted => "all data lines are inverted".to_owned(),
            Change::Nibbles => "the high and the low four bits are changed over".to_owned(),
            Change::DataOrder(order) => {
                let lines: Vec<_> = order.iter().map(u8::to_string).collect();
                format!("the data lines are in another order: lines 0 to 7 read what is on {}", lines.join(", "))
            }
            Change::AddressStuck(bit, one) => format!("address line {bit} is always {}", u8::from(one)),
            Change::AddressCrossed(one, other) => format!("address lines {one} and {other} are crossed"),
            Change::BlocksChanged(0) => "even and odd addresses are changed over".to_owned(),
            Change::BlocksChanged(bit) => {
                let bytes = 1usize << bit;
                format!("each {bytes} bytes are changed over with the next {bytes}: address line {bit} is inverted")
            }
            Change::Shifted(by) => {
                let way = if by > 0 { "higher" } else { "lower" };
                format!("everything lies {} {way}", counted(by.unsigned_abs(), "byte"))
            }
            Change::Exchanged(size, one, other) => {
                let (one, other) = (notation.address(Address(one)), notation.address(Address(other)));
                format!("{} bytes at {one} and at {other} are changed over", 1usize << size)
            }
        }
    }
}

impl Edit {
    fn told(&self, notation: Notation, near: &dyn Fn(Address) -> String) -> String {
        let place = format!("at {}{}", notation.address(self.second), near(self.first));
        match (self.removed, self.inserted) {
            (0, inserted) => format!("{} put in {place}", counted(inserted, "byte")),
            (removed, 0) => format!("{} taken out {place}", counted(removed, "byte")),
            (removed, inserted) => format!("{} in place of {removed} {place}", counted(inserted, "byte")),
        }
    }
}
