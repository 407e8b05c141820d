//! The lights sheet: a light that is drawn as lit or dark is so, whatever the world gives.

use coldwright::cpu::{Bus, Cpu, MachineCycle};
use coldwright::image::Image;
use coldwright::notation::{Address, Notation};
use coldwright::panel::Program;
use coldwright::panel::lights::{Cycle, Grounds, Lights, Passage, Request, World};
use coldwright::source::{Origin, Position, SourceMap};
use proptest::prelude::*;

/// Opcodes that random programs are made of besides any: input, masks, branches, stack.
const USUAL: [u8; 16] =
    [0o333, 0o346, 0o302, 0o312, 0o332, 0o372, 0o365, 0o361, 0o107, 0o270, 0o323, 0o062, 0o017, 0o061, 0o041, 0o167];

proptest! {
    /// The way that a sheet takes first is that of a world in which every port reads one byte, and registers and unfilled
    /// memory are zero: there every cycle has the lights that are drawn solid.
    #[test]
    fn solid_lights_are_as_drawn(
        bytes in proptest::collection::vec(prop_oneof![any::<u8>(), proptest::sample::select(&USUAL[..])], 3..60),
        taken in any::<u8>(),
    ) {
        let program = program(&bytes);
        let idle = (0..=255).map(|port| (port, taken)).collect();
        let run = |world| {
            let request = Request { cycles: 300, world, ..Request::default() };
            Lights::run(&program, &request)
        };
        let drawn = run(World::Open { idle });
        let real = run(World::Taken(taken));
        for (drawn, real) in first_rows(&drawn).zip(first_rows(&real)) {
            prop_assert_eq!(drawn.kind, real.kind);
            prop_assert_eq!(drawn.address, real.address.map(|address| address & !drawn.open_address));
            prop_assert_eq!(drawn.data, real.data.map(|data| data & !drawn.open_data));
        }
    }

    /// The same with memory up to an address only, or with the program in a ROM, on a board that knows nothing of sheets:
    /// what nothing keeps is not read back.
    #[test]
    fn solid_lights_are_those_of_a_board_with_little_memory(
        bytes in proptest::collection::vec(prop_oneof![any::<u8>(), proptest::sample::select(&USUAL[..])], 3..60),
        size in 64usize..300,
        in_rom in any::<bool>(),
        taken in any::<u8>(),
    ) {
        let (memory, rom) = if in_rom { (size..0x1_0000, Some(0..size)) } else { (0..size, None) };
        let grounds = Grounds { memory: std::iter::once(memory).collect(), sockets: rom.into_iter().collect() };
        let idle = (0..=255).map(|port| (port, taken)).collect();
        let request = Request { cycles: 300, world: World::Open { idle }, grounds, ..Request::default() };
        let drawn = Lights::run(&program(&bytes), &request);
        let mut board = Board { memory: vec![0; 0x1_0000], size, in_rom, taken, cycles: Vec::new() };
        board.memory[..bytes.len()].copy_from_slice(&bytes);
        let mut cpu = Cpu::default();
        while board.cycles.len() < 300 && !cpu.is_halted() {
            cpu.step(&mut board);
        }
        for (drawn, real) in first_rows(&drawn).zip(&board.cycles) {
            prop_assert_eq!(drawn.kind, real.kind);
            prop_assert_eq!(drawn.address, real.address.map(|address| address & !drawn.open_address));
            prop_assert_eq!(drawn.data, real.data.map(|data| data & !drawn.open_data));
        }
    }
}

/// A board whose ports all read one byte; where nothing answers it reads zero.
struct Board {
    memory: Vec<u8>,
    size: usize,
    in_rom: bool,
    taken: u8,
    cycles: Vec<MachineCycle>,
}

impl Bus for Board {
    fn read(&mut self, address: u16) -> u8 {
        self.memory[usize::from(address)]
    }
    fn write(&mut self, address: u16, byte: u8) {
        if (usize::from(address) < self.size) != self.in_rom {
            self.memory[usize::from(address)] = byte;
        }
    }
    fn input(&mut self, _port: u8) -> u8 {
        self.taken
    }
    fn output(&mut self, _port: u8, _byte: u8) {}
    fn complete(&mut self, cycle: MachineCycle) {
        self.cycles.push(cycle);
    }
}

/// The cycles before the first loop.
fn first_rows(lights: &Lights) -> impl Iterator<Item = &Cycle> {
    let instructions = lights.passages.iter().map_while(|passage| match passage {
        Passage::Instruction(instruction) => Some(&instruction.cycles),
        Passage::Loop(_) => None,
    });
    instructions.flatten()
}

fn program(bytes: &[u8]) -> Program {
    let mut sources = SourceMap::default();
    let source = sources.add("any", "", Origin::Given);
    let mut image = Image::default();
    image.insert(Address(0), bytes, Position { source, offset: 0 }).unwrap();
    Program::from_bytes("any", image, Notation::Octal)
}
