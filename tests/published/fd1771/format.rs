//! The published track, written by the write-track command.

use super::bench::{BYTE, Bench, CELLS, MS, TURN, turn_of};
use coldwright::disk::Cell;
use coldwright::disk::{Form, bundled, write};
use coldwright::rehearsal::disk::fd1771::{Register, Trouble};

/// What a program loads for a track of the 3740 system: 40 FF, 6 00, FC, 26 FF, then 26 times 6 00, FE, track, 00, sector, 00, F7,
/// 11 FF, 6 00, FB, 128 E5, F7, 27 FF; then FF until INTRQ.
fn loaded(track: u8, data: u8) -> Vec<u8> {
    let mut bytes = vec![];
    let mut put = |byte, count| bytes.extend(std::iter::repeat_n(byte, count));
    [(0xFF, 40), (0, 6), (0xFC, 1), (0xFF, 26)].into_iter().for_each(|(byte, count)| put(byte, count));
    for sector in 1..=26 {
        for (byte, count) in [(0, 6), (0xFE, 1), (track, 1), (0, 1), (sector, 1), (0, 1), (0xF7, 1), (0xFF, 11)] {
            put(byte, count);
        }
        [(0, 6), (0xFB, 1), (data, 128), (0xF7, 1), (0xFF, 27)].into_iter().for_each(|(byte, count)| put(byte, count));
    }
    bytes
}

/// 5156 bytes loaded, 247 of them behind the last sector, make 5208.
#[test]
fn the_published_track_has_5208_bytes() {
    let bytes = loaded(0, 0xE5);
    let checks = bytes.iter().filter(|&&byte| byte == 0xF7).count();
    assert_eq!((bytes.len() + 247, bytes.len() + 247 + checks), (5156, 5208));
}

/// The track that the command writes is one turn of the bundled layout, bytes and marks.
#[test]
fn a_written_track_is_one_turn_of_the_layout() {
    let layout = bundled("marks-26").unwrap();
    let formatted = write::formatted(&layout, Form::Whole);
    for track in [0, 1, 76] {
        let mut bench = Bench::new();
        bench.stand(track, 1);
        bench.drive.tracks[usize::from(track)] = vec![Cell::default(); CELLS as usize];
        let mut bytes = loaded(track, 0xE5);
        bytes.resize(6000, 0xFF);
        // One byte for each cell but the second ones of 52 checks, and one request more at the end.
        let asked = bench.writes(0o364, &bytes);
        assert_eq!((bench.status(), bench.trouble()), (0, vec![]));
        assert!((5156..=5157).contains(&asked), "{asked}");
        assert!(bench.drive.tracks[usize::from(track)] == turn_of(&layout, &formatted, track.into()));
        assert_eq!(bench.now % TURN, 0, "from index to index");
    }
}

/// What was formatted reads back, sector by sector and as one turn.
#[test]
fn a_written_track_reads_back() {
    let mut bench = Bench::new();
    bench.stand(9, 1);
    bench.drive.tracks[9] = vec![Cell::default(); CELLS as usize];
    let mut bytes = loaded(9, 0xE5);
    bytes.resize(6000, 0xFF);
    bench.writes(0o364, &bytes);
    for sector in 1..=26 {
        bench.write(Register::Sector, sector);
        assert_eq!(bench.reads(0o214), [0xE5; 128]);
        assert_eq!(bench.status(), 0);
    }
    let turn: Vec<u8> = bench.drive.tracks[9].iter().map(|cell| cell.byte).collect();
    assert_eq!(bench.reads(0o345), turn);
    assert_eq!(bench.status(), 0, "a track is read without looking at checks");
    bench.write(Register::Sector, 1);
    assert_eq!(bench.reads(0o234).len(), 26 * 128);
}

/// F7 writes two bytes of check; F8 to FB, FC and FE become marks, and no others.
#[test]
fn bytes_that_are_not_written_as_they_are() {
    let mut bench = Bench::new();
    let mut bytes = vec![0xF0, 0xF5, 0xF6, 0xF8, 0xF9, 0xFA, 0xFB, 0xFC, 0xFD, 0xFE, 0xFF, 0xF7];
    bytes.resize(6000, 0);
    bench.writes(0o364, &bytes);
    let marks: Vec<u8> = bench.drive.tracks[0].iter().filter(|cell| cell.mark).map(|cell| cell.byte).collect();
    assert_eq!(marks, [0xF8, 0xF9, 0xFA, 0xFB, 0xFC, 0xFE]);
    let at = |cell: usize| bench.drive.tracks[0][cell].byte;
    assert_eq!((at(8), at(10), at(13)), (0xFD, 0xFF, 0), "two bytes of check stand between");
    // FE, FF: 0xEF21 carried over FF by the polynomial.
    let check = [0xFE, 0xFF].iter().fold(0xFFFFu16, |register, &byte| {
        (0..8).rev().fold(register, |register, bit| {
            let carry = register >> 15 ^ u16::from(byte >> bit & 1u8);
            register << 1 ^ if carry == 1 { 0x1021 } else { 0 }
        })
    });
    assert_eq!([at(11), at(12)], check.to_be_bytes());
}

/// The first byte is asked for at once; not there before the index pulse (by the FD179X sheet: within three bytes), it is
/// lost and the command ends with nothing written.
#[test]
fn the_first_byte_of_a_track_must_be_there() {
    let mut bench = Bench::new();
    bench.drive.settle = 0;
    let before = bench.drive.tracks[0].clone();
    bench.command(0o364);
    assert!(bench.chip.drq());
    assert_eq!(bench.ends(), 10 * MS + 3 * BYTE);
    assert_eq!((bench.status() & 0b100, bench.trouble()), (0b100, vec![Trouble::Lost { byte: 0 }]));
    assert!(bench.drive.tracks[0] == before);
}
