//! No source makes the assembler panic, hang or grow without bound; where something is bounded, the error names the
//! bound.

use std::process::{Command, Stdio};
use std::sync::mpsc;
use std::time::Duration;

use coldwright::assembler::{LoadError, Loaded, Loader, Options, assemble, listing};
use coldwright::notation::Notation;
use coldwright::source::{Origin, Renderer, SourceMap, Style, to_json_line};
use proptest::prelude::*;

use super::{assembled, everything};

/// Long past what any of these sources takes, even in a debug build on a busy machine.
const PATIENCE: Duration = Duration::from_secs(240);

/// Runs over a source in a thread of its own, so that a hang is a failure.
#[track_caller]
fn problems(text: impl Into<Vec<u8>>) -> Vec<String> {
    let text = text.into();
    let (send, receive) = mpsc::channel();
    let worker = std::thread::spawn(move || {
        let (sources, mut assembly) = assembled(text);
        let sorted = std::mem::take(&mut assembly.diagnostics).sorted(&sources);
        let _ = send.send(sorted.into_iter().map(|problem| problem.headline).collect());
    });
    match receive.recv_timeout(PATIENCE) {
        Ok(found) => found,
        Err(mpsc::RecvTimeoutError::Timeout) => panic!("still running after {PATIENCE:?}"),
        Err(mpsc::RecvTimeoutError::Disconnected) => match worker.join() {
            Err(panic) => std::panic::resume_unwind(panic),
            Ok(()) => unreachable!("the worker sends before it ends"),
        },
    }
}

#[track_caller]
fn expect(text: impl Into<Vec<u8>>, headline: &str) {
    let found = problems(text);
    assert!(found.iter().any(|problem| problem.contains(headline)), "expected `{headline}`, found {found:?}");
}

/// Words and signs of which sources are made.
pub const WORDS: &[&str] = &[
    "MOV",
    "MVI",
    "LXI",
    "JMP",
    "RST",
    "PUSH",
    "HLT",
    "A",
    "B",
    "M",
    "SP",
    "PSW",
    "ORG",
    "EQU",
    "SET",
    "DB",
    "DW",
    "DS",
    "IF",
    "ELSE",
    "ENDIF",
    "MACRO",
    "ENDM",
    "LOCAL",
    "REPT",
    "IRP",
    "IRPC",
    "EXITM",
    "END",
    "INCLUDE",
    "EMBED",
    "RUNAT",
    "ENDRUN",
    "INSIST",
    "LIMIT",
    "ENDLIMIT",
    "BOUNDARY",
    "STUFF",
    "STUFFTO",
    "TITLE",
    "CSEG",
    "NUL",
    "HIGH",
    "LOW",
    "NOT",
    "MOD",
    "SHL",
    "EQ",
    "AND",
    "OR",
    "X",
    "Y",
    "LOOP",
    "X:",
    "LOOP:",
    "Y:",
    "0",
    "1",
    "3",
    "255",
    "256",
    "0FFH",
    "12Q",
    "65535",
    "9Z",
    "'A'",
    "'text'",
    "''",
    "'mc6850.asm'",
    "'",
    "\"",
    "$",
    ",",
    ",",
    "(",
    ")",
    "+",
    "-",
    "*",
    "/",
    "<",
    ">",
    "&",
    "%",
    "!",
    ";",
    ";;",
    ":",
    "é",
    "\u{1A}",
    "\u{c}",
    "\r",
    "\n",
    "\n",
    "\n",
    "\n\t",
    "\n\t",
    "\t",
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn random_bytes_are_survived(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        everything(bytes);
    }

    #[test]
    fn a_soup_of_tokens_is_survived_and_gives_the_same_twice(
        words in prop::collection::vec(prop::sample::select(WORDS), 0..120),
    ) {
        let text = words.join(" ");
        prop_assert_eq!(everything(text.clone()), everything(text));
    }
}

