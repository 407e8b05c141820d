//! The processor on its board, and how a run goes and ends.

use super::board::Board;
use super::incident::Incident;
use super::memory::mark;
use super::recurrence::{Recurrence, Turn};
use super::setup::{Setup, SetupError};
use crate::cpu::Cpu;
use crate::isa::{Flags, Pair, Register, TStates};
use crate::notation::Address;

/// A machine: the processor with what it is wired to.
#[derive(Clone, Debug)]
pub struct Machine {
    /// The processor. Its clock is the time of the machine.
    pub cpu: Cpu,
    /// Memory, ports and devices.
    pub board: Board,
    /// Whether loops that wait are played through turn by turn. Slow, and of the same result.
    pub plays_every_turn: bool,
}

/// Why a run came to its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stop {
    /// The program is about to run the instruction at an address that was asked for.
    Reached(Address),
    /// `HLT`, and no interrupt to come.
    Halted,
    /// The program goes round and round, changes nothing, and no device will ever change.
    Endless {
        /// An instruction of the loop; the one that reads the port, if there is one.
        pc: Address,
        /// The input port that it reads, if it reads one.
        port: Option<u8>,
    },
    /// Something happened after which nothing sensible can follow.
    Incident(Incident),
    /// The clock reached the deadline.
    Deadline,
    /// Whoever looks on has seen enough.
    GivenUp,
}

/// Somebody who looks on.
pub trait Witness {
    /// An instruction is about to run.
    fn instruction(&mut self, cpu: &Cpu, board: &Board) {
        let _ = (cpu, board);
    }

    /// Lets the processor run one instruction on its board.
    #[inline]
    fn advance(&mut self, cpu: &mut Cpu, board: &mut Board) {
        cpu.step(board);
    }

    /// Asked now and then: whether to go on.
    fn goes_on(&mut self, now: TStates) -> bool {
        let _ = now;
        true
    }

    /// A loop that waits was passed over, so many turns of it; the last instructions were one turn.
    fn passed_over(&mut self, turns: u64, turn: Turn) {
        let _ = (turns, turn);
    }
}

/// Nobody looks on.
impl Witness for () {}

/// From one question whether to go on to the next.
const STRETCH: TStates = TStates(1 << 24);

impl Machine {
    /// A machine just switched on and reset: noise in memory, registers and flags, the program counter zero.
    ///
    /// # Errors
    /// [`SetupError`] if two devices answer to one port.
    pub fn new(setup: &Setup) -> Result<Machine, SetupError> {
        let mut noise = setup.noise();
        let board = Board::new(setup, &mut noise)?;
        let mut cpu = Cpu::default();
        cpu.registers.set(Register::A, noise.byte());
        for pair in [Pair::B, Pair::D, Pair::H, Pair::Sp] {
            cpu.registers.set_pair(pair, noise.word());
        }
        cpu.registers.set_flags(Flags(noise.byte()));
        Ok(Machine { cpu, board, plays_every_turn: false })
    }

    /// What DEPOSIT does: puts a byte at an address while the processor is stopped. ROM and empty places ignore it;
    /// says whether memory took it.
    pub fn deposit(&mut self, address: Address, byte: u8) -> bool {
        self.board.memory.store(address, byte);
        self.board.memory.is_ram(address)
    }

    /// What EXAMINE does: the program counter takes an address.
    pub fn examine(&mut self, address: Address) -> u8 {
        self.cpu.registers.pc = address.0;
        self.board.memory.byte(address)
    }

    /// Lets time pass while the processor is stopped.
    pub fn wait(&mut self, states: TStates) {
        self.cpu.clock += states;
        self.board.settle(self.cpu.clock);
    }

    /// Makes a run stop before the instruction at an address, or no longer.
    pub fn set_stop(&mut self, address: Address, on: bool) {
        self.board.memory.set_mark(address, mark::STOP, on);
    }

