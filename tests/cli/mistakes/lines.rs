//! Ports, chips and lines.

use super::belfry;
use crate::chain::Chain;

#[test]
fn a_wrong_port() {
    let ran = belfry().spoil("ports.asm", "SERST   EQU     50Q", "SERST   EQU     137Q").run(&["rehearse"]);
    ran.assert_fails("port-unwired", &["gets nowhere: it reads port `137`, where nothing is wired", "IN SERST"]);
    assert!(ran.err.contains("[port-unwired] warning"), "{}", ran.err);
}

/// The tower with a hard-wired UART instead of its chip: what the sources believe, and what is wired.
fn uart(believed: &str, wired: &str) -> Chain {
    belfry()
        .spoil("machine.toml", "chip = \"mc6850\"", "chip = \"uart\"")
        .spoil("machine.toml", "[[port]]", &format!("[serial.bits]\n{wired}\n\n[[port]]"))
        .spoil("keyin.asm", "keyin-mc6850", "keyin-uart")
        .spoil("courier.asm", "mc6850", "uart")
        .spoil(
            "ports.asm",
            "SERFMT  EQU     21Q",
            &format!("SERRX EQU 4\nSERTX EQU 20Q\nSERLOW EQU {believed}\nSERFMT EQU 0"),
        )
}

const HIGH: &str = "\"character received\" = { bit = 2 }\n\"ready to send\" = { bit = 4 }";
const LOW: &str =
    "\"character received\" = { bit = 2, active = \"low\" }\n\"ready to send\" = { bit = 4, active = \"low\" }";

