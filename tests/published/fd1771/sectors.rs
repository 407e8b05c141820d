//! Sectors read and written, and ID fields.

use super::bench::{BYTE, Bench, CELLS, MS, TURN, data_cell, id_cell};
use coldwright::isa::TStates;
use coldwright::rehearsal::disk::fd1771::{Register, Trouble};

fn at(track: u8, sector: u8) -> Bench {
    let mut bench = Bench::new();
    bench.drive.settle = 0;
    bench.stand(track, sector);
    bench
}

/// The cell that passes.
fn cell(bench: &Bench) -> u64 {
    bench.now / BYTE % CELLS
}

/// Find: an ID field with track, sector and check within two turns, or record not found.
#[test]
fn a_record_that_is_not_there_takes_two_turns() {
    for (track, sector) in [(0, 27), (1, 1)] {
        let mut bench = at(0, 1);
        (bench.drive.head, bench.drive.settle) = (0, 0);
        bench.write(Register::Track, track);
        bench.write(Register::Sector, sector);
        bench.command(0o214);
        assert_eq!(bench.ends(), 10 * MS + 2 * TURN);
        assert_eq!((bench.status(), bench.trouble()), (0b1_0000, vec![Trouble::NotFound]));
    }
}

/// Without E the head is taken to rest on the disk; where it is not loaded, nothing is found.
#[test]
fn without_its_flag_the_head_is_not_loaded() {
    let mut bench = at(0, 1);
    bench.command(0o210);
    assert_eq!(bench.ends(), 2 * TURN);
    assert_eq!(bench.status(), 0b1_0000);
    bench.drive.loaded = Some(TStates(bench.now));
    assert_eq!(bench.reads(0o210).len(), 128);
}

/// The data mark must stand within 28 bytes of the ID field.
#[test]
fn a_data_mark_is_looked_for_in_28_bytes() {
    for (distance, found) in [(17, true), (27, true), (28, false)] {
        let mut bench = at(0, 3);
        let behind = id_cell(3) + 7;
        let old: Vec<_> = (0..131).map(|byte| *bench.cell(behind + 17 + byte)).collect();
        bench.cell(behind + 17).mark = false;
        for (byte, content) in old.into_iter().enumerate() {
            *bench.cell(behind + distance + byte as u64) = content;
        }
        assert_eq!(bench.reads(0o214).len(), if found { 128 } else { 0 }, "{distance}");
        assert_eq!(bench.status() == 0, found);
    }
}

/// DRQ for each byte as it has passed; INTRQ behind the check.
#[test]
fn bytes_come_at_the_rate_of_the_disk() {
    let mut bench = at(5, 9);
    (0..128).for_each(|byte| bench.cell(data_cell(9) + 1 + byte).byte = byte as u8);
    bench.command(0o214);
    for byte in 0..128 {
        while !bench.chip.drq() {
            assert!(bench.passes());
        }
        assert_eq!((cell(&bench), bench.now % BYTE), (data_cell(9) + 2 + byte, 0));
        assert_eq!(bench.read(Register::Data), byte as u8);
    }
    bench.ends();
    assert_eq!(cell(&bench), data_cell(9) + 1 + 128 + 2);
    // The bytes were changed and their check was not.
    assert_eq!(bench.status(), 0b1000);
}

/// Unread for one byte time (32 us): the new byte replaces it, lost data, and reading goes on.
#[test]
fn an_unread_byte_is_replaced() {
    let mut bench = at(0, 2);
    bench.cell(data_cell(2) + 2).byte = 0o101;
    bench.command(0o214);
    while !bench.chip.drq() {
        bench.passes();
    }
    bench.wait(BYTE - 1);
    assert_eq!(bench.seen() & 0b100, 0);
    bench.wait(1);
    assert_eq!(bench.seen() & 0b110, 0b110);
    assert_eq!(bench.read(Register::Data), 0o101, "the second byte");
    bench.ends();
    assert_eq!(cell(&bench), data_cell(2) + 131, "to the end of the sector");
}

/// m: the sector register counts on, and it ends as record not found past the last (text of the FD179X sheet).
#[test]
fn multiple_records_end_behind_the_last() {
    let mut bench = at(2, 24);
    assert_eq!(bench.reads(0o234).len(), 3 * 128);
    assert_eq!(bench.status(), 0b1_0000);
    assert_eq!(bench.read(Register::Sector), 27);
    // A wrong check ends it, with m too.
    let mut bench = at(2, 24);
    bench.cell(data_cell(25) + 5).byte ^= 1;
    assert_eq!(bench.reads(0o234).len(), 2 * 128);
    assert_eq!((bench.status(), bench.read(Register::Sector)), (0b1000, 25));
}

