//! Characters on a line against the clock.
//!
//! Lengths of characters follow from their definition [D]. Receivers are those of the chips of `serial_chips.rs` [M], and
//! the sequences are those that programs use [C].

use coldwright::isa::TStates;
use coldwright::line::LineFormat;
use coldwright::notation::Address;
use coldwright::rehearsal::{
    ChipSetup, Feed, HeardCharacter, Machine, SerialSetup, Setup, StatusBit, StatusLayout, StatusWires, Stop, What,
};

const STATUS: u8 = 0o211;
const DATA: u8 = 0o210;
const LAMPS: u8 = 0o156;

fn line_format(line: &str) -> LineFormat {
    line.parse().unwrap()
}

/// A machine of 2 MHz with a serial chip, and a program at zero.
fn machine(chip: ChipSetup, line: &str, program: &[u8]) -> Machine {
    let serial = SerialSetup {
        chip,
        status: STATUS,
        control: Some(STATUS),
        data_in: DATA,
        data_out: DATA,
        line: line_format(line),
        clock: 16,
        sender: None,
        wires: StatusWires::default(),
    };
    let setup = Setup {
        clock_hz: 2_000_000,
        ram: vec![(Address(0), 0x400)],
        serial: vec![serial],
        outputs: vec![LAMPS],
        ..Setup::default()
    };
    let mut machine = Machine::new(&setup).unwrap();
    for (at, &byte) in program.iter().enumerate() {
        machine.deposit(Address(at as u16), byte);
    }
    machine
}

fn uart() -> ChipSetup {
    let data_available = StatusBit { bit: 0, inverted: false };
    ChipSetup::HardWired(StatusLayout {
        data_available,
        buffer_empty: Some(StatusBit { bit: 1, inverted: false }),
        overrun: None,
        framing_error: None,
        parity_error: None,
    })
}

/// Waits for a character, shows it on the lamps, over and over.
#[rustfmt::skip]
const SHOW: &[u8] = &[
    0o333, STATUS, 0o037, 0o322, 0, 0, // IN STATUS; RAR; JNC 0
    0o333, DATA, 0o323, LAMPS,         // IN DATA; OUT LAMPS
    0o303, 0, 0,                       // JMP 0
];

/// A character of 110 baud with two stop bits takes 100 ms (ANSI X3.16 [M]): 200,000 T-states at 2 MHz; ten arrive in a
/// second. 300 baud with two stop bits: 36.667 ms; 9600 with one: 1.0417 ms.
#[test]
fn characters_arrive_at_the_rate_of_the_line() {
    for (line, states) in
        [("110 8N2", 200_000.0), ("300 8N2", 73_333.33), ("134.5 8N1", 148_698.88), ("9600 8N1", 2083.33)]
    {
        let mut machine = machine(uart(), line, SHOW);
        let text: Vec<u8> = (0..=20).collect();
        machine.board.play(0, &Feed::new(&text), TStates(5));
        let end = TStates(machine.board.line_ends(0).0 + 100);
        assert_eq!(machine.run(end, &mut ()), Stop::Endless { pc: Address(0), port: Some(STATUS) });
        let outputs = machine.board.outputs();
        assert_eq!(outputs.iter().map(|output| output.byte).collect::<Vec<_>>(), text);
        let taken = (outputs[20].at.0 - outputs[0].at.0) as f64 / 20.0;
        assert!((taken - states).abs() < 2.0, "{taken} against {states}");
        assert!((machine.board.character_states(0) - states).abs() < 0.01);
    }
}

/// [M] a character is complete at the middle of its first stop bit: 9.5 bits after its start edge.
#[test]
fn a_character_is_complete_in_the_middle_of_its_stop_bit() {
    let mut machine = machine(uart(), "1000 8N2", SHOW);
    machine.board.play(0, &Feed::new(&[0o123]), TStates(1000));
    machine.run(TStates(100_000), &mut ());
    let seen = machine.board.outputs()[0].at.0;
    let complete = 1000 + 19_000;
    assert!((complete..complete + 70).contains(&seen), "{seen}");
}

/// A start-stop receiver bears a speed that is wrong by half a bit in nine, 5.6 per cent: the middle of the last data bit and
/// that of the stop bit, 8.5 and 9.5 bits from the start edge, must fall into these bits. It follows from the definition.
#[test]
fn a_tape_may_run_a_little_fast_or_slow() {
    let heard = |factor: f64| {
        let bit = 1.0 / (1000.0 * factor);
        let text = [0o252, 0o125, 0o200, 0o177];
        let characters =
            text.iter().enumerate().map(|(at, &byte)| HeardCharacter { from: at as f64 * 11.0 * bit, bit, byte });
        let mut machine = machine(uart(), "1000 8N2", SHOW);
        machine.board.play(0, &Feed::heard(characters), TStates(1000));
        machine.run(TStates(200_000), &mut ());
        let garbled = machine.board.incidents().iter().any(|incident| matches!(incident.what, What::Garbled { .. }));
        machine.board.outputs().iter().map(|output| output.byte).eq(text) && !garbled
    };
    for factor in [0.95, 0.99, 1.0, 1.01, 1.05] {
        assert!(heard(factor), "{factor}");
    }
    for factor in [0.9, 0.94, 1.065, 1.1] {
        assert!(!heard(factor), "{factor}");
    }
}

