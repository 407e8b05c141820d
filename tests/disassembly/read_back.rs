//! The whole way of a user: a monitor comes back from its part files without its source, is changed, and starts.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use tempfile::TempDir;

fn run(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_coldwright"));
    command.args(arguments).current_dir(folder).env("NO_COLOR", "1").output().unwrap()
}

fn done(folder: &Path, arguments: &[&str]) -> String {
    let output = run(folder, arguments);
    let said = format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert_eq!(output.status.code(), Some(0), "{arguments:?}\n{said}");
    said
}

/// The example with the monitor, and its part files; the monitor's source is gone.
fn bench() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/lineboot");
    for name in ["coldwright.toml", "machine.toml", "monitor.asm", "table.asm"] {
        fs::copy(example.join(name), folder.path().join(name)).unwrap();
    }
    done(folder.path(), &["parts", "write", "monitor.asm", "--machine", "machine.toml", "-o", "parts"]);
    fs::remove_file(folder.path().join("monitor.asm")).unwrap();
    folder
}

#[test]
fn a_monitor_comes_back_from_its_part_is_changed_and_starts() {
    let folder = bench();
    let folder = folder.path();
    let said = done(folder, &["disassemble", "parts", "--machine", "machine.toml", "-o", "monitor.asm"]);
    assert!(said.contains("the same bytes"), "{said}");
    let text = fs::read_to_string(folder.join("monitor.asm")).unwrap();
    for wanted in ["TERMINAL_STATUS EQU 225Q", "Sets up the chip of the terminal", "'LINEBOOT'", "CPI     'H'"] {
        assert!(text.contains(wanted), "{wanted}\n{text}");
    }
    // Another greeting, and a longer one: everything behind it moves.
    let changed = text.replace("'LINEBOOT'", "'GOOD EVENING, LINEBOOT'");
    assert_ne!(text, changed);
    fs::write(folder.join("monitor.asm"), changed).unwrap();
    done(folder, &["fit", "monitor.asm", "--machine", "machine.toml"]);
    done(folder, &["build", "."]);
    let said = done(folder, &["rehearse", "."]);
    assert!(said.contains("GOOD EVENING, LINEBOOT") || said.contains("terminal"), "{said}");
}

/// What a person adds to the monitor without an eye on its length: a command that clears memory, and one that tells them all.
const ADDED: [(&str, &str); 3] = [
    (
        "        CPI     'J'\n        JNZ     J176035\n",
        "        CPI     '?'\n        JNZ     NOHELP\n        JMP     HELP\nNOHELP: CPI     'Z'\n        JNZ     NOCLR\n\
         \u{20}       JMP     CLEAR\nNOCLR:  CPI     'J'\n        JNZ     J176035\n",
    ),
    (
        "J176127: MVI    D,0",
        "; Clears the 16 bytes from the last address on.\nCLEAR:  CALL    R176161\n        LHLD    M007776\n\
         \u{20}       MVI     B,0\n        MVI     C,20Q\nCLEAR1: MVI     M,0\n        INX     H\n        DCR     C\n\
         \u{20}       MOV     A,C\n        CPI     0\n        JNZ     CLEAR1\n        SHLD    M007776\n\
         \u{20}       JMP     J176022\n\nHELP:   CALL    R176161\n        LXI     H,WORDS\n        CALL    TEXT\n\
         \u{20}       JMP     J176022\n\nJ176127: MVI    D,0",
    ),
    (
        "; Sets up the chip",
        "WORDS:  DB      ':... HEX, H SHOW, K NNNN ADDRESS, J START, Z CLEAR, ? THIS'\n        STUFF   575,'.'\n\
         \u{20}       DB      0\n\n; Sets up the chip",
    ),
];

/// A ROM is read back, changed, six bytes too long then, and made to fit: the whole chain is well with it.
#[test]
fn a_monitor_that_is_six_bytes_too_long_is_made_to_fit() {
    let folder = bench();
    let folder = folder.path();
    done(folder, &["disassemble", "parts", "--machine", "machine.toml", "-o", "monitor.asm"]);
    let mut text = fs::read_to_string(folder.join("monitor.asm")).unwrap();
    for (from, to) in ADDED {
        assert!(text.contains(from), "{from}\n{text}");
        text = text.replacen(from, to, 1);
    }
    fs::write(folder.join("monitor.asm"), text).unwrap();

    let misfit = run(folder, &["build", "."]);
    let said = String::from_utf8_lossy(&misfit.stderr);
    assert_eq!(misfit.status.code(), Some(1), "{said}");
    assert!(said.contains("the program runs past the top of memory by 6 bytes"), "{said}");
    assert!(said.contains("bytes of `monitor.asm` could be saved"), "{said}");

    let said = done(folder, &["shorten", ".", "--apply"]);
    assert!(said.contains("the start agrees with the description"), "{said}");
    done(folder, &["fit", "monitor.asm", "--machine", "machine.toml"]);
    done(folder, &["build", ".", "--rehearse"]);
}

#[test]
fn a_tape_a_recording_and_an_image_make_one_source() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/belfry");
    for name in ["chimes.asm", "ports.asm"] {
        fs::copy(example.join(name), folder.join(name)).unwrap();
    }
    done(folder, &["assemble", "chimes.asm", "-o", "chimes.s19"]);
    done(folder, &["tape", "write", "chimes.asm", "--framing", "blocks", "-o", "chimes.tape"]);
    done(folder, &["audio", "write", "chimes.tape", "--framing", "blocks", "-o", "chimes.wav"]);
    let source = |name: &str| {
        let said = done(folder, &["disassemble", name, "--notation", "hex"]);
        said.split_once('\n').unwrap().1.to_owned()
    };
    let wanted = source("chimes.s19");
    assert!(wanted.contains("START:"), "{wanted}");
    assert_eq!(source("chimes.tape"), wanted);
    assert_eq!(source("chimes.wav"), wanted);
}

/// What a reader makes of the part if one of its data lines has no contact, and two of its address lines are crossed.
fn read_badly(byte: u8, at: usize, good: &[u8]) -> [u8; 2] {
    let crossed = at & !0o24 | (at & 4) << 2 | (at & 0o20) >> 2;
    [byte & !0o40, good[crossed]]
}

#[test]
fn a_faulty_reading_of_the_monitor_is_explained() {
    let folder = bench();
    let folder = folder.path();
    done(folder, &["disassemble", "parts", "--machine", "machine.toml", "-o", "monitor.asm"]);
    let good = fs::read(folder.join("parts/U3.bin")).unwrap();
    let wanted = ["data line 5 always reads 0", "address lines 2 and 4 are crossed"];
    for (fault, wanted) in wanted.into_iter().enumerate() {
        let bad: Vec<u8> = good.iter().enumerate().map(|(at, byte)| read_badly(*byte, at, &good)[fault]).collect();
        fs::write(folder.join("parts/U3.bin"), bad).unwrap();
        let output = run(folder, &["compare", "monitor.asm", "parts", "--machine", "machine.toml"]);
        let said = String::from_utf8(output.stdout).unwrap();
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(said.contains(&format!("1. {wanted}")), "{said}");
        assert!(said.contains("START+6") && said.contains("monitor.asm:"), "{said}");
    }
}
