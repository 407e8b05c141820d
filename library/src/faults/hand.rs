//! What the hand does before the start, row by row, and how it does one of them otherwise.

use super::fault::{LeverBank, Slip};
use super::outcome::{Check, Checks};
use super::wires::Wires;
use crate::notation::Address;
use crate::panel::sheet::{Action, Row};
use crate::panel::{DataLevers, Key, Panel, SenseLevers, Step};
use crate::project::{Artefacts, Home, Id, Plan, Stage, Start};
use crate::rehearsal::Machine;

/// A row of the hand's work.
#[derive(Clone, Debug)]
pub struct Task {
    /// For which stage it is done.
    pub stage: Id<Stage>,
    /// What is done.
    pub row: Row,
}

/// All that the hand does before the first stage runs: the rows of the sheets in the order of the run card, and for a stage
/// in ROM what starts it.
pub fn tasks(plan: &Plan, made: &Artefacts, start: &Start) -> Vec<Task> {
    let mut tasks = Vec::new();
    for place in (1..start.stages.len()).chain([0]) {
        let stage = start.stages[place];
        let sheet = made.sheet(stage, (place == 0).then_some(start.sense));
        match (&plan.stages[stage].home, sheet) {
            (Home::Panel(_), Some(sheet)) => {
                tasks.extend(sheet.rows().map(|row| Task { stage, row: row.clone() }));
            }
            _ if place == 0 => {
                let row = |action| Task { stage, row: Row { action, levers: None, keys: vec![Key::Examine] } };
                tasks.push(row(Action::Entry(plan.stages[stage].entry)));
                if plan.machine.panel.senses {
                    tasks.push(row(Action::Sense(start.sense)));
                }
                tasks.push(row(Action::Run));
            }
            _ => {}
        }
    }
    tasks
}

/// A lever that reads the same however it stands.
#[derive(Clone, Copy, Debug)]
pub struct StuckLever {
    /// Of which levers.
    pub bank: LeverBank,
    /// Its number.
    pub lever: u8,
    /// Whether it reads one.
    pub up: bool,
}

/// The hand at the panel of a machine.
pub struct Hand<'a> {
    panel: &'a Panel,
    wires: Wires,
    stuck: Option<StuckLever>,
    /// How the levers stand.
    address: u16,
    data: u8,
    sense: u8,
    /// The address that the panel has up.
    at: Address,
    /// What differs from the sheet.
    pub checks: Checks,
}

impl<'a> Hand<'a> {
    /// A hand at levers that are all down.
    pub fn new(panel: &'a Panel, wires: Wires, stuck: Option<StuckLever>) -> Hand<'a> {
        Hand { panel, wires, stuck, address: 0, data: 0, sense: 0, at: Address(0), checks: Checks::default() }
    }

    /// Does all the work, some rows of it perhaps otherwise.
    pub fn work(&mut self, tasks: &[Task], slips: &[(usize, Slip)], machine: &mut Machine) {
        let mut order: Vec<usize> = (0..tasks.len()).collect();
        let mut turned = vec![0u16; tasks.len()];
        for &(row, slip) in slips {
            let place = |order: &[usize], row: usize| order.iter().position(|at| *at == row);
            let Some(here) = place(&order, row) else { continue };
            match slip {
                Slip::Exchanged => {
                    let next = next_act(tasks, row).and_then(|next| place(&order, next));
                    order.swap(here, next.unwrap_or(here));
                }
                Slip::Twice => order.insert(here, row),
                Slip::LeftOut => drop(order.remove(here)),
                Slip::Lever(number) => turned[row] ^= 1 << number,
            }
        }
        order.into_iter().for_each(|at| self.task(&tasks[at].row, turned[at], machine));
    }

    /// Starts the machine anew at an address, with nothing deposited.
    pub fn start(&mut self, tasks: &[Task], machine: &mut Machine) {
        let starts = |task: &&Task| matches!(task.row.action, Action::Entry(_) | Action::Sense(_) | Action::Run);
        tasks.iter().filter(starts).for_each(|task| self.task(&task.row, 0, machine));
    }

    /// A row, with levers turned round in it.
    fn task(&mut self, row: &Row, turned: u16, machine: &mut Machine) {
        for step in row.steps() {
            match step {
                Step::SetAddress(address) => self.address = address.0 ^ turned,
                Step::SetData(byte) => self.set_data(byte ^ turned as u8),
                Step::SetSense(byte) => self.set_sense(byte ^ turned as u8),
                Step::Press(key) => self.press(key, machine),
                Step::Compare(address, expected) => {
                    let found = self.wires.find(machine, self.at);
                    if found != expected {
                        self.checks.push(Check::Byte { address, expected, found });
                    }
                }
            }
        }
        if let Action::Sum { last, .. } = row.action {
            let found = self.wires.shown(self.at);
            if found != last {
                self.checks.push(Check::Address { expected: last, found });
            }
        }
    }

    fn set_data(&mut self, byte: u8) {
        match self.panel.data {
            DataLevers::LowAddress => self.address = self.address & 0xFF00 | u16::from(byte),
            DataLevers::Own => self.data = byte,
        }
    }

    fn set_sense(&mut self, byte: u8) {
        match self.panel.sense {
            SenseLevers::HighAddress => self.address = self.address & 0x00FF | u16::from(byte) << 8,
            SenseLevers::Own => self.sense = byte,
        }
    }

    /// What a bank of levers reads.
    fn read(&self, bank: LeverBank) -> u16 {
        let stands = match bank {
            LeverBank::Address => self.address,
            LeverBank::Data => self.data.into(),
            LeverBank::Sense => self.sense.into(),
        };
        match self.stuck.filter(|stuck| stuck.bank == bank) {
            Some(StuckLever { lever, up: true, .. }) => stands | 1 << lever,
            Some(StuckLever { lever, .. }) => stands & !(1 << lever),
            None => stands,
        }
    }

    fn press(&mut self, key: Key, machine: &mut Machine) {
        let byte = match self.panel.data {
            DataLevers::LowAddress => self.read(LeverBank::Address) as u8,
            DataLevers::Own => self.read(LeverBank::Data) as u8,
        };
        match key {
            Key::Examine => self.at = Address(self.read(LeverBank::Address)),
            Key::ExamineNext => self.at = self.at.wrapping_add(1),
            Key::Deposit => self.wires.deposit(machine, self.at, byte),
            Key::DepositNext => {
                self.at = self.at.wrapping_add(1);
                self.wires.deposit(machine, self.at, byte);
            }
            Key::Run => {
                machine.examine(self.at);
                machine.board.sense = match self.panel.sense {
                    SenseLevers::HighAddress => (self.read(LeverBank::Address) >> 8) as u8,
                    SenseLevers::Own => self.read(LeverBank::Sense) as u8,
                };
            }
        }
    }
}

/// Whether the hand does something in a row that is felt by the machine.
pub fn acts(row: &Row) -> bool {
    !matches!(row.action, Action::Check { .. } | Action::Sum { .. })
}

/// The next row in which the hand does something, for the same stage.
pub fn next_act(tasks: &[Task], row: usize) -> Option<usize> {
    let next = (row + 1..tasks.len()).find(|&next| acts(&tasks[next].row))?;
    (tasks[next].stage == tasks[row].stage).then_some(next)
}
