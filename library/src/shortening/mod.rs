//! What of a program could be shorter, and why nothing else changes.
//!
//! [`shorten`] looks at an assembled source and gives [`Suggestion`]s, each with the lines that it is about, the bytes that
//! it saves, and the reason why it is right. A suggestion is made only if it is proved:
//!
//! * Straight runs: every form of up to two instructions in fewer bytes is tried (`search`); one is taken if registers,
//!   flags and accesses to memory, as expressions over what was before (`value`, `state`), are the same wherever what
//!   follows can tell the difference (`facts`). No table of tricks is kept: what is found is found by the search.
//! * Jumps, calls, returns and tails that two places share follow from where code goes on (`jumps`).
//! * Whatever is suggested is applied to the source, assembled, and compared byte for byte (`edit`): everything else is
//!   as it was, but for addresses of what has moved.
//!
//! Left alone is what the program changes itself, what is named otherwise than by a jump or call, loops that pass time, and
//! what comes from macros and included files.

mod asked;
mod code;
mod edit;
mod effect;
mod facts;
mod follow;
mod gathered;
mod jumps;
mod lines;
mod made;
mod lowered;
mod meant;
mod outside;
mod overlaid;
mod routines;
mod row;
mod search;
mod slots;
mod state;
mod timing;
mod trial;
mod value;
mod walking;

pub use asked::{Depth, Search};
pub use code::Unseen;
pub use jumps::Way;
pub use lowered::Assemble;
pub use outside::Outside;

use rayon::prelude::*;

use crate::assembler::Assembly;
use crate::isa::Register;
use crate::source::{SourceId, SourceMap};
use asked::shorter;
use code::Code;
use edit::{Edit, Piece, free_name, label_of};
use facts::Facts;
use gathered::{counted_on, gathered};
use jumps::{Turn, shared_tail, turn};
use lines::Lines;
use lowered::lowered;
use meant::{Side, is_as_meant};
use outside::is_past_top;
use overlaid::overlaid;
use search::Shorter;
use slots::slots;
use walking::walks_itself;

/// Why a suggestion changes nothing else.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reason {
    /// A form that was found by the search: these registers are known before it, and these registers and flags are not
    /// read behind it before they are written.
    Form {
        /// Registers whose byte is known, with that byte.
        known: Vec<(Register, u8)>,
        /// Names of registers and flags that differ, and that nothing reads.
        unread: Vec<&'static str>,
    },
    /// Another way of jumps.
    Way(Way),
    /// A jump to a routine, put among bytes that the program fills, at an address where a restart goes; and so many calls
    /// of it that become restarts.
    Slot {
        /// Where the restart goes.
        at: u16,
        /// How many calls become restarts.
        calls: usize,
    },
}

/// Lines as they are, and as they would be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// The first line, from 1.
    pub line: usize,
    /// The lines as they are; none where lines only come, before that line.
    pub before: Vec<String>,
    /// The lines as they would be.
    pub after: Vec<String>,
}

/// A shorter form of some lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Suggestion {
    /// What changes, in the order of the lines.
    pub places: Vec<Place>,
    /// Lines elsewhere that get a label, from 1, with the label.
    pub labels: Vec<(usize, String)>,
    /// Bytes saved.
    pub saves: usize,
    /// T-states more (or, negative, less), where a jump is taken.
    pub states: i64,
    /// Why it is right.
    pub reason: Reason,
    /// The whole source with the change.
    pub text: String,
}

impl Suggestion {
    /// The first line that changes, from 1.
    pub fn line(&self) -> usize {
        self.places.first().map_or(0, |place| place.line)
    }

    /// All lines that come.
    pub fn after(&self) -> impl Iterator<Item = &str> {
        self.places.iter().flat_map(|place| place.after.iter().map(String::as_str))
    }
}

/// A change that was found and not yet compared.
struct Found {
    edit: Edit,
    saves: usize,
    states: i64,
    reason: Reason,
}

/// Everything of a source that could be shorter, each by itself; those that save most come first. `outside` is what a chain
/// knows of the program; nothing, for a source by itself. A `search` that is used again remembers what it found.
///
/// # Errors
/// Why nothing can be said of the program.
pub fn shorten(
    sources: &SourceMap,
    own: SourceId,
    assembly: &Assembly,
    outside: &Outside,
    search: &Search,
    assemble: &Assemble,
) -> Result<Vec<Suggestion>, Unseen> {
    if is_past_top(assembly) {
        let text = sources.get(own).text();
        let low = lowered(text, assembly, assemble).ok_or(Unseen::PastTop)?;
        let outside = low.outside(outside);
        let found = found(&low.sources, low.own, &low.assembly, &outside, search, assemble)?;
        let back = |it: Suggestion| Some(Suggestion { text: low.put_back(text, &it.text)?, ..it });
        return Ok(found.into_iter().filter_map(back).collect());
    }
    found(sources, own, assembly, outside, search, assemble)
}

