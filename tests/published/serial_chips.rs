//! Serial chips against their data sheets, and characters against the clock.
//!
//! [M] MC6850: Motorola MC6850 data sheet (DS9493 family). [M] 8251: Intel 8251 data sheet, in the 8080 Microcomputer
//! Systems User's Manual, September 1975, chapter 5. [M] UARTs: General Instrument AY-5-1013 and Western Digital TR1602
//! data sheets. [C] the sequences that programs use. Lengths of characters follow from their definition.

use coldwright::isa::TStates;
use coldwright::line::{LineFormat, Parity};
use coldwright::notation::Address;
use coldwright::rehearsal::{
    ChipSetup, Feed, Format, HardWired, HeardCharacter, I8251, Machine, Mc6850, Received, RefusalCause, SenderState,
    SerialChip, SerialSetup, Setup, StatusBit, StatusLayout, Stop, What,
};

const IDLE: SenderState = SenderState { buffer_empty: true, idle: true };
const BUSY: SenderState = SenderState { buffer_empty: false, idle: false };

fn good(byte: u8) -> Received {
    Received { byte, framing_error: false, parity_error: false }
}

fn set_up(chip: &mut dyn SerialChip, bytes: &[u8]) {
    bytes.iter().for_each(|&byte| chip.control(byte));
}

fn format_of(chip: &dyn SerialChip) -> Option<(u8, Parity, u8, u8)> {
    chip.frame().map(|frame| (frame.format.data, frame.format.parity, frame.format.stop_halves, frame.divisor))
}

/// [M] control bits 4 to 2 and 1 to 0; 15H, 11H, 16H and 09H as quoted.
#[test]
fn mc6850_control_bits_choose_format_and_divisor() {
    let formats = [
        (7, Parity::Even, 4),
        (7, Parity::Odd, 4),
        (7, Parity::Even, 2),
        (7, Parity::Odd, 2),
        (8, Parity::None, 4),
        (8, Parity::None, 2),
        (8, Parity::Even, 2),
        (8, Parity::Odd, 2),
    ];
    for (code, (data, parity, stop)) in formats.into_iter().enumerate() {
        for (low, divisor) in [(0, 1), (1, 16), (2, 64)] {
            let mut chip = Mc6850::default();
            set_up(&mut chip, &[0x03, (code as u8) << 2 | low]);
            assert_eq!(format_of(&chip), Some((data, parity, stop, divisor)));
        }
    }
    for (byte, format) in [
        (0x15, (8, Parity::None, 2, 16)),
        (0x11, (8, Parity::None, 4, 16)),
        (0x16, (8, Parity::None, 2, 64)),
        (0x09, (7, Parity::Even, 2, 16)),
    ] {
        let mut chip = Mc6850::default();
        set_up(&mut chip, &[0x03, byte]);
        assert_eq!(format_of(&chip), Some(format), "{byte:02X}");
    }
}

/// [2] mode bits 1 and 0 zero: synchronous, and one or two sync characters follow. Bits 7 and 6 zero: no valid stop bit.
#[test]
fn i8251_refuses_what_is_no_start_stop_character() {
    let set = |bytes: &[u8]| {
        let mut chip = I8251::default();
        set_up(&mut chip, bytes);
        (chip.refusal().map(|refusal| (refusal.word, refusal.why)), chip.receives())
    };
    assert_eq!(set(&[0x8C, 0x16, 0x27]), (Some((0x8C, RefusalCause::Synchronous)), false));
    assert_eq!(set(&[0x0C, 0x16, 0x16, 0x27]), (Some((0x0C, RefusalCause::Synchronous)), false));
    assert_eq!(set(&[0x0E, 0x27]), (Some((0x0E, RefusalCause::NoStopBit)), false));
    // [M] three zeros and an internal reset bring it from any state to where it takes a mode.
    assert_eq!(set(&[0x00, 0x00, 0x00, 0x40, 0x4E, 0x27]), (None, true));
}

