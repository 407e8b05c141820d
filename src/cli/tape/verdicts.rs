//! What was read from a tape, in words and as JSON.

use std::fmt::Write;

use serde_json::{Value, json};

use crate::notation::{Notation, counted};
use crate::tape::framing::{
    Block, Cause, Contradiction, End, Order, Part, ProgramRead, Reading, Slip, Slips, StretchKind, Verdict,
};

/// Every stretch of a tape, a line each; the reasons of a damaged block below it.
pub fn stretches(reading: &Reading, notation: Notation) -> String {
    let mut out = String::new();
    for stretch in &reading.stretches {
        let (start, frames) = (stretch.range.start, stretch.range.len());
        let what = match &stretch.kind {
            StretchKind::Filler => format!("{:<9} {}", "filler", counted(frames, "frame")),
            StretchKind::Noise => format!("{:<9} {} of no block", "noise", counted(frames, "frame")),
            StretchKind::Lettering(text) => format!("{:<9} \"{text}\"", "lettering"),
            StretchKind::Block { program, block } => line(&reading.programs[*program].blocks[*block], notation),
        };
        let _ = writeln!(out, "{start:>7}  {what}");
        if let StretchKind::Block { program, block } = stretch.kind {
            reasons(&reading.programs[program].blocks[block], notation, 18, &mut out);
        }
    }
    out
}

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
        Verdict::Good => "good",
        Verdict::Unchecked => "read, nothing proves it",
        Verdict::Bad { .. } => "DAMAGED",
    };
    let order = match block.order {
        Order::InOrder => "",
        Order::OutOfOrder => ", out of order",
        Order::Repeated => ", repeated",
    };
    format!("{}: {verdict}{order}", what.trim_end())
}

/// Why a block is damaged and what would explain it, a line each.
pub fn reasons(block: &Block, notation: Notation, indent: usize, out: &mut String) {
    let Verdict::Bad { cause, slips } = &block.verdict else { return };
    let _ = writeln!(out, "{:>indent$} {}", "", reason(cause, notation));
    if let Some(slip) = explanation(slips, notation) {
        let _ = writeln!(out, "{:>indent$} {slip}", "");
    }
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
        Cause::Parity => "track 8 of a frame is wrong".into(),
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
pub fn program(program: &ProgramRead, index: usize, notation: Notation) -> String {
    let good = program.blocks.iter().filter(|block| block.is_good());
    let bytes = counted(good.map(Block::len).sum::<usize>(), "byte");
    let label = program.label.as_ref().map_or(String::new(), |label| format!(" \"{}\"", label.escape_debug()));
    let entry = program.entry().map_or(String::new(), |entry| format!(", entry {}", notation.address(entry)));
    let state = if program.is_whole() { "whole".into() } else { faults(program) };
    format!("program {}{label}: {bytes}{entry}: {state}\n", index + 1)
}

fn faults(program: &ProgramRead) -> String {
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
    if program.stray {
        faults.push("noise among its blocks".into());
    }
    if program.end == End::Absent {
        faults.push("its end is missing".into());
    }
    faults.join(", ")
}

/// Two good readings that differ, in one line.
pub fn contradiction(contradiction: &Contradiction, notation: Notation) -> String {
    let place = match (contradiction.number, contradiction.base) {
        (Some(number), _) => format!("block {number}"),
        (None, Some(base)) => format!("the block at {}", notation.address(base)),
        (None, None) => "the end".into(),
    };
    format!("program {}: two readings of {place} differ, and a check agrees with both\n", contradiction.program + 1)
}

/// A program as JSON.
pub fn program_json(program: &ProgramRead) -> Value {
    json!({
        "label": program.label, "entry": program.entry().map(|entry| entry.0), "whole": program.is_whole(),
        "missing": program.missing, "end": format!("{:?}", program.end).to_lowercase(),
        "blocks": program.blocks.iter().map(block_json).collect::<Vec<_>>(),
    })
}

/// A block as JSON.
pub fn block_json(block: &Block) -> Value {
    let pieces: Vec<_> =
        block.pieces.iter().map(|(base, bytes)| json!({ "base": base.0, "bytes": bytes.len() })).collect();
    let (verdict, reason, slip) = match &block.verdict {
        Verdict::Good => ("good", None, None),
        Verdict::Unchecked => ("unchecked", None, None),
        Verdict::Bad { cause, slips } => {
            let slip = if let Slips::One(slip) = slips { Some(slip) } else { None };
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
        "order": match block.order {
            Order::InOrder => "in order",
            Order::OutOfOrder => "out of order",
            Order::Repeated => "repeated",
        },
    })
}
