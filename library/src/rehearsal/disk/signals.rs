//! What a drive shows, level by level, and when each next changes by itself.

use super::drive::Drive;
use crate::disk::Signal;
use crate::isa::TStates;

impl Drive {
    /// Whether a signal is active at a moment.
    pub fn shows(&self, signal: Signal, at: TStates) -> bool {
        match signal {
            Signal::Ready => self.ready(at),
            Signal::Index => self.index(at),
            Signal::Hole => self.is_selected() && self.has_disk(at) && self.spindle.in_hole(at, self.pulses().1),
            Signal::TrackZero => self.track_zero(at),
            Signal::Settled => self.settled(at),
            Signal::MayStep => self.may_step(at),
            Signal::Protected => self.protected(at),
        }
    }

    /// By when a signal may next change after a moment if nothing is done to the drive: not later than it does.
    pub fn next_change(&self, signal: Signal, after: TStates) -> Option<TStates> {
        if !self.is_selected() {
            return None;
        }
        let later = |at: Option<TStates>| at.filter(|&at| at > after);
        let turns = self.has_disk(after);
        let own = match signal {
            Signal::Ready => later(self.ready_from()),
            Signal::Index => turns.then(|| self.spindle.next_index_edge(after, self.pulses().0)),
            Signal::Hole => turns.then(|| self.spindle.next_hole_edge(after, self.pulses().1)),
            Signal::TrackZero | Signal::MayStep => later(Some(self.may_step_from())),
            Signal::Settled => later(self.settles()),
            Signal::Protected => None,
        };
        let depends_on_disk = !matches!(signal, Signal::TrackZero | Signal::MayStep);
        let door = if depends_on_disk { self.next_door(after) } else { None };
        own.into_iter().chain(door).min()
    }

    /// The hole that passed last, counted from hole 0 of the turn; nothing while the drive shows none.
    pub fn hole(&self, at: TStates) -> Option<usize> {
        let shows = self.is_selected() && self.has_disk(at);
        shows.then(|| (self.spindle.stretch_at(at) % self.spindle.stretches()) as usize)
    }

    /// When the next hole begins to pass, after a moment.
    pub fn next_hole(&self, after: TStates) -> Option<TStates> {
        let turns = self.is_selected() && self.has_disk(after);
        let next = turns.then(|| self.spindle.stretch_begins(self.spindle.stretch_at(after) + 1));
        next.into_iter().chain(if self.is_selected() { self.next_door(after) } else { None }).min()
    }
}