#[test]
fn macros_that_call_themselves_are_bounded() {
    expect("SELF MACRO\n SELF\n ENDM\n SELF\n", "nested more than 100 deep");
    expect("SELF MACRO\n SELF\n SELF\n ENDM\n SELF\n", "nested more than 100 deep");
    expect("ONE MACRO\n TWO\n TWO\n ENDM\nTWO MACRO\n ONE\n ONE\n ENDM\n ONE\n", "nested more than 100 deep");
    // Twice the argument in every call.
    expect("GROW MACRO X\n GROW <X X>\n ENDM\n GROW 1\n", "come to more than 64 MiB");
}

#[test]
fn repetitions_are_bounded() {
    let nested = " REPT 65535\n REPT 65535\n REPT 65535\n NOP\n ENDM\n ENDM\n ENDM\n";
    expect(nested, "expansions come to more than 1000000 lines");
    // Passes and calls that put no line there take their time too.
    expect(" REPT 65535\n REPT 65535\n REPT 65535\n ENDM\n ENDM\n ENDM\n", "come to more than 1000000 lines");
    expect(" REPT 65535\n IRPC X,AAAAAAAAAAAAAAAAAAAA\n ENDM\n ENDM\n", "come to more than 1000000 lines");
    expect(
        format!("NONE MACRO\n ENDM\n REPT 65535\n{} ENDM\n", " NONE\n".repeat(10)),
        "come to more than 1000000 lines",
    );
    expect(format!(" REPT 65535\n DB '{}'\n ENDM\n", "A".repeat(100_000)), "come to more than 64 MiB");
    expect(format!(" IRPC X,{}\n DB 1\n ENDM\n", "A".repeat(1_100_000)), "expansions come to more than 1000000 lines");
}

/// Finds an empty file under every name.
struct Empty;

impl Loader for Empty {
    fn load(&mut self, name: &str, _from: &str) -> Result<Loaded, LoadError> {
        Ok(Loaded { name: name.into(), identity: name.into(), bytes: Vec::new() })
    }
}

#[test]
fn included_files_are_bounded() {
    for directive in ["INCLUDE", "EMBED"] {
        let mut sources = SourceMap::default();
        let text = format!(" REPT 65535\n {directive} 'empty'\n ENDM\n");
        let root = sources.add("property.asm", text, Origin::Given);
        let found = assemble(&mut sources, root, &Options::default(), &mut Empty).diagnostics;
        let bound = "more than 10000 files are included or embedded";
        assert!(found.iter().any(|problem| problem.headline == bound), "{directive}");
    }
}

#[test]
fn nesting_is_bounded() {
    expect(format!(" DB {}1\n", "(".repeat(1_000_000)), "nested more than 200 levels deep");
    expect(format!(" DB {}1\n", "-".repeat(1_000_000)), "nested more than 200 levels deep");
    expect(format!(" DB {}1\n", "NOT ".repeat(300_000)), "nested more than 200 levels deep");
    expect(" IF 1\n".repeat(20_000), "an IF is not closed by ENDIF");
    expect("X MACRO\n".repeat(20_000), "a body is not ended by ENDM");
    expect(" LIMIT 5\n".repeat(20_000), "a region is not closed by ENDLIMIT");
}

#[test]
fn long_lines_are_read() {
    assert_eq!(problems(format!("{}:\tNOP\n", "A".repeat(10_000_000))).len(), 1);
    expect(format!(" DB {}\n", "1,".repeat(1_000_000)), "the line ends where an operand was expected");
    assert_eq!(problems(format!(" DB {}1\n", "1+".repeat(1_000_000))), ["the value 16961 does not fit into a byte"]);
}

