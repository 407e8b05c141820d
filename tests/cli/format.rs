//! `format`: sources in their places.

use crate::bench::Bench;

const LOOSE: &str = "\torg 0\nagain: dcr b ; once more\n jnz again\n hlt\n end\n";
const LAID: &str =
    "        org     0\nagain:  dcr     b               ; once more\n        jnz     again\n        hlt\n        end\n";

#[test]
fn a_source_is_laid_out_in_its_place() {
    let bench = Bench::new();
    bench.put("loose.asm", LOOSE);
    let done = bench.run(&["format", "loose.asm", "bell.asm"]);
    done.assert_done();
    assert_eq!(bench.text("loose.asm"), LAID);
    let said = String::from_utf8(done.out).unwrap();
    assert!(said.contains("loose.asm: 5 lines laid out; the image is the same"), "{said}");
    bench.run(&["format", "--check", "loose.asm", "bell.asm"]).assert_done();
}

#[test]
fn a_check_changes_nothing() {
    let bench = Bench::new();
    bench.put("loose.asm", LOOSE);
    let says = ["`loose.asm` is not in the layout: 5 lines", "expected `        org     0`"];
    bench.run(&["format", "--check", "loose.asm"]).assert_fails("source-unformatted", &says);
    assert_eq!(bench.text("loose.asm"), LOOSE);
}

#[test]
fn one_source_that_cannot_be_laid_out_keeps_the_others_as_they_are() {
    let bench = Bench::new();
    bench.put("loose.asm", LOOSE);
    bench.put("odd.asm", b"\tMVI A,1 ; \xFF\n");
    bench.run(&["format", "loose.asm", "odd.asm"]).assert_fails("source-unformatted", &["`odd.asm` is left as it is"]);
    assert_eq!(bench.text("loose.asm"), LOOSE);
}

#[test]
fn a_source_comes_and_goes_through_pipes() {
    let bench = Bench::new();
    bench.put("loose.asm", LOOSE);
    let piped = bench.shell("\"$0\" format - < loose.asm > laid.asm");
    piped.assert_done();
    assert_eq!(bench.text("laid.asm"), LAID);
}

#[test]
fn line_ends_stay_as_they_are() {
    let bench = Bench::new();
    bench.put("loose.asm", LOOSE.replace('\n', "\r\n"));
    bench.run(&["format", "loose.asm"]).assert_done();
    assert_eq!(bench.text("loose.asm"), LAID.replace('\n', "\r\n"));
}

/// A piece that only makes sense where it is included is compared statement by statement.
#[test]
fn a_piece_is_laid_out_by_itself() {
    let bench = Bench::new();
    bench.put("piece.asm", " OUT ELSEWHERE\n");
    let done = bench.run(&["format", "piece.asm"]);
    done.assert_done();
    let said = String::from_utf8(done.out).unwrap();
    assert!(said.contains("1 line laid out; every statement is the same"), "{said}");
    assert_eq!(bench.text("piece.asm"), "        OUT     ELSEWHERE\n");
}

#[test]
fn what_cannot_be_changed_is_not_said_to_be_laid_out() {
    let bench = Bench::new();
    bench.put("loose.asm", LOOSE);
    let path = bench.path("loose.asm");
    let mut permissions = std::fs::metadata(&path).unwrap().permissions();
    permissions.set_readonly(true);
    std::fs::set_permissions(&path, permissions).unwrap();
    let refused = bench.run(&["format", "loose.asm"]);
    let said = String::from_utf8_lossy(&refused.out).into_owned();
    refused.assert_fails("file-unwritable", &["loose.asm"]);
    assert!(!said.contains("laid out"), "{said}");
    assert_eq!(bench.text("loose.asm"), LOOSE);
}

#[test]
fn a_last_line_without_an_end_is_one_line() {
    let bench = Bench::new();
    bench.put("one.asm", "AA: NOP");
    let done = bench.run(&["format", "one.asm"]);
    done.assert_done();
    assert!(String::from_utf8(done.out).unwrap().contains("one.asm: 1 line laid out"));
}
