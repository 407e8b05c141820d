//! Changes of a source's lines.

use std::ops::Range;

use super::made::{Made, written};
use super::row::Row;

/// A change of a source: lines that go, and those that come in their place; and labels that other lines get.
#[derive(Clone, Debug)]
pub(super) struct Edit {
    /// What changes, in the order of the lines.
    pub pieces: Vec<Piece>,
    /// Labels before other lines, which stay as they are.
    pub labels: Vec<(usize, String)>,
}

/// Lines that go, and those that come in their place.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    /// Lines that go, from 0; none where lines only come.
    pub lines: Range<usize>,
    /// Lines that come.
    pub new: Vec<String>,
    /// The instructions of the lines that come.
    pub form: Vec<Made>,
    /// Where the bytes of the lines that go lie besides, if what names them names those from now on.
    pub instead: Option<u16>,
    /// Where the first of the instructions must lie.
    pub at: Option<u16>,
}

/// A name for a label that no line of a source says.
pub(super) fn free_name(text: &str, begins: &str) -> String {
    let upper = text.to_ascii_uppercase();
    let names = (1..).map(|number| format!("{begins}{number}"));
    names.into_iter().find(|name| !upper.contains(name.as_str())).unwrap_or_default()
}

/// The label that stands before the instruction of a line, if there is one.
pub(super) fn label_of(line: &str) -> Option<&str> {
    let (label, _) = line.split_once(':')?;
    let is_name = |label: &str| {
        label.starts_with(|c: char| c.is_ascii_alphabetic() || matches!(c, '?' | '@'))
            && label.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '?' | '@' | '_'))
    };
    is_name(label).then_some(label)
}

impl Piece {
    /// The lines of a form in place of those of some rows, which stand in lines that follow each other but for comments.
    pub fn new(text: &str, rows: &[Row], form: &[Made]) -> Option<Piece> {
        let lines: Vec<&str> = text.split('\n').collect();
        let numbers: Vec<usize> = rows.iter().map(|row| row.line).collect::<Option<_>>()?;
        let (&first, &last) = (numbers.first()?, numbers.last()?);
        if first > last {
            return None;
        }
        let (mut head, mut comments, mut between) = (String::new(), Vec::new(), Vec::new());
        for (at, line) in lines.iter().enumerate().take(last + 1).skip(first) {
            let (before, comment) = parted(line);
            if !numbers.contains(&at) {
                // A line between with more than a comment means something to somebody.
                if !before.trim().is_empty() {
                    return None;
                }
                between.push((*line).to_owned());
                continue;
            }
            if at == first {
                head = before[..before.find(|c: char| c.is_whitespace()).unwrap_or(before.len())].to_owned();
            }
            if !comment.is_empty() {
                comments.push(comment.trim_start_matches(';').trim().to_owned());
            }
        }
        let mut new = Vec::new();
        for (at, made) in form.iter().enumerate() {
            let label = if at == 0 { head.as_str() } else { "" };
            let body = line_of(label, made);
            let comment = if at == 0 { comments.join("; ") } else { String::new() };
            new.push(if comment.is_empty() { body } else { format!("{body:<31} ; {comment}") });
        }
        if form.is_empty() && !head.is_empty() {
            new.push(head);
        }
        new.extend(between);
        Some(Piece { lines: first..last + 1, new, form: form.to_vec(), instead: None, at: None })
    }
}

/// A line with one instruction.
pub(super) fn line_of(label: &str, made: &Made) -> String {
    let (mnemonic, operands) = written(made);
    format!("{label:<7} {mnemonic:<7} {operands}").trim_end().to_owned()
}

impl Edit {
    /// The source with the change.
    pub fn apply(&self, text: &str) -> String {
        let carriage = if text.contains("\r\n") { "\r" } else { "" };
        let mut lines: Vec<String> = text.split('\n').map(str::to_owned).collect();
        for (line, label) in &self.labels {
            let it = &mut lines[*line];
            // The label takes the room of the blanks before the instruction.
            let blank = it.len() - it.trim_start().len();
            *it = format!("{:<width$}{}", format!("{label}:"), it.trim_start(), width = blank.max(label.len() + 2));
        }
        for piece in self.pieces.iter().rev() {
            let new = piece.new.iter().map(|line| format!("{}{carriage}", line.trim_end_matches('\r')));
            lines.splice(piece.lines.clone(), new);
        }
        lines.join("\n")
    }

    /// Where a line of the old source stands in the new one; nothing if it went.
    pub fn moved(&self, line: usize) -> Option<usize> {
        let before = self.pieces.iter().take_while(|it| it.lines.start <= line);
        before.into_iter().try_fold(line, |now, it| (line >= it.lines.end).then(|| now + it.new.len() - it.lines.len()))
    }

    /// The lines of the new source that came with each piece.
    pub fn came(&self) -> impl Iterator<Item = (&Piece, Range<usize>)> {
        self.pieces.iter().scan(0isize, |shift, it| {
            let first = it.lines.start.wrapping_add_signed(*shift);
            *shift += it.new.len() as isize - it.lines.len() as isize;
            Some((it, first..first + it.new.len()))
        })
    }
}

/// A line up to its comment, and the comment.
pub(super) fn parted(line: &str) -> (&str, &str) {
    let mut quoted = false;
    for (at, c) in line.char_indices() {
        match c {
            '\'' => quoted = !quoted,
            ';' if !quoted => return line.split_at(at),
            _ => {}
        }
    }
    (line.trim_end_matches('\r'), "")
}
