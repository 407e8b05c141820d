//! A socket: where a part is seated, how it is wired, how it is filled and where its check lies.
//!
//! A socket is described by a [`SocketEntry`], typed as an option or written in a machine file; [`Socket`] is the
//! checked form. It knows nothing of images.

use super::check::Check;
use super::entry::SocketEntry;
use super::outputs::Width;
use super::part::{Part, Parts};
use super::text;
use super::wiring::{Lines, Wiring};
use crate::image::MEMORY;
use crate::notation::{Address, Notation, counted, typed};
use crate::source::{Code, Diagnostic};

/// A ROM position of the machine with the part that is to be seated in it. Four-bit and interleaved parts share one
/// socket as a pair, or as two pairs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Socket {
    /// As printed on the board; also the name of its part files.
    pub name: String,
    /// The part.
    pub part: Part,
    /// The first address at which the machine sees it; a multiple of [`Socket::span`].
    pub base: Address,
    /// How it is wired.
    pub wiring: Wiring,
    /// What the machine reads where the image has no byte.
    pub fill: Fill,
    /// The check that lies in it.
    pub check: Option<Check>,
}

/// What the machine reads in a socket where the image has no byte.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fill {
    /// Cells stay erased.
    Erased,
    /// Bytes repeated from the base on; never empty.
    Pattern(Vec<u8>),
}

/// One part of a socket: which addresses and which data pins it serves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Seat {
    /// 0, or 1 for the odd addresses of an interleaved socket.
    pub lane: usize,
    /// The number of the lowest of the socket's eight data pins that it serves: 0, or 4 for a high nibble.
    pub shift: usize,
    /// What distinguishes its name: empty, `-high`, `-low`, `-even`, `-odd` and their pairs.
    pub suffix: &'static str,
}

/// A mistake in a description of a socket.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The field of the [`SocketEntry`] that is wrong.
    pub key: &'static str,
    /// What is wrong with it.
    pub problem: Diagnostic,
}

impl Socket {
    /// The longest name, in characters.
    pub const LONGEST_NAME: usize = 40;

    /// Checks a description.
    ///
    /// # Errors
    /// A diagnostic for the first thing in it that cannot be.
    pub fn new(entry: &SocketEntry, parts: &Parts) -> Result<Socket, Diagnostic> {
        Socket::checked(entry, parts).map_err(|first| first.problem)
    }

    /// Like [`Socket::new`], with the key at which the mistake lies.
    ///
    /// # Errors
    /// The first thing in it that cannot be.
    pub fn checked(entry: &SocketEntry, parts: &Parts) -> Result<Socket, Fault> {
        let refuse = |key, why: String| {
            let headline = format!("socket `{}` cannot be: {why}", entry.name);
            Fault { key, problem: Diagnostic::error(Code::SocketMalformed, headline) }
        };
        if !is_name(&entry.name) {
            let allowed = format!("a name is 1 to {} letters, digits, `-`, `_` or `.`", Self::LONGEST_NAME);
            return Err(refuse("name", format!("{allowed}, and starts with a letter or digit")));
        }
        let at = |key| move |problem| Fault { key, problem };
        let part = parts.find(&entry.part).map_err(at("part"))?;
        let lines = |key, order: &Option<Vec<u8>>, count: usize| match order {
            None => Ok(Lines::straight(count)),
            Some(order) => Lines::new(order, count).ok_or_else(|| {
                refuse(key, format!("`{key}` must name each line `0..={}` once, from pin 0 up", count - 1))
            }),
        };
        let wiring = Wiring {
            interleaved: entry.interleaved,
            inverted: entry.inverted,
            data: lines("data", &entry.data, 8)?,
            address: lines("address", &entry.address, part.address_lines())?,
        };
        let fill = match entry.fill.as_ref().map(|fill| fill.bytes()) {
            None => Fill::Erased,
            Some([]) => return Err(refuse("fill", "`fill` is an empty pattern".into())),
            Some(pattern) => Fill::Pattern(pattern.into()),
        };
        let socket = Socket { name: entry.name.clone(), part, base: Address(entry.base), wiring, fill, check: None };
        socket.check_base().map_err(at("base"))?;
        socket.with_check(entry).map_err(at("check"))
    }

    /// Addresses that it serves: the part's words, twice that if interleaved.
    pub fn span(&self) -> usize {
        self.part.words << usize::from(self.wiring.interleaved)
    }

    /// Its last address.
    pub fn last(&self) -> Address {
        Address((self.base.index() + self.span() - 1) as u16)
    }

    /// Its addresses as indices.
    pub fn range(&self) -> std::ops::Range<usize> {
        self.base.index()..self.base.index() + self.span()
    }

    /// `177000..177777`.
    pub fn place(&self, notation: Notation) -> String {
        format!("{}..{}", notation.address(self.base), notation.address(self.last()))
    }

