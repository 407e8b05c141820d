//! A lights sheet as data, and the run that it comes from.

use std::collections::BTreeMap;

use super::fold::Passage;
use super::request::Request;
use super::state::Base;
use super::walk::{Walk, Walked};
use super::ways::{Branch, End, Way};
use crate::isa::CycleKind;
use crate::notation::Address;
use crate::panel::model::Panel;
use crate::panel::program::{Check, Program};

/// A lights sheet as data.
#[derive(Clone, Debug, PartialEq)]
pub struct Lights {
    /// What it is headed with.
    pub name: String,
    /// The panel that shows it.
    pub panel: Panel,
    /// The check of the program's image.
    pub check: Check,
    /// Where the run starts.
    pub start: Address,
    /// What was executed, loops folded.
    pub passages: Vec<Passage>,
    /// Machine cycles that were executed.
    pub cycles: u64,
    /// Why it ended.
    pub end: End,
    /// The other ways, where an open flag decides.
    pub branches: Vec<Branch>,
    /// What is taken for granted of what input ports show, by number of the port.
    pub taken: BTreeMap<u8, String>,
    /// By number of a fork: where its other way is drawn.
    pub ways: BTreeMap<usize, Way>,
}

impl Lights {
    /// Whether a row writes to a port, or a row that is not drawn may.
    pub(super) fn writes_ports(&self) -> bool {
        let ways = self.branches.iter().map(|branch| branch.passages.as_slice());
        ways.chain([self.passages.as_slice()]).any(writes_ports)
            || self.ways.values().any(|way| *way == Way::Unfollowed)
    }

    /// Whether a lamp of a row moves by itself.
    pub(super) fn moves(&self) -> bool {
        let ways = self.branches.iter().map(|branch| branch.passages.as_slice());
        ways.chain([self.passages.as_slice()]).any(moves)
    }

    /// Executes a program and keeps its lights.
    pub fn run(program: &Program, request: &Request) -> Lights {
        let mut walk = Walk::new(Base::new(&program.image, &request.grounds), request);
        let Walked { passages, cycles, end } = walk.main();
        let (branches, ways) = walk.others(&passages);
        Lights {
            name: program.name.clone(),
            panel: request.panel.clone(),
            check: program.check(),
            start: request.start,
            passages,
            cycles,
            end,
            branches,
            taken: request.taken.clone(),
            ways,
        }
    }
}

fn writes_ports(passages: &[Passage]) -> bool {
    passages.iter().any(|passage| match passage {
        Passage::Instruction(instruction) => instruction.cycles.iter().any(|cycle| cycle.kind == CycleKind::Output),
        Passage::Loop(inner) => writes_ports(&inner.body),
    })
}

fn moves(passages: &[Passage]) -> bool {
    passages.iter().any(|passage| match passage {
        Passage::Instruction(instruction) => {
            instruction.cycles.iter().any(|cycle| cycle.live.is_some_and(|live| live.moving() != 0))
        }
        Passage::Loop(inner) => moves(&inner.body),
    })
}
