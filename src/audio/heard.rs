//! What was heard of a recording, in words and as JSON.

use std::fmt::Write;
use std::ops::Range;

use serde_json::{Value, json};

use super::listen::clock;
use crate::tape::stretches::{self, Bounds};
use crate::tape::verdicts;
use coldwright::audio;
use coldwright::notation::{Notation, counted};
use coldwright::tape::doubt::Unproved;
use coldwright::tape::framing::{Block, Stretch, StretchKind};
use coldwright::tape::recording::{Hearing, Recording, hearing};

/// Bytes that follow one another with shorter pauses than this, in seconds, are one run.
const PAUSE: f64 = 0.25;

/// Where what is said below a block begins.
const INDENT: usize = 20;

/// The recording and its carriers.
pub fn carriers(name: &str, heard: &audio::Reading) -> String {
    let facts = &heard.facts;
    let doubtful = heard.bytes.iter().filter(|byte| byte.is_doubtful()).count();
    let channels = if facts.channels == 1 { "channel" } else { "channels" };
    let told = facts.told.filter(|_| facts.is_cut_short());
    let cut = told.map_or(String::new(), |told| format!(" of {}", clock(told as f64 / f64::from(facts.sample_rate))));
    let mut out = format!(
        "{name}: {}{cut}, {} Hz, {} {channels}; {} bytes, {doubtful} doubtful\n",
        clock(facts.seconds()),
        facts.sample_rate,
        facts.channels,
        heard.bytes.len(),
    );
    for carrier in &heard.carriers {
        let quality = &carrier.quality;
        let _ = writeln!(
            out,
            "{:>9}  tone      to {}, speed {:.3} ({:.3} to {:.3}), level {:.1} dB, mark {:+.1} dB, clearness {:.0} dB",
            clock(carrier.from),
            clock(carrier.to),
            quality.speed(),
            quality.slowest(),
            quality.fastest(),
            quality.level_dbfs(),
            quality.balance_db(),
            quality.clearness_db(),
        );
    }
    out
}

/// The runs of bytes, for a tape of which no framing is known.
pub fn runs(heard: &audio::Reading, most: Bounds) -> String {
    let mut out = String::new();
    let runs = heard.runs(PAUSE);
    let (shown, left) = runs.split_at(runs.len().min(most.stretches));
    for run in shown {
        let Some(hearing) = hearing(heard, run) else { continue };
        let _ = writeln!(out, "{:>9}  {} bytes{}", clock(hearing.from), run.len(), how(&hearing));
    }
    if !left.is_empty() {
        let bytes = counted(left.iter().map(ExactSizeIterator::len).sum::<usize>(), "byte");
        let _ = writeln!(out, "      ...  not printed: {} of {bytes}; `--all` prints them", counted(left.len(), "run"));
    }
    out
}

/// The blocks with their times, their verdicts and how they were heard, and what is of none.
pub fn blocks(recording: &Recording, most: Bounds, notation: Notation) -> String {
    let mut out = String::new();
    let reading = &recording.reading;
    let is_told = |stretch: &Stretch| match stretch.kind {
        StretchKind::Lettering(_) => false,
        StretchKind::Filler => reading.flaws_in(&stretch.range) > 0,
        StretchKind::Noise(_) | StretchKind::Block { .. } => true,
    };
    let (shown, left) = stretches::shown(reading, most, is_told);
    for stretch in shown {
        let Some(hearing) = recording.hearing(&stretch.range) else { continue };
        let (at, bytes) = (clock(hearing.from), counted(stretch.range.len(), "byte"));
        match stretch.kind {
            StretchKind::Lettering(_) => {}
            StretchKind::Filler => {
                let _ =
                    writeln!(out, "{at:>9}  filler    {bytes}{}", stretches::flaws(reading.flaws_in(&stretch.range)));
            }
            StretchKind::Noise(noise) => {
                let _ = writeln!(out, "{at:>9}  noise     {bytes} of no block{}", stretches::explained(noise));
            }
            StretchKind::Block { program, block } => {
                let block = &reading.programs[program].blocks[block];
                let hearing = recording.hearing(&block.range).unwrap_or(hearing);
                let (at, line) = (clock(hearing.from), verdicts::line(block, notation));
                let _ = writeln!(out, "{at:>9}  {line}{}", how(&hearing));
                verdicts::reasons(block, notation, INDENT, &mut out);
                out += &mended(recording, &block.range, notation);
                if let Some(why) = unproved(recording, block) {
                    let _ = writeln!(out, "{:>INDENT$} not mended: {why}", "");
                }
            }
        }
    }
    out + &left
}

