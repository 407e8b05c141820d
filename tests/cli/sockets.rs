//! A boot ROM from its source to the fit: 512 bytes fit a part of 512 to the byte, and one byte more is refused.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

const SOURCE: &str = include_str!("../cases/rom/rooster.asm");

fn run(folder: &Path, line: &str) -> Output {
    let arguments = line.split(' ');
    Command::new(env!("CARGO_BIN_EXE_coldwright")).args(arguments).current_dir(folder).output().unwrap()
}

/// Assembles a source to an ELF file, and measures that against a 2704 at the top of memory.
fn fit(source: &str) -> Output {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("rooster.asm"), source).unwrap();
    let assembled = run(folder.path(), "assemble rooster.asm -o rooster.elf");
    assert!(assembled.status.success(), "{}", String::from_utf8_lossy(&assembled.stderr));
    run(folder.path(), "fit rooster.elf --socket U7=2704@0o177000")
}

#[test]
fn a_program_of_512_bytes_fills_its_part_to_the_byte() {
    let output = fit(SOURCE);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(said.contains("used 512, free 0, 100.0% full"), "{said}");
}

#[test]
fn one_byte_more_is_refused_by_byte_label_and_largest_routines() {
    let longer =
        SOURCE.replace("ORG     177000Q", "ORG     176777Q").replace("        END", "        DB      0\n        END");
    let output = fit(&longer);
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8(output.stderr).unwrap();
    for expected in [
        "[socket-overflow] error: socket `U7` is over by 1 byte: it holds `512`, and `513` are wanted",
        "1 byte lies below it; the last of them is 176777 in `BOOT`",
        "the largest routines are TUNE 392, ",
    ] {
        assert!(said.contains(expected), "no {expected:?} in {said}");
    }
}
