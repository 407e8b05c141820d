//! A program that runs past the top of memory, put lower down so that it can be looked at: it is too long, and has no bytes
//! where it belongs.

use std::collections::BTreeSet;

use super::edit::parted;
use super::outside::{Outside, first};
use crate::assembler::{Assembly, Statement};
use crate::isa::decode;
use crate::notation::Address;
use crate::source::{SourceId, SourceMap};

/// By how much programs are put lower: the first of these by which no number of theirs becomes an address of theirs.
const LOWER: [u16; 4] = [0x4000, 0x5000, 0x6000, 0x7000];

/// Assembles a changed source; nothing if it has errors other than that it is too long.
pub type Assemble<'a> = dyn Fn(&str) -> Option<(SourceMap, SourceId, Assembly)> + 'a;

/// A program put lower down.
pub(super) struct Lowered {
    by: u16,
    text: String,
    pub sources: SourceMap,
    pub own: SourceId,
    pub assembly: Assembly,
}

impl Lowered {
    /// What others know of the program, as it is lower down. A number that is an address where the program belongs names
    /// what lies there.
    pub fn outside(&self, assembly: &Assembly, outside: &Outside) -> Outside {
        let down = |addresses: &BTreeSet<u16>| -> BTreeSet<u16> {
            addresses.iter().map(|at| at.wrapping_sub(self.by)).collect()
        };
        let mut moved = Outside { named: down(&outside.named), shared: down(&outside.shared) };
        let base = first(assembly).unwrap_or_default();
        let numbers = words(&self.assembly).into_iter().filter(|&word| word >= base);
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

/// A program that ran past the top of memory, where it has room; nothing if it has more than one ORG, or lies nowhere as it
/// does where it belongs.
pub(super) fn lowered(text: &str, assembly: &Assembly, assemble: &Assemble) -> Option<Lowered> {
    let at = |by: u16| {
        let text = with_origin(text, by)?;
        let (sources, own, low) = assemble(&text)?;
        let mut pairs = assembly.statements.iter().zip(&low.statements);
        let follows = |(high, low): (&Statement, &Statement)| {
            high.instruction() == low.instruction()
                && (high.instruction().is_none() || high.location.wrapping_sub(by) == low.location)
        };
        let same = assembly.statements.len() == low.statements.len() && pairs.all(follows);
        (same && !low.image.is_empty()).then_some(Lowered { by, text, sources, own, assembly: low })
    };
    LOWER.into_iter().find_map(|by| {
        let (low, other) = (at(by)?, at(by - 0x1000)?);
        // What is the same word in both places is a number.
        let numbers: BTreeSet<_> = words(&low.assembly).intersection(&words(&other.assembly)).copied().collect();
        numbers.iter().all(|&word| low.assembly.image.byte(Address(word)).is_none()).then_some(low)
    })
}

/// A source with its one ORG, and what it fills up to, so much lower.
fn with_origin(text: &str, by: u16) -> Option<String> {
    let mut origins = 0;
    let lines = text.split('\n').map(|line| {
        let (code, comment) = parted(line);
        let mut from = 0;
        for word in code.split_whitespace() {
            let at = from + code[from..].find(word).unwrap_or_default();
            from = at + word.len();
            if word.ends_with(':') {
                continue;
            }
            let is_origin = word.eq_ignore_ascii_case("ORG");
            origins += usize::from(is_origin);
            if !is_origin && !word.eq_ignore_ascii_case("STUFFTO") {
                break;
            }
            let (place, rest) = code[from..]
                .split_once(',')
                .map_or((&code[from..], String::new()), |(place, rest)| (place, format!(",{rest}")));
            return format!("{} ({})-{by}{rest}{comment}", &code[..from], place.trim());
        }
        line.to_owned()
    });
    let lines: Vec<_> = lines.collect();
    (origins == 1).then(|| lines.join("\n"))
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
