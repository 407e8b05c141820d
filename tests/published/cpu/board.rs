//! Memory that notes each machine cycle, and a device that interrupts.

use coldwright::cpu::{Bus, Cpu, MachineCycle};
use coldwright::isa::{CycleKind, TStates};

/// Where programs are put.
pub const START: u16 = 0x0100;

/// 64 KiB of memory, ports that all read `port_input`, and a record.
pub struct Board {
    pub memory: Vec<u8>,
    pub port_input: u8,
    /// The INT line.
    pub interrupt: bool,
    /// The instruction that the interrupting device gives, one byte a call.
    pub instruction: Vec<u8>,
    /// Wait states that the bus asks for in each cycle.
    pub waits: u64,
    pub record: Vec<MachineCycle>,
}

impl Board {
    pub fn with_program(program: &[u8]) -> Board {
        let mut board = Board {
            memory: vec![0; 0x10000],
            port_input: 0,
            interrupt: false,
            instruction: Vec::new(),
            waits: 0,
            record: Vec::new(),
        };
        board.put(START, program);
        board
    }

    pub fn put(&mut self, address: u16, bytes: &[u8]) {
        self.memory[usize::from(address)..][..bytes.len()].copy_from_slice(bytes);
    }

    /// The record as kind, address and data, without the time.
    pub fn transfers(&self) -> Vec<(CycleKind, Option<u16>, Option<u8>)> {
        self.record.iter().map(|cycle| (cycle.kind, cycle.address, cycle.data)).collect()
    }

    /// The status bytes of the record, in octal as the lights show them.
    pub fn status(&self) -> Vec<String> {
        let shown = |cycle: &MachineCycle| cycle.kind.status().map_or("none".into(), |status| format!("{status:03o}"));
        self.record.iter().map(shown).collect()
    }
}

impl Bus for Board {
    fn read(&mut self, address: u16) -> u8 {
        self.memory[usize::from(address)]
    }
    fn write(&mut self, address: u16, byte: u8) {
        self.memory[usize::from(address)] = byte;
    }
    fn input(&mut self, _port: u8) -> u8 {
        self.port_input
    }
    fn output(&mut self, _port: u8, _byte: u8) {}
    fn interrupt(&mut self) -> bool {
        self.interrupt
    }
    fn acknowledge(&mut self) -> u8 {
        self.instruction.remove(0)
    }
    fn begin(&mut self, _kind: CycleKind, _address: Option<u16>, _at: TStates) -> TStates {
        TStates(self.waits)
    }
    fn complete(&mut self, cycle: MachineCycle) {
        self.record.push(cycle);
    }
}

/// A processor about to fetch from [`START`].
pub fn cpu() -> Cpu {
    let mut cpu = Cpu::default();
    cpu.registers.pc = START;
    cpu.registers.sp = 0x2000;
    cpu
}
