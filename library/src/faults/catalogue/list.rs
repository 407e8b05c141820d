//! The list that the catalogue fills.

use crate::faults::fault::{Fault, Wrong};
use crate::faults::kind::Kind;

/// The faults so far.
#[derive(Default)]
pub struct List(Vec<Fault>);

impl List {
    pub fn add(&mut self, kind: Kind, wrong: Wrong) {
        self.0.push(Fault { kind, wrong });
    }

    pub fn into_faults(self) -> Vec<Fault> {
        self.0
    }
}
