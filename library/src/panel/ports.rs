//! What the ports of a machine are wired to, in the owner's words.

use std::collections::BTreeMap;

/// The names of ports and of their bits.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Ports {
    /// What an `IN` reads.
    pub inputs: BTreeMap<u8, Port>,
    /// What an `OUT` drives.
    pub outputs: BTreeMap<u8, Port>,
}

/// One direction of a port.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Port {
    /// What it is.
    pub name: String,
    /// What a one in each bit means; bit 0 first, empty where nothing is known.
    pub bits: [String; 8],
}

impl Port {
    /// The known bits as `7 ready, 0 full`, highest first; empty if there is none.
    pub fn bit_words(&self) -> String {
        let known = self.bits.iter().enumerate().rev().filter(|(_, bit)| !bit.is_empty());
        known.map(|(number, bit)| format!("{number} {bit}")).collect::<Vec<_>>().join(", ")
    }

    /// The names of the bits that are one in `byte`, highest first.
    pub fn ones(&self, byte: u8) -> Vec<&str> {
        let bits = self.bits.iter().enumerate().rev();
        bits.filter(|(number, bit)| byte >> number & 1 == 1 && !bit.is_empty()).map(|(_, bit)| bit.as_str()).collect()
    }
}