#[test]
fn a_wrong_polarity() {
    uart("0", HIGH).run(&["rehearse"]).assert_done();
    uart("24Q", LOW).run(&["rehearse"]).assert_done();
    let ran = uart("24Q", HIGH).run(&["rehearse"]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(ran.err.contains("when no character waited"), "{}", ran.err);
    assert!(ran.err.contains("whether a one or a zero means yes"), "{}", ran.err);
    let ran = uart("0", LOW).run(&["rehearse"]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(ran.err.contains("whether a one or a zero means yes"), "{}", ran.err);
}

#[test]
fn a_line_too_fast() {
    let chain = belfry().spoil("coldwright.toml", "sound = \"byte-300\"", "");
    let ran = chain.spoil("machine.toml", "300 8N2", "230400 8N2").run(&["rehearse"]);
    ran.assert_fails("character-lost", &["`courier` lost frame `548` of the tape", "`230400 8N2` takes 95 T-states"]);
}

#[test]
fn a_recording_at_another_speed_than_its_line() {
    for arguments in [&["check"][..], &["rehearse"], &["rehearse", "--sound"]] {
        let ran = belfry().spoil("machine.toml", "300 8N2", "1200 8N2").run(arguments);
        ran.assert_fails("sound-unfit", &["`byte-300` cannot carry the line `1200 8N2`: it has 300 bits a second"]);
    }
    let ran = belfry().spoil("machine.toml", "300 8N2", "300 7E1").run(&["rehearse", "--sound"]);
    ran.assert_fails("tape-unfit", &["the line `300 7E1` cannot carry frame 121 of the tape `one`, `222`"]);
}

/// The receiver looks at the first stop bit only: who only listens is told in the report, for people and for programs.
#[test]
fn one_stop_bit_against_two() {
    for (file, from, to, set, line) in [
        ("machine.toml", "300 8N2", "300 8N1", "8N2", "300 8N1"),
        ("ports.asm", "EQU     21Q", "EQU     25Q", "8N1", "300 8N2"),
    ] {
        let chain = belfry().spoil(file, from, to);
        let ran = chain.run(&["rehearse"]);
        ran.assert_done();
        let says = format!("mismatch: cassette is set to `{set}`, and the line is `{line}`; it is heard all the same");
        assert_eq!(ran.out.matches(&says).count(), 1, "once, though two stages set it so:\n{}", ran.out);
        let report: serde_json::Value = serde_json::from_str(&chain.run(&["rehearse", "--json"]).out).unwrap();
        let mismatch = &report["starts"][0]["stages"][0]["mismatch"];
        assert_eq!(
            (&mismatch["severity"], &mismatch["set"], &mismatch["format"]),
            (&"warning".into(), &set.into(), &line.into())
        );
    }
}

/// What is sent has other stop bits than the other end expects.
#[test]
fn one_stop_bit_against_two_where_it_sends() {
    let chain = Chain::copy("lineboot").spoil("machine.toml", "4800 8N1", "4800 8N2");
    let ran = chain.run(&["rehearse"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let says = "`monitor` sets `terminal` to `8N1`, and the line is `4800 8N2`";
    assert!(ran.err.contains(&format!("[format-differs] warning: {says}")), "{}", ran.err);
    assert!(ran.err.contains("a printing machine may need them"), "{}", ran.err);
    let report: serde_json::Value = serde_json::from_str(&chain.run(&["rehearse", "--json"]).out).unwrap();
    let problem = &report["starts"][0]["problems"][0];
    assert_eq!((&problem["severity"], &problem["headline"]), (&"warning".into(), &says.into()));
}

#[test]
fn other_data_bits_and_parity() {
    let ran = belfry().spoil("ports.asm", "SERFMT  EQU     21Q", "SERFMT  EQU     11Q").run(&["rehearse"]);
    let says = ["`keyin` sets `cassette` to `7E1`, and the line is `300 8N2`", "OUT SERST", "what came of it"];
    ran.assert_fails("format-differs", &says);
    // Text gets through, for the program does not look at the parity.
    let ran = Chain::copy("lineboot").spoil("machine.toml", "4800 8N1", "4800 7E1").run(&["rehearse"]);
    let says = ["`monitor` sets `terminal` to `8N1`, and the line is `4800 7E1`", "the program went on all the same"];
    ran.assert_fails("format-differs", &says);
}

#[test]
fn a_wrong_divisor() {
    let ran = belfry().spoil("ports.asm", "SERFMT  EQU     21Q", "SERFMT  EQU     22Q").run(&["rehearse"]);
    let says = ["divide its clock by `64`, and the clock is `16` times", "at 75 baud, and the line runs at 300 baud"];
    ran.assert_fails("format-differs", &says);
    let ran =
        Chain::copy("lineboot").spoil("machine.toml", "data = 0o224", "data = 0o224\nclock = 64").run(&["rehearse"]);
    let says =
        ["divide its clock by `16`, and the clock is `64` times", "at 19200 baud, and the line runs at 4800 baud"];
    ran.assert_fails("format-differs", &says);
}

/// The monitor of `lineboot`, with another byte to set its Intel 8251 up.
fn lineboot(setup: &str, to: &str) -> Chain {
    let library = include_str!("../../../stdlib/i8251.asm");
    assert!(library.contains(setup));
    let chain = Chain::copy("lineboot").spoil("monitor.asm", "'i8251.asm'", "'own.asm'");
    chain.put("own.asm", library.replacen(setup, to, 1).as_bytes())
}

#[test]
fn a_mode_word_for_synchronous_operation() {
    lineboot("MVI     A,SERMOD", "MVI     A,SERMOD").run(&["rehearse"]).assert_done();
    let ran = lineboot("MVI     A,SERMOD", "MVI     A,114Q").run(&["rehearse"]);
    let says = [
        "sets `terminal` to synchronous operation with the mode word `114`",
        "OUT SERST",
        "8N1 with a clock of 16 times the speed is `116`",
    ];
    ran.assert_fails("format-differs", &says);
    let ran = lineboot("MVI     A,SERMOD", "MVI     A,16Q").run(&["rehearse"]);
    ran.assert_fails("format-differs", &["the mode word `016`, which asks for no stop bit"]);
}

#[test]
fn a_receiver_that_is_off() {
    let ran = lineboot("MVI     A,67Q", "MVI     A,63Q").run(&["rehearse"]);
    ran.assert_fails(
        "never-ends",
        &["waits for a character from a chip whose receiver is off", "bit 2 of the command"],
    );
}
