//! The texts that an editor has open.

use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};
use std::str::FromStr;

use lsp_types::{TextDocumentContentChangeEvent, Uri};

use super::super::source_file::shown;
use super::positions::Lines;

/// An open text.
#[derive(Debug)]
pub struct Document {
    /// As the editor names it.
    pub uri: Uri,
    /// The number of its state.
    pub version: i32,
    /// The text.
    pub text: String,
    /// Where its lines begin.
    pub lines: Lines,
}

impl Document {
    /// Bytes at the beginning that are no part of the text for whoever assembles it.
    pub fn mark(&self) -> usize {
        if self.text.starts_with('\u{FEFF}') { '\u{FEFF}'.len_utf8() } else { 0 }
    }

    fn apply(&mut self, change: TextDocumentContentChangeEvent) {
        match change.range {
            None => self.text = change.text,
            Some(range) => {
                let start = self.lines.offset(&self.text, range.start);
                let end = self.lines.offset(&self.text, range.end).max(start);
                self.text.replace_range(start..end, &change.text);
            }
        }
        self.lines = Lines::of(&self.text);
    }
}

/// All open texts, by the names of their files.
#[derive(Debug, Default)]
pub struct Documents(BTreeMap<String, Document>);

impl Documents {
    /// Opens a text.
    pub fn open(&mut self, uri: Uri, version: i32, text: String) {
        let lines = Lines::of(&text);
        self.0.insert(name_of(&uri), Document { uri, version, text, lines });
    }

    /// Changes a text; one that is not open is none.
    pub fn change(&mut self, uri: &Uri, version: i32, changes: Vec<TextDocumentContentChangeEvent>) {
        let Some(document) = self.0.get_mut(&name_of(uri)) else { return };
        document.version = version;
        changes.into_iter().for_each(|change| document.apply(change));
    }

    /// Closes a text.
    pub fn close(&mut self, uri: &Uri) {
        self.0.remove(&name_of(uri));
    }

    /// The open text of a file.
    pub fn get(&self, name: &str) -> Option<&Document> {
        self.0.get(name)
    }

    /// The names of all that is open.
    pub fn names(&self) -> impl Iterator<Item = &String> {
        self.0.keys()
    }
}

/// The name of the file that a URI is: its path, or the URI itself where it names no file.
pub fn name_of(uri: &Uri) -> String {
    let text = uri.as_str();
    let Some(path) = text.strip_prefix("file://") else { return text.to_owned() };
    let path = decoded(path);
    let bytes = path.as_bytes();
    // `/c:/folder`: a drive.
    let is_drive = bytes.len() > 2 && bytes[0] == b'/' && bytes[1].is_ascii_alphabetic() && bytes[2] == b':';
    shown(&tidy(Path::new(if is_drive { &path[1..] } else { &path })))
}

/// The URI of a file.
pub fn uri_of(name: &str) -> Option<Uri> {
    if name.contains("://") {
        return Uri::from_str(name).ok();
    }
    let mut text = String::from(if name.starts_with('/') { "file://" } else { "file:///" });
    for byte in name.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => text.push(char::from(byte)),
            _ => text += &format!("%{}", hex::encode_upper([byte])),
        }
    }
    Uri::from_str(&text).ok()
}

fn decoded(text: &str) -> String {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.as_bytes();
    while let [first, after @ ..] = rest {
        let code = after.get(..2).filter(|_| *first == b'%').and_then(|code| hex::decode(code).ok());
        match code {
            Some(code) => {
                bytes.extend(code);
                rest = &after[2..];
            }
            None => {
                bytes.push(*first);
                rest = after;
            }
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

/// A path without `.` and `..`, as far as it says where it begins.
pub fn tidy(path: &Path) -> PathBuf {
    let mut out = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir if matches!(out.components().next_back(), Some(Component::Normal(_))) => {
                out.pop();
            }
            part => out.push(part),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_and_its_uri_are_one() {
        for name in ["/tmp/a b/key.asm", "/é/%41.toml", "untitled:Untitled-1"] {
            let uri = if name.starts_with('/') { uri_of(name).unwrap() } else { Uri::from_str(name).unwrap() };
            assert_eq!(name_of(&uri), name);
        }
        let drive = Uri::from_str("file:///c%3A/tower/key.asm").unwrap();
        assert_eq!(name_of(&drive), "c:/tower/key.asm");
        assert_eq!(name_of(&Uri::from_str("file:///a/b/../c.asm").unwrap()), "/a/c.asm");
    }
}
