//! A panel that somebody plays a sheet on: levers, keys, memory full of noise.

use coldwright::panel::sheet::{Action, Row};
use coldwright::panel::{Bank, DataLevers, Key, Panel, SenseLevers, Step};

/// The state of the machine behind the panel.
pub struct Machine {
    panel: Panel,
    address_levers: u16,
    data_levers: u8,
    sense_levers: u8,
    /// The address shown.
    shown: u16,
    /// All of memory.
    pub memory: Vec<u8>,
    /// Where RUN was pressed, and what the sense switches showed.
    pub started: Option<(u16, u8)>,
}

impl Machine {
    /// Switched on: every lever down, noise in memory.
    pub fn new(panel: &Panel) -> Machine {
        let memory = (0..0x1_0000u32).map(|at| (at.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
        Machine {
            panel: panel.clone(),
            address_levers: 0,
            data_levers: 0,
            sense_levers: 0,
            shown: 0o177777,
            memory,
            started: None,
        }
    }

    /// Plays a row: only the levers it marks are moved, then its steps must find the levers as they say.
    pub fn play(&mut self, row: &Row) {
        let steps = row.steps();
        for (at, step) in steps.iter().enumerate() {
            match *step {
                Step::SetAddress(address) => {
                    self.move_levers(row);
                    assert_eq!(self.address_levers, address.0, "{row:?}");
                }
                Step::SetData(byte) => {
                    self.move_levers(row);
                    assert_eq!(self.data(), byte, "{row:?}");
                }
                Step::SetSense(byte) => {
                    self.move_levers(row);
                    assert_eq!(self.sense(), byte, "{row:?}");
                }
                Step::Press(key) => self.press(key),
                Step::Compare(address, byte) => {
                    assert_eq!((self.shown, self.memory[usize::from(self.shown)]), (address.0, byte), "{row:?}");
                }
            }
            let pressed = steps[..=at].iter().filter(|step| matches!(step, Step::Press(_))).count();
            assert!(pressed <= row.keys.len() || matches!(row.action, Action::Check { .. }), "{row:?}");
        }
    }

    fn move_levers(&mut self, row: &Row) {
        let levers = row.levers.expect("a row that sets levers draws them");
        let moved = levers.moved << levers.lowest;
        match (levers.bank, self.panel.data, self.panel.sense) {
            (Bank::Data, DataLevers::Own, _) => self.data_levers ^= moved as u8,
            (Bank::Sense, _, SenseLevers::Own) => self.sense_levers ^= moved as u8,
            _ => self.address_levers ^= moved,
        }
    }

    fn data(&self) -> u8 {
        match self.panel.data {
            DataLevers::LowAddress => self.address_levers as u8,
            DataLevers::Own => self.data_levers,
        }
    }

    fn sense(&self) -> u8 {
        match self.panel.sense {
            SenseLevers::HighAddress => (self.address_levers >> 8) as u8,
            SenseLevers::Own => self.sense_levers,
        }
    }

    fn press(&mut self, key: Key) {
        match key {
            Key::Examine => self.shown = self.address_levers,
            Key::ExamineNext => {
                assert!(self.panel.examine_next, "the panel has no EXAMINE NEXT");
                self.shown = self.shown.wrapping_add(1);
            }
            Key::Deposit => self.memory[usize::from(self.shown)] = self.data(),
            Key::DepositNext => {
                assert!(self.panel.deposit_next, "the panel has no DEPOSIT NEXT");
                self.shown = self.shown.wrapping_add(1);
                self.memory[usize::from(self.shown)] = self.data();
            }
            Key::Run => self.started = Some((self.shown, self.sense())),
        }
    }
}
