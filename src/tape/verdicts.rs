//! What was read from a tape, in words and as JSON.

use std::fmt::Write;
use std::ops::Range;
use std::path::Path;

use serde_json::{Value, json};

use coldwright::notation::{Address, Notation, counted};
use coldwright::record::Oddities;
use coldwright::source::{Code, Diagnostic};
use coldwright::tape::framing::{
    Block, Cause, Conflict, Contradiction, Difference, End, Merged, Noise, Order, Part, ProgramRead, Reading, Slip,
    Slips, Stray, StrayPlace, Verdict,
};

/// What a block is and its verdict.
pub fn line(block: &Block, notation: Notation) -> String {
    let mut what = match (block.part, block.number) {
        (Part::Head, _) => String::from("head"),
        (Part::Block, Some(number)) => format!("block {number}"),
        (Part::Block, None) => String::from("block"),
        (Part::End, _) => String::from("end"),
    };
    let carried = block
        .pieces
        .iter()
        .map(|(base, bytes)| format!("{}, {}", notation.address(*base), counted(bytes.len(), "byte")));
    let entry = block.entry.map(|entry| format!("entry {}", notation.address(entry)));
    let label = block.label.as_ref().map(|label| format!("\"{}\"", label.escape_debug()));
    let says: Vec<_> = carried.chain(entry).chain(label).collect();
    what = format!("{what:<9} {}", says.join("; "));
    let verdict = match &block.verdict {
        Verdict::Good => "good".into(),
        Verdict::Unchecked => "read, nothing proves it".into(),
        Verdict::Partly { unproved } => format!("read, nothing proves its {}", listed(unproved)),
        Verdict::Bad { .. } => String::from("DAMAGED"),
    };
    let order = match block.order {
        Order::InOrder => "",
        Order::OutOfOrder => ", out of order",
        Order::Repeated => ", repeated",
        Order::Contradicts => ", unlike another of its number",
    };
    format!("{}: {verdict}{order}", what.trim_end())
}

/// Words as a list: "a", "a and b", "a, b and c".
pub fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// What of a good block is written otherwise than the framing writes.
fn oddities(block: &Block) -> impl Iterator<Item = String> {
    let are = |count: usize| if count == 1 { "is" } else { "are" };
    let Oddities { digits, padding } = block.odd;
    let digits = (digits > 0).then(|| {
        format!("{} {} not in the case of the others, and the value is the same", counted(digits, "digit"), are(digits))
    });
    let padding = (padding > 0).then(|| {
        format!("{} of its padding {} not what the framing pads with", counted(padding, "byte"), are(padding))
    });
    digits.into_iter().chain(padding)
}

/// Why a block is damaged and what would explain it, a line each.
pub fn reasons(block: &Block, notation: Notation, indent: usize, out: &mut String) {
    let Verdict::Bad { cause, slips } = &block.verdict else {
        for oddity in oddities(block) {
            let _ = writeln!(out, "{:>indent$} {oddity}", "");
        }
        return;
    };
    let _ = writeln!(out, "{:>indent$} {}", "", reason(cause, notation));
    if let Some(slip) = explanation(slips, notation) {
        let _ = writeln!(out, "{:>indent$} {slip}", "");
    }
}

/// What may be said where track 8 alone speaks against a block; `is_blank` if no frame of the tape has a hole in it.
pub fn on_track_8<'a>(mut blocks: impl Iterator<Item = &'a Block>, is_blank: bool) -> Option<&'static str> {
    let is_alone = |block: &Block| matches!(block.verdict, Verdict::Bad { cause: Cause::Parity { .. }, .. });
    let told = blocks.any(is_alone);
    told.then_some(match is_blank {
        true => {
            "track 8 is blank throughout, as a line of 7 data bits brings it: a copy of the framing with \
             `characters = \"7S\"` says so"
        }
        false => {
            "if the tape was punched so, say it: `characters` of the framing tells what track 8 is, and `\"7N\"` that \
             nobody looks at it"
        }
    })
}

/// How it is known that a block is damaged.
pub fn reason(cause: &Cause, notation: Notation) -> String {
    match cause {
        Cause::Check { name, found, right } => {
            let wide = (*found > 0xFF) | (*right > 0xFF);
            let show = |value: u16| {
                if wide { notation.word(value).to_string() } else { notation.byte(value as u8).to_string() }
            };
            format!("the {name} is {} on the tape, the rest of the block asks for {}", show(*found), show(*right))
        }
        Cause::Character => "a character cannot stand where it stands".into(),
        Cause::Parity { frames, checked } => {
            let of = if *frames == 1 { String::from("a frame") } else { counted(*frames, "frame") };
            let agree = if *checked { ", its checks agree all the same" } else { "" };
            format!("track 8 of {of} is wrong{agree}")
        }
        Cause::Start => "its beginning is damaged".into(),
        Cause::Torn => "the tape ends within it".into(),
        Cause::Doubt { bytes } => {
            format!("{bytes} of its bytes were heard with doubt, and no check is strong enough to prove them")
        }
    }
}

