//! How the lights look: at rest, and while a loop runs faster than the eye.

use crate::cpu::MachineCycle;
use crate::panel::lamps::{Lamp, lamps};
use crate::panel::model::StatusLamps;

/// Address and data lights, the highest first, and status lights with their names.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PanelLights {
    /// Sixteen, or none if they are not meant.
    pub address: Vec<Lamp>,
    /// Eight, or none if they are not meant.
    pub data: Vec<Lamp>,
    /// Those of the status word, bit 7 first, and WAIT; or none if they are not meant.
    pub status: Vec<(&'static str, Lamp)>,
}

/// The machine cycles of a loop laid over one another.
#[derive(Clone, Copy, Debug)]
pub struct Overlay {
    address: Bits,
    data: Bits,
    status: Bits,
}

/// Bits of some lamps, over all cycles that showed them.
#[derive(Clone, Copy, Debug)]
struct Bits {
    always: u16,
    ever: u16,
    /// Those that nobody can know.
    open: u16,
    /// Whether any cycle showed them.
    shown: bool,
}

impl Bits {
    const NONE: Bits = Bits { always: u16::MAX, ever: 0, open: 0, shown: false };

    fn add(&mut self, bits: u16) {
        *self = Bits { always: self.always & bits, ever: self.ever | bits, shown: true, ..*self };
    }

    /// What is always on is lit, what is sometimes on flickers.
    fn look(self, bit: u32) -> Lamp {
        if self.open >> bit & 1 == 1 {
            return Lamp::Open;
        }
        match (self.always >> bit & 1, self.ever >> bit & 1) {
            (1, _) => Lamp::Lit,
            (_, 0) => Lamp::Dark,
            _ => Lamp::Flickers,
        }
    }

    /// The lowest `count` bits, the highest first; none if no cycle showed them.
    fn lamps(self, count: u32) -> Vec<Lamp> {
        if self.shown { (0..count).rev().map(|bit| self.look(bit)).collect() } else { Vec::new() }
    }
}

impl Default for Overlay {
    fn default() -> Overlay {
        Overlay { address: Bits::NONE, data: Bits::NONE, status: Bits::NONE }
    }
}

impl Overlay {
    /// Adds a cycle. An internal one has nothing on the bus and leaves the lights as they were.
    pub fn add(&mut self, cycle: &MachineCycle) {
        if let Some(status) = cycle.kind.status() {
            self.status.add(status.into());
        }
        cycle.address.into_iter().for_each(|address| self.address.add(address));
        cycle.data.into_iter().for_each(|data| self.data.add(data.into()));
    }

    /// Of the cycles that were added, some had bits on the address and the data lights that nobody can know.
    pub fn leave_open(&mut self, address: u16, data: u8) {
        self.address.open |= address;
        self.data.open |= u16::from(data);
    }

    /// How the lights look while these cycles follow one another faster than the eye.
    pub fn lights(&self) -> PanelLights {
        let status = StatusLamps::NAMES.iter().map(|&(name, lamp)| (name, self.status.look(lamp.bit())));
        let status = if self.status.shown { status.collect() } else { Vec::new() };
        PanelLights { address: self.address.lamps(16), data: self.data.lamps(8), status }
    }
}

impl PanelLights {
    /// The lights of a processor that stands still in a cycle, as it does when it has halted: WAIT is lit.
    pub fn still(cycle: &MachineCycle) -> PanelLights {
        let mut overlay = Overlay::default();
        overlay.add(cycle);
        let mut lights = overlay.lights();
        for (name, lamp) in &mut lights.status {
            if StatusLamps::WAIT.names().any(|wait| wait == *name) {
                *lamp = Lamp::Lit;
            }
        }
        lights
    }

    /// The address lights, and if it is given a byte on the data lights.
    pub(super) fn of(address: u16, data: Option<u8>) -> PanelLights {
        let data = data.map_or_else(Vec::new, |byte| lamps(u16::from(byte), 8));
        PanelLights { address: lamps(address, 16), data, status: Vec::new() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::isa::{CycleKind, TStates};

    fn cycle(kind: CycleKind, address: u16, data: Option<u8>) -> MachineCycle {
        MachineCycle { kind, address: Some(address), data, at: TStates(0) }
    }

    #[test]
    fn a_light_that_is_on_in_some_cycles_flickers() {
        let mut overlay = Overlay::default();
        overlay.add(&cycle(CycleKind::Fetch, 0b01, Some(0b11)));
        overlay.add(&cycle(CycleKind::Read, 0b11, Some(0b10)));
        overlay.add(&MachineCycle { kind: CycleKind::Internal, address: None, data: None, at: TStates(0) });
        let lights = overlay.lights();
        assert_eq!(lights.address[14..], [Lamp::Flickers, Lamp::Lit]);
        assert_eq!(lights.data[6..], [Lamp::Lit, Lamp::Flickers]);
        let status = |wanted| lights.status.iter().find(|(name, _)| *name == wanted).unwrap().1;
        assert_eq!(["MEMR", "M1", "OUT", "WAIT"].map(status), [Lamp::Lit, Lamp::Flickers, Lamp::Dark, Lamp::Dark]);
    }

    #[test]
    fn a_processor_that_halted_waits() {
        let lights = PanelLights::still(&cycle(CycleKind::HaltAcknowledge, 5, None));
        let lit = lights.status.iter().filter(|(_, lamp)| *lamp == Lamp::Lit).map(|(name, _)| *name);
        assert_eq!(lit.collect::<Vec<_>>(), ["MEMR", "HLTA", "WO", "WAIT"]);
        assert!(lights.data.is_empty());
    }
}
