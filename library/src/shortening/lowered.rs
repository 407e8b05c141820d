//! A program that runs past the top of memory, put lower down so that it can be looked at: it is too long, and has no bytes
//! where it belongs.

use std::collections::BTreeSet;
use std::ops::Range;

use super::edit::parted;
use super::outside::Outside;
use crate::assembler::Assembly;
use crate::isa::decode;
use crate::notation::Address;
use crate::source::{SourceId, SourceMap};

/// By how much programs are put lower: the first of these by which no number of theirs becomes an address of theirs.
const LOWER: [u16; 4] = [0x4000, 0x5000, 0x6000, 0x7000];

/// By how much less they are put lower a second time, to see which words are numbers.
const HIGHER: u16 = 0x1000;

/// Assembles a changed source; nothing if it has errors other than that it is too long.
pub type Assemble<'a> = dyn Fn(&str) -> Option<(SourceMap, SourceId, Assembly)> + 'a;

/// A program of which the piece that ran past the top is put lower down.
pub(super) struct Lowered {
    by: u16,
    /// Where that piece belongs.
    base: u16,
    text: String,
    pub sources: SourceMap,
    pub own: SourceId,
    pub assembly: Assembly,
}

impl Lowered {
    /// What others know of the program, as it is lower down. A number that is an address where the program belongs names
    /// what lies there.
    pub fn outside(&self, outside: &Outside) -> Outside {
        let down = |addresses: &BTreeSet<u16>| -> BTreeSet<u16> {
            addresses.iter().map(|&at| if at < self.base { at } else { at.wrapping_sub(self.by) }).collect()
        };
        let mut moved = Outside { named: down(&outside.named), shared: down(&outside.shared) };
        let numbers = words(&self.assembly).into_iter().filter(|&word| word >= self.base);
        moved.named.extend(numbers.map(|word| word.wrapping_sub(self.by)));
        moved
    }

    /// A text that came of the lowered one, with the lines of the source back that were put lower.
    pub fn put_back(&self, text: &str, changed: &str) -> Option<String> {
        let mut pairs = text.split('\n').zip(self.text.split('\n')).filter(|(own, low)| own != low);
        let mut next = pairs.next();
        let lines: Vec<_> = changed
            .split('\n')
            .map(|line| match next {
                Some((own, low)) if line == low => {
                    next = pairs.next();
                    own
                }
                _ => line,
            })
            .collect();
        next.is_none().then(|| lines.join("\n"))
    }
}

/// A program that ran past the top of memory, with the piece that did where it has room; nothing if that lies nowhere as it
/// does where it belongs.
pub(super) fn lowered(text: &str, assembly: &Assembly, assemble: &Assemble) -> Option<Lowered> {
    origins(text).into_iter().find_map(|piece| {
        LOWER.into_iter().find_map(|by| {
            let (low, other) =
                (put(text, &piece, by, assembly, assemble)?, put(text, &piece, by - HIGHER, assembly, assemble)?);
            // What is the same word in both places is a number, or names another piece.
            let lies = |it: &Lowered, word: u16| it.assembly.image.byte(Address(word)).is_some();
            let within = |word: u16| lies(&low, word) && lies(&other, word.wrapping_add(HIGHER));
            let numbers: BTreeSet<_> = words(&low.assembly).intersection(&words(&other.assembly)).copied().collect();
            numbers.iter().all(|&word| !within(word)).then_some(low)
        })
    })
}

/// A program with one piece so much lower; nothing if anything else than the piece has moved.
fn put(text: &str, piece: &Range<usize>, by: u16, assembly: &Assembly, assemble: &Assemble) -> Option<Lowered> {
    let text = with_origin(text, piece, by);
    let (sources, own, low) = assemble(&text)?;
    if assembly.statements.len() != low.statements.len() || low.image.is_empty() {
        return None;
    }
    let pairs = || assembly.statements.iter().zip(&low.statements).filter(|(high, _)| high.instruction().is_some());
    let (moved, stayed): (Vec<_>, Vec<_>) = pairs().partition(|(high, low)| high.location != low.location);
    let base = moved.first()?.0.location;
    let same = pairs().all(|(high, low)| high.instruction() == low.instruction());
    let all = moved.iter().all(|(high, low)| high.location.wrapping_sub(low.location) == by);
    // What lies above its base would be taken for a part of it.
    let apart = stayed.iter().all(|(high, _)| high.location < base);
    (same && all && apart).then_some(Lowered { by, base, text, sources, own, assembly: low })
}

/// The lines from each ORG of a source up to the next.
fn origins(text: &str) -> Vec<Range<usize>> {
    let is_origin = |line: &str| placed(line).is_some_and(|at| line[..at].to_ascii_uppercase().ends_with("ORG"));
    let starts: Vec<_> = text.split('\n').enumerate().filter(|(_, line)| is_origin(line)).map(|(at, _)| at).collect();
    let ends = starts.iter().skip(1).copied().chain([usize::MAX]);
    starts.iter().copied().zip(ends).map(|(start, end)| start..end).collect()
}

/// Behind the word of a line that says where what follows lies: ORG, or what fills up to an address.
fn placed(line: &str) -> Option<usize> {
    let (code, _) = parted(line);
    let mut from = 0;
    for word in code.split_whitespace() {
        let at = from + code[from..].find(word).unwrap_or_default();
        from = at + word.len();
        if !word.ends_with(':') {
            return ["ORG", "STUFFTO"].iter().any(|it| word.eq_ignore_ascii_case(it)).then_some(from);
        }
    }
    None
}

/// A source with the ORG of a piece, and what it fills up to, so much lower.
fn with_origin(text: &str, piece: &Range<usize>, by: u16) -> String {
    let lines = text.split('\n').enumerate().map(|(number, line)| {
        let Some(from) = placed(line).filter(|_| piece.contains(&number)) else { return line.to_owned() };
        let (code, comment) = parted(line);
        let (place, rest) = code[from..]
            .split_once(',')
            .map_or((&code[from..], String::new()), |(place, rest)| (place, format!(",{rest}")));
        format!("{} ({})-{by}{rest}{comment}", &code[..from], place.trim())
    });
    let lines: Vec<_> = lines.collect();
    lines.join("\n")
}

/// Words of instructions, and of any two bytes of data side by side.
fn words(assembly: &Assembly) -> BTreeSet<u16> {
    let image = &assembly.image;
    let byte = |at: u16| image.byte(Address(at));
    let word = |at: u16| Some(u16::from_le_bytes([byte(at)?, byte(at.wrapping_add(1))?]));
    let mut words = BTreeSet::new();
    let mut within = BTreeSet::new();
    for at in assembly.statements.iter().filter(|it| it.instruction().is_some()).map(|it| it.location) {
        let Some(length) = byte(at).map(|opcode| u16::from(decode(opcode).length)) else { continue };
        within.extend((0..length).map(|on| at.wrapping_add(on)));
        if length == 3 {
            words.extend(word(at.wrapping_add(1)));
        }
    }
    for extent in image.extents() {
        for at in extent.base.0..extent.last().0 {
            if !within.contains(&at) && !within.contains(&(at + 1)) {
                words.extend(word(at));
            }
        }
    }
    words
}
