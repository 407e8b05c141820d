//! load-blocks.asm, load-intel-hex.asm and load-s-record.asm: good tapes, and one complaint of each kind.

use super::bench::{Bench, Chip, assert_stated};
use coldwright::isa::TStates;
use coldwright::notation::Address;
use coldwright::rehearsal::Stop;

const TARGET: u16 = 0x4000;

fn bench(chip: Chip, file: &str, routine: &str, line: &str) -> Bench {
    let source = format!(
        "{}        LXI     SP,7000H\n        CALL    SERINI\n        JMP     {routine}\n        INCLUDE '{}.asm'\nPART:   NOP\n        INCLUDE '{file}.asm'\nLDRUN   EQU     4003H\nBEHIND: HLT\n",
        chip.constants(),
        chip.file()
    );
    let mut bench = Bench::on_line(chip, line, &source);
    bench.machine.set_stop(Address(TARGET + 3), true);
    bench.run(1000);
    bench
}

fn fletcher(bytes: &[u8]) -> [u8; 2] {
    let (first, second) = bytes.iter().fold((0u32, 0u32), |(first, second), &byte| {
        let first = (first + u32::from(byte)) % 255;
        (first, (second + first) % 255)
    });
    [first as u8, second as u8]
}

/// A block of the framing `blocks`; without data, the end.
fn block(number: u8, address: u16, data: &[u8]) -> Vec<u8> {
    let [low, high] = address.to_le_bytes();
    let mut body = vec![0o332, number, data.len() as u8, low, high];
    body.extend(data);
    let check = fletcher(&body);
    [body.as_slice(), &check, &[0; 4]].concat()
}

fn program() -> Vec<u8> {
    (0..300u16).map(|at| (at * 7) as u8).collect()
}

fn blocks() -> Vec<Vec<u8>> {
    let program = program();
    let mut blocks: Vec<_> = program
        .chunks(128)
        .enumerate()
        .map(|(number, data)| block(number as u8, TARGET + 128 * number as u16, data))
        .collect();
    blocks.push(block(blocks.len() as u8, TARGET + 3, &[]));
    blocks
}

fn with_leader(blocks: &[Vec<u8>]) -> Vec<u8> {
    [vec![0; 20], blocks.concat()].concat()
}

#[test]
fn blocks_are_loaded_and_started() {
    // 1,000,000 baud would be too fast; 57,600 leaves 382 T-states for a character.
    for (chip, speed) in Chip::ALL.into_iter().flat_map(|chip| [(chip, 300), (chip, 57_600)]) {
        let mut bench = bench(chip, "load-blocks", "LOADBL", &format!("{speed} 8N2"));
        bench.play(&with_leader(&blocks()));
        assert_eq!(bench.run(200_000_000), Stop::Reached(Address(TARGET + 3)), "{chip:?} at {speed}");
        assert_eq!(bench.machine.board.memory.bytes(Address(TARGET), 300), program());
        bench.assert_quiet();
        assert_eq!(bench.machine.board.deepest_stack().unwrap().depth(), 8);
    }
}

fn complaint(file: &str, routine: &str, tape: &[u8], label: &str) -> Vec<u8> {
    let mut bench = bench(Chip::Mc6850, file, routine, "9600 8N2");
    bench.play(tape);
    assert_eq!(bench.run(20_000_000), Stop::Halted);
    let halt = Address(bench.machine.cpu.registers.pc - 1);
    assert_eq!(bench.image.nearest_label(halt).unwrap().0.name, label);
    bench.lamps()
}

#[test]
fn blocks_complain() {
    let of = |tape: &[u8], label| complaint("load-blocks", "LOADBL", tape, label);
    let mut lost = blocks();
    lost.remove(1);
    assert_eq!(of(&with_leader(&lost), "LDLOST"), [1]);
    let missing_end = &blocks()[..3];
    let mut bench = bench(Chip::Mc6850, "load-blocks", "LOADBL", "9600 8N2");
    bench.play(&with_leader(missing_end));
    assert!(matches!(bench.run(20_000_000), Stop::Endless { .. }));
    let rom = [block(0, 0x9000, &[1, 2])];
    assert_eq!(of(&with_leader(&rom), "LDMEM"), [3]);
}

/// Every single wrong bit of every byte that a check covers.
#[test]
fn blocks_notice_every_slip() {
    let good = block(0, TARGET, &[0, 255, 17, 200]);
    for at in 1..11 {
        for bit in 0..8 {
            let mut bad = good.clone();
            bad[at] ^= 1 << bit;
            let mut bench = bench(Chip::Mc6850, "load-blocks", "LOADBL", "9600 8N2");
            bench.play(&with_leader(&[bad, block(1, TARGET + 3, &[])]));
            let stop = bench.run(20_000_000);
            // A slip in the length makes it wait for more, or take the next mark for data.
            assert!(matches!(stop, Stop::Halted | Stop::Endless { .. }), "byte {at} bit {bit}: {stop:?}");
        }
    }
}

/// Sums of 0 and of 255 are the same, and stand on the tape as 0.
#[test]
fn a_check_of_zero_is_read_right() {
    for zero in [0, 1] {
        let check = |data: &[u8]| block(0, TARGET, data)[5 + data.len() + zero];
        let data = (0..=255).flat_map(|first| [[first, 0], [first, 99]]).find(|data| check(data) == 0).unwrap();
        let mut bench = bench(Chip::Mc6850, "load-blocks", "LOADBL", "9600 8N2");
        bench.play(&with_leader(&[block(0, TARGET, &data), block(1, TARGET + 3, &[])]));
        assert_eq!(bench.run(3_000_000), Stop::Reached(Address(TARGET + 3)), "{data:?}");
    }
}