    /// Runs until something ends it; the clock may come to stand an instruction past `deadline`.
    pub fn run<W: Witness>(&mut self, deadline: TStates, witness: &mut W) -> Stop {
        let mut recurrence = Recurrence::new(&self.cpu, self.board.counts(), self.board.changes());
        let mut pause = deadline.min(self.cpu.clock + STRETCH);
        loop {
            if self.cpu.clock >= self.board.next_event() {
                self.board.settle(self.cpu.clock);
            }
            if self.cpu.clock >= pause {
                if self.cpu.clock >= deadline {
                    return Stop::Deadline;
                }
                if !witness.goes_on(self.cpu.clock) {
                    return Stop::GivenUp;
                }
                pause = deadline.min(self.cpu.clock + STRETCH);
            }
            if self.board.memory.marks(Address(self.cpu.registers.pc)) & mark::STOP != 0 {
                return Stop::Reached(Address(self.cpu.registers.pc));
            }
            if let Some(stop) = self.step(witness) {
                return stop;
            }
            let found = recurrence.observe(&self.cpu, self.board.counts(), self.board.changes());
            if let Some(turn) = found {
                if let Some(stop) = self.pass_over(turn, deadline, witness) {
                    return stop;
                }
                recurrence = Recurrence::new(&self.cpu, self.board.counts(), self.board.changes());
            }
        }
    }

    /// Runs one instruction, even where a run would stop before it.
    pub fn step<W: Witness>(&mut self, witness: &mut W) -> Option<Stop> {
        witness.instruction(&self.cpu, &self.board);
        self.board.begin_instruction(Address(self.cpu.registers.pc));
        witness.advance(&mut self.cpu, &mut self.board);
        if let Some(incident) = self.board.take_fatal() {
            return Some(Stop::Incident(incident));
        }
        self.cpu.is_halted().then_some(Stop::Halted)
    }