/// Work that grew with the square of the source would not end in time.
#[test]
fn many_of_a_kind_take_linear_time() {
    let chain: String = (0..50_000).map(|at| format!("X{at} EQU X{}\n", at + 1)).collect();
    assert!(problems(format!("{chain}X50000 EQU 1\n DW X0\n")).is_empty());
    let back: String = (1..50_000).map(|at| format!("X{at} EQU X{}\n", at - 1)).collect();
    assert!(problems(format!("{back}X0 EQU 1\n DW X49999\n")).is_empty());
    let undefined: String = (0..10_000).map(|at| format!("L{at}: DW Y{at}\n")).collect();
    expect(undefined, "`Y0` is not defined");
    let unknown: String = (0..10_000).map(|at| format!(" XOP{at}\n")).collect();
    expect(unknown, "`XOP0` is no instruction");
    let names: Vec<_> = (0..50_000).map(|at| format!("P{at}")).collect();
    let uses: String = names.iter().map(|name| format!(" DB {name}\n")).collect();
    expect(format!("MANY MACRO {}\n{uses} ENDM\n MANY 1\n", names.join(",")), "`DB` takes 1 or more operands, found 0");
    let limits: String = (0..30_000).map(|at| format!("L{at}: LIMIT 0\n NOP\n ENDLIMIT\n")).collect();
    expect(limits, "1 byte over its limit of 0");
    let near: String = (0..100_000).map(|at| format!("NAME{at} EQU 1\n")).collect();
    expect(near + &(0..300).map(|at| format!(" DB NAMX{at}\n")).collect::<String>(), "`NAMX0` is not defined");
    expect(" REPT 65535\n ORG 0\n STUFF 65535,0\n ENDM\n".repeat(3), "two statements put bytes at");
    expect(format!(" ORG 0\n{}", " JMP 1\n".repeat(20_000)), "the middle of an instruction");
}

/// A word without end is neither compared letter by letter, nor told whole, nor does it widen a column past all bounds.
#[test]
fn words_of_any_length_are_told_in_short() {
    let long = "A".repeat(1_000_000);
    for text in [
        format!("{long}B EQU 1\n DB {long}C\n"),
        format!("{long}: NOP\n JMP {long}\n"),
        format!(" {long} 5\n"),
        format!(" DB 1{long}\n"),
        format!(" MVI A,'{long}'\n"),
        format!(" INSIST 0,'{long}'\n"),
        format!(" LIMIT 0,'{long}'\n NOP\n ENDLIMIT\n"),
        format!(" INCLUDE '{long}'\n"),
        format!("{long} MACRO\n DB X\n ENDM\n {long}\n"),
    ] {
        let (sources, mut assembly) = assembled(text);
        listing(&sources, &assembly, Notation::Octal);
        let mut renderer = Renderer::new(&sources, Style::default());
        for problem in std::mem::take(&mut assembly.diagnostics).sorted(&sources) {
            let told = renderer.render(&problem) + &to_json_line(&problem, &sources);
            assert!(told.len() < 20_000, "{} bytes: {}", told.len(), problem.headline);
        }
    }
}

#[test]
fn folders_and_devices_are_no_sources() {
    let folder = tempfile::tempdir().unwrap();
    let source = folder.path().join("main.asm");
    let mut wanted = vec![(".".to_owned(), "it is a directory")];
    if cfg!(unix) {
        wanted.push(("/dev/zero".into(), "it is larger than 256 MiB"));
    }
    for (name, reason) in wanted {
        for directive in ["INCLUDE", "EMBED"] {
            std::fs::write(&source, format!(" {directive} '{name}'\n")).unwrap();
            let output = Command::new(env!("CARGO_BIN_EXE_coldwright"))
                .args(["assemble".as_ref(), source.as_os_str()])
                .stdin(Stdio::null())
                .output()
                .unwrap();
            let told = String::from_utf8_lossy(&output.stderr).into_owned();
            assert_eq!(output.status.code(), Some(1), "{told}");
            assert!(told.contains(reason), "{told}");
        }
    }
}

/// Counts of bytes and distances that no number of 32 bits holds.
#[test]
fn sums_past_all_bounds_are_told() {
    let spaces = "\tREPT 65535\n\tDS 65535\n\tENDM\n".repeat(2);
    expect(format!("{spaces}\tDB 1\n"), "past the top of memory");
    let apart = "\tORG 65535\n\tRUNAT 0\n".repeat(40_000);
    expect(format!("{apart}\tDB 1\n"), "not closed by ENDRUN");
}
