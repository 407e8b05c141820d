//! What must become of single faults, by what the sources of the programs say.

use coldwright::faults::{Check, Class, Defect, End, Fault, Kind, Outcome, Rest, RomWrong, Slip, TapeWrong, Wrong};
use coldwright::notation::Address;

use crate::stage::Chain;

/// The outcome of the first fault of the first start for which something holds.
fn first(chain: &str, is_it: impl Fn(&Fault) -> bool) -> Outcome {
    let chain = Chain::new(chain);
    let theatre = chain.theatre(chain.starts()[0]);
    let fault = theatre.catalogue().into_iter().find(is_it).unwrap();
    theatre.play(&fault)
}

#[test]
fn the_check_of_the_sheet_shows_a_lever_that_was_set_wrong() {
    let outcome = first("belfry", |fault| fault.kind == Kind::DataLever);
    assert_eq!(outcome.class(), Class::Sheet);
    // The first byte is `MVI A`, 076, and the lever is the rightmost.
    assert_eq!(outcome.checks.first, [Check::Byte { address: Address(0), expected: 0o076, found: 0o077 }]);
}

#[test]
fn what_was_left_out_moves_all_that_follows() {
    let left_out = |row: usize| move |fault: &Fault| fault.wrong == Wrong::Row { row, slip: Slip::LeftOut };
    // Row 0 brings the address up, row 1 deposits the first byte.
    let outcome = first("belfry", left_out(2));
    assert_eq!(outcome.class(), Class::Sheet);
    assert!(outcome.checks.count > 10, "{:?}", outcome.checks);
}

#[test]
fn nothing_shows_a_sense_switch_that_is_wrong() {
    let outcome = first("belfry", |fault| fault.kind == Kind::SenseLever);
    assert_eq!(outcome.class(), Class::Silent);
    assert!(matches!(outcome.ending.end, End::Silent { bytes: 0, acts: true, astray: false }));
}

/// The bell port of the tower shows the complaint, and the address lights the byte behind the HLT, as the loader's header
/// says.
#[test]
fn the_loader_complains_of_its_blocks() {
    let complaint = |outcome: &Outcome| {
        assert_eq!(outcome.class(), Class::Told, "{outcome:?}");
        let Rest::Halts { at } = outcome.ending.rest else { panic!("{:?}", outcome.ending.rest) };
        let lamps = outcome.ending.lamps.unwrap();
        assert_eq!((lamps.address.lit, lamps.address.flickers), (at.0 + 1, 0));
        assert!(lamps.status_lit().contains(&"HLTA") && lamps.status_lit().contains(&"WAIT"));
        outcome.ending.ports.clone()
    };
    let chain = Chain::new("belfry");
    let theatre = chain.theatre(chain.starts()[0]);
    let reel = chain.made.reels(chain.starts()[0])[0];
    let of = |wrong| theatre.play(&Fault { kind: Kind::FrameBit, wrong: Wrong::Tape { tape: 0, wrong } });
    let blocks = &reel.programs[1].blocks;
    let (first, data) = (blocks[0].clone(), blocks[0].start + 10);
    assert_eq!(complaint(&of(TapeWrong::Without { from: first.start, to: first.end })), [(0o355, 1)]);
    assert_eq!(complaint(&of(TapeWrong::Bit { frame: data, bit: 0 })), [(0o355, 2)]);
    // The page that the key-in loader reads looks at itself, and lights the lamp.
    let page = reel.programs[0].blocks[0].start + 40;
    assert_eq!(complaint(&of(TapeWrong::Bit { frame: page, bit: 0 })), [(0o355, 0o200)]);
}

#[test]
fn a_leader_may_have_a_wrong_bit_and_a_tape_may_be_late() {
    for wrong in [TapeWrong::Bit { frame: 3, bit: 2 }, TapeWrong::Late(60), TapeWrong::Lost(5)] {
        let outcome = first("belfry", |fault| fault.wrong == Wrong::Tape { tape: 0, wrong });
        assert_eq!((outcome.class(), outcome.ending.end), (Class::Starts, End::Starts), "{wrong:?}");
        assert_eq!(outcome.ending.cells.count, 0, "{wrong:?}");
    }
}

