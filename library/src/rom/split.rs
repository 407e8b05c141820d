//! An image split over the parts of a socket, and joined again. Both directions come from the socket's one description.

use super::check::Check;
use super::routine::label_of;
use super::socket::{Fill, Socket};
use super::text;
use crate::image::Image;
use crate::notation::{Address, Notation};
use crate::source::{Code, Diagnostic};

/// What one part is to hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartImage {
    /// The socket's name with the seat's suffix: `U7`, `U7-high`.
    pub name: String,
    /// Its words from address 0 at the pins on; 4-bit words lie in the low nibble.
    pub words: Vec<u8>,
}

impl PartImage {
    /// The sum of all words, modulo 65536: the checksum on the label.
    pub fn sum(&self) -> u16 {
        self.words.iter().fold(0, |sum, &word| sum.wrapping_add(u16::from(word)))
    }
}

/// The bytes that the machine is to read from a socket, from its base on: the image, the fill and the check.
///
/// # Errors
/// A diagnostic if the check would fall on a byte of the image that differs from it.
pub fn contents(socket: &Socket, image: &Image, notation: Notation) -> Result<Vec<u8>, Diagnostic> {
    let mut bytes = unchecked_contents(socket, image);
    let Some(check) = socket.check else { return Ok(bytes) };
    let start = check.at.index() - socket.base.index();
    for (at, value) in check.compute(&bytes, start).into_iter().enumerate() {
        let address = Address((check.at.index() + at) as u16);
        match image.byte(address) {
            Some(there) if there != value => return Err(occupied(socket, check, image, address, notation)),
            _ => bytes[start + at] = value,
        }
    }
    Ok(bytes)
}

/// The image and the fill alone.
pub(super) fn unchecked_contents(socket: &Socket, image: &Image) -> Vec<u8> {
    let fill = |at: usize| match &socket.fill {
        Fill::Erased => socket.erased_byte(),
        Fill::Pattern(pattern) => pattern[(at - socket.base.index()) % pattern.len()],
    };
    socket.range().map(|at| image.byte(Address(at as u16)).unwrap_or_else(|| fill(at))).collect()
}

fn occupied(socket: &Socket, check: Check, image: &Image, at: Address, notation: Notation) -> Diagnostic {
    let (name, place) = (check.kind.name(), notation.address(at));
    let headline = format!("the `{name}` of socket `{}` would fall on a byte of the program at `{place}`", socket.name);
    let length = text::bytes(check.width());
    let problem = Diagnostic::error(Code::CheckMisplaced, headline)
        .with_help(format!("keep {length} free with `DS`, or place the check elsewhere"));
    let problem = match label_of(image, at) {
        Some(label) => problem.with_note(format!("the byte is `{label}`")),
        None => problem,
    };
    match image.made_by(at) {
        Some(position) => problem.at(position.span(), "the check would fall on this"),
        None => problem,
    }
}

/// The words of every part of a socket, in the order of [`Socket::seats`], from the bytes that the machine is to read.
///
/// `bytes` must be [`Socket::span`] long.
pub fn split(socket: &Socket, bytes: &[u8]) -> Vec<PartImage> {
    let part = |(seat, name): (super::socket::Seat, String)| {
        let mut words = vec![0; socket.part.words];
        for (offset, &byte) in bytes.iter().enumerate() {
            let (lane, word) = socket.wiring.place(offset);
            if lane == seat.lane {
                words[word] = socket.wiring.to_pins(byte) >> seat.shift & socket.part.width.mask();
            }
        }
        PartImage { name, words }
    };
    socket.seats().into_iter().zip(socket.seat_names()).map(part).collect()
}

/// The bytes that the machine reads from parts seated in the order of [`Socket::seats`], with the check verified.
///
/// # Errors
/// A diagnostic for a part with too few or too many words, a word that is too wide, or a check that does not hold.
pub fn join(socket: &Socket, parts: &[PartImage], notation: Notation) -> Result<Vec<u8>, Diagnostic> {
    let bytes = join_as_read(socket, parts)?;
    verify(socket, &bytes, notation)?;
    Ok(bytes)
}

