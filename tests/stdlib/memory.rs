//! move.asm, fill.asm and memtest.asm.

use super::bench::{Bench, Chip, assert_stated};
use coldwright::isa::{Flags, Pair};
use coldwright::notation::Address;

#[test]
fn a_block_moves() {
    let bytes: Vec<u8> = (1..=200).collect();
    let mut bench = Bench::calling(Chip::Mc6850, "MOVE", &["move"]);
    bench.put(0x2000, &bytes).set(Pair::D, 0x2000).set(Pair::H, 0x3000).set(Pair::B, 200);
    assert_eq!(bench.call(), 10 + 48 * 200);
    assert_eq!(bench.machine.board.memory.bytes(Address(0x3000), 200), bytes);
    assert!(!bench.machine.board.memory.is_known(Address(0x3000 + 200)));
    assert_eq!((bench.pair(Pair::B), bench.pair(Pair::D), bench.pair(Pair::H)), (0, 0x2000 + 200, 0x3000 + 200));
    assert_stated("move", "MOVE", 11, 48);
}

#[test]
fn a_block_moves_down_onto_itself() {
    let bytes: Vec<u8> = (1..=50).collect();
    let mut bench = Bench::calling(Chip::Mc6850, "MOVE", &["move"]);
    bench.put(0x2010, &bytes).set(Pair::D, 0x2010).set(Pair::H, 0x2000).set(Pair::B, 50);
    bench.call();
    assert_eq!(bench.machine.board.memory.bytes(Address(0x2000), 50), bytes);
}

#[test]
fn a_block_is_filled() {
    let mut bench = Bench::calling(Chip::Mc6850, "FILL", &["fill"]);
    bench.set(Pair::H, 0x2000).set(Pair::B, 300).set(Pair::D, 0o125);
    assert_eq!(bench.call(), 10 + 36 * 300);
    assert_eq!(bench.machine.board.memory.bytes(Address(0x2000), 300), [0o125; 300]);
    assert!(!bench.machine.board.memory.is_known(Address(0x2000 + 300)));
    assert_stated("fill", "FILL", 9, 36);
}

fn test_memory(base: u16, count: u16, seed: u16) -> Bench {
    let mut bench = Bench::calling(Chip::Mc6850, "MEMTST", &["memtest"]);
    bench.set(Pair::H, base).set(Pair::B, count).set(Pair::D, seed << 8);
    bench
}

#[test]
fn good_memory_passes() {
    for seed in [0, 0o377] {
        let mut bench = test_memory(0x2000, 0x300, seed);
        let states = bench.call();
        assert!(bench.machine.cpu.registers.flags().contains(Flags::Z));
        assert_eq!(states, 52 + 157 * 0x300);
    }
    assert_stated("memtest", "MEMTST", 36, 157);
}

/// Memory ends within the block: the first address without it is named.
#[test]
fn missing_memory_is_found() {
    let mut bench = test_memory(0x7FF0, 0x40, 0);
    let done = bench.label("DONE");
    bench.machine.set_stop(done, true);
    bench.run(1_000_000);
    assert!(!bench.machine.cpu.registers.flags().contains(Flags::Z));
    assert_eq!(bench.pair(Pair::H), 0x8000);
    assert_eq!(bench.a(), 0o377 ^ 0x80);
}
