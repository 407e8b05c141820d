//! `new` and `check`: every chain that can be made agrees at once.

use std::fs;
use std::path::Path;

use super::chain::{example, run};

#[test]
fn every_new_chain_agrees() {
    let folder = tempfile::tempdir().unwrap();
    for chip in ["mc6850", "i8251", "uart"] {
        for framing in ["blocks", "intel-hex", "s-record"] {
            for rom in [false, true] {
                let name = format!("{chip}-{framing}-{rom}");
                let mut arguments = vec!["new", &name, "--chip", chip, "--framing", framing];
                if rom {
                    arguments.push("--rom");
                }
                run(folder.path(), &arguments).assert_done();
                run(folder.path(), &["check", &name]).assert_done();
                let ran = run(folder.path(), &["rehearse", &name]);
                ran.assert_done();
                assert!(ran.out.contains("`hello` puts 001 out to port 135 lamps"), "{}", ran.out);
            }
        }
    }
}

/// What a machine has that is not the one of a new chain: in `machine.toml`, and in `ports.asm`.
const OWN: [(&str, &[(&str, &str)]); 2] = [
    (
        "machine.toml",
        &[
            ("clock_hz = 2_000_000", "clock_hz = 1_500_000"),
            ("\"straight\", sense_port = 0o270", "\"split\""),
            ("size = 0x2000", "size = 0x1000"),
            ("part = \"2708\"", "part = \"2704\""),
            ("base = 0o176000", "base = 0o177000"),
            ("status = 0o75", "status = 0o306"),
            ("data = 0o74", "data = 0o307"),
            ("300 8N2", "1200 8N1"),
            ("number = 0o135", "number = 0o61"),
            ("bit = 5, active = \"high\"", "bit = 3, active = \"low\""),
            ("bit = 1, active = \"high\"", "bit = 5, active = \"low\""),
        ],
    ),
    (
        "ports.asm",
        &[
            ("EQU     75Q", "EQU     306Q"),
            ("EQU     74Q", "EQU     307Q"),
            ("SERFMT  EQU     21Q", "SERFMT  EQU     25Q"),
            ("SERMOD  EQU     316Q", "SERMOD  EQU     116Q"),
            ("SERRX   EQU     40Q", "SERRX   EQU     10Q"),
            ("SERTX   EQU     2 ", "SERTX   EQU     40Q "),
            ("SERLOW  EQU     0", "SERLOW  EQU     50Q"),
            ("EQU     135Q            ; number", "EQU     61Q             ; number"),
            ("EQU     20000Q", "EQU     10000Q"),
            ("EQU     176000Q", "EQU     177000Q"),
        ],
    ),
];

fn edit(folder: &Path, (file, changes): (&str, &[(&str, &str)])) {
    let text = fs::read_to_string(folder.join(file)).unwrap();
    let edited = changes.iter().fold(text, |text, (from, to)| text.replacen(from, to, 1));
    fs::write(folder.join(file), edited).unwrap();
}

/// Other ports, another clock, half the memory, a ROM of 512 bytes, status pins that are low for yes.
#[test]
fn a_machine_of_ones_own_agrees_once_both_files_describe_it() {
    let folder = tempfile::tempdir().unwrap();
    for chip in ["mc6850", "i8251", "uart"] {
        for (framing, rom) in [("blocks", true), ("intel-hex", false), ("s-record", true), ("blocks", false)] {
            let name = format!("{chip}-{framing}-{rom}");
            let mut arguments = vec!["new", &name, "--chip", chip, "--framing", framing];
            arguments.extend(rom.then_some("--rom"));
            run(folder.path(), &arguments).assert_done();
            edit(&folder.path().join(&name), OWN[0]);
            let half = run(folder.path(), &["check", &name]);
            let said = if rom { "[socket-stray] error" } else { "[port-unwired] warning" };
            assert!(half.err.contains(said), "{name}: {}", half.err);
            edit(&folder.path().join(&name), OWN[1]);
            let ran = run(folder.path(), &["rehearse", &name]);
            ran.assert_done();
            assert!(ran.out.contains("`hello` puts 001 out to port 061 lamps"), "{name}: {}", ran.out);
        }
    }
}

/// No port of a new chain is told in one file only.
#[test]
fn what_both_files_hold_is_said_in_both() {
    let folder = tempfile::tempdir().unwrap();
    for chip in ["mc6850", "i8251", "uart"] {
        run(folder.path(), &["new", chip, "--chip", chip, "--rom"]).assert_done();
        let read = |file: &str| fs::read_to_string(folder.path().join(chip).join(file)).unwrap();
        let (machine, ports) = (read("machine.toml"), read("ports.asm"));
        let notes = machine.lines().filter_map(|line| line.rsplit_once("# ").map(|(_, note)| note));
        let names = notes.flat_map(|note| note.split(", ")).filter(|note| note.chars().all(char::is_uppercase));
        let names: Vec<_> = names.collect();
        assert!(names.len() >= 5, "{names:?}");
        for name in names {
            assert!(ports.lines().any(|line| line.starts_with(&format!("{name:<8}EQU"))), "{chip}: {name}");
        }
    }
}

#[test]
fn an_existing_folder_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("shed")).unwrap();
    run(folder.path(), &["new", "shed"]).assert_fails("file-unwritable", &["it exists already"]);
    run(folder.path(), &["new", "sh\"ed"]).assert_fails("file-unwritable", &["a name is letters"]);
    run(folder.path(), &["check", "shed"]).assert_fails("file-unreadable", &["`coldwright new NAME` makes a chain"]);
}

#[test]
fn check_says_that_all_is_well() {
    for name in ["belfry", "rooster", "lineboot", "probe", "headland"] {
        let ran = run(&example(name), &["check"]);
        ran.assert_done();
        assert!(ran.out.ends_with("no mistake was found\n"), "{}", ran.out);
        let json: serde_json::Value = serde_json::from_str(&run(&example(name), &["check", "--json"]).out).unwrap();
        assert_eq!(json["chain"], name);
    }
}