/// As [`join`], whether the socket's check holds or not: what was read may be faulty.
///
/// # Errors
/// As [`join`], but for the check.
pub fn join_as_read(socket: &Socket, parts: &[PartImage]) -> Result<Vec<u8>, Diagnostic> {
    let seats = socket.seats();
    for (part, name) in parts.iter().zip(socket.seat_names()) {
        whole(socket, &name, &part.words)?;
    }
    let read = |offset: usize| {
        let (lane, word) = socket.wiring.place(offset);
        let here = seats.iter().zip(parts).filter(|(seat, _)| seat.lane == lane);
        socket.wiring.to_machine(here.fold(0, |pins, (seat, part)| pins | part.words[word] << seat.shift))
    };
    Ok((0..socket.span()).map(read).collect())
}

/// Whether the words are as many and as wide as the part's.
fn whole(socket: &Socket, name: &str, words: &[u8]) -> Result<(), Diagnostic> {
    let refuse = |why: String| {
        let headline = format!("the file of part `{name}` is not one of a {}: {why}", socket.part.name);
        Diagnostic::error(Code::PartFileWrong, headline).with_note(format!(
            "a {} holds {} bits",
            socket.part.name,
            socket.part.organisation()
        ))
    };
    if words.len() != socket.part.words {
        return Err(refuse(format!("it has {} words instead of {}", words.len(), socket.part.words)));
    }
    match words.iter().position(|&word| word > socket.part.width.mask()) {
        Some(at) => Err(refuse(format!("word {at} is `{}`, above `15`", words[at]))),
        None => Ok(()),
    }
}

/// Whether the check that lies among the bytes of a socket holds.
///
/// # Errors
/// A diagnostic if it does not.
pub fn verify(socket: &Socket, bytes: &[u8], notation: Notation) -> Result<(), Diagnostic> {
    let Some(check) = socket.check else { return Ok(()) };
    let start = check.at.index() - socket.base.index();
    let computed = check.compute(bytes, start);
    let found = &bytes[start..start + check.width()];
    if found == computed {
        return Ok(());
    }
    let written = |bytes: &[u8]| {
        let texts: Vec<_> = bytes.iter().map(|&byte| notation.byte(byte).to_string()).collect();
        texts.join(" ")
    };
    let headline = format!("the `{}` of socket `{}` does not hold", check.kind.name(), socket.name);
    Err(Diagnostic::error(Code::CheckWrong, headline)
        .with_note(format!(
            "at {} lies {}, and the other bytes give {}",
            notation.address(check.at),
            written(found),
            written(&computed)
        ))
        .with_help("read the parts again; if it stays, one of them is damaged, marginal or seated in another's place"))
}

/// What differs between the bytes that a socket ought to hold and those found in it; none if they are equal.
///
/// Both are [`Socket::span`] long.
pub fn difference(socket: &Socket, wanted: &[u8], found: &[u8], notation: Notation) -> Option<Diagnostic> {
    let mut differing = (0..socket.span()).filter(|&at| wanted[at] != found[at]);
    let first = differing.next()?;
    let count = 1 + differing.count();
    let guilty = split(socket, wanted).into_iter().zip(split(socket, found));
    let names: Vec<_> =
        guilty.filter(|(wanted, found)| wanted != found).map(|(part, _)| format!("`{}`", part.name)).collect();
    let headline = format!("the parts of socket `{}` differ from the image in {}", socket.name, text::bytes(count));
    let place = notation.address(Address((socket.base.index() + first) as u16));
    Some(
        Diagnostic::error(Code::PartFileWrong, headline)
            .with_note(format!(
                "the first is at {place}: {} instead of {}",
                notation.byte(found[first]),
                notation.byte(wanted[first])
            ))
            .with_note(format!("it shows in {}", names.join(", ")))
            .with_help("program the part again, or read it again if the reading itself is in doubt"),
    )
}