/// The wrong bits that would explain a damaged block; nothing if there is nothing to say.
pub fn explanation(slips: &Slips, notation: Notation) -> Option<String> {
    match slips {
        Slips::None => None,
        Slips::NotTried => Some("too long to look for a single wrong bit".into()),
        Slips::One(slip) => Some(one(slip, notation)),
        Slips::Lost { offset, frame } => {
            Some(format!("one lost frame explains it: {} before frame {offset} (of its mark)", notation.byte(*frame)))
        }
        Slips::Several { count, track: Some(track) } => {
            Some(format!("one wrong bit would explain it, in track {track} of any of {count} frames"))
        }
        Slips::Several { count, track: None } => Some(format!("any of {count} single wrong bits would explain it")),
    }
}

fn one(slip: &Slip, notation: Notation) -> String {
    let (found, right) = (notation.byte(slip.found), notation.byte(slip.right));
    let place = match slip.address {
        Some(address) => format!(" (the byte for {})", notation.address(address)),
        None => format!(" (the {})", slip.field),
    };
    format!("one wrong bit explains it: frame {}, track {}, {found} for {right}{place}", slip.offset, slip.track())
}

/// A program in one line: what there is of it and what is wrong with it.
fn program(program: &ProgramRead, index: usize, given: &str, notation: Notation) -> String {
    let bytes = counted(program.size(), "byte");
    let label = program.label.as_ref().map_or(String::new(), |label| format!(" \"{}\"", label.escape_debug()));
    let entry = program.entry().map_or(String::new(), |entry| format!(", entry {}", notation.address(entry)));
    let state = if program.is_whole() { format!("whole{given}") } else { faults(program, notation) };
    format!("program {}{label}: {bytes}{entry}: {state}\n", index + 1)
}

/// What speaks against programs that have no damaged and no missing block, and where readings contradict each other.
pub fn objections(merged: &Merged, notation: Notation) -> Vec<String> {
    let is_intact = |program: &ProgramRead| program.missing.is_empty() && program.blocks.iter().all(Block::is_good);
    let programs = merged.programs.iter().zip(1..);
    let programs =
        programs.filter(|(program, _)| is_intact(program) && !program.is_whole() && program.strays.is_empty());
    let faults = programs.map(|(program, number)| {
        let without =
            if program.lacks_head { "; if it was written without, take `head` out of the framing" } else { "" };
        format!("program {number}: {}{without}", faults(program, notation))
    });
    let contradictions = merged.contradictions.iter().map(|it| contradiction(it, notation));
    faults.chain(contradictions).collect()
}

fn faults(program: &ProgramRead, notation: Notation) -> String {
    let mut faults = Vec::new();
    let damaged = program.blocks.iter().filter(|block| !block.is_good()).count();
    if damaged > 0 {
        faults.push(format!("{damaged} damaged"));
    }
    if !program.missing.is_empty() {
        let numbers: Vec<_> = program.missing.iter().take(12).map(u32::to_string).collect();
        let more = if program.missing.len() > 12 { ", ..." } else { "" };
        faults.push(format!("missing: block {}{more}", numbers.join(", ")));
    }
    if program.lacks_head {
        faults.push("its head is missing".into());
    }
    if !program.has_data() {
        faults.push("no block of it was found".into());
    }
    if let Some(beyond) = program.beyond_end() {
        faults.push(format!("block {beyond} is beyond its end"));
    }
    if program.blocks.iter().any(|block| block.order == Order::Contradicts) {
        faults.push("blocks of one number differ".into());
    }
    if let Some(at) = program.contested() {
        faults.push(format!("two blocks differ at {}", notation.address(at)));
    }
    if program.has_two_entries() {
        faults.push("its entries differ".into());
    }
    if let Some((part, said)) = program.misplaced {
        let (part, at) = (part.key(), notation.address(said));
        faults.push(format!("its {part} says that the first block is at {at}"));
    }
    let mut strays: Vec<_> = program.strays.iter().map(|stray| among(stray.place)).collect();
    strays.dedup();
    faults.extend(strays.into_iter().map(str::to_owned));
    match program.end {
        End::Absent => faults.push("its end is missing".into()),
        // An entry is lost with the part that carries it.
        _ if program.lacks_entry && damaged == 0 => faults.push("its entry is missing".into()),
        _ => {}
    }
    faults.join(", ")
}

