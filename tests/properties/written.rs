//! A sector that a program writes through a controller: the disk file that results equals, bit by bit, what an encoder of
//! this test makes, the reader finds every sector good, and the program reads back what it wrote.

use std::ops::Range;

use coldwright::assembler::{Options, StdlibOnly, assemble};
use coldwright::disk::read::{Verdict, read};
use coldwright::disk::{
    Act, Cell, ChipWires, Deed, Disk, Layout, Line, Requests, Shown, Signal, Times, Wire, Wires, bundled,
};
use coldwright::isa::TStates;
use coldwright::notation::Address;
use coldwright::rehearsal::disk::{ControllerSetup, DiskSetup, Diskette, DriveSetup};
use coldwright::rehearsal::{Machine, Setup, Stop};
use coldwright::source::{Origin, SourceMap};
use proptest::prelude::*;

/// The byte cells between two holes of `holes-32`, and of a turn of `marks-26`.
const STRETCH: usize = 162;
const TURN: usize = 5208;

/// Where programs keep what they write, and what they read back.
const GIVEN: usize = 0o1000;
const BACK: usize = 0o2000;

/// The constants of the programs below.
const PORTS: &str = "
DATA    EQU     210Q
STATUS  EQU     211Q
NUMBER  EQU     60Q
DEEDS   EQU     156Q
COMMAND EQU     210Q
TRACK   EQU     211Q
SECTOR  EQU     212Q
BYTES   EQU     213Q
LINES   EQU     60Q
CHOICE  EQU     156Q
GIVEN   EQU     1000Q
BACK    EQU     2000Q
";

/// Selects, loads, waits for the head, for the hole of a sector; writes a record, waits for the hole again and reads it.
const WIRED: &str = "
        LXI     SP,GIVEN
        MVI     A,3             ; select, load
        OUT     DEEDS
REST:   IN      STATUS
        ANI     14Q             ; settled, ready
        CPI     14Q
        JNZ     REST
        CALL    HOLE
        MVI     A,7             ; and write
        OUT     DEEDS
        LXI     H,GIVEN
        LXI     B,1000Q+137     ; wanted
PUT:    IN      STATUS
        ANA     B
        JZ      PUT
        MOV     A,M
        OUT     DATA
        INX     H
        DCR     C
        JNZ     PUT
        CALL    HOLE
        LXI     H,BACK
        LXI     B,400Q+137      ; waits
GET:    IN      STATUS
        ANA     B
        JZ      GET
        IN      DATA
        MOV     M,A
        INX     H
        DCR     C
        JNZ     GET
        HLT
; Back when the hole HERE begins to pass.
HOLE:   IN      NUMBER
        ANI     37Q
        CPI     HERE
        JZ      HOLE
COMES:  IN      NUMBER
        ANI     37Q
        CPI     HERE
        JNZ     COMES
        RET
";

/// Ends what the chip does behind power-on, selects, writes a sector and reads it.
const CHIP: &str = "
        MVI     A,320Q          ; force interrupt
        OUT     COMMAND
        MVI     A,2
        OUT     CHOICE
READY:  IN      COMMAND
        ANI     200Q
        JNZ     READY
        MVI     A,ONTRK
        OUT     TRACK
        MVI     A,HERE
        OUT     SECTOR
        LXI     H,GIVEN
        MVI     B,1             ; data request
        MVI     A,254Q          ; write a sector, load the head
        OUT     COMMAND
PUT:    IN      LINES
        ANA     B
        JZ      PUTEND
        MOV     A,M
        OUT     BYTES
        INX     H
        JMP     PUT
PUTEND: IN      COMMAND
        STA     BACK+200Q
        LXI     H,BACK
        MVI     A,214Q          ; read a sector
        OUT     COMMAND
GET:    IN      LINES
        ANA     B
        JZ      GETEND
        IN      BYTES
        MOV     M,A
        INX     H
        JMP     GET
GETEND: IN      COMMAND
        STA     BACK+201Q
        HLT
";

/// What is written where, and how the drive stands.
#[derive(Clone, Debug)]
struct Scene {
    track: u8,
    sector: u8,
    /// The address that its record names.
    address: u16,
    data: Vec<u8>,
    start: u32,
    off: i64,
}

fn scene(sectors: Range<u8>) -> impl Strategy<Value = Scene> {
    let data = prop::collection::vec(any::<u8>(), 128);
    (0..77u8, sectors, any::<u16>(), data, any::<u32>(), -2000..2000i64)
        .prop_map(|(track, sector, address, data, start, off)| Scene { track, sector, address, data, start, off })
}

