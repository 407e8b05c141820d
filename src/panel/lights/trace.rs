//! One instruction after the other on a bench that remembers every machine cycle.

use std::collections::{BTreeMap, VecDeque};

use crate::cpu::{Bus, Cpu, MachineCycle};
use crate::image::{Image, MEMORY};
use crate::isa::CycleKind;
use crate::notation::Address;

/// One machine cycle as the lights show it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cycle {
    /// What goes over the bus; gives the status lights.
    pub kind: CycleKind,
    /// The address lights; `None` for an internal cycle.
    pub address: Option<u16>,
    /// The data lights; `None` where no byte moves.
    pub data: Option<u8>,
    /// The byte comes from the world: the lights may show anything, and [`data`](Self::data) is only what the run took.
    pub window: bool,
    /// In a loop: what was different in later passes.
    pub varying: Option<Varying>,
}

impl Cycle {
    /// Whether a single-stepped panel stops in it: only where the processor issues a status byte does it wait.
    pub fn stops(&self) -> bool {
        self.kind.status().is_some()
    }
}

/// The last pass of a loop, where its lights differed from the first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Varying {
    /// The address of the last pass.
    pub address: Option<u16>,
    /// The byte of the last pass.
    pub data: Option<u8>,
}

/// An instruction with its machine cycles.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Instruction {
    /// Where it stands.
    pub address: Address,
    /// Its machine cycles, at least one.
    pub cycles: Vec<Cycle>,
}

/// A processor, memory and ports, with a record of the cycles of the running instruction.
pub struct Bench {
    pub cpu: Cpu,
    board: Board,
}

struct Board {
    memory: Box<[u8]>,
    known: Box<[bool]>,
    inputs: BTreeMap<u8, VecDeque<u8>>,
    assumed: u8,
    record: Vec<Cycle>,
    window: bool,
    changes: u64,
    inputs_taken: u64,
}

impl Bench {
    pub fn new(image: &Image, inputs: BTreeMap<u8, VecDeque<u8>>, assumed: u8) -> Bench {
        let (mut memory, mut known) = (vec![0; MEMORY], vec![false; MEMORY]);
        for extent in image.extents() {
            let range = extent.base.index()..extent.base.index() + extent.bytes.len();
            memory[range.clone()].copy_from_slice(extent.bytes);
            known[range].fill(true);
        }
        let board = Board {
            memory: memory.into(),
            known: known.into(),
            inputs,
            assumed,
            record: Vec::new(),
            window: false,
            changes: 0,
            inputs_taken: 0,
        };
        Bench { cpu: Cpu::default(), board }
    }

    /// Whether somebody put a byte there.
    pub fn is_known(&self, address: Address) -> bool {
        self.board.known[address.index()]
    }

    /// How often a byte of memory was changed.
    pub fn changes(&self) -> u64 {
        self.board.changes
    }

    /// How many given input values were used up.
    pub fn inputs_taken(&self) -> u64 {
        self.board.inputs_taken
    }

    /// Runs one instruction.
    pub fn step(&mut self) -> Instruction {
        let address = Address(self.cpu.registers.pc);
        self.cpu.step(&mut self.board);
        Instruction { address, cycles: std::mem::take(&mut self.board.record) }
    }
}

impl Bus for Board {
    fn read(&mut self, address: u16) -> u8 {
        self.window = !self.known[usize::from(address)];
        self.memory[usize::from(address)]
    }

    fn write(&mut self, address: u16, byte: u8) {
        let at = usize::from(address);
        self.changes += u64::from(self.memory[at] != byte || !self.known[at]);
        self.memory[at] = byte;
        self.known[at] = true;
    }

    fn input(&mut self, port: u8) -> u8 {
        let Some(values) = self.inputs.get_mut(&port) else {
            self.window = true;
            return self.assumed;
        };
        if values.len() > 1 {
            self.inputs_taken += 1;
            return values.pop_front().unwrap_or_default();
        }
        values.front().copied().unwrap_or_default()
    }

    fn output(&mut self, _port: u8, _byte: u8) {}

    fn complete(&mut self, cycle: MachineCycle) {
        let window = std::mem::take(&mut self.window);
        let MachineCycle { kind, address, data, .. } = cycle;
        self.record.push(Cycle { kind, address, data, window, varying: None });
    }
}