/// [M] power-on holds the chip in reset until a master reset; after it, TDRE reads 1.
#[test]
fn mc6850_stays_in_reset_until_it_is_reset() {
    let mut chip = Mc6850::default();
    chip.control(0x15);
    assert_eq!((chip.frame(), chip.status(IDLE)), (None, 0));
    chip.control(0x03);
    assert_eq!((chip.frame(), chip.status(IDLE)), (None, 0));
    chip.control(0x15);
    assert_eq!(chip.status(IDLE), 0x02);
    assert_eq!(chip.status(BUSY), 0x00);
}

/// [M] RDRF is cleared by reading and by a master reset; IRQ follows it where enabled (91H).
#[test]
fn mc6850_tells_of_a_character() {
    let mut chip = Mc6850::default();
    set_up(&mut chip, &[0x03, 0x91]);
    assert_eq!(chip.receive(good(0o101)), None);
    assert_eq!(chip.status(IDLE), 0x83);
    assert_eq!(chip.take(), (0o101, true));
    assert_eq!(chip.status(IDLE), 0x02);
    chip.receive(good(0o102));
    set_up(&mut chip, &[0x03, 0x15]);
    assert_eq!(chip.status(IDLE), 0x02);
}

/// [M] the good character stays; the flag shows when it has been read, RDRF stays up, and reading again clears both.
#[test]
fn mc6850_shows_an_overrun_late() {
    let mut chip = Mc6850::default();
    set_up(&mut chip, &[0x03, 0x15]);
    chip.receive(good(1));
    assert!(chip.receive(good(2)).is_some());
    assert_eq!(chip.status(IDLE), 0x03);
    assert_eq!(chip.take(), (1, true));
    assert_eq!(chip.status(IDLE), 0x23);
    assert!(!chip.take().1);
    assert_eq!(chip.status(IDLE), 0x02);
}

/// [M] FE and PE belong to the character in the register and go with the next.
#[test]
fn mc6850_errors_last_for_their_character() {
    let mut chip = Mc6850::default();
    set_up(&mut chip, &[0x03, 0x09]);
    chip.receive(Received { byte: 0, framing_error: true, parity_error: true });
    assert_eq!(chip.status(IDLE), 0x53);
    chip.take();
    chip.receive(good(0));
    assert_eq!(chip.status(IDLE), 0x03);
}

/// [M] mode words; CE, 7A and 5A are quoted by secondary sources, the rest follow from the bits.
#[test]
fn i8251_mode_words_choose_format_and_divisor() {
    for (mode, format) in [
        (0x4E, (8, Parity::None, 2, 16)),
        (0xCE, (8, Parity::None, 4, 16)),
        (0x8E, (8, Parity::None, 3, 16)),
        (0x4F, (8, Parity::None, 2, 64)),
        (0x7A, (7, Parity::Even, 2, 16)),
        (0x5A, (7, Parity::Odd, 2, 16)),
        (0xFA, (7, Parity::Even, 4, 16)),
        (0x41, (5, Parity::None, 2, 1)),
    ] {
        let mut chip = I8251::default();
        chip.control(mode);
        assert_eq!(format_of(&chip), Some(format), "{mode:02X}");
    }
    let mut invalid = I8251::default();
    invalid.control(0x0E);
    assert_eq!(invalid.frame(), None, "no stop bits");
}

/// [M] command bits 0 and 2 switch transmitter and receiver on; bit 6 makes the next control write a mode word.
#[test]
fn i8251_commands() {
    let mut chip = I8251::default();
    chip.control(0x4E);
    assert!(!chip.receives() && !chip.sends());
    chip.control(0x27);
    assert!(chip.receives() && chip.sends());
    chip.control(0x40);
    assert_eq!(chip.frame(), None);
    set_up(&mut chip, &[0xCE, 0x04]);
    assert_eq!(format_of(&chip), Some((8, Parity::None, 4, 16)));
    assert!(chip.receives() && !chip.sends());
}