/// What ran before the machine is lost, to the character; what comes after it comes when it would have come.
#[test]
fn a_tape_that_runs_already() {
    let shown = |seconds: f64| {
        let mut machine = machine(uart(), "1000 8N2", SHOW);
        machine.board.play(0, &Feed::new(&[0, 0, 0o123, 0o321]).passed(seconds), TStates(0));
        machine.run(TStates(200_000), &mut ());
        machine.board.outputs().iter().map(|output| (output.byte, output.at.0 / 100)).collect::<Vec<_>>()
    };
    // A character takes 11 ms, and is complete 9.5 ms after its start.
    assert_eq!(shown(0.0), [(0, 190), (0, 410), (0o123, 630), (0o321, 850)]);
    assert_eq!(shown(0.0105), [(0, 200), (0o123, 420), (0o321, 640)]);
    assert_eq!(shown(1.0), []);
}

/// A program that takes longer than a character loses some, and both the chip and the watch tell.
#[test]
fn a_slow_program_loses_characters() {
    #[rustfmt::skip]
    let slow = [
        0o333, STATUS, 0o037, 0o322, 0, 0, 0o333, DATA, 0o323, LAMPS,
        0o006, 0, 0o005, 0o302, 12, 0, // MVI B,0; DCR B; JNZ: 3847 T-states
        0o303, 0, 0,
    ];
    let mut machine = machine(uart(), "9600 8N2", &slow);
    machine.board.play(0, &Feed::new(&[1, 2, 3, 4, 5, 6]), TStates(0));
    machine.run(TStates(100_000), &mut ());
    let lost = |what: What| matches!(what, What::Overrun { serial: 0, .. });
    assert!(machine.board.incidents().iter().any(|incident| lost(incident.what)));
    assert!(machine.board.outputs().len() < 6);
}

/// With a clock of 16 times the speed, a program that asks for the 64-fold divisor hears a quarter of the speed.
#[test]
fn a_wrong_divisor_garbles() {
    #[rustfmt::skip]
    let program = |format: u8| [
        0o076, 3, 0o323, STATUS, 0o076, format, 0o323, STATUS, // MVI A,3; OUT; MVI A,format; OUT
        0o333, STATUS, 0o037, 0o322, 8, 0, 0o333, DATA, 0o323, LAMPS, 0o303, 8, 0,
    ];
    let text = *b"CLOCK OF THE TOWER";
    let shown = |format| {
        let mut machine = machine(ChipSetup::Mc6850, "300 8N2", &program(format));
        machine.board.play(0, &Feed::new(&text), TStates(1000));
        machine.run(TStates(10_000_000), &mut ());
        machine.board.outputs().iter().map(|output| output.byte).collect::<Vec<_>>()
    };
    assert_eq!(shown(0x11), text, "8N2, divided by 16");
    assert_eq!(shown(0x15), text, "the receiver looks at the first stop bit only");
    assert_ne!(shown(0x12), text, "divided by 64");
    let stripped: Vec<_> = text.iter().map(|byte| byte & 0x7F).collect();
    assert_eq!(shown(0x09), stripped, "seven bits and parity of an eight-bit line: the eighth is taken for parity");
}

/// A chip switched on in the middle of a leader of zeros finds the true start bits: each character has one falling edge.
#[test]
fn a_leader_of_zeros_synchronises_from_anywhere() {
    #[rustfmt::skip]
    let program = [
        0o076, 3, 0o323, STATUS, 0o076, 0x11, 0o323, STATUS,
        0o333, STATUS, 0o037, 0o322, 8, 0, 0o333, DATA, 0o323, LAMPS, 0o303, 8, 0,
    ];
    for start in 0..23 {
        let mut machine = machine(ChipSetup::Mc6850, "300 8N2", &program);
        machine.board.play(0, &Feed::new(&[0, 0, 0, 0o252, 0o377, 0o001]), TStates(0));
        machine.wait(TStates(start * 3333));
        machine.run(TStates(1_000_000), &mut ());
        let shown: Vec<_> = machine.board.outputs().iter().map(|output| output.byte).collect();
        let text: Vec<_> = shown.iter().copied().skip_while(|&byte| byte == 0).collect();
        assert_eq!(text, [0o252, 0o377, 0o001], "from {start}");
    }
}

/// [M] TBMT and TDRE: a second character can be given while the first goes out, a third must wait.
#[test]
fn characters_are_sent_at_the_rate_of_the_line() {
    #[rustfmt::skip]
    let program = [
        0o006, 5,                                   // MVI B,5
        0o333, STATUS, 0o037, 0o037, 0o322, 2, 0,   // IN STATUS; RAR; RAR; JNC 2
        0o170, 0o323, DATA, 0o005, 0o302, 2, 0,     // MOV A,B; OUT DATA; DCR B; JNZ 2
        0o166,
    ];
    let mut machine = machine(uart(), "110 8N2", &program);
    assert_eq!(machine.run(TStates(10_000_000), &mut ()), Stop::Halted);
    machine.wait(TStates(1_000_000));
    let sent = machine.board.sent(0);
    assert_eq!(sent.iter().map(|sent| sent.byte).collect::<Vec<_>>(), [5, 4, 3, 2, 1]);
    for pair in sent.windows(2) {
        assert_eq!(pair[1].at.0 - pair[0].at.0, 200_000);
    }
}
