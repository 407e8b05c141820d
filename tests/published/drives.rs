//! A drive of 8 inches with the times of its makers: holes, index, steps, the head, readiness.
//!
//! Sources: *SA810/860* manual, sections 1.3 to 2.2 [V]; *40 Series* 8-inch drive manual, section 3.5.2 [V]; *SA800/801* OEM
//! manual, section 4.1.1 [V]. Steps of 8 ms, 18 ms from the last step and 35 ms from loading the head to data: common
//! practice [M]. T-states are those of 2 MHz.

use coldwright::disk::{Form, Times, bundled, write};
use coldwright::isa::TStates;
use coldwright::rehearsal::disk::{Diskette, Drive, DriveSetup, Mishap};

const CLOCK_HZ: u64 = 2_000_000;

/// A selected drive with a formatted disk, put in at power-on, that stands a little behind its index hole.
fn drive() -> Drive {
    let layout = bundled("holes-32").expect("it is bundled");
    let disk = write::formatted(&layout, Form::Whole);
    let diskette = Diskette::new(&layout, &disk, false).expect("the disk is of the layout");
    let setup = DriveSetup { layout, times: Times::default(), select_loads: false, off: 0, start: 1 << 30, track: 5 };
    let mut drive = Drive::new(&setup, CLOCK_HZ);
    drive.insert(diskette, TStates(0));
    drive.select(true, TStates(0));
    drive
}

fn ms(milliseconds: f64) -> TStates {
    TStates((milliseconds * CLOCK_HZ as f64 / 1000.0).round() as u64)
}

fn before(at: TStates) -> TStates {
    TStates(at.0 - 1)
}

/// 32 a turn of 166.667 ms: each 5.208 ms behind the last, 10 417 T-states to one.
#[test]
fn sector_holes_come_every_five_point_two_milliseconds() {
    let drive = drive();
    let mut holes = vec![drive.next_hole(TStates(0)).unwrap()];
    for _ in 0..32 {
        holes.push(drive.next_hole(holes[holes.len() - 1]).unwrap());
    }
    for pair in holes.windows(2) {
        assert!((pair[1].0 - pair[0].0).abs_diff(10_417) <= 1, "{pair:?}");
    }
    assert!((holes[32].0 - holes[0].0).abs_diff(333_333) <= 1);
    let numbers: Vec<_> = holes[..32].iter().map(|&at| drive.hole(at).unwrap()).collect();
    assert!(numbers.windows(2).all(|pair| pair[1] == (pair[0] + 1) % 32), "{numbers:?}");
}

/// *40 Series*: halfway between sectors 31 and 0, 2.6 ms from each.
#[test]
fn the_index_stands_halfway_between_the_last_sector_and_the_first() {
    let drive = drive();
    let index = drive.next_index(TStates(0)).unwrap();
    let zero = drive.next_hole(index).unwrap();
    assert_eq!((drive.hole(index), drive.hole(zero)), (Some(31), Some(0)));
    assert!((zero.0 - index.0).abs_diff(ms(2.604).0) <= 1, "{}", zero.0 - index.0);
    // 1.7 ms long.
    let last = TStates(index.0 + ms(1.7).0);
    assert!(
        drive.index(index)
            && !drive.index(before(index))
            && drive.index(TStates(last.0 - 2))
            && !drive.index(TStates(last.0 + 2))
    );
}

/// *40 Series* and *SA800/801*: not before two index pulses.
#[test]
fn ready_at_the_second_index_pulse() {
    let drive = drive();
    let second = drive.next_index(drive.next_index(TStates(0)).unwrap()).unwrap();
    assert!(drive.ready(second) && !drive.ready(before(second)));
}

/// 8 ms from step to step, 16 ms before the other way (*SA810/860*, 2.2.5).
#[test]
fn steps_of_eight_milliseconds_and_sixteen_to_turn_round() {
    let (mut drive, at) = (drive(), ms(1.0));
    drive.step(false, at);
    assert!(!drive.may_step(before(at + ms(8.0))) && drive.may_step(at + ms(8.0)));
    drive.step(false, before(at + ms(8.0)));
    assert_eq!((drive.track(), drive.take_mishaps()[0].1), (4, Mishap::StepEarly(TStates(1))));
    drive.step(true, before(at + ms(16.0)));
    assert_eq!((drive.track(), drive.take_mishaps()[0].1), (4, Mishap::ReverseEarly(TStates(1))));
    drive.step(true, at + ms(16.0));
    assert!(drive.take_mishaps().is_empty());
    assert_eq!((drive.track(), drive.steps()), (5, 2));
}

/// 35 ms from loading the head, 18 ms from the last step; the later of the two.
#[test]
fn the_head_rests_when_it_is_loaded_and_settled() {
    let (mut drive, at) = (drive(), ms(1.0));
    drive.load_head(true, at);
    assert!(!drive.settled(before(at + ms(35.0))) && drive.settled(at + ms(35.0)));
    let step = at + ms(40.0);
    drive.step(false, step);
    assert!(!drive.settled(before(step + ms(18.0))) && drive.settled(step + ms(18.0)));
}