fn how(hearing: &Hearing) -> String {
    let doubt = if hearing.doubtful == 0 { String::new() } else { format!(", {} doubtful", hearing.doubtful) };
    // A start or stop bit that its neighbours had to outvote has odds below nought.
    let weakest = hearing.margin.round().max(0.0).abs();
    format!("; speed {:.3}, weakest bit {weakest:.0} nats{doubt}", hearing.speed)
}

fn mended(recording: &Recording, range: &Range<usize>, notation: Notation) -> String {
    let lines = recording.mended_in(range).map(|frame| {
        let (heard, right) = (notation.byte(frame.heard), notation.byte(frame.right));
        let at = recording.heard.bytes.get(frame.offset).map_or(0.0, |byte| byte.from);
        format!("{:>INDENT$} mended at {}: {heard} was in doubt, the check proves {right}\n", "", clock(at))
    });
    lines.collect()
}

/// Why what was in doubt did not mend a damaged block, if it has anything in doubt.
fn unproved(recording: &Recording, block: &Block) -> Option<String> {
    let (_, why) = recording.unproved.iter().find(|(start, _)| *start == block.range.start)?;
    let bits = |count| if count == 1 { "1 bit is in doubt".into() } else { format!("{count} bits are in doubt") };
    Some(match *why {
        Unproved::TooMany { doubts } => format!("{}, too many to try", bits(doubts)),
        Unproved::WeakCheck { doubts, check_bits: 0 } => format!("{}, and no check to prove them", bits(doubts)),
        Unproved::WeakCheck { doubts, check_bits } => {
            format!("{}, and a check of {check_bits} bits proves one at most", bits(doubts))
        }
        Unproved::NoAnswer { doubts } => format!("{}, and the check proves no way to take them", bits(doubts)),
    })
}

/// A recording as JSON; blocks where a framing is known, runs where not.
pub fn json(name: &str, heard: &audio::Reading, recording: Option<&Recording>) -> Value {
    let facts = &heard.facts;
    let carriers = heard.carriers.iter().map(|carrier| {
        let quality = &carrier.quality;
        json!({
            "from": rounded(carrier.from), "to": rounded(carrier.to), "bytes": carrier.bytes.len(), "speed": rounded(quality.speed()),
            "slowest": rounded(quality.slowest()), "fastest": rounded(quality.fastest()), "level_db": tenths(quality.level_dbfs()),
            "balance_db": tenths(quality.balance_db()), "clearness_db": tenths(quality.clearness_db()),
        })
    });
    let carriers: Vec<_> = carriers.collect();
    let parts: Vec<Value> = match recording {
        Some(recording) => recording
            .reading
            .blocks()
            .map(|block| {
                let mended: Vec<_> = recording
                    .mended_in(&block.range)
                    .map(|frame| json!({ "frame": frame.offset, "heard": frame.heard, "right": frame.right }))
                    .collect();
                json!({
                    "block": verdicts::block_json(block), "mended": mended, "not_mended": unproved(recording, block),
                    "heard": recording.hearing(&block.range).map(|hearing| hearing_json(&hearing)),
                })
            })
            .collect(),
        None => heard
            .runs(PAUSE)
            .iter()
            .map(
                |run| json!({ "bytes": run.len(), "heard": hearing(heard, run).map(|hearing| hearing_json(&hearing)) }),
            )
            .collect(),
    };
    json!({
        "file": name, "seconds": rounded(facts.seconds()), "sample_rate": facts.sample_rate, "channels": facts.channels,
        "cut_short": facts.is_cut_short(), "bytes": heard.bytes.len(), "carriers": carriers, "parts": parts,
    })
}

fn hearing_json(hearing: &Hearing) -> Value {
    json!({
        "from": rounded(hearing.from), "to": rounded(hearing.to), "speed": rounded(hearing.speed), "clearness_db": tenths(hearing.clearness_db),
        "doubtful": hearing.doubtful, "weakest_nats": tenths(f64::from(hearing.margin)),
    })
}

/// Thousandths are all that is measured, and the same on every machine.
fn rounded(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}

/// Decibels and nats: finer digits hang on the order in which a compiler adds.
fn tenths(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}
