//! The machine file as it is written. Unknown keys are denied.

use std::collections::BTreeMap;

use serde::Deserialize;
use toml::Spanned;

use crate::rom::{PartEntry, SocketEntry};

/// `machine.toml`.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MachineFile {
    /// Clock periods of the processor in a second.
    pub clock_hz: Option<Spanned<i64>>,
    /// The front panel.
    pub panel: Option<PanelEntry>,
    /// Where bytes can be written.
    pub memory: Option<Vec<Spanned<MemoryEntry>>>,
    /// Serial interfaces.
    #[serde(default)]
    pub serial: Vec<SerialEntry>,
    /// Parts of the owner's own.
    #[serde(default)]
    pub part: Vec<Spanned<PartEntry>>,
    /// ROM sockets.
    #[serde(default)]
    pub socket: Vec<Spanned<SocketEntry>>,
    /// What else is wired to ports.
    #[serde(default)]
    pub port: Vec<PortEntry>,
}

/// `panel = { ... }`
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PanelEntry {
    /// How addresses are read.
    pub address: Option<AddressWord>,
    /// Address switches, `8..=16`.
    pub switches: Option<Spanned<i64>>,
    /// Where a data byte is set.
    pub data: Option<LeversWord>,
    /// Where the sense byte is set.
    pub sense: Option<LeversWord>,
    /// The port that reads the sense switches, `0..=255`.
    pub sense_port: Option<Spanned<i64>>,
    /// Keys besides EXAMINE and DEPOSIT.
    pub keys: Option<Vec<KeyName>>,
}

/// How addresses are read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum AddressWord {
    /// Six octal digits.
    Straight,
    /// Two bytes of three octal digits.
    Split,
    /// Four hexadecimal digits.
    Hex,
}

/// Which levers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum LeversWord {
    /// A part of the address switches.
    Address,
    /// Eight of their own.
    Own,
}

/// A key of the panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum KeyName {
    /// Every panel has it.
    Examine,
    /// Shows the next address.
    ExamineNext,
    /// Every panel has it.
    Deposit,
    /// Steps on and deposits.
    DepositNext,
}

/// `memory = [{ ... }]`
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MemoryEntry {
    /// The first address, `0..=65535`.
    pub base: Spanned<i64>,
    /// Bytes, `1..=65536`.
    pub size: Spanned<i64>,
}

/// `[[serial]]`
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SerialEntry {
    /// What is connected to it.
    pub name: String,
    /// The chip that does the work.
    pub chip: ChipWord,
    /// The port of status and control, `0..=255`.
    pub status: Spanned<i64>,
    /// The port of the data, `0..=255`.
    pub data: Spanned<i64>,
    /// Speed and framing of the line: `300 8N2`.
    pub line: Option<Spanned<String>>,
    /// The clock of an MC6850 or an Intel 8251 as a multiple of the line's speed: 1, 16 (as usual) or 64.
    pub clock: Option<Spanned<i64>>,
    /// Of a hard-wired UART: the status bits, by what they say.
    #[serde(default)]
    pub bits: BTreeMap<String, StatusBit>,
}

/// The chip of a serial interface.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ChipWord {
    /// Motorola MC6850.
    Mc6850,
    /// Intel 8251.
    I8251,
    /// A UART whose status lines are wired to port bits of the builder's choice.
    Uart,
}

/// A status line of a hard-wired UART.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StatusBit {
    /// The bit of the status port, `0..=7`.
    pub bit: Spanned<i64>,
    /// The level that means yes.
    #[serde(default)]
    pub active: Active,
}

/// The level that means yes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Active {
    /// A one.
    #[default]
    High,
    /// A zero.
    Low,
}

/// `[[port]]`
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PortEntry {
    /// `0..=255`.
    pub number: Spanned<i64>,
    /// What an `IN` reads.
    #[serde(rename = "in")]
    pub input: Option<String>,
    /// What an `OUT` drives.
    #[serde(rename = "out")]
    pub output: Option<String>,
    /// What a one in a bit that is read means, by the number of the bit.
    #[serde(default)]
    pub in_bits: BTreeMap<Spanned<String>, String>,
    /// What a one in a bit that is driven does, by the number of the bit.
    #[serde(default)]
    pub out_bits: BTreeMap<Spanned<String>, String>,
}
