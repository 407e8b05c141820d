//! Lines of hexadecimal records: what Intel HEX and S-records share. It finds the records of a text, turns their digits
//! into bytes, and tells records from the other things that a terminal capture holds.
//!
//! A text may hold, each passed over with a note: blank lines, NUL and DEL filler, text before the first record and
//! after the end record, lower case, CR LF and lone CR. What reads like a record with a damaged mark is never passed
//! over.

use super::Reading;
use super::digits::decode;
use super::reading::{give_up, span};
use crate::source::{Code, Diagnostic, Position, SourceId, Span};

/// Ends a text on systems whose files have whole blocks only.
const CONTROL_Z: char = '\x1A';

/// One record, decoded from its digits.
pub(super) struct Record<'a> {
    /// Where it stands, from its mark to its last digit.
    pub span: Span,
    /// Its type digit where that is no part of the bytes: S-records.
    pub kind: u8,
    /// All bytes behind the mark, the count first and the checksum last.
    pub bytes: &'a [u8],
}

/// A format whose lines are records.
pub(super) trait RecordFile {
    /// What one record is called.
    const RECORD: &'static str;
    /// Characters before the digits: the mark, with the type where it follows at once.
    const MARK: usize;

    /// Whether a text begins with the mark of a record.
    fn is_marked(text: &str) -> bool;

    /// Takes one record. Returns whether it was well formed.
    fn take(&mut self, record: &Record<'_>, text: &str) -> bool;

    /// Whether the end record was taken.
    fn ended(&self) -> bool;

    /// Whether the file has proved by a count that no data are missing, though its end record may yet come.
    fn is_counted(&self) -> bool {
        false
    }

    /// What was read so far.
    fn reading(&mut self) -> &mut Reading;
}

/// Reads all records of a text.
pub(super) fn read_all<F: RecordFile>(text: &str, source: SourceId, file: &mut F) {
    let (passed, bytes) = (Passed::default(), Vec::new());
    let mut scan = Scan { text, source, file, seen: 0, closed: false, late: None, passed, bytes };
    for (start, line) in lines(text) {
        if give_up(scan.file.reading(), span(source, start, start + line.len())) {
            return;
        }
        scan.line(start, line);
    }
    scan.finish();
}

/// What was passed over, with the first place of it.
#[derive(Default)]
struct Passed {
    first: Option<Span>,
    what: Vec<&'static str>,
}

impl Passed {
    fn note(&mut self, what: &'static str, at: Span) {
        self.first.get_or_insert(at);
        if !self.what.contains(&what) {
            self.what.push(what);
        }
    }
}

struct Scan<'a, F> {
    text: &'a str,
    source: SourceId,
    file: &'a mut F,
    /// Records found.
    seen: usize,
    /// Whether a control-Z ended the text.
    closed: bool,
    /// The first of the records that stand after the end, and how many there are.
    late: Option<(Span, usize)>,
    passed: Passed,
    bytes: Vec<u8>,
}

impl<F: RecordFile> Scan<'_, F> {
    fn line(&mut self, start: usize, line: &str) {
        let Some((text, rest)) = line.split_once(CONTROL_Z) else { return self.part(start, line) };
        if !text.is_empty() {
            self.part(start, text);
        }
        let at = start + text.len();
        self.passed.note("a control-Z", span(self.source, at, at + 1));
        self.closed = true;
        if !rest.trim_matches(is_filler).is_empty() {
            self.part(at + 1, rest);
        }
    }

    /// A line, or what stands before or after a control-Z in it.
    fn part(&mut self, start: usize, line: &str) {
        let text = line.trim_start_matches(is_filler);
        let start = start + line.len() - text.len();
        let text = text.trim_end_matches(is_filler);
        let all = span(self.source, start, start + text.len());
        if line.contains(['\0', '\x7F']) && text.len() < line.len() {
            self.passed.note("NUL or DEL filler", all);
        }
        if text.is_empty() {
            return self.passed.note("blank lines", all);
        }
        let over = self.file.ended() || self.closed;
        match find::<F>(text) {
            Some(_) if over => self.late(all),
            Some(0) => self.record(start, text),
            Some(at) if self.seen == 0 && !reads_like_record(&text[..at]) => {
                self.passed.note("text before the first record", span(self.source, start, start + at));
                self.record(start + at, &text[at..]);
            }
            None if (over || self.file.is_counted()) && !reads_like_record(text) => {
                self.passed.note("text after the end record", all)
            }
            None if over => self.late(all),
            None if self.seen == 0 && !reads_like_record(text) => {
                self.passed.note("text before the first record", all);
            }
            _ => self.file.reading().problems.push(no_record::<F>(all)),
        }
    }

    fn record(&mut self, start: usize, text: &str) {
        self.seen += 1;
        let (head, tail) = text.split_once([' ', '\t']).unwrap_or((text, ""));
        let well_formed = self.digits(start, head);
        let tail = tail.trim_start_matches(is_filler);
        if tail.is_empty() || !well_formed {
            return;
        }
        let at = span(self.source, start + text.len() - tail.len(), start + text.len());
        if self.file.ended() && !reads_like_record(tail) {
            self.passed.note("text after the end record", at);
        } else {
            self.file.reading().problems.push(
                Diagnostic::error(Code::RecordText, format!("`{}` stands behind a record", shown(tail)))
                    .at(at, "nothing may follow a record in its line"),
            );
        }
    }

    /// Decodes the digits of a record and hands it to the format.
    fn digits(&mut self, start: usize, text: &str) -> bool {
        let all = span(self.source, start, start + text.len());
        let (mark, digits) = text.split_at(F::MARK.min(text.len()));
        let kind = mark.bytes().last().unwrap_or_default();
        if let Err(at) = decode(digits, &mut self.bytes) {
            let at = F::MARK + at;
            let width = text[at..].chars().next().map_or(0, char::len_utf8);
            let guilty = span(self.source, start + at, start + at + width);
            self.file.reading().problems.push(bad_digit::<F>(guilty, &text[at..]));
            return false;
        }
        if digits.bytes().chain(mark.bytes()).any(|digit| digit.is_ascii_lowercase()) {
            self.passed.note("lower case", all);
        }
        let bytes = std::mem::take(&mut self.bytes);
        let well_formed = self.file.take(&Record { span: all, kind, bytes: &bytes }, self.text);
        self.bytes = bytes;
        well_formed
    }

    fn late(&mut self, at: Span) {
        self.late.get_or_insert((at, 0)).1 += 1;
    }

    fn finish(mut self) {
        if let Some(at) = self.text.find('\r') {
            self.passed.note("carriage returns", span(self.source, at, at));
        }
        if let Some((at, count)) = self.late {
            let after = if self.file.ended() { "the end record" } else { "the control-Z that ends the text" };
            self.file.reading().problems.push(
                Diagnostic::error(Code::RecordOrder, format!("`{count}` lines of records stand after {after}"))
                    .at(at, "from here on nothing would be loaded")
                    .with_help("if the file holds several programs, split it"),
            );
        }
        if !self.file.ended() {
            let end = self.text.trim_end_matches(is_filler_or_end).len();
            let at = Position { source: self.source, offset: end as u32 }.span();
            let problem = if self.file.is_counted() { counted(at) } else { unended::<F>(self.seen, at) };
            self.file.reading().problems.push(problem);
        }
        if let Some(first) = self.passed.first {
            let what = self.passed.what.join(", ");
            self.file.reading().problems.push(
                Diagnostic::note(Code::CaptureNoted, format!("passed over as a terminal adds them: {what}"))
                    .at(first, "the first of them"),
            );
        }
    }
}

