//! Messages as they pass a stream: a head that says how long each is, and JSON.
//!
//! The reader of `lsp-server` ends with the first message that is no JSON, and the server with it; an editor that once
//! sends a wrong one would lose it. So only the messages themselves are that crate's, and streams are read here.
//!
//! Source: Language Server Protocol, base protocol: `Content-Length`, an empty line, then the content in UTF-8.

use std::io::{self, BufRead, BufReader, Read, Write};
use std::sync::mpsc::{Receiver, channel};
use std::thread;

use lsp_server::{ErrorCode, Message};
use serde_json::json;

/// The longest message that is taken, in bytes; a longer one is read past and refused.
const LONGEST: u64 = 64 << 20;

/// What came in.
pub enum Incoming {
    /// A message.
    Message(Message),
    /// What is no message, and why.
    Malformed(String),
}

/// Reads messages on a thread of its own, until the stream ends.
pub fn incoming(stream: impl Read + Send + 'static) -> Receiver<Incoming> {
    let (send, receive) = channel();
    thread::spawn(move || {
        let mut stream = BufReader::new(stream);
        while let Ok(Some(found)) = next(&mut stream) {
            if send.send(found).is_err() {
                return;
            }
        }
    });
    receive
}

/// The next message, or nothing at the end of the stream.
fn next(stream: &mut impl BufRead) -> io::Result<Option<Incoming>> {
    let Some(length) = head(stream)? else { return Ok(None) };
    let Some(length) = length else {
        return Ok(Some(Incoming::Malformed("a head without a length of the content".into())));
    };
    if length > LONGEST {
        io::copy(&mut stream.take(length), &mut io::sink())?;
        return Ok(Some(Incoming::Malformed(format!("a message of more than {LONGEST} bytes"))));
    }
    let mut content = Vec::new();
    stream.take(length).read_to_end(&mut content)?;
    if (content.len() as u64) < length {
        return Ok(None);
    }
    Ok(Some(match serde_json::from_slice(&content) {
        Ok(message) => Incoming::Message(message),
        Err(error) => Incoming::Malformed(error.to_string()),
    }))
}

/// The length that a head gives, none if it gives none; nothing at the end of the stream.
fn head(stream: &mut impl BufRead) -> io::Result<Option<Option<u64>>> {
    let (mut length, mut begun) = (None, false);
    loop {
        let mut line = Vec::new();
        // A line without an end would be kept whole.
        let read = stream.take(4096).read_until(b'\n', &mut line)?;
        if read == 0 {
            return Ok(None);
        }
        let line = String::from_utf8_lossy(&line);
        let line = line.trim();
        if line.is_empty() {
            if begun {
                return Ok(Some(length));
            }
            continue;
        }
        begun = true;
        if let Some((key, value)) = line.split_once(':')
            && key.trim().eq_ignore_ascii_case("content-length")
        {
            length = value.trim().parse().ok();
        }
    }
}

/// Where messages go out.
pub struct Outgoing<W> {
    stream: W,
}

impl<W: Write> Outgoing<W> {
    /// To a stream.
    pub fn new(stream: W) -> Outgoing<W> {
        Outgoing { stream }
    }

    /// Answers what is no message; JSON-RPC has a reply without a number for it.
    pub fn refuse(&mut self, why: &str) {
        let error = json!({ "code": ErrorCode::ParseError as i32, "message": why });
        let text = json!({ "jsonrpc": "2.0", "id": null, "error": error }).to_string();
        let _ = write!(self.stream, "Content-Length: {}\r\n\r\n{text}", text.len()).and_then(|()| self.stream.flush());
    }

    /// Sends a message. An editor that reads no more has gone, and the end of its other stream tells it.
    pub fn send(&mut self, message: impl Into<Message>) {
        let _ = message.into().write(&mut self.stream).and_then(|()| self.stream.flush());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_message_is_told_and_the_next_one_read() {
        let good = r#"{"jsonrpc":"2.0","method":"exit"}"#;
        let text = format!("Content-Length: 3\r\n\r\n{{{{{{Odd: 1\r\n\r\nContent-Length: {}\r\n\r\n{good}", good.len());
        let mut stream = text.as_bytes();
        assert!(matches!(next(&mut stream), Ok(Some(Incoming::Malformed(_)))));
        assert!(matches!(next(&mut stream), Ok(Some(Incoming::Malformed(_)))));
        assert!(
            matches!(next(&mut stream), Ok(Some(Incoming::Message(Message::Notification(it)))) if it.method == "exit")
        );
        assert!(matches!(next(&mut stream), Ok(None)));
    }
}