    /// The parts that make up the socket, in the order of their files.
    pub fn seats(&self) -> Vec<Seat> {
        let seat = |lane, shift, suffix| Seat { lane, shift, suffix };
        match (self.wiring.interleaved, self.part.width) {
            (false, Width::Byte) => vec![seat(0, 0, "")],
            (false, Width::Nibble) => vec![seat(0, 4, "-high"), seat(0, 0, "-low")],
            (true, Width::Byte) => vec![seat(0, 0, "-even"), seat(1, 0, "-odd")],
            (true, Width::Nibble) => {
                vec![seat(0, 4, "-even-high"), seat(0, 0, "-even-low"), seat(1, 4, "-odd-high"), seat(1, 0, "-odd-low")]
            }
        }
    }

    /// The names of its parts, in the order of [`Socket::seats`].
    pub fn seat_names(&self) -> impl Iterator<Item = String> {
        self.seats().into_iter().map(|seat| format!("{}{}", self.name, seat.suffix))
    }

    /// What the machine reads from an erased cell.
    pub fn erased_byte(&self) -> u8 {
        let pins = self.part.erased_word();
        self.wiring.to_machine(pins | pins << (8 - self.part.width.bits()))
    }

    /// A board decodes the high address lines, so a socket's base is a multiple of its size.
    fn check_base(&self) -> Result<(), Diagnostic> {
        let (base, span) = (self.base.index(), self.span());
        if span > MEMORY {
            let headline = format!("socket `{}` serves {span} bytes, more than the 8080 can address", self.name);
            return Err(Diagnostic::error(Code::SocketMalformed, headline));
        }
        let below = base / span * span;
        if below == base {
            return Ok(());
        }
        let written = |index: usize| typed(Address(index as u16));
        let above = below + span;
        let help = match above < MEMORY {
            true => format!("the nearest are `{}` and `{}`", written(below), written(above)),
            false => format!("the nearest is `{}`", written(below)),
        };
        let headline = format!(
            "the base `{}` of socket `{}` is not a multiple of its {}",
            written(base),
            self.name,
            counted(span, "byte")
        );
        Err(Diagnostic::error(Code::SocketMalformed, headline)
            .with_note("a board decodes the high address lines; the low ones go to the part itself")
            .with_help(help))
    }

    fn with_check(mut self, entry: &SocketEntry) -> Result<Socket, Diagnostic> {
        let Some(asked) = &entry.check else { return Ok(self) };
        let check = Check::named(&asked.kind, Address(asked.at))?;
        let (start, range) = (usize::from(asked.at), self.range());
        if start < range.start || start + check.width() > range.end {
            let headline = format!("a check at `{}` lies outside socket `{}`", typed(Address(asked.at)), self.name);
            let help = match range.len().checked_sub(check.width()) {
                Some(last) => {
                    let last = self.base.wrapping_add(last as u16);
                    format!("place it at `{}` to `{}`", typed(self.base), typed(last))
                }
                None => "take a shorter check: the socket has no room for this one".into(),
            };
            return Err(Diagnostic::error(Code::CheckMisplaced, headline)
                .with_note(format!("`{}` takes {}", check.kind.name(), text::bytes(check.width())))
                .with_help(help));
        }
        self.check = Some(check);
        Ok(self)
    }
}

/// Two sockets of a map that cannot stand side by side.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clash {
    /// The number of the one that comes first in the map.
    pub first: usize,
    /// The number of the other.
    pub second: usize,
    /// Why not.
    pub problem: Diagnostic,
}

/// Finds the sockets of a map that cannot stand side by side: names that are equal, or would name the same part file,
/// and addresses that two of them serve.
pub fn clashes(sockets: &[Socket]) -> Vec<Clash> {
    let mut clashes = Vec::new();
    for (at, second) in sockets.iter().enumerate() {
        for (before, first) in sockets[..at].iter().enumerate() {
            let mut push = |problem| clashes.push(Clash { first: before, second: at, problem });
            if let Some(name) = second.seat_names().find(|name| first.seat_names().any(|other| same(&other, name))) {
                let headline = format!("two sockets have a part of the name `{name}`");
                push(Diagnostic::error(Code::SocketClash, headline).with_help("give each its own name"));
            }
            let (from, to) = (first.base.max(second.base), first.last().min(second.last()));
            if from <= to {
                push(overlap(first, second, from, to));
            }
        }
    }
    clashes
}

/// Names are equal in either case, since part files are named after them and some file systems know no difference.
fn same(first: &str, second: &str) -> bool {
    first.eq_ignore_ascii_case(second)
}

fn overlap(first: &Socket, second: &Socket, from: Address, to: Address) -> Diagnostic {
    let headline =
        format!("sockets `{}` and `{}` both serve `{}..={}`", first.name, second.name, typed(from), typed(to));
    let place = |socket: &Socket| format!("`{}` serves {}..={}", socket.name, typed(socket.base), typed(socket.last()));
    Diagnostic::error(Code::SocketClash, headline)
        .with_note(format!("{}; {}", place(first), place(second)))
        .with_help("every address belongs to one socket: move one, or give them to two runs if only one is seated")
}

fn is_name(name: &str) -> bool {
    name.len() <= Socket::LONGEST_NAME
        && name.starts_with(|first: char| first.is_ascii_alphanumeric())
        && name.chars().all(|letter| letter.is_ascii_alphanumeric() || "-_.".contains(letter))
}