/// As [`shorten`], for a program that lies in memory.
fn found(
    sources: &SourceMap,
    own: SourceId,
    assembly: &Assembly,
    outside: &Outside,
    search: &Search,
    assemble: &Assemble,
) -> Result<Vec<Suggestion>, Unseen> {
    let lines = Lines::new(assembly, sources, own);
    let code = Code::new(assembly, &lines, outside)?;
    let facts = Facts::new(&code);
    if let Some(row) = walks_itself(&code, &facts) {
        return Err(Unseen::WalksItself { line: code.rows[row].line.map(|line| line + 1) });
    }
    let text = sources.get(own).text();
    let of_row = |number: usize| {
        let forms = [
            shorter(&code, &facts, number, search),
            gathered(&code, &facts, number, search),
            counted_on(&code, &facts, number),
        ];
        let forms = forms.into_iter().flatten().filter_map(|it| of_form(&code, text, it));
        let turns = [turn(&code, &facts, number), shared_tail(&code, &facts, number)];
        let turns = turns.into_iter().flatten().filter_map(|it| of_turn(&code, text, it));
        forms.chain(turns).collect::<Vec<_>>()
    };
    let mut found: Vec<_> = (0..code.rows.len()).into_par_iter().flat_map_iter(of_row).collect();
    let overlaid = overlaid(&code, &facts, &assembly.image, &lines, text, outside);
    found.extend(overlaid.into_iter().map(|it| Found {
        edit: it.edit,
        saves: it.saves,
        states: 0,
        reason: Reason::Way(Way::SameData),
    }));
    let slots = slots(&code, &facts, &assembly.image, &lines, text, outside);
    found.extend(slots.into_iter().map(|it| Found {
        edit: it.edit,
        saves: it.saves,
        states: it.states,
        reason: Reason::Slot { at: it.at, calls: it.calls },
    }));
    let old = Side::new(assembly, sources, own);
    let checked = |it: Found| {
        let changed = it.edit.apply(text);
        let (new_sources, new_own, new) = assemble(&changed)?;
        let new = Side::new(&new, &new_sources, new_own);
        is_as_meant(&it.edit, &old, &new, it.saves, outside).ok()?;
        Some(suggestion(text, it, changed))
    };
    let mut suggestions: Vec<_> = found.into_iter().filter_map(checked).collect();
    suggestions.sort_by_key(|it| (std::cmp::Reverse(it.saves), it.line(), it.after().count()));
    Ok(suggestions)
}

fn suggestion(text: &str, it: Found, changed: String) -> Suggestion {
    let lines: Vec<_> = text.split('\n').map(|line| line.trim_end_matches('\r').to_owned()).collect();
    let place =
        |piece: Piece| Place { line: piece.lines.start + 1, before: lines[piece.lines].to_vec(), after: piece.new };
    Suggestion {
        places: it.edit.pieces.into_iter().map(place).collect(),
        labels: it.edit.labels.into_iter().map(|(line, label)| (line + 1, label)).collect(),
        saves: it.saves,
        states: it.states,
        reason: it.reason,
        text: changed,
    }
}

fn of_form(code: &Code, text: &str, it: Shorter) -> Option<Found> {
    let piece = |(rows, form): (std::ops::Range<usize>, Vec<_>)| Piece::new(text, &code.rows[rows], &form);
    let pieces = it.pieces.into_iter().map(piece).collect::<Option<Vec<_>>>()?;
    let edit = Edit { pieces, labels: Vec::new() };
    let known = Register::ALL.into_iter().enumerate().filter_map(|(at, register)| Some((register, it.needs[at]?)));
    let reason = Reason::Form { known: known.collect(), unread: names(it.differs) };
    Some(Found { edit, saves: it.saves, states: it.states, reason })
}

/// The names of registers and flags.
fn names(places: effect::Places) -> Vec<&'static str> {
    const FLAGS: [&str; 5] = ["sign", "zero", "auxiliary carry", "parity", "carry"];
    let registers = Register::ALL.into_iter().filter(|&it| places & effect::register(it) != 0).map(Register::name);
    let flags = FLAGS.into_iter().enumerate().filter(|(at, _)| places >> (8 + at) & 1 == 1).map(|(_, name)| name);
    registers.chain(flags).collect()
}

fn of_turn(code: &Code, text: &str, mut it: Turn) -> Option<Found> {
    let mut labels = Vec::new();
    if let Some(at) = it.label_at {
        let line = code.rows[at].line?;
        let there = text.split('\n').nth(line)?;
        let name = match label_of(there) {
            Some(name) => name.to_owned(),
            // Something before the instruction that is no label: leave it alone.
            None if code.rows[at].labelled => return None,
            None => {
                let name = free_name(text, "SHARE");
                labels.push((line, name.clone()));
                name
            }
        };
        it.form.iter_mut().filter_map(|made| made.operand.as_mut()).for_each(|given| given.text.clone_from(&name));
    }
    let edit = Edit { pieces: vec![Piece::new(text, &code.rows[it.rows.clone()], &it.form)?], labels };
    Some(Found { edit, saves: it.saves, states: it.states, reason: Reason::Way(it.way) })
}
