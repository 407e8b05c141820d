//! Reset, motion, verification, the head, requests of interrupt.

use super::bench::{BYTE, Bench, CELLS, MS, TURN, id_cell};
use coldwright::rehearsal::disk::fd1771::{Register, Trouble};

/// Direction stands 24 microseconds before the first step.
const DIRECTION: u64 = 48;

/// MR puts 03 into the command register: on release a restore at 20 ms a step runs, ready or not.
#[test]
fn reset_restores_at_the_slowest_rate() {
    for ready in [true, false] {
        let mut bench = Bench::just_reset(3);
        (bench.drive.ready, bench.drive.turns) = (ready, ready);
        assert!(bench.chip.is_busy());
        assert_eq!(bench.ends(), DIRECTION + 3 * 20 * MS);
        assert_eq!((bench.drive.head, bench.read(Register::Track)), (0, 0));
        assert!(bench.drive.steps.iter().all(|(_, inward)| !inward));
    }
}

/// TR00 already active: the track is 0 and the command done.
#[test]
fn a_restore_on_track_zero_makes_no_step() {
    let mut bench = Bench::new();
    bench.write(Register::Track, 0o55);
    bench.command(0o000);
    assert_eq!(bench.ends(), DIRECTION);
    assert_eq!(bench.read(Register::Track), 0);
    assert!(bench.drive.steps.is_empty());
}

/// After 255 steps a restore gives up: at 6 ms in 1.53 s.
#[test]
fn a_restore_without_track_zero_gives_up() {
    let mut bench = Bench::new();
    bench.drive.head = 300;
    bench.command(0o000);
    assert_eq!(bench.ends(), DIRECTION + 255 * 6 * MS);
    assert_eq!(255 * 6 * MS, 3_060_000, "1.53 s");
    assert_eq!(bench.drive.steps.len(), 255);
    assert_eq!(bench.status() & 0b1_0000, 0b1_0000);
    assert_eq!(bench.trouble(), [Trouble::WrongTrack]);
}

/// rr 00 6, 01 6, 10 10, 11 20 ms between steps.
#[test]
fn steps_come_at_the_rate_of_the_command() {
    for (rate, ms) in [(0, 6), (1, 6), (2, 10), (3, 20)] {
        let mut bench = Bench::new();
        bench.write(Register::Data, 5);
        bench.command(0o020 | rate);
        assert_eq!(bench.ends(), DIRECTION + 5 * ms * MS);
        let begin = bench.drive.steps[0].0;
        assert!(bench.drive.steps.iter().zip(0..).all(|(&(at, inward), step)| inward && at == begin + step * ms * MS));
    }
}

/// Seek: target in the data register, position in the track register; steps and counts until they are equal.
#[test]
fn a_seek_counts_the_track_register_to_the_data_register() {
    let mut bench = Bench::new();
    for (target, steps) in [(40, 40), (12, 28), (12, 0), (76, 64)] {
        bench.drive.steps.clear();
        bench.write(Register::Data, target);
        bench.command(0o020);
        bench.ends();
        assert_eq!((bench.drive.head, bench.read(Register::Track)), (usize::from(target), target));
        assert_eq!(bench.drive.steps.len(), steps);
    }
}

/// Step goes on in the direction of the last step; u counts the track register.
#[test]
fn steps_by_one() {
    let mut bench = Bench::new();
    for (command, head, track) in [
        (0o120, 1, 1), // in, counted
        (0o100, 2, 1), // in, not counted
        (0o060, 3, 2), // as before, counted
        (0o040, 4, 2), // as before, not counted
        (0o160, 3, 1), // out, counted
        (0o140, 2, 1), // out, not counted
        (0o060, 1, 0), // as before, counted
    ] {
        bench.command(command);
        assert_eq!(bench.ends(), DIRECTION + 6 * MS);
        assert_eq!((bench.drive.head, bench.read(Register::Track)), (head, track), "{command:o}");
    }
}

/// Verify: first ID after 10 ms and the head's settling; track equal and check good: done.
#[test]
fn a_verified_seek_reads_an_id_field() {
    let mut bench = Bench::new();
    bench.write(Register::Data, 7);
    bench.command(0o024);
    let moved = bench.now + DIRECTION + 7 * 6 * MS;
    let took = bench.ends();
    assert_eq!(bench.status() & !0b10_0010, 0);
    // The head was loaded for it, which takes longer than 10 ms here; then a whole ID field passed.
    let settled = moved + 35 * MS;
    assert!(bench.now > settled + 7 * BYTE && bench.now <= settled + (188 + 7) * BYTE, "{took}");
    let cell = bench.now / BYTE % CELLS;
    assert!((1..=26).any(|sector| id_cell(sector) + 7 == cell), "at the end of an ID field");
}

