//! Serial chips against their data sheets.
//!
//! MC6850: Motorola MC6850 data sheet (DS9493 family), its sentences as quoted elsewhere [2]. 8251: Intel 8251 data sheet, in the 8080 Microcomputer
//! Systems User's Manual, September 1975, chapter 5: the mode word [V], commands and status [2]. [M] UARTs: General Instrument AY-5-1013 and Western Digital TR1602
//! data sheets.

use coldwright::line::Parity;
use coldwright::rehearsal::{
    Format, HardWired, I8251, Mc6850, Received, RefusalCause, SenderState, SerialChip, StatusBit, StatusLayout,
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

/// [2] control bits 4 to 2 and 1 to 0; 15H, 11H, 16H and 09H as quoted.
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

/// [2] power-on holds the chip in reset until a master reset; after it, TDRE reads 1.
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

/// [2] RDRF is cleared by reading and by a master reset; IRQ follows it where enabled (91H).
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

/// [2] the good character stays; the flag shows when it has been read, RDRF stays up, and reading again clears both.
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

/// [2] FE and PE belong to the character in the register and go with the next.
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

/// [V] the fields of the mode word, User's Manual, chapter 5, page 208 of the scan; CE, 7A and 5A are quoted by secondary
/// sources, the rest follow from the bits [D].
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

/// [V] mode bits 1 and 0 zero: synchronous, and one or two sync characters follow. Bits 7 and 6 zero: no valid stop bit.
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

/// [2] command bits 0 and 2 switch transmitter and receiver on; bit 6 makes the next control write a mode word.
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

/// [2] status bits 0 to 5 and 7; errors stay until a command with bit 4 and do not stop the receiver.
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
