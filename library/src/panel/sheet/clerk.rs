//! From an image to rows, with a hand on the levers.

use super::{Action, Row, Section, Sheet, SheetError, Totals};
use crate::notation::Address;
use crate::panel::levers::{Hand, Levers};
use crate::panel::model::{Pace, Panel};
use crate::panel::program::{Check, Program};
use crate::panel::steps::{Key, Step};

impl Sheet {
    /// The sheet for a program; it starts at `entry`, or where the image says, or at its lowest address.
    ///
    /// # Errors
    /// [`SheetError`] if there is nothing to deposit or an address cannot be set on the panel.
    pub fn new(program: &Program, panel: &Panel, entry: Option<Address>, sense: u8) -> Result<Sheet, SheetError> {
        Sheet::write_down(program, panel, entry, sense, true)
    }

    /// The sheet for a program that another starts: it ends when all is deposited.
    ///
    /// # Errors
    /// As [`Sheet::new`].
    pub fn of_deposits(program: &Program, panel: &Panel, entry: Option<Address>) -> Result<Sheet, SheetError> {
        Sheet::write_down(program, panel, entry, 0, false)
    }

    fn write_down(
        program: &Program,
        panel: &Panel,
        entry: Option<Address>,
        sense: u8,
        starts: bool,
    ) -> Result<Sheet, SheetError> {
        let first = program.image.extents().next().ok_or(SheetError::Empty)?.base;
        let entry = entry.or(program.image.entry).unwrap_or(first);
        let sections = sections(program, panel, starts.then_some((entry, sense)))?;
        let totals = Totals::of(&sections);
        let (name, panel) = (program.name.clone(), panel.clone());
        Ok(Sheet { name, panel, entry, sense, starts, sections, totals, pace: Pace::default() })
    }
}

impl Totals {
    fn of(sections: &[Section]) -> Totals {
        let mut totals = Totals::default();
        for row in sections.iter().flat_map(|section| &section.rows) {
            totals.levers += row.levers.map_or(0, Levers::movements);
            let steps = row.steps();
            totals.keys += steps.iter().filter(|step| matches!(step, Step::Press(_))).count() as u64;
            totals.ticks += u64::from(row.has_first_box()) + u64::from(row.has_second_box());
        }
        // What is printed is checked, not what was to be printed.
        let bytes = sections.iter().flat_map(|section| &section.rows).filter_map(|row| match &row.action {
            Action::Byte { byte, .. } => Some(std::slice::from_ref(byte)),
            _ => None,
        });
        totals.check = Check::of(bytes);
        totals
    }
}

/// The sections of a sheet: a block of bytes each, then the start, from an entry and with a byte on the sense switches.
fn sections(program: &Program, panel: &Panel, start: Option<(Address, u8)>) -> Result<Vec<Section>, SheetError> {
    let mut clerk = Clerk { panel, hand: Hand::new(panel), running: 0, sections: Vec::new() };
    for extent in program.image.extents() {
        clerk.extent(program, extent.base, extent.bytes)?;
    }
    if let Some((entry, sense)) = start {
        clerk.start(entry, sense)?;
    }
    Ok(clerk.sections)
}

/// Writes the rows down, with a hand on the levers.
struct Clerk<'a> {
    panel: &'a Panel,
    hand: Hand,
    running: u16,
    sections: Vec<Section>,
}

impl Clerk<'_> {
    /// Deposits a run of bytes in blocks, stepping on from one to the next.
    fn extent(&mut self, program: &Program, base: Address, bytes: &[u8]) -> Result<(), SheetError> {
        let mut at = 0;
        while at < bytes.len() {
            let start = base.wrapping_add(at as u16);
            let count = self.block_length(program, start, bytes.len() - at);
            let mut rows = Vec::new();
            self.deposit(&mut rows, program, start, &bytes[at..at + count], at == 0)?;
            self.check(&mut rows, start, &bytes[at..at + count])?;
            let block = &bytes[at..at + count];
            self.running = block.iter().fold(self.running, |sum, byte| sum.wrapping_add(u16::from(*byte)));
            let last = start.wrapping_add(count as u16 - 1);
            rows.push(Row { action: Action::Sum { last, running: self.running }, levers: None, keys: Vec::new() });
            self.sections.push(Section { rows });
            at += count;
        }
        Ok(())
    }

    /// How many bytes make a block: what a page holds with its check, and no statement cut in two.
    fn block_length(&self, program: &Program, start: Address, left: usize) -> usize {
        let most = match (self.steps_on(), self.panel.examine_next) {
            (true, true) => 32,
            (true, false) => 16,
            (false, _) => 10,
        };
        if left <= most {
            return left;
        }
        let whole =
            (most - 2..=most).rev().find(|count| program.remarks.contains_key(&start.wrapping_add(*count as u16)));
        whole.unwrap_or(most)
    }

    /// Whether the panel can go to the next address without its switches.
    fn steps_on(&self) -> bool {
        self.panel.deposit_next || self.panel.examine_next
    }

    fn deposit(
        &mut self,
        rows: &mut Vec<Row>,
        program: &Program,
        start: Address,
        bytes: &[u8],
        opens: bool,
    ) -> Result<(), SheetError> {
        for (at, &byte) in bytes.iter().enumerate() {
            let address = start.wrapping_add(at as u16);
            let fresh = (opens && at == 0) || !self.steps_on();
            if fresh {
                rows.push(self.examine(address, Action::Address(address))?);
            }
            let keys = match (fresh, self.panel.deposit_next) {
                (true, _) => vec![Key::Deposit],
                (false, true) => vec![Key::DepositNext],
                (false, false) => vec![Key::ExamineNext, Key::Deposit],
            };
            let remark = program.remarks.get(&address).cloned();
            let levers = Some(self.hand.set_data(byte));
            rows.push(Row { action: Action::Byte { address, byte, remark }, levers, keys });
        }
        Ok(())
    }

    /// The pass over a block: one row if the panel steps on, else one for each byte.
    fn check(&mut self, rows: &mut Vec<Row>, start: Address, bytes: &[u8]) -> Result<(), SheetError> {
        let stride = if self.panel.examine_next { bytes.len() } else { 1 };
        for (index, chunk) in bytes.chunks(stride).enumerate() {
            let address = start.wrapping_add((index * stride) as u16);
            rows.push(self.examine(address, Action::Check { address, bytes: chunk.to_vec() })?);
        }
        Ok(())
    }

    fn start(&mut self, entry: Address, sense: u8) -> Result<(), SheetError> {
        let mut rows = vec![self.examine(entry, Action::Entry(entry))?];
        if self.panel.senses {
            rows.push(Row { action: Action::Sense(sense), levers: Some(self.hand.set_sense(sense)), keys: Vec::new() });
        }
        rows.push(Row { action: Action::Run, levers: None, keys: vec![Key::Run] });
        self.sections.push(Section { rows });
        Ok(())
    }

    fn examine(&mut self, address: Address, action: Action) -> Result<Row, SheetError> {
        if !self.panel.reaches(address) {
            return Err(SheetError::Unreachable { address, switches: self.panel.switches });
        }
        Ok(Row { action, levers: Some(self.hand.set_address(address.0)), keys: vec![Key::Examine] })
    }
}
