//! What the rows say and on which page they stand: the one source of every output.

use super::{Action, Row, Section, Sheet, Totals};
use crate::cautions::{When, applying};
use crate::notation::{Notation, counted};
use crate::panel::model::Stop;
use crate::panel::page::paginate;
use crate::panel::steps::Key;
use crate::panel::text::{duration, wrap};

/// Rows that a page holds.
pub const ROWS: usize = 35;

/// The words around the rows.
pub struct Frame {
    /// The name of what is deposited.
    pub name: String,
    /// What the sheet is.
    pub kind: String,
    /// Entry, size.
    pub facts: String,
    /// Work and time.
    pub effort: String,
    /// How to check a block.
    pub check: String,
    /// What stands beside the drawn sense switches.
    pub sense: String,
    /// What can hurt at the start, on every page.
    pub caution: String,
    /// How to start, on every page.
    pub run: String,
    /// By what the image is known, on every page.
    pub image: String,
}

/// A row in words.
pub struct Line<'a> {
    /// The row.
    pub row: &'a Row,
    /// The address that is set or filled; empty if there is none.
    pub address: String,
    /// The byte; empty if there is none.
    pub byte: String,
    /// The statement, at its first byte; whole, however long.
    pub statement: String,
    /// Whether a statement begins here.
    pub opens: bool,
    /// What is said at the end of the row.
    pub note: String,
}

impl Sheet {
    /// The words around the rows.
    pub(super) fn frame(&self) -> Frame {
        let notation = self.panel.notation;
        let blocks = self.sections.len() as u64 - u64::from(self.starts);
        let entry = notation.address(self.entry);
        let sense = notation.byte(self.sense);
        let run = if self.panel.stop == Stop::Lever { "lever to RUN" } else { "RUN" };
        let set = if self.panel.senses { format!("sense switches {sense}, ") } else { String::new() };
        Frame {
            name: self.name.clone(),
            kind: format!("deposit sheet, {}", notation.name()),
            facts: format!(
                "entry {entry}, {} in {}",
                counted(self.totals.check.bytes, "byte"),
                counted(blocks, "block")
            ),
            effort: self.effort(),
            check: self.check_words(),
            sense: format!("sense {sense}"),
            caution: applying(&[When::Deposit]).map(|caution| caution.short).collect(),
            run: match self.starts {
                true => format!("When every box is ticked: EXAMINE {entry}, {set}{run}."),
                false => "When every box is ticked, go on by the run card. This program is not started by hand.".into(),
            },
            image: self.totals.check.line(notation),
        }
    }

    /// How a page is begun: the first one, or one that goes on where the page before it ended.
    pub(super) fn begin(&self, sections: &[Section], number: usize) -> String {
        if number == 1 {
            let down = match self.panel.stop {
                Stop::Lever => "every lever down but the one of STOP and RUN",
                _ => "every lever down",
            };
            return format!(
                "Begin with the machine on and stopped, {down}. Row by row: push the levers that change, press the key, tick."
            );
        }
        let first = sections.first().and_then(|section| section.rows.first());
        let before = match first.map(|row| &row.action) {
            // What is stepped on from is what the lights showed when the page before was done.
            Some(Action::Byte { address, .. }) => {
                format!("EXAMINE {}, then ", self.panel.notation.address(address.wrapping_add(u16::MAX)))
            }
            _ => String::new(),
        };
        format!(
            "Goes on from page {}, levers as they stand. After a pause: {before}every lever as the first row shows.",
            number - 1
        )
    }

    /// What the sheet takes, in words.
    pub fn effort(&self) -> String {
        let Totals { levers, keys, ticks, .. } = self.totals;
        format!(
            "{}, {}, {}: about {} at {} s a movement",
            counted(levers, "lever movement"),
            counted(keys, "keystroke"),
            counted(ticks, "tick"),
            duration(self.seconds()),
            self.pace.movement
        )
    }