    /// A turn just ended where it began, and nothing but the clock and the counts has changed. As many turns as end
    /// before the next event are alike to the bit, so they are added up instead of played.
    fn pass_over<W: Witness>(&mut self, turn: Turn, deadline: TStates, witness: &mut W) -> Option<Stop> {
        let changes = self.board.changes();
        self.board.settle(self.cpu.clock);
        if self.board.changes() != changes {
            return None;
        }
        let event = self.board.next_event();
        if event == TStates(u64::MAX) {
            return Some(match self.board.last_input().filter(|_| turn.counts.inputs > 0) {
                Some((port, pc)) => Stop::Endless { pc, port: Some(port) },
                None => Stop::Endless { pc: Address(self.cpu.registers.pc), port: None },
            });
        }
        if self.plays_every_turn {
            return None;
        }
        let turns = event.min(deadline).0.saturating_sub(self.cpu.clock.0) / turn.length.0;
        if turns > 0 {
            self.cpu.clock += TStates(turns * turn.length.0);
            self.board.add_counts(turn.counts, turns);
            witness.passed_over(turns, turn);
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rehearsal::What;

    /// RAM from 0 to 777, ROM of four `NOP`s at 1000, a program at 0.
    fn machine(program: &[u8]) -> Machine {
        let ram = vec![(Address(0), 0o1000)];
        let setup = Setup { ram, rom: vec![(Address(0o1000), vec![0; 4])], outputs: vec![1], ..Setup::default() };
        let mut machine = Machine::new(&setup).unwrap();
        for (at, &byte) in program.iter().enumerate() {
            assert!(machine.deposit(Address(at as u16), byte));
        }
        machine
    }

    fn ends(program: &[u8]) -> Stop {
        machine(program).run(TStates(100_000), &mut ())
    }

    fn fatal(program: &[u8]) -> (What, Address) {
        match ends(program) {
            Stop::Incident(incident) => (incident.what, incident.pc),
            stop => panic!("{stop:?}"),
        }
    }

    #[test]
    fn what_was_never_loaded_is_not_run() {
        assert_eq!(fatal(&[0o303, 0o100, 0]), (What::ExecutesUnloaded(Address(0o100)), Address(0o100)));
        assert_eq!(fatal(&[0o303, 0, 0o100]), (What::ExecutesUnloaded(Address(0o40000)), Address(0o40000)));
        assert_eq!(fatal(&[0]), (What::ExecutesUnloaded(Address(1)), Address(1)));
    }

    #[test]
    fn data_are_not_run() {
        let mut machine = machine(&[0o303, 3, 0, 0]);
        machine.board.set_data(Address(3), true);
        let stop = machine.run(TStates(1000), &mut ());
        assert!(matches!(stop, Stop::Incident(Incident { what: What::ExecutesData(Address(3)), .. })), "{stop:?}");
    }

    #[test]
    fn rom_ignores_writes_and_tells() {
        assert_eq!(fatal(&[0o062, 1, 2]), (What::WritesRom(Address(0o1001)), Address(0)));
        let stack_in_rom = [0o061, 4, 2, 0o315, 0, 0];
        assert_eq!(fatal(&stack_in_rom), (What::WritesRom(Address(0o1003)), Address(3)));
    }

    #[test]
    fn needed_bytes_are_kept() {
        let mut machine = machine(&[0o062, 0o100, 0, 0o166]);
        machine.board.set_needed(Address(0o100), 1, true);
        let stop = machine.run(TStates(1000), &mut ());
        assert!(matches!(stop, Stop::Incident(Incident { what: What::Overwrites(Address(0o100)), .. })), "{stop:?}");
    }

    #[test]
    fn the_stack_is_measured_from_where_it_was_set() {
        assert_eq!(fatal(&[0o305]), (What::StackUnset, Address(0)));
        let mut machine = machine(&[0o061, 0, 1, 0o305, 0o305, 0o301, 0o305, 0o166]);
        assert_eq!(machine.run(TStates(1000), &mut ()), Stop::Halted);
        let deepest = machine.board.deepest_stack().unwrap();
        assert_eq!((deepest.top, deepest.lowest, deepest.pc), (Address(0o400), Address(0o374), Address(4)));
        assert_eq!(deepest.depth(), 4);
    }

    #[test]
    fn loops_without_end_are_found() {
        assert_eq!(ends(&[0o303, 0, 0]), Stop::Endless { pc: Address(0), port: None });
        // INX B; JMP 0: back in the same state after 65536 turns.
        let mut counting = machine(&[0o003, 0o303, 0, 0]);
        assert!(matches!(counting.run(TStates(10_000_000), &mut ()), Stop::Endless { port: None, .. }));
        // IN 0; JMP 0 waits for a port that nobody drives.
        assert_eq!(ends(&[0o333, 0, 0o303, 0, 0]), Stop::Endless { pc: Address(0), port: Some(0) });
        // INR A; STA 100; JMP 0 goes on for ever, but does something.
        assert_eq!(ends(&[0o074, 0o062, 0o100, 0, 0o303, 0, 0]), Stop::Deadline);
    }

    #[test]
    fn power_on_leaves_noise_that_the_seed_fixes() {
        let bytes = |seed| {
            let ram = vec![(Address(0), 64)];
            Machine::new(&Setup { seed, ram, ..Setup::default() }).unwrap().board.memory.bytes(Address(0), 64)
        };
        assert_eq!(bytes(1), bytes(1));
        assert_ne!(bytes(1), bytes(2));
        assert!(!machine(&[]).board.memory.is_known(Address(0)));
    }

    #[test]
    fn two_devices_cannot_share_a_port() {
        let setup = Setup { outputs: vec![3, 3], ..Setup::default() };
        assert_eq!(Machine::new(&setup).unwrap_err(), SetupError::OutputTaken(3));
        let setup = Setup { sense: Some((3, 0)), inputs: vec![(3, 0)], ..Setup::default() };
        assert_eq!(Machine::new(&setup).unwrap_err(), SetupError::InputTaken(3));
    }
}