/// A CRC of x^16 + x^12 + x^5 + 1, bit by bit, high byte first.
fn crc(begin: u16, bytes: &[u8]) -> [u8; 2] {
    let mut register = begin;
    for bit in bytes.iter().flat_map(|byte| (0..8).rev().map(move |bit| byte >> bit & 1)) {
        let feeds = (register >> 15) as u8 ^ bit == 1;
        register = register << 1 ^ if feeds { 0x1021 } else { 0 };
    }
    register.to_be_bytes()
}

fn with_crc(begin: u16, mut bytes: Vec<u8>) -> Vec<u8> {
    bytes.extend(crc(begin, &bytes.clone()));
    bytes
}

/// A record of `holes-32`, behind which the program does not go on.
fn holes_record(track: u8, sector: u8, address: u16, data: &[u8]) -> Vec<u8> {
    let [low, high] = address.to_le_bytes();
    with_crc(0, [&[0o202, track, sector, 128, low, high, 0o377], data].concat())
}

/// A sector of `marks-26` from its first mark on.
fn marks_record(track: u8, sector: u8, data: &[u8]) -> Vec<u8> {
    let id = with_crc(0xFFFF, vec![0o376, track, 0, sector, 0]);
    let data = with_crc(0xFFFF, [&[0o373], data].concat());
    [id, vec![0o377; 11], vec![0; 6], data].concat()
}

/// What stands in a sector that no program has written: of no two the same.
fn before(track: u8, sector: u8) -> Vec<u8> {
    (0..128).map(|at: u8| at.wrapping_mul(7) ^ track.wrapping_mul(5) ^ sector).collect()
}

/// All records of a disk, by track and number.
fn file(numbers: Range<u8>, record: impl Fn(u8, u8) -> Vec<u8>) -> Vec<u8> {
    (0..77)
        .flat_map(|track| numbers.clone().map(move |sector| (track, sector)))
        .flat_map(|(t, s)| record(t, s))
        .collect()
}

/// A program in a machine, and the disk in its drive.
fn machine(scene: &Scene, layout: &Layout, file: Vec<u8>, controller: ControllerSetup, source: &str) -> Machine {
    let times = Times { load_ms: 12.0, ..Times::default() };
    let (start, off, track) = (scene.start, scene.off, usize::from(scene.track));
    let drive = DriveSetup { layout: layout.clone(), times, select_loads: false, off, start, track };
    let disks = vec![DiskSetup { controller, drive }];
    let setup = Setup { clock_hz: 2_000_000, ram: vec![(Address(0), 0x1000)], disks, ..Setup::default() };
    let mut machine = Machine::new(&setup).unwrap();
    let text = format!("{PORTS}{source}");
    let mut sources = SourceMap::default();
    let root = sources.add("written.asm", text, Origin::Given);
    let assembly = assemble(&mut sources, root, &Options::default(), &mut StdlibOnly);
    assert!(!assembly.diagnostics.has_errors(), "{:?}", assembly.diagnostics);
    for extent in assembly.image.extents() {
        for (at, &byte) in extent.bytes.iter().enumerate() {
            machine.deposit(extent.base.wrapping_add(at as u16), byte);
        }
    }
    machine.examine(Address(0));
    let disk = Disk::from_bytes(layout, file).unwrap();
    machine.board.insert(0, Diskette::new(layout, &disk, false).unwrap(), TStates(0));
    machine
}

/// Deposits what is to be written, and runs the program until it halts.
fn runs(machine: &mut Machine, given: &[u8]) {
    for (at, &byte) in given.iter().enumerate() {
        machine.deposit(Address((GIVEN + at) as u16), byte);
    }
    assert_eq!(machine.run(TStates(6_000_000), &mut ()), Stop::Halted);
    assert_eq!(machine.board.incidents(), []);
}

/// A turn of the track under the head.
fn turn(machine: &Machine, cells: usize) -> Vec<Cell> {
    let drive = machine.board.drive(0);
    (0..cells).map(|at| drive.diskette().unwrap().cell(drive.track(), at)).collect()
}

fn memory(machine: &Machine, at: usize, length: usize) -> Vec<u8> {
    (at..at + length).map(|at| machine.board.memory.byte(Address(at as u16))).collect()
}

/// The file of the disk as it was left, which its reader finds good in every sector.
fn left(machine: &Machine, layout: &Layout) -> Vec<u8> {
    let disk = machine.board.drive(0).diskette().unwrap().disk();
    let reading = read(layout, &disk);
    assert_eq!(reading.count(|verdict| *verdict == Verdict::Good), reading.verdicts.len());
    disk.into_bytes()
}

/// Where two turns differ.
fn differ(one: &[Cell], other: &[Cell]) -> Vec<usize> {
    (0..one.len()).filter(|&at| one[at] != other[at]).collect()
}