fn even(text: &str) -> Vec<u8> {
    text.bytes().map(|byte| if byte.count_ones() % 2 == 1 { byte | 0x80 } else { byte }).collect()
}

fn hex_record(address: u16, kind: u8, data: &[u8]) -> String {
    let [high, low] = address.to_be_bytes();
    let body = [&[data.len() as u8, high, low, kind], data].concat();
    let check = body.iter().fold(0u8, |sum, byte| sum.wrapping_sub(*byte));
    let digits: String = body.iter().chain([&check]).map(|byte| format!("{byte:02X}")).collect();
    format!(":{digits}\r\n\0\0")
}

fn s_record(kind: u8, address: u16, data: &[u8]) -> String {
    let [high, low] = address.to_be_bytes();
    let body = [&[data.len() as u8 + 3, high, low], data].concat();
    let check = !body.iter().fold(0u8, |sum, byte| sum.wrapping_add(*byte));
    let digits: String = body.iter().chain([&check]).map(|byte| format!("{byte:02X}")).collect();
    format!("S{kind}{digits}\r\n\0\0")
}

fn chunks() -> impl Iterator<Item = (u16, Vec<u8>)> {
    let program = program();
    (0..program.len()).step_by(16).map(move |at| (TARGET + at as u16, program[at..program.len().min(at + 16)].to_vec()))
}

#[test]
fn intel_hex_is_loaded_and_started() {
    let text: String = chunks().map(|(at, data)| hex_record(at, 0, &data)).chain([":00000001FF\r\n".into()]).collect();
    for (chip, bytes) in Chip::ALL.into_iter().flat_map(|chip| [(chip, even(&text)), (chip, text.clone().into_bytes())])
    {
        let mut bench = bench(chip, "load-intel-hex", "LOADHX", "19200 8N2");
        bench.play(&bytes);
        assert_eq!(bench.run(200_000_000), Stop::Reached(Address(TARGET + 3)), "{chip:?}");
        assert_eq!(bench.machine.board.memory.bytes(Address(TARGET), 300), program());
        bench.assert_quiet();
        assert_eq!(bench.machine.board.deepest_stack().unwrap().depth(), 10);
    }
}

#[test]
fn s_records_are_loaded_and_started() {
    let head = s_record(0, 0, b"CHIMES");
    let data: String = chunks().map(|(at, data)| s_record(1, at, &data)).collect();
    let text = head + &data + &s_record(5, 19, &[]) + &s_record(9, TARGET + 3, &[]);
    for (chip, bytes) in Chip::ALL.into_iter().flat_map(|chip| [(chip, even(&text)), (chip, text.clone().into_bytes())])
    {
        let mut bench = bench(chip, "load-s-record", "LOADSR", "19200 8N2");
        bench.play(&bytes);
        assert_eq!(bench.run(200_000_000), Stop::Reached(Address(TARGET + 3)), "{chip:?}");
        assert_eq!(bench.machine.board.memory.bytes(Address(TARGET), 300), program());
        bench.assert_quiet();
        assert_eq!(bench.machine.board.deepest_stack().unwrap().depth(), 10);
    }
}

#[test]
fn text_loaders_complain() {
    let hex = |text: &str, label| complaint("load-intel-hex", "LOADHX", text.as_bytes(), label);
    assert_eq!(hex(":0440000001020304B3\r\n", "LDBAD"), [2]);
    assert_eq!(hex(":04900000010203045E\r\n", "LDMEM"), [3]);
    assert_eq!(hex(":0440000G01020304B2\r\n", "LDCHAR"), [4]);
    assert_eq!(hex(":020000021200EA\r\n", "LDKIND"), [5]);
    let s = |text: &str, label| complaint("load-s-record", "LOADSR", text.as_bytes(), label);
    assert_eq!(s("S107400001020304AF\r\n", "LDBAD"), [2]);
    assert_eq!(s("S10790000102030450\r\n", "LDMEM"), [3]);
    assert_eq!(s("S10740000102 304AE\r\n", "LDCHAR"), [4]);
    assert_eq!(s("S21D0100006461\r\n", "LDKIND"), [5]);
}

#[test]
fn as_many_bytes_as_stated() {
    for (file, routine, states) in
        [("load-blocks", "LOADBL", 190), ("load-intel-hex", "LOADHX", 600), ("load-s-record", "LOADSR", 650)]
    {
        let bench = bench(Chip::Mc6850, file, routine, "9600 8N2");
        assert_stated(file, routine, bench.size(routine, "BEHIND"), states);
    }
}

/// The stated T-states of a byte are enough for a line that leaves just so many.
#[test]
fn as_fast_as_stated() {
    for (file, routine, states, tape) in [
        ("load-blocks", "LOADBL", 190, with_leader(&[block(0, TARGET, &[1; 100])])),
        ("load-intel-hex", "LOADHX", 300, hex_record(TARGET, 0, &[1; 100]).into_bytes()),
        ("load-s-record", "LOADSR", 325, s_record(1, TARGET, &[1; 100]).into_bytes()),
    ] {
        let speed = 11.0 * 2_000_000.0 / f64::from(states);
        let mut bench = bench(Chip::UartLow, file, routine, &format!("{speed:.2} 8N2"));
        bench.machine.wait(TStates(10));
        bench.play(&tape[..tape.len().min(60)]);
        bench.run(1_000_000);
        bench.assert_quiet();
        let margin = bench.machine.board.margin(0).unwrap();
        assert!(margin.per_cent > 0.0 && margin.per_cent < 100.0);
    }
}