/// Write: request 2 bytes behind the ID field, the byte must be there 9 later (FD179X sheet); six zeros, the mark, the
/// data, the check, one FF.
#[test]
fn a_written_sector_reads_back() {
    let mut bench = at(3, 11);
    let data: Vec<u8> = (0..128).map(|byte| byte ^ 0o252).collect();
    let before = bench.drive.tracks[3].clone();
    bench.command(0o254);
    while !bench.chip.drq() {
        bench.passes();
    }
    assert_eq!(cell(&bench), id_cell(11) + 7 + 2);
    let mut bench = at(3, 11);
    assert_eq!(bench.writes(0o254, &data), 128);
    assert_eq!((bench.status(), cell(&bench)), (0, data_cell(11) + 131 + 1));
    let written = bench.drive.tracks[3].clone();
    let changed: Vec<_> = (0..CELLS).filter(|&at| before[at as usize] != written[at as usize]).collect();
    assert!(changed.iter().all(|&at| (data_cell(11) + 1..data_cell(11) + 131).contains(&at)), "in its place");
    bench.write(Register::Sector, 11);
    assert_eq!(bench.reads(0o214), data);
    assert_eq!(bench.status(), 0);
}

/// The first byte not loaded by 11 bytes behind the ID field: lost data and the end, nothing written. A late byte later
/// on: 00 is written, lost data, and writing goes on.
#[test]
fn late_bytes_of_a_write() {
    let mut bench = at(3, 1);
    let before = bench.drive.tracks[3].clone();
    bench.command(0o254);
    bench.ends();
    assert_eq!(cell(&bench), id_cell(1) + 7 + 11);
    assert_eq!((bench.status() & 0b100, bench.drive.tracks[3] == before), (0b100, true));
    let mut bench = at(3, 1);
    assert!(bench.writes(0o254, &[0o123; 40]) >= 41);
    assert_eq!(bench.status() & 0b100, 0b100);
    assert_eq!((bench.cell(data_cell(1) + 40).byte, bench.cell(data_cell(1) + 41).byte), (0o123, 0));
    let read = bench.reads(0o214);
    assert_eq!((bench.status(), read[39], read[40]), (0, 0o123, 0), "its check is that of what was written");
}

/// Read address: track, side, sector, length and two bytes of check; the sector's also goes to the sector register.
#[test]
fn an_address_is_six_bytes() {
    let mut bench = at(0o15, 0o77);
    let id = bench.reads(0o304);
    assert_eq!(id.len(), 6);
    assert_eq!((id[0], id[1], id[3]), (0o15, 0, 0));
    assert!((1..=26).contains(&id[2]));
    assert_eq!((bench.status(), bench.read(Register::Sector)), (0, id[2]));
    let mut bench = at(0o15, 0o77);
    (0..CELLS).for_each(|at| bench.cell(at).mark = false);
    bench.command(0o304);
    assert_eq!(bench.ends(), 10 * MS + 2 * TURN);
}

/// The head that has to come to rest: 10 ms of the chip, then HLT.
#[test]
fn a_sector_waits_for_the_head() {
    for (settle, waits) in [(0, 10), (35 * MS, 35), (60 * MS, 60)] {
        let mut bench = at(0, 1);
        bench.drive.settle = settle;
        (0..CELLS).for_each(|at| bench.cell(at).mark = false);
        bench.command(0o214);
        assert_eq!(bench.ends(), waits * MS + 2 * TURN);
    }
}

/// A disk that stops: a search waits, and looks for two turns when it turns again; a sector that was passing is lost, and
/// the chip is busy until it is forced to end. The sheet is silent on both.
#[test]
fn a_disk_that_stops() {
    let stops = |bench: &mut Bench, turns| {
        bench.drive.turns = turns;
        bench.wait(0);
        bench.wait(5 * TURN);
        assert!(bench.chip.is_busy());
    };
    let mut bench = at(0, 77);
    bench.command(0o214);
    bench.wait(10 * MS + TURN);
    stops(&mut bench, false);
    assert!(bench.chip.next_event(&bench.drive).is_none());
    bench.drive.turns = true;
    bench.wait(0);
    assert_eq!(bench.ends(), 2 * TURN);
    let mut bench = at(0, 1);
    bench.command(0o214);
    while !bench.chip.drq() {
        bench.passes();
    }
    stops(&mut bench, false);
    stops(&mut bench, true);
    bench.command(0o330);
    assert!(bench.chip.intrq() && !bench.chip.is_busy());
}
