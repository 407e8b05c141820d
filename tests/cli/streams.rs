//! Standard input in place of a file: what comes through a pipe is taken for what it is.

use std::io::Write;
use std::process::{Command, Output, Stdio};

fn piped(arguments: &[&str], text: &[u8]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_coldwright"));
    command.args(arguments).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    child.stdin.take().unwrap().write_all(text).unwrap();
    child.wait_with_output().unwrap()
}

#[test]
fn a_source_and_an_image_of_any_format_come_through_a_pipe() {
    let source = b"\tORG 100H\n\tMVI A,1\n\tHLT\n\tEND 100H\n";
    let mut sheets = Vec::new();
    let hex = piped(&["convert", "-", "--to", "hex", "-o", "-"], source).stdout;
    let s19 = piped(&["convert", "-", "--to", "s19", "-o", "-"], &hex).stdout;
    assert_eq!((hex[0], s19[0]), (b':', b'S'));
    for text in [&source[..], &hex, &s19] {
        let sheet = piped(&["sheet", "-"], text);
        assert!(sheet.status.success(), "{sheet:?}");
        let sheet = String::from_utf8(sheet.stdout).unwrap();
        sheets.push(sheet.lines().last().map(str::to_owned));
    }
    assert_eq!(sheets[0].as_deref().map(|foot| foot.starts_with("Image: 3 bytes")), Some(true), "{sheets:?}");
    assert!(sheets.iter().all(|foot| foot == &sheets[0]), "{sheets:?}");
}

#[test]
fn what_is_no_image_is_read_as_a_source_and_its_problems_name_the_pipe() {
    let output = piped(&["fit", "-", "--socket", "U7=2704@0"], b"\tMOVE A,B\n");
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&output.stderr).contains("(standard input):1:2"), "{output:?}");
}

/// Warnings are bounded as errors are, and it is said how many more there are, those that were not kept too.
#[test]
fn warnings_are_bounded_and_the_rest_is_counted() {
    let source: String = (0..130).map(|at| format!("\tORG {}\n\tNOP\n", at * 4)).collect();
    let output = piped(&["assemble", "-", "-o", "-"], source.as_bytes());
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(said.matches("[runs-into-nothing]").count(), 50, "{said}");
    assert!(said.ends_with("... and 80 more after the first 50 warnings and notes\n"), "{said}");
    assert!(output.status.success(), "warnings alone fail nothing: {said}");
}

/// Programs are told as people are how much was left out, of errors as of warnings.
#[test]
fn json_counts_what_it_leaves_out() {
    let warned: String = (0..130).map(|at| format!("\tORG {}\n\tNOP\n", at * 4)).collect();
    let many: String = (0..10_007).map(|_| "\tXYZ\n").collect();
    for (source, lines, counts) in [
        (warned, 51, r#"{"left_out":{"errors":0,"not_kept":0,"warnings_and_notes":80}}"#),
        (many, 51, r#"{"left_out":{"errors":9950,"not_kept":7,"warnings_and_notes":0}}"#),
        ("\tXYZ\n".to_owned(), 1, ""),
    ] {
        let output = piped(&["--json", "assemble", "-", "-o", "-"], source.as_bytes());
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(said.lines().count(), lines, "{said}");
        assert!(said.lines().last().unwrap().starts_with(if counts.is_empty() { "{" } else { counts }), "{said}");
    }
}
