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
#[derive(Clone, Copy, Debug, Default)]
pub struct Overlay {
    address: Bits,
    data: Bits,
    status: Bits,
}

/// Bits of some lamps, over all cycles that showed them.
#[derive(Clone, Copy, Debug, Default)]
struct Bits {
    /// Those that a cycle surely lights.
    lit: u16,
    /// Those that a cycle surely leaves dark.
    dark: u16,
    /// Those of which nobody can know in some cycle.
    open: u16,
    /// Whether any cycle showed them.
    shown: bool,
}

impl Bits {
    fn add(&mut self, bits: u16, open: u16) {
        self.lit |= bits & !open;
        self.dark |= !bits & !open;
        self.open |= open;
        self.shown = true;
    }

    /// What is lit in one cycle and dark in another flickers, whatever is open in a third.
    fn look(self, bit: u32) -> Lamp {
        let has = |bits: u16| bits >> bit & 1 == 1;
        match (has(self.lit), has(self.dark), has(self.open)) {
            (true, true, _) => Lamp::Flickers,
            (_, _, true) => Lamp::Open,
            (true, ..) => Lamp::Lit,
            _ => Lamp::Dark,
        }
    }

    /// The lowest `count` bits, the highest first; none if no cycle showed them.
    fn lamps(self, count: u32) -> Vec<Lamp> {
        if self.shown { (0..count).rev().map(|bit| self.look(bit)).collect() } else { Vec::new() }
    }
}

impl Overlay {
    /// Adds a cycle. An internal one has nothing on the bus and leaves the lights as they were.
    pub fn add(&mut self, cycle: &MachineCycle) {
        self.add_open(cycle, (0, 0));
    }

    /// Adds a cycle that has bits on the address and the data lights that nobody can know.
    pub fn add_open(&mut self, cycle: &MachineCycle, (address, data): (u16, u8)) {
        if let Some(status) = cycle.kind.status() {
            self.status.add(status.into(), 0);
        }
        cycle.address.into_iter().for_each(|bits| self.address.add(bits, address));
        cycle.data.into_iter().for_each(|bits| self.data.add(bits.into(), data.into()));
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
    fn what_two_cycles_settle_is_not_open_for_a_third() {
        let mut overlay = Overlay::default();
        overlay.add(&cycle(CycleKind::Fetch, 0, Some(0b0110)));
        overlay.add(&cycle(CycleKind::Read, 0, Some(0b0101)));
        overlay.add_open(&cycle(CycleKind::StackRead, 0, Some(0b1111)), (0, 0b1111));
        assert_eq!(overlay.lights().data[4..], [Lamp::Open, Lamp::Open, Lamp::Flickers, Lamp::Flickers]);
    }

    #[test]
    fn a_processor_that_halted_waits() {
        let lights = PanelLights::still(&cycle(CycleKind::HaltAcknowledge, 5, None));
        let lit = lights.status.iter().filter(|(_, lamp)| *lamp == Lamp::Lit).map(|(name, _)| *name);
        assert_eq!(lit.collect::<Vec<_>>(), ["MEMR", "HLTA", "WO", "WAIT"]);
        assert!(lights.data.is_empty());
    }
}