/// With the head at rest already the chip's 10 ms alone are waited for.
#[test]
fn the_chip_waits_ten_milliseconds_by_itself() {
    let mut bench = Bench::new();
    bench.drive.settle = 0;
    let wait = |bench: &mut Bench| {
        let from = bench.now + DIRECTION + 10 * MS;
        bench.command(0o014);
        bench.ends();
        bench.now - from
    };
    assert!(wait(&mut bench) <= (188 + 7) * BYTE);
}

/// Check good, other track: seek error. Check bad: the next one is tried. None in two turns: the end.
#[test]
fn verification_tells_what_it_found() {
    let seek = |spoil: &dyn Fn(&mut Bench)| {
        let mut bench = Bench::new();
        bench.drive.settle = 0;
        bench.drive.head = 4;
        spoil(&mut bench);
        bench.write(Register::Track, 4);
        bench.write(Register::Data, 4);
        bench.command(0o024);
        bench.ends();
        (bench.status() >> 3 & 0b11, bench.trouble())
    };
    assert_eq!(seek(&|_| {}), (0b00, vec![]));
    assert_eq!(seek(&|bench| bench.drive.head = 5), (0b10, vec![Trouble::WrongTrack]));
    let spoil = |bench: &mut Bench, sectors: std::ops::RangeInclusive<u8>| {
        sectors.for_each(|sector| bench.cell(id_cell(sector) + 1).byte ^= 1);
    };
    assert_eq!(seek(&|bench| spoil(bench, 1..=20)).0, 0b00, "a good one came");
    assert_eq!(seek(&|bench| spoil(bench, 1..=26)), (0b11, vec![Trouble::Check, Trouble::WrongTrack]));
}

/// The head unloads at the third index after the last use.
#[test]
fn the_idle_head_is_unloaded_at_the_third_index() {
    let mut bench = Bench::new();
    bench.command(0o010);
    bench.ends();
    let third = (bench.now / TURN + 3) * TURN;
    bench.wait(third - 1 - bench.now);
    assert!(bench.drive.loaded.is_some());
    bench.wait(1);
    assert!(bench.drive.loaded.is_none());
    assert!(!bench.chip.intrq() || bench.status() & 0b10_0000 == 0);
}

/// INTRQ at every end; cleared by reading the status or by a new command.
#[test]
fn an_end_requests_an_interrupt_until_the_status_is_read() {
    let mut bench = Bench::new();
    assert!(bench.chip.intrq());
    bench.status();
    assert!(!bench.chip.intrq());
    bench.command(0o000);
    bench.ends();
    assert!(bench.chip.intrq());
    bench.command(0o000);
    assert!(!bench.chip.intrq());
}

/// A command other than force interrupt is not to be given while busy.
#[test]
fn a_busy_chip_takes_no_command() {
    let mut bench = Bench::new();
    bench.write(Register::Data, 30);
    bench.command(0o020);
    bench.wait(MS);
    bench.command(0o000);
    bench.ends();
    assert_eq!((bench.drive.head, bench.trouble()), (30, vec![Trouble::Busy]));
}

/// Force interrupt while busy: busy goes off, other bits stay; if idle, the status becomes that of type I.
#[test]
fn forced_to_end() {
    let mut bench = Bench::new();
    bench.stand(0, 1);
    bench.command(0o214);
    while !bench.chip.drq() {
        bench.passes();
    }
    bench.command(0o320);
    assert!(!bench.chip.is_busy() && !bench.chip.intrq(), "no condition: no interrupt");
    assert_eq!(bench.seen(), 0b10, "DRQ stays");
    bench.command(0o320);
    assert_eq!(bench.seen() & 0b100, 0b100, "track 00 now");
}

/// i3 interrupts at once, i2 at each index, i1 when the drive is no longer ready, i0 when it is.
#[test]
fn forced_interrupts() {
    let mut bench = Bench::new();
    bench.command(0o330);
    assert!(bench.chip.intrq());
    bench.command(0o324);
    assert!(!bench.chip.intrq());
    for _ in 0..3 {
        let index = (bench.now / TURN + 1) * TURN;
        bench.wait(index - 1 - bench.now);
        assert!(!bench.chip.intrq());
        bench.wait(1);
        assert!(bench.chip.intrq());
        bench.status();
    }
    for (command, on_ready, on_not_ready) in [(0o321, true, false), (0o322, false, true), (0o323, true, true)] {
        bench.command(command);
        for (ready, interrupts) in [(false, on_not_ready), (true, on_ready)] {
            bench.drive.ready = ready;
            bench.wait(1);
            assert_eq!(bench.chip.intrq(), interrupts, "{command:o}");
            bench.status();
        }
    }
}

/// At 1 MHz all times are twice as long.
#[test]
fn a_slower_clock_doubles_the_times() {
    let mut bench = Bench::new();
    bench.chip = coldwright::rehearsal::disk::fd1771::Fd1771::new(2_000_000, true, &mut bench.drive);
    bench.ends();
    bench.write(Register::Data, 2);
    bench.command(0o022);
    assert_eq!(bench.ends(), 2 * (DIRECTION + 2 * 10 * MS));
}
