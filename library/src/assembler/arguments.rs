//! What a call of a macro, IRP or IRPC passes, taken out of the text behind it.
//!
//! Source: Intel 8080/8085 Assembly Language Programming Manual, 9800301, 1977, chapter 5: `< >` groups, `!` passes the
//! next character literally, `%` passes a value.

use std::ops::Range;

/// What a call passes for one parameter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Actual {
    /// Text.
    Text(String),
    /// The value of the expression in this range of the text.
    Value(Range<usize>),
}

/// Why the arguments of a call could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct UnclosedGroup {
    /// Offset of the `<` that nothing closes.
    pub at: usize,
}

/// Splits the arguments that start at offset `at` of `text` and end with the line or its comment. None at all is no
/// argument, not an empty one.
pub(super) fn actuals(text: &str, at: usize) -> Result<Vec<Actual>, UnclosedGroup> {
    let mut arguments = Vec::new();
    let mut reader = Reader { text: text.as_bytes(), at };
    if reader.at_end() {
        return Ok(arguments);
    }
    loop {
        arguments.push(reader.argument()?);
        if reader.peek() != Some(b',') {
            return Ok(arguments);
        }
        reader.at += 1;
    }
}

struct Reader<'a> {
    text: &'a [u8],
    at: usize,
}

impl Reader<'_> {
    fn peek(&self) -> Option<u8> {
        self.text.get(self.at).copied().filter(|byte| !matches!(byte, b'\n' | 0x1A))
    }

    /// The byte under the cursor in a string, where control-Z is a character like any other.
    fn peek_quoted(&self) -> Option<u8> {
        self.text.get(self.at).copied().filter(|&byte| byte != b'\n')
    }

    fn skip_blanks(&mut self) {
        while self.peek().is_some_and(|byte| byte.is_ascii_whitespace()) {
            self.at += 1;
        }
    }

    fn at_end(&mut self) -> bool {
        self.skip_blanks();
        matches!(self.peek(), None | Some(b';'))
    }

    fn argument(&mut self) -> Result<Actual, UnclosedGroup> {
        self.skip_blanks();
        if self.peek() == Some(b'%') {
            self.at += 1;
            let start = self.at;
            while let Some(byte) = self.peek().filter(|byte| !matches!(byte, b',' | b';')) {
                match byte {
                    b'\'' | b'"' => self.quoted(&mut Vec::new()),
                    _ => self.at += 1,
                }
            }
            return Ok(Actual::Value(start..self.at));
        }
        let mut out = Vec::new();
        while let Some(byte) = self.peek() {
            match byte {
                b',' | b';' => break,
                b'<' => self.group(&mut out)?,
                b'\'' | b'"' => self.quoted(&mut out),
                b'!' => self.literal(&mut out),
                _ => {
                    out.push(byte);
                    self.at += 1;
                }
            }
        }
        Ok(Actual::Text(String::from_utf8_lossy(&out).trim().to_owned()))
    }

    /// A group in brackets; the outer pair is taken off, inner ones stay.
    fn group(&mut self, out: &mut Vec<u8>) -> Result<(), UnclosedGroup> {
        let open = self.at;
        let mut depth = 0;
        while let Some(byte) = self.peek() {
            match byte {
                b'\'' | b'"' => {
                    self.quoted(out);
                    continue;
                }
                b'!' => {
                    self.literal(out);
                    continue;
                }
                b'<' => depth += 1,
                b'>' => depth -= 1,
                _ => {}
            }
            self.at += 1;
            if depth == 0 {
                return Ok(());
            }
            if !(byte == b'<' && depth == 1) {
                out.push(byte);
            }
        }
        Err(UnclosedGroup { at: open })
    }

    /// A string, passed with its quotes and whatever is in it; a doubled quote does not end it.
    fn quoted(&mut self, out: &mut Vec<u8>) {
        let quote = self.peek().unwrap_or(b'\'');
        let mut inside = false;
        while let Some(byte) = self.peek_quoted() {
            out.push(byte);
            self.at += 1;
            if byte == quote && inside && self.peek() != Some(quote) {
                return;
            }
            inside = byte != quote || !inside;
        }
    }

    fn literal(&mut self, out: &mut Vec<u8>) {
        self.at += 1;
        if let Some(byte) = self.peek() {
            out.push(byte);
            self.at += 1;
        }
    }
}

/// One piece for each character of the text of IRPC, or one empty piece.
pub(super) fn characters(text: &str) -> impl Iterator<Item = String> + '_ {
    let empty = text.is_empty().then(String::new);
    empty.into_iter().chain(text.chars().map(String::from))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arguments_are_split_grouped_and_escaped() {
        let texts = |text: &str| {
            let list = actuals(text, 0).unwrap().into_iter();
            list.map(|actual| match actual {
                Actual::Text(text) => text,
                Actual::Value(range) => format!("%{}", &text[range]),
            })
            .collect::<Vec<_>>()
        };
        assert_eq!(texts(" a , b c ; d"), ["a", "b c"]);
        assert_eq!(texts("<a,b>,<<c>,d>"), ["a,b", "<c>,d"]);
        assert_eq!(texts("'x,;y''z', !<,!!"), ["'x,;y''z'", "<", "!"]);
        assert_eq!(texts("%A+1,B"), ["%A+1", "B"]);
        assert_eq!(texts("a,,b,"), ["a", "", "b", ""]);
        assert!(texts("  ; nothing").is_empty());
        assert_eq!(actuals("x,<y", 0), Err(UnclosedGroup { at: 2 }));
    }
}
