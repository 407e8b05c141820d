//! The lights sheet: a light that is drawn as lit or dark is so, whatever the world gives.

use coldwright::image::Image;
use coldwright::notation::{Address, Notation};
use coldwright::panel::Program;
use coldwright::panel::lights::{Cycle, Lights, Passage, Request, World};
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
            Lights::run(&program, Notation::Octal, &request)
        };
        let drawn = run(World::Open { idle });
        let real = run(World::Taken(taken));
        for (drawn, real) in first_rows(&drawn).zip(first_rows(&real)) {
            prop_assert_eq!(drawn.kind, real.kind);
            prop_assert_eq!(drawn.address, real.address.map(|address| address & !drawn.open_address));
            prop_assert_eq!(drawn.data, real.data.map(|data| data & !drawn.open_data));
        }
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