#[test]
fn a_blank_tape_and_a_silent_chip_keep_a_loader_waiting() {
    let waits = |outcome: Outcome, port| {
        assert_eq!(outcome.class(), Class::Stops, "{outcome:?}");
        assert!(matches!(outcome.ending.rest, Rest::Circles { port: Some(read), .. } if read == port), "{outcome:?}");
    };
    waits(first("rooster", |fault| fault.kind == Kind::BlankTape), 0o271);
    // Its ready bit says no for ever.
    let turned = |fault: &Fault| fault.wrong == Wrong::StatusTurned { serial: 0, bit: 0 };
    waits(first("belfry", turned), 0o050);
}

#[test]
fn a_data_line_shows_at_the_first_byte_that_has_a_one_there() {
    let stuck = Wrong::Data(Defect::Stuck { line: 1, high: false });
    let outcome = first("belfry", |fault| fault.wrong == stuck);
    assert_eq!(outcome.class(), Class::Sheet);
    let first = outcome.checks.first[0];
    assert!(matches!(first, Check::Byte { address: Address(0), expected: 0o076, found: 0o074 }), "{first:?}");
}

/// Crossed data lines are crossed twice on the way into memory and out again.
#[test]
fn crossed_data_lines_pass_the_check_of_the_sheet() {
    let outcome = first("belfry", |fault| fault.wrong == Wrong::Data(Defect::Crossed(0)));
    assert_eq!(outcome.checks.count, 0);
    assert_ne!(outcome.class(), Class::Starts);
}

#[test]
fn a_rom_that_is_absent_is_undriven() {
    let outcome = first("rooster", |fault| fault.wrong == Wrong::Rom(RomWrong::Absent { socket: 0 }));
    assert!(!matches!(outcome.class(), Class::Starts | Class::Silent), "{outcome:?}");
}

#[test]
fn a_bad_sector_of_a_disk_never_starts_in_silence() {
    let chain = Chain::new("headland");
    let theatre = chain.theatre(chain.starts()[0]);
    let faults: Vec<_> = theatre.catalogue().into_iter().filter(|fault| fault.kind == Kind::SectorBad).collect();
    assert!(faults.len() > 300, "{}", faults.len());
    let chosen: Vec<_> = faults.into_iter().step_by(11).collect();
    for played in theatre.play_all(chosen, &|| true).unwrap() {
        assert_ne!(played.outcome.class(), Class::Silent, "{played:?}");
    }
}

/// Each bundled chain has faults of every group that it can have.
#[test]
fn a_chain_has_the_faults_of_what_it_is_made_of() {
    let has = |chain: &str, kinds: &[Kind]| {
        let chain = Chain::new(chain);
        let catalogue = chain.theatre(chain.starts()[0]).catalogue();
        for kind in kinds {
            assert!(catalogue.iter().any(|fault| fault.kind == *kind), "{kind:?}");
        }
    };
    use Kind::*;
    let everywhere = [EntryLever, NotExamined, SecondAttempt, LeverStuck, DataStuck, AddressTouching, CellStuck, Clock];
    for chain in ["belfry", "rooster", "lineboot", "probe", "headland"] {
        has(chain, &everywhere);
    }
    has("belfry", &[DataLever, AddressLever, LeftOut, Twice, Exchanged, SenseLever, FrameBit, FrameLost, FrameTwice]);
    has("belfry", &[BlockMissing, Early, Late, BlankTape, Speed, LineParity, StopBits, DataBits, ChipAbsent]);
    has("rooster", &[TurnedOver, Backwards, RomBit, RomHalves, RomAbsent, StatusTurned, StatusCrossed, PortsExchanged]);
    has("headland", &[SectorBad, DoorOpen, OtherDisk, HeadUnsettled, TurnsOff]);
}
