//! Whatever bytes a machine runs, the run comes back at its deadline, and passing over loops changes nothing: played turn by
//! turn it ends the same way, at the same time, with the same counts.

#![no_main]

use coldwright::isa::TStates;
use coldwright::notation::Address;
use coldwright::rehearsal::{ChipSetup, Feed, Machine, SerialSetup, Setup, StatusWires, Stop};

/// T-states of a run: some 5,000 instructions, several characters of the line.
const DEADLINE: TStates = TStates(40_000);

fn setup(seed: u64) -> Setup {
    let line = "9600 8N2".parse().expect("a format of a line");
    let serial =
        SerialSetup { chip: ChipSetup::Mc6850, status: 1, control: Some(1), data_in: 2, data_out: 2, line, clock: 16, sender: None, wires: StatusWires::default() };
    Setup {
        seed,
        clock_hz: 1_000_000,
        ram: vec![(Address(0), 0x1000)],
        rom: vec![(Address(0x2000), vec![0x76; 16])],
        serial: vec![serial],
        sense: Some((3, 0x0F)),
        inputs: vec![(4, 0xFF)],
        outputs: vec![5],
        ..Setup::default()
    }
}

fn machine(bytes: &[u8], every_turn: bool) -> Machine {
    let (tape, program) = bytes.split_at(bytes.len() / 4);
    let mut machine = Machine::new(&setup(bytes.len() as u64)).expect("every port has one device");
    machine.plays_every_turn = every_turn;
    for (at, &byte) in program.iter().take(0x1000).enumerate() {
        machine.deposit(Address(at as u16), byte);
    }
    machine.board.play(0, &Feed::new(tape), TStates(100));
    machine
}

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let (mut folded, mut played) = (machine(bytes, false), machine(bytes, true));
    let ends = [&mut folded, &mut played].map(|machine| machine.run(DEADLINE, &mut ()));
    match ends {
        // A loop without end is noticed at any of its instructions. So the run that noticed it first goes on to where the
        // other stands.
        [Stop::Endless { port: a, .. }, Stop::Endless { port: b, .. }] if a == b => {
            let until = folded.cpu.clock.max(played.cpu.clock);
            for machine in [&mut folded, &mut played] {
                while machine.cpu.clock < until {
                    machine.step(&mut ());
                }
            }
        }
        [a, b] => assert_eq!(a, b),
    }
    assert_eq!(folded.cpu.clock, played.cpu.clock);
    assert_eq!(folded.cpu.registers, played.cpu.registers);
    assert_eq!(folded.board.counts(), played.board.counts());
});