/// [M] 00, 00, 00, 40H brings the chip from any state to where it awaits a mode word.
#[test]
fn i8251_comes_back_from_any_state() {
    for before in [&[][..], &[0x4E], &[0x4E, 0x27], &[0x00], &[0x80], &[0x80, 0x16], &[0x00, 0x16]] {
        let mut chip = I8251::default();
        set_up(&mut chip, before);
        set_up(&mut chip, &[0x00, 0x00, 0x00, 0x40, 0xCE, 0x27]);
        assert_eq!(format_of(&chip), Some((8, Parity::None, 4, 16)), "after {before:02X?}");
        assert!(chip.receives());
    }
}

/// [M] status bits 0 to 5 and 7; errors stay until a command with bit 4 and do not stop the receiver.
#[test]
fn i8251_status_bits() {
    let mut chip = I8251::default();
    set_up(&mut chip, &[0x7A, 0x27]);
    assert_eq!(chip.status(IDLE), 0x85);
    assert_eq!(chip.status(SenderState { buffer_empty: true, idle: false }), 0x81);
    assert_eq!(chip.status(BUSY), 0x80);
    chip.receive(good(1));
    assert_eq!(chip.status(BUSY), 0x82);
    assert!(chip.receive(Received { byte: 2, framing_error: true, parity_error: true }).is_some());
    assert_eq!(chip.status(BUSY), 0xBA);
    assert_eq!(chip.take(), (2, true));
    assert_eq!(chip.status(BUSY), 0xB8);
    chip.control(0x37);
    assert_eq!(chip.status(BUSY), 0x80);
}

/// [M] DAV, TBMT, OR, FE and PE are active high at the pins; a board may put them on any bit, inverted or not.
#[test]
fn hard_wired_status_takes_any_place_and_polarity() {
    for inverted in [false, true] {
        for first in 0..4 {
            let bit = |offset: u8| StatusBit { bit: first + offset, inverted };
            let layout = StatusLayout {
                data_available: bit(0),
                buffer_empty: Some(bit(1)),
                overrun: Some(bit(2)),
                framing_error: Some(bit(3)),
                parity_error: Some(bit(4)),
            };
            let pins = |chip: &HardWired, sender| {
                let status = chip.status(sender) >> first & 0x1F;
                if inverted { !status & 0x1F } else { status }
            };
            let mut chip = HardWired::new(layout, Format { data: 8, parity: Parity::None, stop_halves: 4 });
            assert_eq!(pins(&chip, BUSY), 0b00000);
            assert_eq!(pins(&chip, IDLE), 0b00010);
            chip.receive(good(1));
            assert_eq!(pins(&chip, BUSY), 0b00001);
            assert!(chip.receive(Received { byte: 2, framing_error: true, parity_error: true }).is_some());
            assert_eq!(pins(&chip, BUSY), 0b11101);
            assert_eq!(chip.take(), (2, true));
            assert_eq!(pins(&chip, BUSY), 0b11100);
        }
    }
}

const STATUS: u8 = 0o60;
const DATA: u8 = 0o61;

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
    };
    let setup = Setup {
        clock_hz: 2_000_000,
        ram: vec![(Address(0), 0x400)],
        serial: vec![serial],
        outputs: vec![0],
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

/// Waits for a character, shows it at port 0, over and over.
#[rustfmt::skip]
const SHOW: &[u8] = &[
    0o333, STATUS, 0o037, 0o322, 0, 0, // IN STATUS; RAR; JNC 0
    0o333, DATA, 0o323, 0,             // IN DATA; OUT 0
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
        0o333, STATUS, 0o037, 0o322, 0, 0, 0o333, DATA, 0o323, 0,
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
        0o333, STATUS, 0o037, 0o322, 8, 0, 0o333, DATA, 0o323, 0, 0o303, 8, 0,
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
        0o333, STATUS, 0o037, 0o322, 8, 0, 0o333, DATA, 0o323, 0, 0o303, 8, 0,
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
