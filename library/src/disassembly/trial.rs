//! Routines that are run to see what they do: on the processor of this house, with memory that forgets, and ports that read
//! something else each time so that no wait is for ever.

use crate::cpu::{Bus, Cpu};
use crate::image::MEMORY;
use crate::isa::{CycleKind, Instruction, Mnemonic, decode};

use super::bytes::Bytes;

/// Where the stack of a trial begins.
const STACK: u16 = 0xFF00;

/// Instructions of one trial.
const LONGEST: usize = 20_000;

/// Instructions of all trials of a run.
const ALL: usize = 400_000;

/// The most bytes behind a CALL.
const FARTHEST: usize = 512;

/// Runs of routines.
pub struct Trials<'a> {
    bytes: &'a Bytes,
    board: Option<Board>,
    left: usize,
}

/// Bytes that a trial wrote.
pub struct Written {
    /// The memory after it.
    pub memory: Vec<u8>,
    /// Which bytes were written.
    pub written: Vec<bool>,
    /// Where execution left the bytes for others that were written.
    pub went_to: Option<u16>,
}

impl<'a> Trials<'a> {
    /// No trial so far.
    pub fn new(bytes: &'a Bytes) -> Trials<'a> {
        Trials { bytes, board: None, left: ALL }
    }

    /// How many bytes behind a CALL at an address its routine takes: it is run, and where it comes back says so. The bytes
    /// run where they lie.
    pub fn behind(&mut self, call: usize, first: usize) -> Option<usize> {
        let mut cpu = start(call);
        let most = LONGEST.min(self.left);
        let board = self.board();
        board.restore();
        let (mut steps, mut back) = (0, None);
        // Where the routines that it calls itself come back.
        let mut expected = Vec::new();
        while steps < most && back.is_none() && !cpu.is_halted() {
            let (pc, sp) = (usize::from(cpu.registers.pc), cpu.registers.sp);
            let instruction = decode(board.memory[pc]);
            cpu.step(board);
            steps += 1;
            if instruction.mnemonic.calls() && cpu.registers.sp == sp.wrapping_sub(2) && steps > 1 {
                expected.push(pc + usize::from(instruction.length));
            } else if comes_back(instruction) {
                let now = usize::from(cpu.registers.pc);
                if expected.last() == Some(&now) {
                    expected.pop();
                } else if cpu.registers.sp == STACK {
                    back = Some(now);
                }
            }
        }
        self.left -= steps;
        back?.checked_sub(first).filter(|count| *count <= FARTHEST)
    }

    /// Runs from an address on, until execution comes to bytes that were written, or for a while.
    pub fn run(&mut self, from: usize) -> Option<Written> {
        let mut cpu = start(from);
        let (bytes, most) = (self.bytes, LONGEST.min(self.left));
        let board = self.board();
        board.restore();
        let (mut went_to, mut steps) = (None, 0);
        while steps < most && !cpu.is_halted() {
            let pc = cpu.registers.pc;
            if board.written[usize::from(pc)] {
                went_to = Some(pc);
                break;
            }
            if !bytes.has(usize::from(pc)) {
                break;
            }
            cpu.step(board);
            steps += 1;
        }
        let wrote = !board.journal.is_empty();
        let result = wrote.then(|| Written { memory: board.memory.clone(), written: board.written.clone(), went_to });
        self.left -= steps;
        result
    }

    fn board(&mut self) -> &mut Board {
        self.board.get_or_insert_with(|| Board {
            memory: self.bytes.all().to_vec(),
            written: vec![false; MEMORY],
            journal: Vec::new(),
            noise: 1,
        })
    }
}

/// Whether an instruction may come back from a routine: a return, or a jump to what HL holds.
fn comes_back(instruction: &Instruction) -> bool {
    let unstacks = instruction.cycles.iter().filter(|cycle| cycle.kind == CycleKind::StackRead).count() == 2;
    let pops = matches!(instruction.mnemonic, Mnemonic::Pop | Mnemonic::Xthl);
    instruction.mnemonic == Mnemonic::Pchl || unstacks && !pops
}

fn start(pc: usize) -> Cpu {
    let mut cpu = Cpu::default();
    (cpu.registers.pc, cpu.registers.sp) = (pc as u16, STACK);
    cpu
}

struct Board {
    memory: Vec<u8>,
    written: Vec<bool>,
    /// What was there before each write.
    journal: Vec<(u16, u8)>,
    noise: u32,
}

impl Board {
    fn restore(&mut self) {
        for (address, byte) in self.journal.drain(..).rev() {
            self.memory[usize::from(address)] = byte;
            self.written[usize::from(address)] = false;
        }
        self.noise = 1;
    }
}

impl Bus for Board {
    fn read(&mut self, address: u16) -> u8 {
        self.memory[usize::from(address)]
    }

    fn write(&mut self, address: u16, byte: u8) {
        let at = usize::from(address);
        self.journal.push((address, self.memory[at]));
        (self.memory[at], self.written[at]) = (byte, true);
    }

    /// Nothing, everything, and what comes: whatever a routine waits for is there at last.
    fn input(&mut self, _port: u8) -> u8 {
        self.noise = self.noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        match self.noise >> 30 {
            0 => 0,
            1 => 0xFF,
            _ => (self.noise >> 20) as u8,
        }
    }

    fn output(&mut self, _port: u8, _byte: u8) {}
}