fn wired() -> Wires {
    let shown = |shown, bit| (shown, Wire { port: 0o211, bit, low: false });
    let deed = |act, bit| Deed { act, wire: Wire { port: 0o156, bit, low: false }, pulse: false };
    let number = (0..5).map(|bit| (Shown::Sector(bit), Wire { port: 0o60, bit, low: false }));
    let status = [
        shown(Shown::Waits, 0),
        shown(Shown::Wanted, 1),
        shown(Shown::Signal(Signal::Settled), 2),
        shown(Shown::Signal(Signal::Ready), 3),
    ];
    let deeds = vec![deed(Act::Select, 0), deed(Act::Load, 1), deed(Act::Write, 2)];
    Wires { data: 0o210, deeds, shown: status.into_iter().chain(number).collect() }
}

fn chip() -> ChipWires {
    let line = |bit| Line { bit, low: false };
    let requests = Requests { port: 0o60, data: line(0), interrupt: line(1), holds: true };
    ChipWires {
        registers: [0o210, 0o211, 0o212, 0o213],
        inverted: false,
        is_slow: false,
        requests: Some(requests),
        select: Some(Wire { port: 0o156, bit: 1, low: false }),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(5) })]

    #[test]
    fn what_a_program_writes_byte_by_byte_is_what_it_reads(scene in scene(0..32)) {
        let layout = &bundled("holes-32").unwrap();
        // Five holes behind the number before it; each track begins three holes further on.
        let hole = (5 * usize::from(scene.sector) + 3 * usize::from(scene.track)) % 32;
        let old = file(0..32, |track, sector| holes_record(track, sector, 0o1000, &before(track, sector)));
        let record = holes_record(scene.track, scene.sector, scene.address, &scene.data);
        let source = format!("HERE EQU {hole}\n{WIRED}");
        let mut machine = machine(&scene, layout, old.clone(), ControllerSetup::Wired(wired()), &source);
        let was = turn(&machine, 32 * STRETCH);
        runs(&mut machine, &record);

        let now = turn(&machine, 32 * STRETCH);
        let stretch: Vec<u8> = now[hole * STRETCH..][..STRETCH].iter().map(|cell| cell.byte).collect();
        let first = stretch.iter().position(|&byte| byte != 0).unwrap();
        prop_assert!((16..=STRETCH - record.len()).contains(&first), "behind its sync, before the next hole: {first}");
        prop_assert_eq!(&stretch[first..][..record.len()], record.as_slice());
        let places = hole * STRETCH..(hole + 1) * STRETCH;
        prop_assert!(differ(&was, &now).iter().all(|at| places.contains(at)), "nothing else is written");

        let mut new = old;
        let place = (usize::from(scene.track) * 32 + usize::from(scene.sector)) * record.len();
        new[place..][..record.len()].copy_from_slice(&record);
        prop_assert!(left(&machine, layout) == new);
        prop_assert_eq!(memory(&machine, BACK, record.len()), record);
    }

    #[test]
    fn what_a_program_has_the_chip_write_is_what_it_reads(scene in scene(1..27)) {
        let layout = &bundled("marks-26").unwrap();
        let old = file(1..27, |track, sector| marks_record(track, sector, &before(track, sector)));
        let source = format!("HERE EQU {}\nONTRK EQU {}\n{CHIP}", scene.sector, scene.track);
        let mut machine = machine(&scene, layout, old.clone(), ControllerSetup::Chip(chip()), &source);
        let was = turn(&machine, TURN);
        runs(&mut machine, &scene.data);

        // 73 bytes behind the index hole, and 188 a sector: 6 of sync, 7 of ID, 11 of gap; then sync, mark, data, check.
        let begins = 73 + 188 * (usize::from(scene.sector) - 1) + 6 + 7 + 11;
        let now = turn(&machine, TURN);
        let field = with_crc(0xFFFF, [&[0o373], scene.data.as_slice()].concat());
        let field: Vec<u8> = [vec![0; 6], field].concat();
        let found: Vec<u8> = now[begins..][..field.len()].iter().map(|cell| cell.byte).collect();
        prop_assert_eq!(&found, &field);
        let marks: Vec<usize> = (begins..begins + field.len()).filter(|&at| now[at].mark).collect();
        prop_assert_eq!(marks, vec![begins + 6]);
        prop_assert!(differ(&was, &now).iter().all(|at| (begins + 7..begins + field.len()).contains(at)));

        let record = marks_record(scene.track, scene.sector, &scene.data);
        let mut new = old;
        let place = (usize::from(scene.track) * 26 + usize::from(scene.sector) - 1) * record.len();
        new[place..][..record.len()].copy_from_slice(&record);
        prop_assert!(left(&machine, layout) == new);
        prop_assert_eq!(memory(&machine, BACK + 0o200, 2), vec![0, 0], "the status of both commands");
        prop_assert_eq!(memory(&machine, BACK, 128), scene.data);
    }
}