/// What stands unexplained in a program.
fn among(place: StrayPlace) -> &'static str {
    match place {
        StrayPlace::BeforeFirst | StrayPlace::BehindLeader => "noise before its first block",
        StrayPlace::Among => "noise among its blocks",
        StrayPlace::BehindLast => "noise behind its last block",
        StrayPlace::Leader => "a leader among its blocks",
    }
}

/// Each stretch of a reading that nothing explains: where it stands, as `place` says it, and what it may be.
pub fn strays(reading: &Reading, place: impl Fn(&Range<usize>) -> String) -> Vec<String> {
    let of_programs = reading.programs.iter().zip(1..).flat_map(|(program, number)| {
        let whose = move |stray| (stray, Some(number));
        program.strays.iter().map(whose)
    });
    let all = of_programs.chain(reading.strays.iter().map(|stray| (stray, None)));
    all.map(|(stray, program)| format!("{}{}", place(&stray.range), stray_words(stray.place, program))).collect()
}

fn stray_words(place: StrayPlace, program: Option<usize>) -> String {
    let program = program.map_or("a program".into(), |number| format!("program {number}"));
    let (place, what) = match place {
        StrayPlace::BeforeFirst => (format!("before the first block of {program}"), "block"),
        StrayPlace::Among => (format!("among the blocks of {program}"), "block"),
        StrayPlace::BehindLast => (format!("behind the last block of {program}"), "block"),
        StrayPlace::BehindLeader => ("behind a leader".into(), "program"),
        StrayPlace::Leader => {
            return format!(": a leader among the blocks of {program}; two programs may be mixed there");
        }
    };
    format!(", {place}: perhaps what is left of a {what}")
}

/// Two good readings that differ, in one line.
fn contradiction(contradiction: &Contradiction, notation: Notation) -> String {
    let program = contradiction.program + 1;
    let (part, number, base, checked) = match contradiction.kind {
        Conflict::Strangers => {
            return format!("program {program}: two readings have no block in common: are they of one tape?");
        }
        Conflict::Parted => {
            return format!("program {program}: one reading has as one program what another has as two");
        }
        Conflict::Differ { part, number, base, checked } => (part, number, base, checked),
    };
    let place = part_name(part, number, base, notation);
    let why = if checked { "a check agrees with both" } else { "no check tells which is right" };
    format!("program {program}: two readings of {place} differ, and {why}")
}

/// A head, block or end by its place.
fn part_name(part: Part, number: Option<u32>, base: Option<Address>, notation: Notation) -> String {
    match part {
        Part::Head => "the head".into(),
        Part::End => "the end".into(),
        Part::Block => block_name(number, base, notation),
    }
}

/// A block by its place.
pub fn block_name(number: Option<u32>, base: Option<Address>, notation: Notation) -> String {
    match (number, base) {
        (Some(number), _) => format!("block {number}"),
        (None, Some(base)) => format!("the block at {}", notation.address(base)),
        (None, None) => "a block".into(),
    }
}

/// What readings say together: their programs, and where they contradict each other.
pub fn merged(merged: &Merged, notation: Notation) -> String {
    let programs = merged.programs.iter().enumerate().map(|(index, read)| {
        let given = match (merged.is_doubted(index), read.is_unled) {
            (true, _) => " if the readings are of one tape",
            (false, true) => " if nothing is torn off before it",
            (false, false) => "",
        };
        program(read, index, given, notation)
    });
    let contradictions = merged.contradictions.iter().map(|it| contradiction(it, notation) + "\n");
    programs.chain(contradictions).collect()
}

