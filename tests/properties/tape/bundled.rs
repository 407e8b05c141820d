//! The bundled framings as their pages describe them (`docs/tapes.md`), written down apart from their files: what the
//! program writes in them is what these tests write, and no single damage of such a tape goes unnoticed.

use std::collections::BTreeMap;
use std::sync::atomic::Ordering;

use coldwright::tape::framing::bundled;
use rayon::prelude::*;

use super::by_hand::Source;
use super::damaged::{Case, Fault, Tally};
use super::generate::Damage;
use super::spec::{Field, Filler, Kind, Spec};
use crate::damage::Random;

fn field(name: &str, kind: Kind) -> Field {
    Field { name: name.into(), kind }
}

fn mark(text: &str) -> Field {
    field("mark", Kind::Mark(text.as_bytes().to_vec()))
}

fn address(form: &'static str) -> Field {
    field("address", Kind::Address(form))
}

fn length(of: &[&str]) -> Field {
    let of = of.iter().map(|&name| name.into()).collect();
    field("length", Kind::Length { form: "u8", counts: "n", of })
}

fn data(most: usize) -> Field {
    field("data", Kind::Data { most, pad: None, falling: false, at: 0 })
}

fn check(kind: &'static str, form: &'static str, stored: &'static str, over: &[&str]) -> Field {
    let over = over.iter().map(|&name| name.into()).collect();
    field("check", Kind::Check { kind, form, stored, over })
}

fn blank(count: usize) -> Filler {
    Filler { bytes: vec![0], count }
}

/// A framing between 120 blank frames and 60.
fn spec(block: Vec<Field>, end: Option<Vec<Field>>) -> Spec {
    let (leader, trailer) = (blank(120), blank(60));
    Spec { characters: "8N", digits: "binary", leader, trailer, block, end, ..Spec::default() }
}

/// As characters of seven bits with even parity, each record on a line of its own.
fn text(spec: Spec) -> Spec {
    let gap = Filler { bytes: vec![0o015, 0o012, 0, 0], count: 1 };
    Spec { characters: "7E", digits: "hex", ignore: vec![0o177], gap, ..spec }
}

fn specs() -> [(&'static str, Spec); 4] {
    let page = |most, at| field("data", Kind::Data { most, pad: Some(0), falling: true, at });
    let bare = vec![
        field("step", Kind::Literal(vec![0o055])),
        check("sum8", "u8", "negated", &["data", "address", "entry"]),
        page(10, 0),
        page(231, 0o031),
        address("page"),
        field("entry", Kind::Entry("low")),
    ];
    let number = || field("sequence", Kind::Sequence { form: "u8", first: 0 });
    let drawn_mark = || field("mark", Kind::Mark(vec![0o332]));
    let fletcher = |over: &[&str]| check("fletcher16", "u16le", "value", over);
    let numbered = vec![
        drawn_mark(),
        number(),
        length(&["data"]),
        address("u16le"),
        data(128),
        fletcher(&["mark", "sequence", "length", "address", "data"]),
    ];
    let numbered_end = vec![
        drawn_mark(),
        number(),
        field("length", Kind::Literal(vec![0])),
        field("entry", Kind::Entry("u16le")),
        fletcher(&["mark", "sequence", "length", "entry"]),
    ];
    let hex = vec![
        mark(":"),
        length(&["data"]),
        address("u16be"),
        field("type", Kind::Literal(vec![0])),
        data(16),
        check("sum8", "u8", "negated", &["length", "address", "type", "data"]),
    ];
    let hex_end =
        vec![mark(":"), field("record", Kind::Literal(vec![0, 0, 0, 1])), check("sum8", "u8", "negated", &["record"])];
    let s_length = || length(&["address", "data", "label", "check"]);
    let complement = |over: &[&str]| check("sum8", "u8", "complement", over);
    let s_head = vec![
        mark("S0"),
        s_length(),
        field("address", Kind::Literal(vec![0, 0])),
        field("label", Kind::Label(20)),
        complement(&["length", "address", "label"]),
    ];
    let s_block = vec![mark("S1"), s_length(), address("u16be"), data(16), complement(&["length", "address", "data"])];
    let s_end = vec![
        mark("S9"),
        field("length", Kind::Literal(vec![3])),
        field("entry", Kind::Entry("u16be")),
        complement(&["length", "entry"]),
    ];
    [
        ("bare", spec(bare, None)),
        ("blocks", Spec { gap: blank(4), ..spec(numbered, Some(numbered_end)) }),
        ("intel-hex", text(spec(hex, Some(hex_end)))),
        ("s-record", Spec { head: Some(s_head), ..text(spec(s_block, Some(s_end))) }),
    ]
}

#[test]
fn no_single_damage_of_a_tape_in_a_bundled_framing_goes_unnoticed() {
    for (name, spec) in specs() {
        let mut random = Random(0o55);
        let bytes: BTreeMap<u16, u8> = (0o431..0o471).zip(random.bytes(32)).collect();
        let source = Source { name: "BELFRY".into(), bytes, entry: 0o433 };
        let case = Case::of(0, spec, bundled(name).unwrap(), vec![source]);
        let case = case.unwrap_or_else(|fault| panic!("{name}: {fault}"));
        let case = case.unwrap_or_else(|| panic!("{name} refuses the program"));
        case.is_read_whole().unwrap_or_else(|fault| panic!("{name}: {fault}"));
        // Of the long block of `bare`, in which a slip is looked for in every byte, every fifth frame is tried.
        let stride = if name == "bare" { 5 } else { 1 };
        let (tally, frames) = (Tally::default(), (0..case.frames()).step_by(stride).collect::<Vec<_>>());
        let damages = frames.into_par_iter().flat_map_iter(Damage::all_of);
        let faults: Vec<Fault> = damages.filter_map(|damage| case.withstands(damage, &tally).err()).collect();
        assert!(faults.is_empty(), "{name}: {} times, first {}", faults.len(), faults[0]);
        let Tally { noticed, unseen, .. } = &tally;
        assert!(noticed.load(Ordering::Relaxed) > 300, "{name}: {tally:?}");
        // The sum of `bare` does not see bytes change places, nor a zero lost.
        assert!(name == "bare" || unseen.load(Ordering::Relaxed) == 0, "{name}: {tally:?}");
    }
}
