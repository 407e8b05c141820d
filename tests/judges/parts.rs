//! A script in Python joins part files again, as a board would, and computes their checks with Python's own CRCs.

use std::fs;
use std::path::Path;
use std::process::Command;

use serde_json::json;

use crate::tool;

const SCRIPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/judges/join_parts.py");

/// A board: its socket as typed for the tool, and as the script is told of it.
struct Board {
    option: &'static str,
    files: &'static [&'static str],
    words: usize,
    bits: u8,
    interleaved: bool,
    inverted: bool,
    data: [u8; 8],
    address: Vec<u8>,
    check: Option<(&'static str, usize)>,
}

const STRAIGHT: [u8; 8] = [0, 1, 2, 3, 4, 5, 6, 7];

fn board(option: &'static str, files: &'static [&'static str], words: usize, bits: u8) -> Board {
    let address = (0..words.trailing_zeros() as u8).collect();
    Board { option, files, words, bits, interleaved: false, inverted: false, data: STRAIGHT, address, check: None }
}

#[test]
fn a_boot_rom_of_512_bytes_joins_from_one_eprom_and_from_two_4_bit_proms() {
    let program = assembled("tests/cases/rom/rooster.asm");
    assert_eq!(program.len(), 512);
    for board in
        [board("U7=2704@0o177000", &["U7"], 512, 8), board("U8=82S131@0o177000", &["U8-high", "U8-low"], 512, 4)]
    {
        assert_joins(&board, 0o177000, &program, &program);
    }
}

#[test]
fn boards_wired_in_every_way_join_again() {
    let erased_low = |program: &[u8], span: usize, fill: u8| {
        let mut bytes = program.to_vec();
        bytes.resize(span, fill);
        bytes
    };
    let program = bytes(200);
    let crossed = Board {
        inverted: true,
        data: [6, 0, 1, 7, 2, 3, 5, 4],
        address: vec![7, 1, 0, 2, 3, 6, 5, 4],
        ..board("A=82S129@0x100,inverted,data=6.0.1.7.2.3.5.4,address=7.1.0.2.3.6.5.4", &["A-high", "A-low"], 256, 4)
    };
    assert_joins(&crossed, 0x100, &program, &erased_low(&program, 256, 0xFF));
    let pairs = Board {
        interleaved: true,
        address: vec![1, 0, 2, 3, 4, 5, 6, 7],
        ..board(
            "B=HM-7611@0x200,interleaved,address=1.0.2.3.4.5.6.7",
            &["B-even-high", "B-even-low", "B-odd-high", "B-odd-low"],
            256,
            4,
        )
    };
    assert_joins(&pairs, 0x200, &program, &erased_low(&program, 512, 0xFF));
    let lanes = Board {
        interleaved: true,
        inverted: true,
        ..board("C=1702A@0,interleaved,inverted,fill=0x76", &["C-even", "C-odd"], 256, 8)
    };
    assert_joins(&lanes, 0, &program, &erased_low(&program, 512, 0x76));
}

#[test]
fn checks_hold_by_pythons_own_arithmetic() {
    let program = bytes(500);
    for (option, check) in [
        ("U7=2704@0o177000,inverted,check=sum8@0o177777", ("sum8", 511)),
        ("U7=2704@0o177000,inverted,check=xor8@0o177776", ("xor8", 510)),
        ("U7=2704@0o177000,inverted,check=crc-16/xmodem@0o177776", ("crc-16/xmodem", 510)),
        ("U7=2704@0o177000,inverted,check=crc-32/iso-hdlc@0o177764", ("crc-32/iso-hdlc", 500)),
    ] {
        let board = Board { inverted: true, check: Some(check), ..board(option, &["U7"], 512, 8) };
        assert_joins(&board, 0o177000, &program, &program);
    }
}

/// The bytes of a source.
fn assembled(source: &str) -> Vec<u8> {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out.bin");
    let arguments = ["assemble", source, "-o", out.to_str().unwrap()];
    let output = Command::new(env!("CARGO_BIN_EXE_coldwright"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    fs::read(out).unwrap()
}

/// Writes the part files of a program and compares what the script makes of them with the bytes expected at the start.
fn assert_joins(board: &Board, origin: u16, program: &[u8], expected: &[u8]) {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("program.bin"), program).unwrap();
    let origin = origin.to_string();
    let output = Command::new(env!("CARGO_BIN_EXE_coldwright"))
        .args(["parts", "write", "program.bin", "--origin", &origin, "--socket", board.option, "-o", "."])
        .current_dir(folder.path())
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let Some(joined) = join(board, folder.path()) else { return };
    assert_eq!(joined[..expected.len()], *expected, "{}", board.option);
    assert!(board.check.is_some() || joined.len() == expected.len(), "{}", board.option);
}

fn join(board: &Board, folder: &Path) -> Option<Vec<u8>> {
    let files: Vec<_> = board.files.iter().map(|name| format!("{name}.bin")).collect();
    let described = json!({
        "files": files, "words": board.words, "bits": board.bits, "interleaved": board.interleaved,
        "inverted": board.inverted, "data": board.data, "address": board.address, "check": board.check,
    });
    let printed = tool::run("python3", &[SCRIPT, &described.to_string()], folder)?;
    Some(hex::decode(printed.trim()).unwrap())
}

/// Bytes without a pattern that a swap of lines would leave unchanged, the same in every run.
fn bytes(count: usize) -> Vec<u8> {
    let step = |state: &mut u32| {
        *state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        Some((*state >> 24) as u8)
    };
    std::iter::repeat(()).scan(1, |state, ()| step(state)).take(count).collect()
}