/// Warnings of programs that are put together of what may be readings of several tapes, or parts of two programs.
pub fn doubts(merged: &Merged, notation: Notation) -> Vec<Diagnostic> {
    let apart = merged.apart.iter().map(|program| {
        let headline = format!("nothing of program {} stands on two of the readings", program + 1);
        Diagnostic::warning(Code::TapeDamaged, headline)
            .with_note("what each of them has was put together by numbers and addresses")
            .with_help(
                "are all of them readings of one tape? The checks tell that the blocks are sound, not whose they are",
            )
    });
    let unlike = merged.unlike.iter().map(|it| {
        let (program, place) = (it.program + 1, part_name(it.part, it.number, it.base, notation));
        let headline = format!("{place} of program {program} is unlike what another reading has of it, damaged");
        let note = match it.how {
            Difference::Bytes { differing, of } => format!("{differing} of its {of} bytes differ"),
            Difference::Explained => "what would explain the damage does not make this of it".into(),
        };
        Diagnostic::warning(Code::TapeDamaged, headline)
            .with_note(note)
            .with_help("are all of them readings of one tape? The check tells that the block is sound, not whose it is")
    });
    let twice = merged.twice.iter().map(|program| {
        let headline = format!("a reading has program {} twice, once broken off: it is taken for one", program + 1);
        Diagnostic::warning(Code::TapeDamaged, headline)
            .with_note("another reading is whole without a second one, and has all that is good of both")
            .with_help("was the tape stopped, wound back and begun again? Else look where the program breaks off")
    });
    let unled = merged.programs.iter().any(|program| program.is_unled && program.is_whole()).then(|| unled(None));
    apart.chain(unlike).chain(twice).chain(unled).collect()
}

/// The warning that the first blocks of a tape may be torn off.
pub fn unled(path: Option<&Path>) -> Diagnostic {
    let tape = path.map_or("the tape".to_owned(), |path| format!("`{}`", path.display()));
    Diagnostic::warning(Code::TapeDamaged, format!("{tape} begins without a leader"))
        .with_note(
            "blocks may be torn off before the first one: neither a head nor a number tells that it is the first",
        )
        .with_help("compare its address with what you expect, or read the tape again from its leader on")
}

/// A program as JSON.
pub fn program_json(program: &ProgramRead) -> Value {
    json!({
        "label": program.label, "entry": program.entry().map(|entry| entry.0), "whole": program.is_whole(),
        "misplaced": program.misplaced.map(|(part, said)| json!({ "part": part.key(), "says": said.0 })),
        "missing": program.missing, "lacks_head": program.lacks_head, "unled": program.is_unled, "end": format!("{:?}", program.end).to_lowercase(),
        "unexplained": program.strays.iter().map(stray_json).collect::<Vec<_>>(),
        "blocks": program.blocks.iter().map(block_json).collect::<Vec<_>>(),
    })
}

/// What noise is, in a word for JSON.
pub fn noise_word(noise: Noise) -> &'static str {
    match noise {
        Noise::BeforeLeader => "before the leader",
        Noise::BehindEnd => "behind the end",
        Noise::Slip => "a slip in the filler",
        Noise::NumbersGoOn => "no block by the numbers",
        Noise::Unexplained => "unexplained",
    }
}

/// A stretch that nothing explains as JSON.
pub fn stray_json(stray: &Stray) -> Value {
    let place = match stray.place {
        StrayPlace::BeforeFirst => "before the first block",
        StrayPlace::Among => "among the blocks",
        StrayPlace::BehindLast => "behind the last block",
        StrayPlace::BehindLeader => "behind a leader",
        StrayPlace::Leader => "a leader among the blocks",
    };
    json!({ "start": stray.range.start, "end": stray.range.end, "place": place })
}

/// A block as JSON.
pub fn block_json(block: &Block) -> Value {
    let pieces: Vec<_> =
        block.pieces.iter().map(|(base, bytes)| json!({ "base": base.0, "bytes": bytes.len() })).collect();
    let mut lost = None;
    let (verdict, reason, slip) = match &block.verdict {
        Verdict::Good => ("good", None, None),
        Verdict::Unchecked => ("unchecked", None, None),
        Verdict::Partly { unproved } => {
            ("checked in part", Some(format!("nothing proves its {}", listed(unproved))), None)
        }
        Verdict::Bad { cause, slips } => {
            let slip = if let Slips::One(slip) = slips { Some(slip) } else { None };
            if let Slips::Lost { offset, frame } = slips {
                lost = Some(json!({ "before": offset, "frame": frame }));
            }
            ("damaged", Some(reason(cause, Notation::Hexadecimal)), slip)
        }
    };
    json!({
        "part": block.part.key(), "start": block.range.start, "end": block.range.end, "number": block.number,
        "pieces": pieces, "entry": block.entry.map(|entry| entry.0), "verdict": verdict, "reason": reason,
        "slip": slip.map(|slip| json!({
            "frame": slip.offset, "track": slip.track(), "found": slip.found, "right": slip.right,
            "field": slip.field, "address": slip.address.map(|address| address.0),
        })),
        "lost": lost, "odd_digits": block.odd.digits, "odd_padding": block.odd.padding,
        "order": match block.order {
            Order::InOrder => "in order",
            Order::OutOfOrder => "out of order",
            Order::Repeated => "repeated",
            Order::Contradicts => "contradicts",
        },
    })
}
