//! Tapes that are not what the chain makes.

use super::{belfry, tape, with_tape};
use crate::chain::{Chain, run};

#[test]
fn a_tape_for_another_address() {
    let ran = with_tape(&tape(&belfry(), 0o2000));
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(ran.err.contains("the tape is for 002400, `chimes` belongs at 000400"), "{}", ran.err);
}

#[test]
fn a_byte_dropped() {
    let mut bytes = tape(&belfry(), 0);
    let mark = bytes.iter().rposition(|&byte| byte == 0o332).unwrap();
    bytes.remove(mark - 60);
    let ran = with_tape(&bytes);
    ran.assert_fails(
        "stopped-early",
        &[
            "`courier` stopped at `LDBAD`",
            "it put 002 out to port 355",
            "the tape is damaged at frames 545 to 669",
            "the tape lacks a 002 at frame 614",
        ],
    );
}

#[test]
fn a_missing_end_block() {
    let mut bytes = tape(&belfry(), 0);
    let mark = bytes.iter().rposition(|&byte| byte == 0o332).unwrap();
    bytes.truncate(mark);
    bytes.extend([0; 60]);
    let says = ["all of `chimes` was read, and `courier` waits for more", "the tape has no end block"];
    with_tape(&bytes).assert_fails("never-ends", &says);
}

/// The key-in loader has no check; what it loaded has.
#[test]
fn a_byte_that_is_another() {
    let mut bytes = tape(&belfry(), 0);
    bytes[200] ^= 4;
    let says = [
        "`courier` was started with `070` at `000273` instead of `074`",
        "frame 200 of the tape is 070 instead of 074",
    ];
    with_tape(&bytes).assert_fails("byte-wrong", &says);
}

#[test]
fn a_wrong_tape() {
    let rooster = Chain::copy("rooster");
    assert_eq!(rooster.run(&["build"]).code, 0);
    let crow = std::fs::read(rooster.path("out/tape-crow.bin")).unwrap();
    let ran = with_tape(&crow);
    assert_eq!(ran.code, 1, "{}", ran.err);
    let flat = ran.err.split_whitespace().collect::<Vec<_>>().join(" ");
    for says in [
        "the tape holds nothing of the framing `bare`",
        "frame 120 of the tape is 332, and the chain makes 055 there; it has 232 frames, the chain makes 745",
    ] {
        assert!(flat.contains(says), "{says}\n{}", ran.err);
    }
}

#[test]
fn an_empty_tape() {
    with_tape(&[]).assert_fails("never-ends", &["is over", "the tape ends early", "it has 0 frames"]);
}

/// What `build` writes is what `rehearse` plays: bytes, recording, parts.
#[test]
fn what_is_built_is_what_is_played() {
    let chain = belfry();
    assert_eq!(chain.run(&["build"]).code, 0);
    let verdict = |arguments: &[&str]| {
        let ran = chain.run(&[&["rehearse"], arguments].concat());
        ran.assert_done();
        let verdict = ran.out.lines().find(|line| line.contains(" agrees with the description"));
        verdict.unwrap().to_owned()
    };
    assert_eq!(verdict(&[]), verdict(&["--tape", "one=out/tape-one.bin"]));
    assert_eq!(verdict(&["--sound"]), verdict(&["--tape", "one=out/tape-one.wav"]));
    assert_ne!(verdict(&[]), verdict(&["--sound"]), "a recording has a leader of its own");
    assert!(chain.run(&["rehearse"]).out.contains("the recording of the tape one was not played: `--sound` plays it"));
    assert!(!chain.run(&["rehearse", "--sound"]).out.contains("was not played"));
}

/// A recording is told by what it holds, not by its name alone.
#[test]
fn a_recording_of_ones_own() {
    let chain = belfry();
    assert_eq!(chain.run(&["build"]).code, 0);
    let wav = std::fs::read(chain.path("out/tape-one.wav")).unwrap();
    let chain = chain.put("captured", &wav);
    let ran = chain.run(&["rehearse", "--tape", "one=captured"]);
    ran.assert_done();
    assert!(
        ran.out.contains("start the recording that was given for the tape `one`: 745 characters, the first after 5 s")
    );
    // Half a second of silence in the middle of the payload.
    let mut torn = wav.clone();
    let at = (torn.len() * 8 / 10) & !1;
    torn[at..at + 44_100].fill(0);
    let chain = chain.put("torn.wav", &torn);
    let ran = chain.run(&["rehearse", "--tape", "one=torn.wav"]);
    assert_eq!(ran.code, 1, "{}", ran.out);
    assert!(ran.err.contains("the tape is damaged at frames"), "{}", ran.err);
    let chain = chain.spoil("coldwright.toml", "sound = \"byte-300\"", "");
    let ran = chain.run(&["rehearse", "--tape", "one=captured"]);
    ran.assert_fails("sound-unfit", &["it is not known how the tape `one` sounds", "say `sound` under `[[tape]]`"]);
}

/// A tape that runs fast or slow comes as fast or as slow as it is, and a chip bears a few per cent of it.
#[test]
fn a_tape_that_runs_fast() {
    let chain = belfry();
    assert_eq!(chain.run(&["build"]).code, 0);
    let mut wav = std::fs::read(chain.path("out/tape-one.wav")).unwrap();
    let mut at_rate = |rate: u32| {
        wav[24..28].copy_from_slice(&rate.to_le_bytes());
        wav[28..32].copy_from_slice(&(rate * 2).to_le_bytes());
        std::fs::write(chain.path("fast.wav"), &wav).unwrap();
        chain.run(&["rehearse", "--tape", "one=fast.wav", "--json"])
    };
    for (rate, factor) in [(45_864, 1.04), (42_336, 0.96)] {
        let ran = at_rate(rate);
        assert_eq!(ran.code, 0, "{}", ran.err);
        let report: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        let entered = report["starts"][0]["stages"][2]["entered"].as_f64().unwrap() / 2e6;
        let wanted = 1.0 + 29.965 / factor;
        assert!((entered - wanted).abs() < 0.2, "{entered} s, not {wanted} s");
    }
}

#[test]
fn no_tape_of_that_name() {
    for arguments in [["--tape", "on=x"], ["--after", "on=1"]] {
        let ran = run(&crate::chain::example("belfry"), &["rehearse", arguments[0], arguments[1]]);
        ran.assert_fails("home-unknown", &["the chain has no tape `on`", "did you mean `one`?"]);
    }
}