    fn check_words(&self) -> String {
        let tick = "compare the data lights with that byte's row (lever up = light on), tick its second box";
        match self.panel.examine_next {
            true => {
                format!("At CHECK: EXAMINE shows the block's first byte; {tick}; EXAMINE NEXT shows the next byte.")
            }
            false => format!("At CHECK: EXAMINE shows one byte; {tick}."),
        }
    }

    /// Which sections stand on which page.
    pub(super) fn pages(&self) -> Vec<&[Section]> {
        let heights = self.sections.iter().map(|section| section.rows.len());
        paginate(heights, ROWS).into_iter().map(|range| &self.sections[range]).collect()
    }
}

/// The rows of a section in words. A label that does not fit before its statement moves to the note; a note is broken
/// where `fits` says and goes on in the rows of the same statement.
pub fn lines<'a>(
    section: &'a Section,
    notation: Notation,
    fits_statement: impl Fn(&str) -> bool,
    fits: impl Fn(&str) -> bool,
) -> Vec<Line<'a>> {
    let mut lines: Vec<Line> = section.rows.iter().map(|row| line(row, notation)).collect();
    for line in lines.iter_mut().filter(|line| !fits_statement(&line.statement)) {
        move_label(line);
    }
    let opening: Vec<usize> = (0..lines.len()).filter(|&at| lines[at].opens).collect();
    for (index, &start) in opening.iter().enumerate() {
        let end = opening.get(index + 1).copied().unwrap_or(lines.len());
        spread(&mut lines[start..end], &fits);
    }
    lines
}

fn move_label(line: &mut Line) {
    if let Some((label, rest)) = line.statement.split_once(": ") {
        line.note = format!("{label}: {}", line.note);
        line.statement = rest.to_owned();
    }
}

/// Breaks the first line's note over the lines after it; what does not find room is cut by the writers.
fn spread(lines: &mut [Line], fits: &impl Fn(&str) -> bool) {
    let room = lines.iter().skip(1).take_while(|line| matches!(line.row.action, Action::Byte { .. })).count();
    let mut parts = wrap(&lines[0].note, fits);
    if parts.len() > room + 1 {
        parts.truncate(room);
        // Not the parts put together: a word broken in two would have a blank in it.
        let whole = lines[0].note.split_whitespace().collect::<Vec<_>>().join(" ");
        let rest = parts.iter().fold(whole.as_str(), |rest, part| rest.strip_prefix(part).unwrap_or(rest).trim_start());
        parts.push(rest.to_owned());
    }
    for (line, part) in lines.iter_mut().zip(parts) {
        line.note = part;
    }
}

fn line(row: &Row, notation: Notation) -> Line<'_> {
    let mut line = Line {
        row,
        address: String::new(),
        byte: String::new(),
        statement: String::new(),
        opens: true,
        note: String::new(),
    };
    match &row.action {
        Action::Address(address) => {
            line.address = notation.address(*address).to_string();
            line.note = "set the address".into();
        }
        Action::Byte { address, byte, remark } => {
            line.address = notation.address(*address).to_string();
            line.byte = notation.byte(*byte).to_string();
            line.opens = remark.is_some();
            if let Some(remark) = remark {
                line.statement = remark.statement.clone();
                line.note = remark.comment.clone();
            }
        }
        Action::Check { address, bytes } => {
            line.address = notation.address(*address).to_string();
            line.note = format!("CHECK {}", counted(bytes.len() as u64, "byte"));
        }
        Action::Sum { last, running } => {
            let (last, sum) = (notation.address(*last), notation.word(*running));
            line.note = format!("block done: address lights show {last}; sum of bytes so far {sum}");
        }
        Action::Entry(address) => {
            line.address = notation.address(*address).to_string();
            line.note = "START: entry address".into();
        }
        Action::Sense(byte) => {
            line.address = notation.byte(*byte).to_string();
            line.note = "sense switches".into();
        }
        Action::Run => line.note = "the program runs".into(),
    }
    line
}

/// The keys of a row for its column.
pub fn keys(keys: &[Key], short: bool) -> String {
    match keys {
        [key] if !short => key.name().to_owned(),
        keys => keys.iter().map(|key| key.letters()).collect::<Vec<_>>().join("+"),
    }
}
