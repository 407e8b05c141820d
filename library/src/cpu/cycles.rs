//! The machine cycles, one function a kind. Each counts its T-states and tells the bus.

use super::Cpu;
use super::bus::{Bus, MachineCycle};
use super::step::{STEPS, Step, TRANSFER};
use crate::isa::{CycleKind, Pair, TStates};

impl Cpu {
    /// Fetches an opcode; the program counter steps on.
    #[inline]
    pub(super) fn fetch<B: Bus>(&mut self, bus: &mut B) -> &'static Step {
        let pc = self.registers.pc;
        self.registers.pc = pc.wrapping_add(1);
        self.first_cycle(bus, CycleKind::Fetch, pc, |bus| bus.read(pc))
    }

    /// Fetches an opcode from the interrupting device; the program counter stays.
    pub(super) fn fetch_acknowledged<B: Bus>(&mut self, bus: &mut B, kind: CycleKind) -> &'static Step {
        self.first_cycle(bus, kind, self.registers.pc, B::acknowledge)
    }

    /// The cycle that brings the opcode, which only then tells how long the cycle is.
    #[inline]
    fn first_cycle<B: Bus>(
        &mut self,
        bus: &mut B,
        kind: CycleKind,
        pc: u16,
        opcode: impl FnOnce(&mut B) -> u8,
    ) -> &'static Step {
        let at = self.clock;
        let waits = bus.begin(kind, Some(pc), at);
        let opcode = opcode(bus);
        let step = &STEPS[usize::from(opcode)];
        self.clock += waits + TStates(u64::from(step.fetch));
        bus.complete(MachineCycle { kind, address: Some(pc), data: Some(opcode), at });
        step
    }

    /// A cycle after the first. `moves` moves the byte, if the cycle moves one.
    #[inline]
    fn cycle<B: Bus, T: Into<Option<u8>> + Copy>(
        &mut self,
        bus: &mut B,
        kind: CycleKind,
        address: u16,
        moves: impl FnOnce(&mut B) -> T,
    ) -> T {
        let at = self.clock;
        let waits = bus.begin(kind, Some(address), at);
        let data = moves(bus);
        self.clock += waits + TStates(u64::from(TRANSFER));
        bus.complete(MachineCycle { kind, address: Some(address), data: data.into(), at });
        data
    }

    /// Reads the next byte of the instruction: from memory, or from the interrupting device. The program counter does
    /// not step on for the bytes of a device, or `CALL` could not return to the program (common practice: the manual
    /// says so of the first byte only).
    #[inline]
    pub(super) fn operand<B: Bus>(&mut self, bus: &mut B) -> u8 {
        let pc = self.registers.pc;
        if self.acknowledging {
            return self.cycle(bus, CycleKind::Read, pc, B::acknowledge);
        }
        self.registers.pc = pc.wrapping_add(1);
        self.read(bus, pc)
    }

    /// Reads the next two bytes of the instruction, the low one first.
    #[inline]
    pub(super) fn operand_word<B: Bus>(&mut self, bus: &mut B) -> u16 {
        let low = self.operand(bus);
        let high = self.operand(bus);
        u16::from_le_bytes([low, high])
    }

    #[inline]
    pub(super) fn read<B: Bus>(&mut self, bus: &mut B, address: u16) -> u8 {
        self.cycle(bus, CycleKind::Read, address, |bus| bus.read(address))
    }

    #[inline]
    pub(super) fn write<B: Bus>(&mut self, bus: &mut B, address: u16, byte: u8) {
        self.cycle(bus, CycleKind::Write, address, |bus| {
            bus.write(address, byte);
            byte
        });
    }

    /// Pushes a word: the high byte goes to the higher address, and first.
    #[inline]
    pub(super) fn push<B: Bus>(&mut self, bus: &mut B, word: u16) {
        let [high, low] = word.to_be_bytes();
        let sp = self.registers.sp;
        self.write_stack(bus, sp.wrapping_sub(1), high);
        self.write_stack(bus, sp.wrapping_sub(2), low);
        self.registers.sp = sp.wrapping_sub(2);
    }

    /// Pops a word, the low byte first.
    #[inline]
    pub(super) fn pop<B: Bus>(&mut self, bus: &mut B) -> u16 {
        let sp = self.registers.sp;
        let low = self.read_stack(bus, sp);
        let high = self.read_stack(bus, sp.wrapping_add(1));
        self.registers.sp = sp.wrapping_add(2);
        u16::from_le_bytes([low, high])
    }

    /// Exchanges H and L with the word on the stack: read upwards, written downwards.
    pub(super) fn exchange_stack<B: Bus>(&mut self, bus: &mut B) {
        let stacked = self.pop(bus);
        let hl = self.registers.pair(Pair::H);
        self.push(bus, hl);
        self.registers.set_pair(Pair::H, stacked);
    }

    #[inline]
    fn read_stack<B: Bus>(&mut self, bus: &mut B, address: u16) -> u8 {
        self.cycle(bus, CycleKind::StackRead, address, |bus| bus.read(address))
    }

    #[inline]
    fn write_stack<B: Bus>(&mut self, bus: &mut B, address: u16, byte: u8) {
        self.cycle(bus, CycleKind::StackWrite, address, |bus| {
            bus.write(address, byte);
            byte
        });
    }

    #[inline]
    pub(super) fn input<B: Bus>(&mut self, bus: &mut B, port: u8) -> u8 {
        self.cycle(bus, CycleKind::Input, port_address(port), |bus| bus.input(port))
    }

    #[inline]
    pub(super) fn output<B: Bus>(&mut self, bus: &mut B, port: u8, byte: u8) {
        self.cycle(bus, CycleKind::Output, port_address(port), |bus| {
            bus.output(port, byte);
            byte
        });
    }

    /// A cycle within the processor: the bus rests, and READY is not looked at (Table 2-2, note 8).
    #[inline]
    pub(super) fn internal<B: Bus>(&mut self, bus: &mut B) {
        let (kind, at) = (CycleKind::Internal, self.clock);
        bus.begin(kind, None, at);
        self.clock += TStates(u64::from(TRANSFER));
        bus.complete(MachineCycle { kind, address: None, data: None, at });
    }

    /// The cycle in which the processor stops; the program counter is on the address bus, no byte moves.
    #[inline]
    pub(super) fn halt<B: Bus>(&mut self, bus: &mut B) {
        let pc = self.registers.pc;
        self.cycle(bus, CycleKind::HaltAcknowledge, pc, |_| None);
    }
}

/// A port's number as it stands on the address bus.
fn port_address(port: u8) -> u16 {
    u16::from_be_bytes([port, port])
}
