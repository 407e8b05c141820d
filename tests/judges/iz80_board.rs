//! The independent processor `iz80`, on a memory that notes each access.

use iz80::{Cpu, Flag, Machine, Reg8, Reg16};

/// A byte moved over the bus.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Access {
    Read(u16, u8),
    Write(u16, u8),
    Input(u8, u8),
    Output(u8, u8),
}

/// 64 KiB of memory that notes each access, and ports of which each gives a byte of its own.
#[derive(Clone)]
pub struct Board {
    pub memory: Vec<u8>,
    pub accesses: Vec<Access>,
}

impl Board {
    pub fn new(memory: Vec<u8>) -> Board {
        assert_eq!(memory.len(), 0x10000);
        Board { memory, accesses: Vec::new() }
    }

    pub fn read(&mut self, address: u16) -> u8 {
        let byte = self.memory[usize::from(address)];
        self.accesses.push(Access::Read(address, byte));
        byte
    }

    pub fn write(&mut self, address: u16, byte: u8) {
        self.accesses.push(Access::Write(address, byte));
        self.memory[usize::from(address)] = byte;
    }

    pub fn input(&mut self, port: u8) -> u8 {
        let byte = port.wrapping_mul(0o35).rotate_left(3);
        self.accesses.push(Access::Input(port, byte));
        byte
    }

    pub fn output(&mut self, port: u8, byte: u8) {
        self.accesses.push(Access::Output(port, byte));
    }
}

// On the 8080 a port's number stands in both halves of the address (User's Manual, September 1975, chapter 2). The
// library puts the accumulator in the upper half, as a later processor does; only the lower half is looked at.
impl Machine for Board {
    fn peek(&mut self, address: u16) -> u8 {
        self.read(address)
    }
    fn poke(&mut self, address: u16, value: u8) {
        self.write(address, value);
    }
    fn port_in(&mut self, address: u16) -> u8 {
        self.input(address as u8)
    }
    fn port_out(&mut self, address: u16, value: u8) {
        self.output(address as u8, value);
    }
}

/// The programmer's registers, as both processors can give them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct State {
    pub psw: u16,
    pub bc: u16,
    pub de: u16,
    pub hl: u16,
    pub sp: u16,
    pub pc: u16,
}

pub fn state(cpu: &mut Cpu) -> State {
    let registers = cpu.registers();
    State {
        psw: registers.get16(Reg16::AF),
        bc: registers.get16(Reg16::BC),
        de: registers.get16(Reg16::DE),
        hl: registers.get16(Reg16::HL),
        sp: registers.get16(Reg16::SP),
        pc: registers.pc(),
    }
}

pub fn set_state(cpu: &mut Cpu, state: State) {
    let registers = cpu.registers();
    registers.set16(Reg16::AF, state.psw);
    registers.set16(Reg16::BC, state.bc);
    registers.set16(Reg16::DE, state.de);
    registers.set16(Reg16::HL, state.hl);
    registers.set16(Reg16::SP, state.sp);
    registers.set_pc(state.pc);
    // Writing the pair sets the bits of PSW that are no flags; the library does so by way of its own bit 1.
    assert!(registers.get_flag(Flag::N) && registers.get8(Reg8::F) & 0x28 == 0);
}

/// A repeatable stream of numbers (the SplitMix64 generator).
pub struct Numbers(pub u64);

impl Numbers {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    pub fn word(&mut self) -> u16 {
        self.next() as u16
    }

    /// 64 KiB of bytes.
    pub fn memory(&mut self) -> Vec<u8> {
        (0..0x10000).map(|_| self.next() as u8).collect()
    }

    /// Random registers. Addresses lie at the ends of memory more often than chance would have it.
    pub fn state(&mut self) -> State {
        let mut state = State {
            psw: self.word(),
            bc: self.word(),
            de: self.word(),
            hl: self.word(),
            sp: self.word(),
            pc: self.word(),
        };
        let choice = self.next();
        for (bit, address) in [&mut state.hl, &mut state.sp, &mut state.pc].into_iter().enumerate() {
            if choice >> (bit * 3) & 7 == 0 {
                *address = (*address & 7).wrapping_sub(4);
            }
        }
        state
    }
}
