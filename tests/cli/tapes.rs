//! Tapes that are given: what was written before the chain was changed, and what is mostly noise.

use std::fs;
use std::path::Path;

use super::bench::Bench;
use super::chain::Chain;

/// A sound tape of an older build is told from a damaged one.
#[test]
fn a_tape_of_an_older_build_is_told() {
    let chain = Chain::copy("belfry");
    chain.run(&["build"]).assert_done();
    let chain = chain.spoil("chimes.asm", "DB      2,1,10Q", "DB      1,2,10Q");
    for file in ["tape-one.bin", "tape-one.wav"] {
        let tape = format!("one={}", chain.path("out").join(file).display());
        let says = [
            "the tape reads whole, but holds another program than the chain makes now",
            "was it written before the last change?",
        ];
        chain.run(&["rehearse", "--tape", &tape]).assert_fails("byte-wrong", &says);
    }
}

/// A tape that is mostly noise is printed within bounds, and whole where that is asked for.
#[test]
fn noise_is_printed_within_bounds() {
    let noise = fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases/tape/noise.tape")).unwrap();
    let bench = Bench::new();
    bench.put("noise.tape", &noise);
    let text = |arguments: &[&str]| String::from_utf8(bench.run(arguments).out).unwrap();
    let usual = text(&["tape", "read", "noise.tape"]);
    let all = text(&["tape", "read", "noise.tape", "--all"]);
    let lines = |out: &str, of: &str| out.lines().filter(|line| line.contains(of)).count();
    assert!(usual.lines().count() < 200 && lines(&usual, "not printed") == 1, "{usual}");
    assert!(lines(&all, "  noise ") > 1000 && lines(&all, "not printed") == 0);
    assert_eq!(lines(&all, "DAMAGED"), lines(&usual, "DAMAGED"));
}

/// Of a recording that is mostly noise some lines are printed, and the rest is counted.
#[test]
fn much_noise_of_a_recording_is_counted() {
    let bench = Bench::new();
    bench.put("long.bin", (0..700u16).map(|at| (at * 7 % 251) as u8).collect::<Vec<_>>());
    let written = "tape write long.bin --origin 0 --framing intel-hex -o long.tape";
    bench.run(&written.split(' ').collect::<Vec<_>>()).assert_done();
    let recorded = "audio write long.tape --preset byte-1200 --rate 8000 -o long.wav";
    bench.run(&recorded.split(' ').collect::<Vec<_>>()).assert_done();
    let read = ["audio", "read", "long.wav", "--preset", "byte-1200", "--framing", "blocks"];
    let text = |arguments: &[&str]| String::from_utf8(bench.run(arguments).out).unwrap();
    let (usual, all) = (text(&read), text(&[&read[..], &["--all"]].concat()));
    let lines = |out: &str| out.lines().filter(|line| line.contains("  noise ")).count();
    assert!(lines(&all) > 40 && !all.contains("not printed"), "{all}");
    assert_eq!(lines(&usual), 40, "{usual}");
    let left = format!("not printed: {} of noise; `--all` prints them", lines(&all) - 40);
    assert!(usual.contains(&left), "{usual}");
}

/// Two readings that have both lost the first block, one with the leader and one in noise, are not whole together: no number
/// tells that the block they begin with is the first.
#[test]
fn readings_that_lost_the_same_first_block_are_no_whole_program() {
    let bench = Bench::new();
    let bytes: Vec<u8> = (0..70u32).map(|at| (at.wrapping_mul(2_654_435_761) >> 23) as u8).collect();
    bench.put("p.bin", &bytes);
    assert_eq!(
        bench.run(&["tape", "write", "p.bin", "--origin", "0", "--framing", "intel-hex", "-o", "t.tape"]).code,
        Some(0)
    );
    let tape = fs::read(bench.path("t.tape")).unwrap();
    let blocks: Vec<usize> = (0..tape.len()).filter(|&at| tape[at] == b':').collect();
    assert!(blocks.len() > 3);
    bench.put("torn.tape", &tape[blocks[1] - 2..]);
    let mut noisy = tape.clone();
    noisy[blocks[0]..blocks[1] - 3].fill(0o041);
    bench.put("noisy.tape", &noisy);
    let read = |names: &[&str]| {
        let ran = bench.run(&[&["tape", "read"], names, &["--framing", "intel-hex"]].concat());
        (ran.code, String::from_utf8(ran.out).unwrap())
    };
    let whole = |out: &str| out.lines().rfind(|line| line.contains("program 1:")).unwrap_or_default().to_owned();
    let (_, torn) = read(&["torn.tape"]);
    assert!(whole(&torn).ends_with("whole if nothing is torn off before it"), "{torn}");
    let (code, noise) = read(&["noisy.tape"]);
    assert!(code == Some(1) && !whole(&noise).contains("whole"), "{noise}");
    let (_, merged) = read(&["torn.tape", "noisy.tape"]);
    assert!(whole(&merged).ends_with("whole if nothing is torn off before it"), "{merged}");
    // A reading that has it settles it.
    let (code, merged) = read(&["torn.tape", "noisy.tape", "t.tape"]);
    assert!(code == Some(0) && whole(&merged).ends_with("whole"), "{merged}");
}
