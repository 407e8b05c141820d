//! What the hand does wrong at the panel.

use super::belfry;
use crate::chain::Chain;

#[test]
fn one_wrong_switch() {
    // The jump back goes to the wrong place.
    let ran = belfry().run(&["rehearse", "--slip", "0o027=0o113"]);
    ran.assert_fails("ran-unloaded", &["the slip: 000027 was set to 113 instead of 013"]);
    // The mask of the status bit is another.
    let ran = belfry().run(&["rehearse", "--slip", "0o017=0o011"]);
    // Carrier and parity stay zero, so nothing comes of this slip; the byte is wrong all the same.
    ran.assert_fails("byte-wrong", &["`keyin` was started with `011` at `000017` instead of `001`"]);
    let ran = belfry().run(&["rehearse", "--slip", "0o017=0o020"]);
    ran.assert_fails("never-ends", &["does not see that a character waits", "000017 was set to 020 instead of 001"]);
}

/// The low and the high byte of the address in `LXI H`.
#[test]
fn swapped_address_bytes() {
    let ran = belfry().run(&["rehearse", "--slip", "0o011=0", "--slip", "0o012=0o13"]);
    let says = [
        "`keyin` has stored `0` of 190 bytes of `courier`",
        "`keyin` stored at 005400, where nothing of the chain belongs",
        "000011 was set to 000 instead of 013",
        "000012 was set to 013 instead of 000",
    ];
    ran.assert_fails("never-ends", &says);
}

/// DEPOSIT NEXT was not pressed: what follows lies one address too low.
#[test]
fn one_deposit_left_out() {
    let ran = belfry().run(&["rehearse", "--skip", "0o001"]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(ran.err.contains("the skip: 003 was not deposited at 000001"), "{}", ran.err);
    let trace = belfry().run(&["rehearse", "--skip", "0o001", "--trace"]).out;
    assert!(trace.lines().next().unwrap().contains("076 323"), "MVI A has the next byte:\n{trace}");
}

#[test]
fn a_fault_where_nothing_is_deposited() {
    for fault in ["--slip=0o400=1", "--skip=0o400"] {
        let ran = belfry().run(&["rehearse", fault]);
        ran.assert_fails("nothing-to-deposit", &["nothing is deposited at `000400`"]);
    }
}

#[test]
fn sense_switches_that_contradict() {
    let ran = belfry()
        .spoil("coldwright.toml", "framing = \"bare\" }", "framing = \"bare\" }\nsense = 0o75")
        .run(&["rehearse"]);
    ran.assert_fails(
        "sense-contradiction",
        &["`courier` wants the sense switches at `075`, `chimes` wants them at `004`"],
    );
    let ran = belfry().spoil("machine.toml", ", sense_port = 0o243", "").run(&["rehearse"]);
    ran.assert_fails("sense-contradiction", &["the machine has no sense switches"]);
}

/// The second stage starts only with the right setting; the hand has another.
#[test]
fn sense_switches_set_wrong() {
    let careful = belfry().spoil(
        "courier.asm",
        "        JMP     LOADBL",
        "        IN      SENSE\n        CPI     4\n        JNZ     TORN\n        JMP     LOADBL",
    );
    let ran = careful.run(&["rehearse"]);
    ran.assert_done();
    assert!(ran.out.contains("EXAMINE 000000, sense switches 004, RUN"), "{}", ran.out);
    let ran = careful.run(&["rehearse", "--sense", "0o14"]);
    let says = ["`courier` stopped at `TORN", "the sense switches stood at 014 instead of 004"];
    ran.assert_fails("stopped-early", &says);
}

/// Blank tape that passed is no loss; the beginning of a program is.
#[test]
fn a_tape_started_too_early() {
    let ran = belfry().run(&["rehearse", "--after", "one=-3"]);
    ran.assert_done();
    assert!(ran.out.contains("0.000 s  running for 3 s already: the tape `one`: 745 frames"), "{}", ran.out);
    let ran = belfry().run(&["rehearse", "--after", "one=-6.5"]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(ran.err.contains("the tape `one` ran for 6.5 s when RUN was pressed"), "{}", ran.err);
    let ran = Chain::copy("rooster").run(&["rehearse", "--start", "on trial", "--after", "crow=-1"]);
    ran.assert_fails("tape-unfit", &["the tape `crow` cannot run before the first stage is started"]);
}

/// The machine waits, and so does the timeline; past the limit of the chain it is a failure.
#[test]
fn a_tape_started_too_late() {
    let ran = belfry().run(&["rehearse", "--after", "one=100"]);
    ran.assert_done();
    assert!(ran.out.contains("100.000 s  start the tape `one`"), "{}", ran.out);
    let ran = belfry().run(&["rehearse", "--after", "one=601"]);
    let says = ["`keyin` is not done after 600 seconds", "was started 601 s after the stage that reads it"];
    ran.assert_fails("takes-too-long", &says);
}
