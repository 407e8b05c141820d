//! What reads like text.

use std::ops::Range;

use super::bytes::Bytes;
use super::hints::Kind;
use super::marks::{Mark, Marks};

/// Characters that are text without an end that shows it.
const LONG: usize = 8;

/// Characters that are looked at together.
const PIECE: usize = 256;

/// Characters that are text if their end shows it.
const SHORT: usize = 4;

/// Whether a byte is a printing ASCII character.
pub fn prints(byte: u8) -> bool {
    matches!(byte, b' '..=b'~')
}

/// Whether a byte is one that stands in texts: printing, or a control character of terminals.
fn stands_in_text(byte: u8) -> bool {
    prints(byte) || matches!(byte, 7..=13 | 27)
}

/// Marks the texts among bytes that are not known. `sure` asks for long ones only.
pub fn mark(bytes: &Bytes, marks: &mut Marks, range: Range<usize>, sure: bool) {
    let mut at = range.start;
    while at < range.end {
        if marks.at(at) != Mark::Unknown {
            at += 1;
            continue;
        }
        match length(bytes, marks, at, range.end, sure) {
            Some(length) => {
                marks.set(at..at + length, Mark::Plain(Kind::Text));
                at += length;
            }
            None => at += 1,
        }
    }
}

/// The length of the text that begins at an address, with its end, if it is one.
fn length(bytes: &Bytes, marks: &Marks, at: usize, end: usize, sure: bool) -> Option<usize> {
    let unknown = |at: usize| at < end && marks.at(at) == Mark::Unknown;
    let byte = |at: usize| unknown(at).then(|| bytes.get(at)).flatten();
    let run = (at..at + PIECE).take_while(|at| byte(*at).is_some_and(stands_in_text)).count();
    let printing = (at..at + run).filter(|at| byte(*at).is_some_and(prints)).count();
    let behind = byte(at + run);
    let ends = match behind {
        Some(0) => true,
        // The high bit marks the last character.
        Some(last) => last >= 0x80 && prints(last & 0x7F) && letter(last & 0x7F),
        None => false,
    } || (at..at + run).rev().take(3).any(|at| matches!(byte(at), Some(b'$' | 13 | 10)));
    let least = if sure || !ends { LONG } else { SHORT };
    let reads = printing >= least && quality(bytes, at..at + run) >= if sure { 70 } else { 60 };
    reads.then(|| run + usize::from(ends && behind.is_some_and(|last| last == 0 || last >= 0x80)))
}

fn letter(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || matches!(byte, b' ' | b'.' | b'!' | b'?' | b':' | b'>')
}

/// How much bytes read like words, in per cent; code and tables that happen to print are mostly signs and strange
/// sequences.
fn quality(bytes: &Bytes, range: Range<usize>) -> i32 {
    let (mut sum, mut count, mut before, mut same) = (0, 0, 0, 0);
    for byte in range.filter_map(|at| bytes.get(at)) {
        count += 1;
        same += i32::from(byte == before);
        sum += match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b' ' => 100,
            b'0'..=b'9' => 70,
            b'.' | b',' | b':' | b'?' | b'!' | b'-' | b'\'' | b'=' | b'/' => 50,
            13 | 10 | 9 | 7 => 60,
            _ => -60,
        };
        // Words do not change between capitals and small letters inside.
        if before.is_ascii_lowercase() && byte.is_ascii_uppercase() {
            sum -= 120;
        }
        before = byte;
    }
    if count == 0 || same * 2 > count { 0 } else { sum / count }
}
