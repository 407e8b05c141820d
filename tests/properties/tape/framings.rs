//! Random framing files: most of them load, some are refused.

use coldwright::notation::Notation;
use coldwright::record::CheckKind;
use coldwright::source::{Diagnostics, Origin, SourceMap};
use coldwright::tape::framing::{self, Framing, Placing};
use proptest::prelude::*;
use proptest::sample::select;

/// Random framing files.
pub fn texts() -> impl Strategy<Value = String> {
    let coding = prop_oneof![
        4 => Just(""),
        1 => Just("digits = \"hex\"\n"),
        1 => Just("digits = \"octal\"\n"),
        1 => Just("digits = \"hex\"\ncharacters = \"7E\"\nignore = [0o177]\n"),
        1 => Just("digits = \"octal\"\ncharacters = \"7O\"\n"),
        1 => Just("escape = { byte = 0o033, flip = 0o100, bytes = [0o072, 0, 0o177] }\nignore = [0o177]\n"),
    ];
    let number = select(vec!["u8", "u16le", "u16be"]);
    let length =
        (number.clone(), select(vec!["n", "n-1", "negated"]), any::<bool>()).prop_map(|(form, counts, all)| {
            let of = if all { ", of = [\"data\", \"check\", \"length\"]" } else { "" };
            format!("{{ length = \"{form}\", counts = \"{counts}\"{of} }}")
        });
    let counter = prop_oneof![3 => length, 1 => Just(String::from("{ last = \"u16le\" }")), 1 => Just(String::new())];
    let most = prop_oneof![1..40usize, Just(128), Just(256), Just(250)];
    let data = (most, prop::option::of(any::<u8>()), any::<bool>()).prop_map(|(most, pad, falling)| {
        let pad = pad.map_or(String::new(), |pad| format!(", pad = {pad}"));
        let order = if falling { ", order = \"falling\"" } else { "" };
        format!("{{ data = {most}{pad}{order} }}")
    });
    let kinds: Vec<_> = CheckKind::of_fields().map(|kind| (kind.name(), kind.width())).collect();
    let check = (select(kinds), select(vec!["value", "complement", "negated"]), any::<bool>(), any::<bool>());
    let check = check.prop_map(|((kind, width), stored, all, high)| {
        let form = match (width, high) {
            (1, _) => "",
            (_, true) => ", as = \"u16be\"",
            (_, false) => ", as = \"u16le\"",
        };
        let over = if all { "\"length\", \"address\", \"data\"" } else { "\"data\"" };
        format!("{{ check = \"{kind}\"{form}, stored = \"{stored}\", over = [{over}] }}")
    });
    let sequence = prop::option::of((number, 0..256u16));
    let address =
        prop_oneof![3 => Just("{ address = \"u16le\" }"), 1 => Just("{ address = \"u16be\" }"), 1 => Just("")];
    let filler = (0..30usize, 0..200usize, any::<bool>());
    (coding, counter, address, sequence, data, prop::option::of(check), filler, any::<[bool; 2]>()).prop_map(
        |(coding, counter, address, sequence, data, check, (gap, leader, entry), [end, check_first])| {
            let sequence = sequence.map(|(form, first)| format!("{{ sequence = \"{form}\", first = {first} }}"));
            let check = check.unwrap_or_default();
            let address = if counter.contains("last") { "{ address = \"u16le\" }" } else { address };
            let check = check.replace("\"address\", ", if address.is_empty() { "" } else { "\"address\", " });
            let has_length = counter.contains("length");
            let check = check.replace("\"length\", ", if has_length { "\"length\", " } else { "" });
            let counter = counter.replace(", \"check\"", if check.is_empty() { "" } else { ", \"check\"" });
            let (first, last) = if check_first { (check.clone(), String::new()) } else { (String::new(), check) };
            let fields = [first, sequence.clone().unwrap_or_default(), address.into(), counter, data, last];
            let fields: Vec<_> = fields.into_iter().filter(|field| !field.is_empty()).collect();
            let mut text = format!("name = \"random\"\n{coding}block = [\n  {{ mark = \":\" }},\n");
            fields.iter().for_each(|field| text += &format!("  {field},\n"));
            text += "]\n";
            if end {
                let sequence = sequence.map_or(String::new(), |sequence| format!(", {sequence}"));
                let entry = if entry { ", { entry = \"u16be\" }" } else { "" };
                text += &format!("end = [{{ mark = \";\" }}{sequence}{entry}]\n");
            }
            text + &format!(
                "leader = {{ byte = 0, count = {} }}\ngap = {{ bytes = [13, 10], count = {gap} }}\n\
                 trailer = {{ byte = 0, count = {} }}\n",
                leader + 8,
                leader / 2
            )
        },
    )
}

/// Loads a framing; nothing if it is refused.
pub fn load(text: &str) -> Option<Framing> {
    let mut sources = SourceMap::default();
    let source = sources.add("random.toml", text, Origin::Given);
    framing::load(&sources, source, Notation::default(), &mut Diagnostics::default())
}

/// Moves runs to where a framing can carry them.
pub fn fit(framing: &Framing, runs: &[(u16, Vec<u8>)]) -> Vec<(u16, Vec<u8>)> {
    let most = framing.block.most();
    match framing.placing() {
        Placing::ByAddress => runs.to_vec(),
        Placing::ByNumber => vec![(0, runs[0].1.clone())],
        Placing::Alone => vec![(0, runs[0].1[..runs[0].1.len().min(most)].to_vec())],
    }
}