/// Where in a text a record begins: at its start, or behind a prompt if all of the rest are digits.
fn find<F: RecordFile>(text: &str) -> Option<usize> {
    if F::is_marked(text) && (!text.contains([' ', '\t']) || reads_like_record(text)) {
        return Some(0);
    }
    let bytes = text.as_bytes();
    let digits = bytes.iter().rev().take_while(|byte| byte.is_ascii_hexdigit()).count();
    let first = bytes.len() - digits;
    (first.saturating_sub(F::MARK)..first + F::MARK)
        .find(|&at| bytes.len() >= at + F::MARK + 8 && text.is_char_boundary(at) && F::is_marked(&text[at..]))
        .filter(|&at| bytes[at + F::MARK..].iter().all(u8::is_ascii_hexdigit))
}

/// Whether a text is a record but for its mark and one or two damaged characters: too much like one to be passed over.
/// The shortest record has nine digits.
fn reads_like_record(text: &str) -> bool {
    let digits = text.bytes().filter(u8::is_ascii_hexdigit).count();
    let others = text.chars().count() - digits;
    let longest = text.split(|char: char| !char.is_ascii_hexdigit()).map(str::len).max();
    (digits >= 8 && others <= 2) || longest >= Some(9)
}

fn is_filler(char: char) -> bool {
    matches!(char, ' ' | '\t' | '\0' | '\x7F')
}

fn is_filler_or_end(char: char) -> bool {
    is_filler(char) || matches!(char, '\r' | '\n' | CONTROL_Z)
}

/// The lines of a text with their offsets; a line ends with LF, CR LF or CR.
pub(super) fn lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let mut at = 0;
    std::iter::from_fn(move || {
        let rest = text.get(at..).filter(|rest| !rest.is_empty())?;
        let length = memchr::memchr2(b'\r', b'\n', rest.as_bytes()).unwrap_or(rest.len());
        let end = if rest[length..].starts_with("\r\n") { 2 } else { 1 };
        let line = (at, &rest[..length]);
        at += length + end;
        Some(line)
    })
}

/// The first characters of a text, for a headline.
fn shown(text: &str) -> String {
    text.chars().take(24).map(|char| if char.is_control() { '.' } else { char }).collect()
}

fn bad_digit<F: RecordFile>(guilty: Span, rest: &str) -> Diagnostic {
    let problem = match rest.chars().next() {
        None => {
            Diagnostic::error(Code::RecordDigit, "the record ends within a byte").at(guilty, "one digit is missing")
        }
        Some(char) => {
            Diagnostic::error(Code::RecordDigit, format!("`{}` is not a hexadecimal digit", shown(&char.to_string())))
                .at(guilty, "expected 0..=9 or A..=F")
        }
    };
    problem.with_note(format!("{} was left out", F::RECORD))
}

fn no_record<F: RecordFile>(at: Span) -> Diagnostic {
    Diagnostic::error(Code::RecordText, format!("this line is not {}", F::RECORD))
        .at(at, "its mark is missing or damaged, or it is foreign text")
        .with_help("foreign text is passed over only before the first record and after the end record")
}

fn counted(at: Span) -> Diagnostic {
    Diagnostic::warning(Code::RecordEnd, "the end record is missing")
        .at(at, "the file stops here")
        .with_note("the count of records is right, so no data are missing; some tools leave the end out")
        .with_help("a loader may wait for it: write the file again with `coldwright convert`")
}

fn unended<F: RecordFile>(seen: usize, at: Span) -> Diagnostic {
    if seen == 0 {
        return Diagnostic::error(Code::RecordEnd, "the file holds no record")
            .at(at, format!("expected {}", F::RECORD));
    }
    Diagnostic::error(Code::RecordEnd, "the end record is missing")
        .at(at, "the file stops here")
        .with_note("what came before may be all there was, or the file may be cut short")
        .with_help("send or copy the file again")
}
