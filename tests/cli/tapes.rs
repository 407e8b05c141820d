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
