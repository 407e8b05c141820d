//! Looks and answers in words.

use super::look::{Answer, Look};
use crate::faults::{Compared, Words};
use crate::notation::Address;

/// What is to be looked at.
pub fn question(words: &Words, look: Look) -> String {
    match look {
        Look::State => "has it halted, or does it run?".into(),
        Look::Address => "what do the address lights show, or between which addresses do they flicker?".into(),
        Look::Port(port) => format!("what do the lamps of {} show?", words.port(port)),
        Look::Tape(tape) => format!("had the tape `{}` run out when it came to rest?", words.tapes()[tape]),
        Look::Listing(stage) => {
            let (name, is_deposited, _) = words.stages().nth(stage).unwrap_or_default();
            let with = if is_deposited { "the CHECK rows of the sheet" } else { "the listing" };
            format!(
                "STOP, compare `{name}` with {with}: does it agree, or where is the first byte that differs, and what is \
                 there?"
            )
        }
        Look::Terminal => "what does the terminal show at its end?".into(),
        Look::Memory(at) => {
            format!("STOP, EXAMINE {}: what do the data lights show?", words.notation().address(at))
        }
    }
}

/// What a look shows.
pub fn shows(words: &Words, answer: &Answer) -> String {
    let address = |at: u16| words.notation().address(Address(at)).to_string();
    match answer {
        Answer::Halted => "halted".into(),
        Answer::Running => "running".into(),
        Answer::Address(at) => address(*at),
        Answer::Between(low, high) => format!("{} to {}", address(*low), address(*high)),
        Answer::Flickers => "flickers".into(),
        Answer::Byte(byte) => words.notation().byte(*byte).to_string(),
        Answer::Compared(Compared::Agrees) => "agrees".into(),
        Answer::Compared(Compared::Differs { at, found }) => {
            format!("differs at {} with {}", address(at.0), words.notation().byte(*found))
        }
        Answer::RanOut => "ran out".into(),
        Answer::StillRuns => "still runs".into(),
        Answer::Text(bytes) if bytes.is_empty() => "nothing".into(),
        Answer::Text(bytes) => format!("\"{}\"", printed(bytes)),
        Answer::Open => "one thing or another".into(),
    }
}

/// What a terminal prints of characters; bit 7 may be anything.
pub(super) fn printed(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| char::from(byte & 0o177)).filter(|it| !it.is_control()).collect()
}
