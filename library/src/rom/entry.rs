//! A socket as people write it: an option of a command, or a table of a machine file.

use crate::notation::parse_number;
use crate::source::{Code, Diagnostic, nearest};

/// A `[[socket]]` of a machine file, or `--socket NAME=PART@BASE`, before it is checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SocketEntry {
    /// As printed on the board.
    pub name: String,
    /// The name of the part.
    pub part: String,
    /// The first address, 0 to 65535.
    pub base: u16,
    /// Even and odd addresses lie in different parts.
    pub interleaved: bool,
    /// The data lines pass an inverter.
    pub inverted: bool,
    /// The machine's data line at each data pin, from pin 0 up.
    pub data: Option<Vec<u8>>,
    /// The machine's address line at each address pin, from pin 0 up.
    pub address: Option<Vec<u8>>,
    /// What the machine reads where the image has no byte; without it, cells stay erased.
    pub fill: Option<FillEntry>,
    /// The check that lies in the socket.
    pub check: Option<CheckEntry>,
}

/// One byte, or a pattern that is repeated from the base on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FillEntry {
    /// The same byte everywhere.
    Byte(u8),
    /// Bytes in turn.
    Pattern(Vec<u8>),
}

impl FillEntry {
    /// The pattern.
    pub fn bytes(&self) -> &[u8] {
        match self {
            FillEntry::Byte(byte) => std::slice::from_ref(byte),
            FillEntry::Pattern(pattern) => pattern,
        }
    }
}

/// A check and where it lies.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CheckEntry {
    /// The name of its kind.
    pub kind: String,
    /// The address of its first byte.
    pub at: u16,
}

/// How a socket is typed.
pub const SYNTAX: &str =
    "NAME=PART@BASE[,interleaved][,inverted][,data=LINES][,address=LINES][,fill=BYTES][,check=KIND@ADDRESS]";

const WORDS: [&str; 6] = ["interleaved", "inverted", "data", "address", "fill", "check"];

impl SocketEntry {
    /// Reads a socket as it is typed (see [`SYNTAX`]): numbers in any form of [`parse_number`], lists with full stops
    /// between their numbers.
    ///
    /// # Errors
    /// A diagnostic that says what was expected.
    pub fn parse(text: &str) -> Result<SocketEntry, Diagnostic> {
        let mut pieces = text.split(',').map(str::trim);
        let seat = pieces.next().unwrap_or_default();
        let (name, rest) = seat.split_once('=').ok_or_else(|| refuse(text, "a name and `=`"))?;
        let (part, base) = rest.split_once('@').ok_or_else(|| refuse(text, "a part, `@` and a base address"))?;
        let mut entry = SocketEntry {
            name: name.trim().into(),
            part: part.trim().into(),
            base: number(text, base)?,
            interleaved: false,
            inverted: false,
            data: None,
            address: None,
            fill: None,
            check: None,
        };
        let mut given = Vec::new();
        for piece in pieces {
            let word = piece.split_once('=').map_or(piece, |(word, _)| word);
            if given.contains(&word) {
                return Err(refuse(text, &format!("`{word}` once")));
            }
            given.push(word);
            entry.option(text, piece)?;
        }
        Ok(entry)
    }

    fn option(&mut self, text: &str, piece: &str) -> Result<(), Diagnostic> {
        match piece.split_once('=') {
            None if piece == "interleaved" => self.interleaved = true,
            None if piece == "inverted" => self.inverted = true,
            Some(("data", lines)) => self.data = Some(bytes(text, lines)?),
            Some(("address", lines)) => self.address = Some(bytes(text, lines)?),
            Some(("fill", pattern)) => self.fill = Some(FillEntry::Pattern(bytes(text, pattern)?)),
            Some(("check", check)) => {
                let (kind, at) = check.split_once('@').ok_or_else(|| refuse(text, "a check, `@` and its address"))?;
                self.check = Some(CheckEntry { kind: kind.trim().into(), at: number(text, at)? });
            }
            _ => return Err(unknown(text, piece)),
        }
        Ok(())
    }
}

fn number(text: &str, digits: &str) -> Result<u16, Diagnostic> {
    let digits = digits.trim();
    parse_number(digits).map_err(|error| refuse(text, "a number").with_note(format!("`{digits}` is {error}")))
}

fn bytes(text: &str, list: &str) -> Result<Vec<u8>, Diagnostic> {
    let byte = |digits: &str| {
        let value = number(text, digits)?;
        u8::try_from(value).map_err(|_| refuse(text, "bytes of `0..=255`").with_note(format!("`{digits}` is larger")))
    };
    list.split('.').map(byte).collect()
}

fn unknown(text: &str, piece: &str) -> Diagnostic {
    let word = piece.split_once('=').map_or(piece, |(word, _)| word);
    let problem = refuse(text, &format!("one of {}", WORDS.join(", ")));
    match nearest(word, WORDS).filter(|near| *near != word) {
        Some(near) => problem.with_note(format!("instead of `{piece}`, did you mean `{near}`?")),
        None => problem.with_note(format!("`{piece}` is none of them")),
    }
}

fn refuse(text: &str, expected: &str) -> Diagnostic {
    Diagnostic::error(Code::SocketMalformed, format!("`{text}` is not a socket: expected {expected}"))
        .with_help(format!("write {SYNTAX}, such as `U7=2704@0o177000`"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_a_socket_is_refused() {
        let refused = [
            "",
            "U7",
            "U7=2704",
            "U7=2704@",
            "U7=2704@70000",
            "U7=2704@0,data=256",
            "U7=2704@0,fill=",
            "U7=2704@0,check=sum8",
            "U7=2704@0,inverted,inverted",
            "U7=2704@0,invert",
            "U7=2704@0,inverted=1",
            "U7=2704@0,data",
            "U7=2704@0,",
        ];
        for text in refused {
            assert_eq!(SocketEntry::parse(text).unwrap_err().code, Code::SocketMalformed, "{text}");
        }
    }
}
