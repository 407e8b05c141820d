//! sum8.asm, xor8.asm, fletcher.asm and crc16.asm, against published values over the characters 123456789.

use super::bench::{Bench, Chip, assert_stated};
use coldwright::isa::Pair;

const BLOCK: u16 = 0x2000;

/// Runs a check routine over bytes; T-states and the registers A, DE and HL.
fn check(file: &str, routine: &str, bytes: &[u8], pointer: Pair, start: u16) -> (u64, u8, u16, u16) {
    let mut bench = Bench::calling(Chip::Mc6850, routine, &[file]);
    bench.put(BLOCK, bytes).set(Pair::H, start).set(pointer, BLOCK).set(Pair::B, bytes.len() as u16);
    let states = bench.call();
    assert_eq!(bench.pair(Pair::B), 0);
    (states, bench.a(), bench.pair(Pair::D), bench.pair(Pair::H))
}

/// T-states by the header: so many and so many a byte.
fn assert_time(file: &str, routine: &str, base: u64, each: u64, bytes: u16) {
    for count in [1, 2, 100] {
        let (states, ..) = check(file, routine, &vec![0; count], Pair::H, 0);
        assert_eq!(states, base + each * count as u64, "{routine} over {count}");
    }
    let mut bench = Bench::calling(Chip::Mc6850, routine, &[file]);
    assert_eq!(bench.image.extents().last().unwrap().bytes.len(), usize::from(bytes));
    bench.run(0);
    assert_stated(file, routine, bytes, base);
    assert_stated(file, routine, bytes, each);
}

/// [C] sum DD; its negative 23 and complement 22.
#[test]
fn sum() {
    let (_, a, de, hl) = check("sum8", "SUM8", b"123456789", Pair::H, 0);
    assert_eq!((a, de >> 8, hl), (0xDD, 0xDD, BLOCK + 9));
    assert_time("sum8", "SUM8", 22, 45, 14);
}

/// ISO 1155 [M]: 31.
#[test]
fn exclusive_or() {
    let (_, a, de, _) = check("xor8", "XOR8", b"123456789", Pair::H, 0);
    assert_eq!((a, de >> 8), (0x31, 0x31));
    assert_time("xor8", "XOR8", 22, 45, 14);
}

/// RFC 1146 [M]: 1EDE, and the widely published C8F0, 2057 and 0627.
#[test]
fn fletcher() {
    for (text, value) in [("123456789", 0x1EDE), ("abcde", 0xC8F0), ("abcdef", 0x2057), ("abcdefgh", 0x0627)] {
        let (_, _, de, _) = check("fletcher", "FLETCH", text.as_bytes(), Pair::H, 0);
        assert_eq!(de, (value as u16).swap_bytes(), "{text}");
    }
    let (_, _, de, _) = check("fletcher", "FLETCH", &[0xFF, 0x00], Pair::H, 0);
    assert_eq!(de, 0, "255 is 0");
}

#[test]
fn fletcher_takes_what_is_stated() {
    for (bytes, base) in [(&[0; 7][..], 0), (&[1; 9], 0)] {
        let (states, ..) = check("fletcher", "FLETCH", bytes, Pair::H, base);
        assert_eq!(states, 124 + 69 * bytes.len() as u64);
    }
    assert_stated("fletcher", "FLETCH", 33, 124);
    assert_stated("fletcher", "FLETCH", 33, 69);
}

/// CRC catalogue [M]: XMODEM 31C3, IBM-3740 29B1.
#[test]
fn cyclic() {
    for (start, value) in [(0, 0x31C3), (0xFFFF, 0x29B1)] {
        let (states, _, _, hl) = check("crc16", "CRC16", b"123456789", Pair::D, start);
        assert_eq!(hl, value);
        assert!((353 * 9..625 * 9).contains(&states), "{states}");
    }
}
