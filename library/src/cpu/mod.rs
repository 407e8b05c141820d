//! The 8080 as an interpreter over a bus: every opcode, every machine cycle, every T-state.
//!
//! A [`Cpu`] holds registers and a clock; whatever it is wired to implements [`Bus`]. A bus that only stores bytes pays
//! for nothing else. One that wants the lights, or the time at which a port is read, also implements the two hooks
//! around each machine cycle; it is then told kind, address, data and clock. How long a cycle takes comes from the
//! table in [`crate::isa`]; this module knows what the instructions do and nothing of names, panels or devices.
//!
//! ```
//! use coldwright::cpu::{Bus, Cpu, Pause};
//! use coldwright::isa::{Register, TStates};
//!
//! struct Board(Vec<u8>);
//!
//! impl Bus for Board {
//!     fn read(&mut self, address: u16) -> u8 {
//!         self.0.get(usize::from(address)).copied().unwrap_or(0o377)
//!     }
//!     fn write(&mut self, _address: u16, _byte: u8) {}
//!     fn input(&mut self, _port: u8) -> u8 {
//!         0o377
//!     }
//!     fn output(&mut self, _port: u8, _byte: u8) {}
//! }
//!
//! let mut board = Board(vec![0o076, 0o102, 0o166]); // MVI A,102Q; HLT
//! let mut cpu = Cpu::default();
//! assert_eq!(cpu.run(&mut board, TStates(1000)), Pause::Halted);
//! assert_eq!(cpu.registers.get(Register::A), 0o102);
//! assert_eq!(cpu.clock, TStates(14));
//! ```

mod alu;
mod bus;
mod control;
mod cycles;
mod execute;
mod registers;
mod step;

pub use bus::{Bus, MachineCycle};
pub use registers::Registers;

use crate::isa::{CycleKind, TStates};

/// The processor. The default is the state after power-on reset, with the registers (which the chip leaves undefined)
/// at zero.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Cpu {
    /// The programmer's registers.
    pub registers: Registers,
    /// T-states since power-on, wait states included. Between steps: those completed. Anyone may set it forward, to
    /// let time pass for a processor that is halted or held.
    pub clock: TStates,
    interrupts: Interrupts,
    halted: bool,
    /// The instruction now running comes from the interrupting device, and so do its further bytes.
    acknowledging: bool,
}

/// The interrupt enable flip-flop, and the one instruction by which `EI` is late.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Interrupts {
    #[default]
    Disabled,
    /// `EI` has run; the flip-flop sets when the instruction after it is done.
    Enabling,
    Enabled,
}

/// Why [`Cpu::run`] came back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pause {
    /// The clock reached the deadline.
    Deadline,
    /// The processor is halted, and no interrupt that it would take is requested.
    Halted,
}

impl Cpu {
    /// The RESET input: the program counter becomes zero, the interrupt enable flip-flop is cleared and a halt ends.
    /// Registers, flags, stack pointer and clock keep their values (the caller adds the time for which the line is
    /// held, at least three T-states).
    pub fn reset(&mut self) {
        self.registers.pc = 0;
        self.interrupts = Interrupts::Disabled;
        self.halted = false;
    }

    /// Whether the processor has executed `HLT` and waits for an interrupt or a reset.
    pub fn is_halted(&self) -> bool {
        self.halted
    }

    /// The INTE output: whether a requested interrupt would be taken.
    pub fn interrupts_enabled(&self) -> bool {
        self.interrupts == Interrupts::Enabled
    }

    /// Runs one instruction, the next of the program or that of an interrupting device. Halted and undisturbed, it lets
    /// one T-state pass instead.
    #[inline]
    pub fn step<B: Bus>(&mut self, bus: &mut B) {
        let was_enabling = self.interrupts == Interrupts::Enabling;
        if self.interrupts_enabled() && bus.interrupt() {
            self.acknowledge(bus);
        } else if self.halted {
            self.clock += TStates(1);
        } else {
            let step = self.fetch(bus);
            self.execute(bus, step);
        }
        if was_enabling && self.interrupts == Interrupts::Enabling {
            self.interrupts = Interrupts::Enabled;
        }
    }

    /// Runs instructions until the clock is at or past `deadline`, or the processor stays halted. The last instruction
    /// is completed, so the clock may come to stand up to an instruction later.
    pub fn run<B: Bus>(&mut self, bus: &mut B, deadline: TStates) -> Pause {
        while self.clock < deadline {
            if self.halted && !(self.interrupts_enabled() && bus.interrupt()) {
                return Pause::Halted;
            }
            self.step(bus);
        }
        Pause::Deadline
    }

    /// Takes an interrupt: the enable flip-flop is cleared and one instruction is fetched from the device. The program
    /// counter stays where it is until that instruction changes it.
    #[cold]
    fn acknowledge<B: Bus>(&mut self, bus: &mut B) {
        let kind = match self.halted {
            true => CycleKind::InterruptAcknowledgeWhileHalted,
            false => CycleKind::InterruptAcknowledge,
        };
        self.halted = false;
        self.interrupts = Interrupts::Disabled;
        self.acknowledging = true;
        let step = self.fetch_acknowledged(bus, kind);
        self.execute(bus, step);
        self.acknowledging = false;
    }
}
