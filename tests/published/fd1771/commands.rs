//! The command table: bits 7 to 0 of each command, and its flags.

use coldwright::rehearsal::disk::fd1771::{Command, Conditions, Motion, Position, Sectors};

fn bit(byte: u8, number: u8) -> bool {
    byte >> number & 1 == 1
}

/// Every byte whose bits are those of a row: `0` and `1` stand, anything else is free.
fn row(bits: &str) -> impl Iterator<Item = u8> + '_ {
    (0..=255u8).filter(|&byte| {
        bits.bytes().enumerate().all(|(at, bit)| match bit {
            b'0' => byte >> (7 - at) & 1 == 0,
            b'1' => byte >> (7 - at) & 1 == 1,
            _ => true,
        })
    })
}

fn moves(bits: &str, motion: impl Fn(u8) -> Motion) {
    let bytes: Vec<_> = row(bits).collect();
    assert!(bytes.len() >= 16);
    for byte in bytes {
        let expected = Position { motion: motion(byte), load: bit(byte, 3), verify: bit(byte, 2), rate: byte & 0b11 };
        assert_eq!(Command::decode(byte), Command::Position(expected), "{byte:08b}");
    }
}

/// Restore, 0000 hVrr.
#[test]
fn restore() {
    moves("0000hVrr", |_| Motion::Restore);
}

/// Seek, 0001 hVrr.
#[test]
fn seek() {
    moves("0001hVrr", |_| Motion::Seek);
}

/// Step, 001u hVrr.
#[test]
fn step() {
    moves("001uhVrr", |byte| Motion::Step { inward: None, update: bit(byte, 4) });
}

/// Step in, 010u hVrr.
#[test]
fn step_in() {
    moves("010uhVrr", |byte| Motion::Step { inward: Some(true), update: bit(byte, 4) });
}

/// Step out, 011u hVrr.
#[test]
fn step_out() {
    moves("011uhVrr", |byte| Motion::Step { inward: Some(false), update: bit(byte, 4) });
}

fn sectors(byte: u8) -> Sectors {
    Sectors { multiple: bit(byte, 4), powers: bit(byte, 3), load: bit(byte, 2) }
}

/// Read sector, 100m bE00.
#[test]
fn read_sector() {
    row("100mbE00").for_each(|byte| assert_eq!(Command::decode(byte), Command::ReadSector(sectors(byte))));
}

/// Write sector, 101m bEaa: aa 00 FB, 01 FA, 10 F9, 11 F8.
#[test]
fn write_sector() {
    for (bits, mark) in [("101mbE00", 0xFB), ("101mbE01", 0xFA), ("101mbE10", 0xF9), ("101mbE11", 0xF8)] {
        row(bits).for_each(|byte| assert_eq!(Command::decode(byte), Command::WriteSector(sectors(byte), mark)));
    }
}

/// Read address, 1100 0E00.
#[test]
fn read_address() {
    row("11000E00").for_each(|byte| assert_eq!(Command::decode(byte), Command::ReadAddress { load: bit(byte, 2) }));
}

/// Read track, 1110 010s.
#[test]
fn read_track() {
    row("1110010s").for_each(|byte| assert_eq!(Command::decode(byte), Command::ReadTrack { load: true }));
}

/// Write track, 1111 0100.
#[test]
fn write_track() {
    row("11110100").for_each(|byte| assert_eq!(Command::decode(byte), Command::WriteTrack { load: true }));
}

/// Force interrupt, 1101 iiii: i0 not ready to ready, i1 ready to not ready, i2 each index, i3 at once.
#[test]
fn force_interrupt() {
    for byte in row("1101iiii") {
        let [ready, not_ready, index, now] = [0, 1, 2, 3].map(|number| bit(byte, number));
        let conditions = Conditions { ready, not_ready, index, now };
        assert_eq!(Command::decode(byte), Command::ForceInterrupt(conditions));
    }
}

/// rr at 2 MHz: 00 6, 01 6, 10 10, 11 20 ms.
#[test]
fn step_rates() {
    let rates = [0, 1, 2, 3].map(|rate| match Command::decode(rate) {
        Command::Position(position) => position.step_ms(),
        other => panic!("{other:?}"),
    });
    assert_eq!(rates, [6, 6, 10, 20]);
}

/// b 1: length 128 << n. b 0: 16 x N, and 00 is 4096.
#[test]
fn lengths_of_sectors() {
    let bytes = |powers, code| Sectors { multiple: false, powers, load: false }.bytes(code);
    assert_eq!([0, 1, 2, 3].map(|code| bytes(true, code)), [128, 256, 512, 1024]);
    assert_eq!([1, 2, 8, 255, 0].map(|code| bytes(false, code)), [16, 32, 128, 4080, 4096]);
}
