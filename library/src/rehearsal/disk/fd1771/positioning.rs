//! Type I: restore, seek, step.
//!
//! Source: Western Digital FD1771-01 data sheet, type I commands (by a retyped digest); what its flow chart does with the
//! registers during a restore, and with a step outward from track 0, from memory of the chart.

use super::command::{Motion, Position};
use super::pins::Pins;
use super::registers::Registers;
use super::task::{Approach, Flow, Reached, Task, Times, engage};
use crate::isa::TStates;

/// Steps after which a restore gives up.
const MOST_STEPS: u16 = 255;

/// Microseconds for which the direction stands before the first step.
const DIRECTION_US: u64 = 24;

/// The head on its way.
#[derive(Clone, Debug)]
pub(super) struct Positioning {
    position: Position,
    times: Times,
    steps: u16,
    stage: Stage,
}

#[derive(Clone, Debug)]
enum Stage {
    /// The next step is due, or the end of the last.
    Moving(TStates),
    /// The number of the track is looked for.
    Verifying(Approach),
}

impl Positioning {
    pub fn new(position: Position, at: TStates, times: Times, chip: &mut Registers, pins: &mut dyn Pins) -> Self {
        if position.load {
            engage(at, chip, pins);
        } else if std::mem::replace(&mut chip.loaded, false) {
            pins.load_head(false, at);
        }
        match position.motion {
            Motion::Restore => (chip.track, chip.data) = (0xFF, 0),
            Motion::Step { inward: Some(inward), .. } => chip.inward = inward,
            Motion::Step { inward: None, .. } | Motion::Seek => {}
        }
        Positioning { position, times, steps: 0, stage: Stage::Moving(at + times.us(DIRECTION_US)) }
    }

    /// The direction of the next step, if one is to be made.
    fn wants(&self, chip: &Registers) -> Option<bool> {
        match self.position.motion {
            Motion::Restore => Some(false),
            Motion::Seek => (chip.track != chip.data).then_some(chip.data > chip.track),
            Motion::Step { .. } => (self.steps == 0).then_some(chip.inward),
        }
    }

    fn moves(&mut self, at: TStates, chip: &mut Registers, pins: &mut dyn Pins) -> Flow {
        let Some(inward) = self.wants(chip) else { return self.arrived(at, chip, pins) };
        chip.inward = inward;
        if !inward && pins.track_zero(at) {
            // There is no way further out, whatever the register says.
            chip.track = 0;
            return self.arrived(at, chip, pins);
        }
        if self.steps == MOST_STEPS && self.position.motion == Motion::Restore {
            chip.faults.missing = true;
            return Flow::Ends;
        }
        pins.step(inward, at);
        self.steps += 1;
        if !matches!(self.position.motion, Motion::Step { update: false, .. }) {
            chip.track = if inward { chip.track.wrapping_add(1) } else { chip.track.wrapping_sub(1) };
        }
        self.stage = Stage::Moving(at + self.times.ms(self.position.step_ms()));
        Flow::On
    }

    fn arrived(&mut self, at: TStates, chip: &mut Registers, pins: &mut dyn Pins) -> Flow {
        if !self.position.verify {
            return Flow::Ends;
        }
        self.stage = Stage::Verifying(Approach::new(true, at, self.times, chip, pins));
        Flow::On
    }
}

impl Task for Positioning {
    fn next(&self, pins: &dyn Pins) -> Option<TStates> {
        match &self.stage {
            Stage::Moving(due) => Some(*due),
            Stage::Verifying(approach) => approach.next(pins),
        }
    }

    fn advance(&mut self, at: TStates, chip: &mut Registers, pins: &mut dyn Pins) -> Flow {
        let Stage::Verifying(approach) = &mut self.stage else { return self.moves(at, chip, pins) };
        match approach.advance(at, pins) {
            Reached::Rest => return Flow::On,
            Reached::Id(id) if !id.sound => {
                chip.faults.crc = true;
                return Flow::On;
            }
            Reached::Id(id) => {
                chip.faults.crc = false;
                chip.faults.missing = id.track() != chip.track;
            }
            // The sheet only says that the command ends; that the track was not found is the safe thing to tell.
            Reached::Nothing => chip.faults.missing = true,
        }
        Flow::Ends
    }

    fn stop(&mut self) {
        if let Stage::Verifying(approach) = &mut self.stage {
            approach.stop();
        }
    }

    fn go(&mut self, at: TStates, pins: &dyn Pins) {
        if let Stage::Verifying(approach) = &mut self.stage {
            approach.go(at, pins);
        }
    }
}
