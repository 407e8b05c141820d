//! What a person knows: one line puts a wrong guess right, and survives.

use coldwright::disassembly::{Hints, Mark};
use coldwright::notation::Notation;
use coldwright::source::{Diagnostics, Origin, SourceMap};

use crate::corpus::{self, Known};
use crate::round_trip::{image, proven};

fn read(text: &str) -> Hints {
    let (mut sources, mut problems) = (SourceMap::default(), Diagnostics::default());
    let id = sources.add("hints.toml", text, Origin::Given);
    let hints = Hints::read(&sources, id, &mut problems);
    let told: Vec<_> = problems.iter().map(|problem| problem.headline.clone()).collect();
    assert!(told.is_empty(), "{told:?}\n{text}");
    hints
}

/// The stretches of a program that are code, or are data, without a change.
fn stretches(program: &Known, code: bool) -> Vec<std::ops::RangeInclusive<usize>> {
    let mut found: Vec<std::ops::RangeInclusive<usize>> = Vec::new();
    for extent in program.image.extents() {
        for at in extent.base.index()..=extent.last().index() {
            if program.code[at] != code {
                continue;
            }
            match found.last_mut() {
                Some(last) if last.end() + 1 == at => *last = *last.start()..=at,
                _ => found.push(at..=at),
            }
        }
    }
    found
}

/// Whatever had been guessed, a line says otherwise: code of data, and data of code.
#[test]
fn one_line_of_hints_turns_any_guess() {
    for program in corpus::all() {
        for (code, kind) in [(true, "data"), (true, "text"), (false, "code"), (false, "words"), (false, "addresses")] {
            for stretch in stretches(&program, code).into_iter().take(12) {
                let (first, last) = (*stretch.start(), *stretch.end());
                let hints = read(&format!("[kinds]\n0x{first:X}-0x{last:X} = \"{kind}\"\n"));
                let made = proven(&program.image, &hints, Notation::Octal, false);
                let is_code = |at: usize| matches!(made.found.marks.at(at), Mark::Start | Mark::Inside);
                match kind {
                    "code" => assert!(is_code(first) || last - first < 2, "{} {first:X}", program.name),
                    _ => assert!(stretch.clone().all(|at| !is_code(at)), "{} {first:X} {kind}", program.name),
                }
            }
        }
    }
}

/// Instructions that nothing leads to, between data that looks like instructions: two lines, and all is as it is.
#[test]
fn code_that_was_missed_is_found_by_a_line() {
    let bytes = vec![0o166, 0o010, 0o020, 0o010, 0o076, 0o005, 0o166, 0o010];
    let program = image(&[(0o1000, bytes)], Some(0o1000));
    let made = proven(&program, &read("[kinds]\n0o1004 = \"code\"\n"), Notation::Octal, false);
    assert!(made.text.contains("MVI     A,5"), "{}", made.text);
    assert_eq!(made.code, 4);
}

#[test]
fn every_kind_of_hint_does_what_it_says() {
    let text = "
entries = [0o1000]
[names]
0o1000 = \"BEGIN\"
0o1014 = \"LOOK\"
0o1400 = \"BELL\"
[comments]
0o1004 = \"as high as the tower\"
[kinds]
0o1015-0o1020 = \"words\"
0o1021-0o1024 = \"text\"
[equates]
HEIGHT = 0o5000
[ports]
0o60 = \"KNOB\"
[operands]
0o1004 = \"HEIGHT/256\"
[behind]
0o1014 = 1
";
    let bytes = vec![
        0o315, 0o014, 0o002, 7, 0o076, 0o012, 0o333, 0o060, 0o062, 0, 3, 0o166, 0o311, 1, 2, 3, 4, b'B', b'E', b'L',
        b'L',
    ];
    let made = proven(&image(&[(0o1000, bytes)], None), &read(text), Notation::Octal, false);
    let wanted = [
        "BEGIN:",
        "CALL    LOOK\n        DB      7",
        "; as high as the tower",
        "MVI     A,HEIGHT/256",
        "KNOB    EQU     60Q",
        "IN      KNOB",
        "BELL    EQU     1400Q",
        "STA     BELL",
        "DW      1001Q,2003Q",
        "'BELL'",
        "END     BEGIN",
    ];
    for wanted in wanted {
        assert!(made.text.contains(wanted), "{wanted}\n{}", made.text);
    }
}

#[test]
fn a_stretch_that_runs_elsewhere_can_be_told() {
    // JMP 400; what lies behind it runs there: JMP to itself.
    let bytes = vec![0o303, 0, 1, 0o303, 0, 1];
    let hints = read("[moved]\n0o1003-0o1005 = 0o400\n");
    let made = proven(&image(&[(0o1000, bytes)], Some(0o1000)), &hints, Notation::Octal, false);
    assert!(made.text.contains("RUNAT   400Q") && made.text.contains("J000400: JMP    J000400"), "{}", made.text);
}
