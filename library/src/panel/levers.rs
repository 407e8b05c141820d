//! Levers in a row: which are up, and which the hand has to move.

use super::model::{DataLevers, Panel, SenseLevers};
use crate::notation::Notation;

/// Which levers are meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bank {
    /// The address switches.
    Address,
    /// The eight that hold a data byte.
    Data,
    /// The eight that hold the sense byte.
    Sense,
}

/// A setting of a bank of levers, and what of it differs from the setting before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Levers {
    /// Which levers.
    pub bank: Bank,
    /// Number of the rightmost lever: 8 for a sense byte on the high address switches, else 0.
    pub lowest: u8,
    /// How many.
    pub count: u8,
    /// Up levers as ones; the rightmost lever is bit 0.
    pub value: u16,
    /// The levers to move as ones.
    pub moved: u16,
}

/// One lever of a setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lever {
    /// The number of the switch, 0 to 15.
    pub number: u8,
    /// Up, a one; or down, a zero.
    pub up: bool,
    /// It was the other way before.
    pub moved: bool,
}

impl Levers {
    /// The levers from left to right.
    pub fn each(self) -> impl Iterator<Item = Lever> {
        (0..self.count).rev().map(move |bit| Lever {
            number: self.lowest + bit,
            up: self.value >> bit & 1 == 1,
            moved: self.moved >> bit & 1 == 1,
        })
    }

    /// How many levers the hand moves.
    pub fn movements(self) -> u64 {
        u64::from(self.moved.count_ones())
    }
}

/// Whether a gap stands to the left of switch `number`: a group of switches is a digit of the notation.
pub fn opens_group(number: u8, notation: Notation) -> bool {
    match notation {
        Notation::Octal => number % 3 == 2 || number == 15,
        Notation::SplitOctal => matches!(number % 8, 2 | 5 | 7),
        Notation::Hexadecimal => number % 4 == 3,
    }
}

/// The hand at the levers: it knows how they stand and moves only what differs.
#[derive(Clone, Debug)]
pub struct Hand {
    panel: Panel,
    address: u16,
    data: u8,
    sense: u8,
}

impl Hand {
    /// All levers down.
    pub fn new(panel: &Panel) -> Self {
        Hand { panel: panel.clone(), address: 0, data: 0, sense: 0 }
    }

    /// Sets the address switches.
    pub fn set_address(&mut self, address: u16) -> Levers {
        let moved = self.address ^ address;
        self.address = address;
        Levers { bank: Bank::Address, lowest: 0, count: self.panel.switches, value: address, moved }
    }

    /// Sets a data byte.
    pub fn set_data(&mut self, byte: u8) -> Levers {
        let before = match self.panel.data {
            DataLevers::LowAddress => {
                let low = self.address.to_le_bytes()[0];
                self.address = self.address & 0xFF00 | u16::from(byte);
                low
            }
            DataLevers::Own => std::mem::replace(&mut self.data, byte),
        };
        Levers { bank: Bank::Data, lowest: 0, count: 8, value: u16::from(byte), moved: u16::from(before ^ byte) }
    }

    /// Sets the sense byte.
    pub fn set_sense(&mut self, byte: u8) -> Levers {
        let (before, lowest) = match self.panel.sense {
            SenseLevers::HighAddress => {
                let high = self.address.to_be_bytes()[0];
                self.address = self.address & 0x00FF | u16::from(byte) << 8;
                (high, 8)
            }
            SenseLevers::Own => (std::mem::replace(&mut self.sense, byte), 0),
        };
        Levers { bank: Bank::Sense, lowest, count: 8, value: u16::from(byte), moved: u16::from(before ^ byte) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shared_levers_remember_each_other() {
        let mut hand = Hand::new(&Panel::default());
        assert_eq!(hand.set_address(0o177000).moved, 0o177000);
        let data = hand.set_data(0o303);
        assert_eq!((data.value, data.moved, data.movements()), (0o303, 0o303, 4));
        assert_eq!(hand.set_address(0o177001).moved, 0o000302);
        let sense = hand.set_sense(0o376);
        assert_eq!((sense.lowest, sense.moved), (8, 0));
    }

    #[test]
    fn levers_of_their_own_do_not() {
        let panel = Panel { data: DataLevers::Own, sense: SenseLevers::Own, ..Panel::default() };
        let mut hand = Hand::new(&panel);
        hand.set_address(0o377);
        assert_eq!(hand.set_data(0o252).moved, 0o252);
        assert_eq!(hand.set_sense(0o001).moved, 0o001);
        assert_eq!(hand.set_address(0o377).moved, 0);
    }

    #[test]
    fn a_group_is_a_digit() {
        let groups = |notation| {
            let mut sizes: Vec<u32> = Vec::new();
            for number in (0..16).rev() {
                match sizes.last_mut() {
                    Some(size) if !opens_group(number, notation) => *size += 1,
                    _ => sizes.push(1),
                }
            }
            sizes
        };
        assert_eq!(groups(Notation::Octal), [1, 3, 3, 3, 3, 3]);
        assert_eq!(groups(Notation::SplitOctal), [2, 3, 3, 2, 3, 3]);
        assert_eq!(groups(Notation::Hexadecimal), [4, 4, 4, 4]);
    }
}
