//! What does not fit, named to the byte and the symbol.

use std::ops::Range;

use super::figures::SocketFit;
use super::routine::{Routine, label_of, largest};
use super::socket::Socket;
use super::text;
use crate::image::{Image, MEMORY};
use crate::notation::{Address, Notation};
use crate::source::{Code, Diagnostic};

/// Routines that a problem names.
const NAMED: usize = 5;

/// A run of bytes that lies in no socket.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outside {
    /// Its addresses; never empty.
    pub range: Range<usize>,
    /// The socket whose bytes it continues, by its index; none for a run far from every socket.
    pub socket: Option<usize>,
    /// Whether it lies below that socket; otherwise it runs past its end.
    below: bool,
}

/// Every run of bytes that lies in no socket. One that adjoins a socket's bytes on both sides counts to the lower.
pub fn outside(image: &Image, sockets: &[Socket]) -> Vec<Outside> {
    let owners = owners(sockets);
    let mut runs = Vec::new();
    for extent in image.extents() {
        let range = extent.base.index()..extent.base.index() + extent.bytes.len();
        let mut at = range.start;
        while at < range.end {
            let end = (at..range.end).find(|&next| owners[next] != owners[at]).unwrap_or(range.end);
            if owners[at].is_none() {
                let before = (at > range.start).then(|| owners[at - 1]).flatten();
                let after = (end < range.end).then(|| owners[end]).flatten();
                runs.push(Outside { range: at..end, socket: before.or(after), below: before.is_none() });
            }
            at = end;
        }
    }
    runs
}

/// The socket of each address.
fn owners(sockets: &[Socket]) -> Vec<Option<usize>> {
    let mut owners = vec![None; MEMORY];
    for (index, socket) in sockets.iter().enumerate() {
        owners[socket.range()].fill(Some(index));
    }
    owners
}

/// A socket that does not hold all that runs into it; none if `runs` has no bytes of it.
///
/// `figures` are those of the socket, its routines among them with the bytes that lie outside.
pub fn overflow(
    image: &Image,
    socket: &Socket,
    figures: &SocketFit,
    runs: &[&Outside],
    notation: Notation,
) -> Option<Diagnostic> {
    let first = runs.first()?;
    let (limit, wanted, name) = (figures.size, figures.used + figures.outside, &figures.name);
    let (headline, help) = match wanted.checked_sub(limit).filter(|&over| over > 0) {
        Some(over) => (
            format!("socket `{name}` is over by {}: it holds `{limit}`, and `{wanted}` are wanted", text::bytes(over)),
            mend(over, wanted),
        ),
        None => (
            format!("{} outside socket `{name}`, which has room for all `{wanted}`", text::lie(figures.outside)),
            "move the program into the socket with `ORG`".into(),
        ),
    };
    let mut problem = Diagnostic::error(Code::SocketOverflow, headline);
    for run in runs {
        problem = problem.with_note(describe(image, run, notation));
    }
    let problem = problem
        .with_note(format!("`{name}` is a {} that serves {}", figures.part, socket.place(notation)))
        .with_note(largest_of(&figures.routines))
        .with_help(help);
    Some(pointed(problem, image, first.nearest(), "this does not fit"))
}

impl Outside {
    /// Its byte nearest to the socket.
    fn nearest(&self) -> Address {
        Address(if self.below { self.range.end - 1 } else { self.range.start } as u16)
    }
}

fn describe(image: &Image, run: &Outside, notation: Notation) -> String {
    let (count, place) = (text::lie(run.range.len()), located(image, run.nearest(), notation));
    match run.below {
        true => format!("{count} below it; the last of them is {place}"),
        false => format!("{count} past its end; the first that does not fit is {place}"),
    }
}

/// `201000 in READ+12`.
fn located(image: &Image, address: Address, notation: Notation) -> String {
    let place = notation.address(address);
    match label_of(image, address) {
        Some(label) => format!("{place} in `{label}`"),
        None => format!("{place}, before any label"),
    }
}

/// Bytes far from every socket.
pub fn stray(image: &Image, sockets: &[Socket], run: &Outside, notation: Notation) -> Diagnostic {
    let (from, to) = (Address(run.range.start as u16), Address((run.range.end - 1) as u16));
    let place = match from == to {
        true => notation.address(from).to_string(),
        false => format!("{}..{}", notation.address(from), notation.address(to)),
    };
    let headline = format!("{} in no socket: `{place}`", text::lie(run.range.len()));
    let served: Vec<_> = sockets.iter().map(|socket| format!("{} {}", socket.name, socket.place(notation))).collect();
    let problem = Diagnostic::error(Code::SocketStray, headline)
        .with_note(format!("the first of them is {}", located(image, from, notation)))
        .with_note(format!("served are {}", served.join(", ")))
        .with_help("move the bytes with `ORG`, or describe the socket that they belong to");
    pointed(problem, image, from, "in no socket")
}

/// A socket that has less room left than was asked for.
pub fn spare_short(figures: &SocketFit, spare: usize) -> Diagnostic {
    let SocketFit { name, size, used, free, routines, .. } = figures;
    let headline = format!("socket `{name}` has `{free}` of the `{spare}` bytes that are to be spared");
    let over = spare - free;
    Diagnostic::error(Code::SpareShort, headline)
        .with_note(format!("it may hold {}, and holds {used}: over by {over}", size.saturating_sub(spare)))
        .with_note(largest_of(routines))
        .with_help(format!("shorten the program by {}, or spare less", text::bytes(over)))
}

fn largest_of(routines: &[Routine]) -> String {
    match routines {
        [] => "no byte of the image lies in the socket".into(),
        routines => format!("the largest routines are {}", largest(routines, NAMED)),
    }
}

fn mend(over: usize, wanted: usize) -> String {
    let shorten = format!("shorten the program by {}", text::bytes(over));
    match wanted.next_power_of_two() {
        larger if larger <= MEMORY => format!("{shorten}, or seat a part of {larger} bytes where the board allows it"),
        _ => shorten,
    }
}

/// Points at the source line that made a byte, if there is one.
fn pointed(problem: Diagnostic, image: &Image, address: Address, what: &str) -> Diagnostic {
    match image.made_by(address) {
        Some(position) => problem.at(position.span(), what),
        None => problem,
    }
}
