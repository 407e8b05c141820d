//! The sheet as plain text, 80 columns wide.

use super::layout::{Frame, Line, keys, lines};
use super::{Action, Section, Sheet};
use crate::panel::levers::{Levers, opens_group};
use crate::panel::steps::Key;
use crate::panel::text::{COLUMNS, IS_DOWN, IS_UP, PUSH_DOWN, PUSH_UP, ends, fit, levers, wrap};

/// Where the statement begins; before it boxes and address.
const STATEMENT: usize = 15;
const STATEMENT_WIDTH: usize = 14;
const BYTE: usize = 31;
/// Where the note begins; before it the levers and the keys.
const NOTE: usize = 59;
/// The column behind the last lever.
const LEVERS_END: usize = 52;

impl Sheet {
    /// The sheet as text: plain characters, 80 columns, a form feed between pages.
    pub fn text(&self) -> String {
        let frame = self.frame();
        let pages = self.pages();
        let total = pages.len();
        let pages = pages.into_iter().enumerate().map(|(at, sections)| self.text_page(&frame, sections, at + 1, total));
        pages.collect::<Vec<_>>().join("\u{c}\n")
    }

    fn text_page(&self, frame: &Frame, sections: &[Section], number: usize, total: usize) -> String {
        let mut out = self.text_head(frame, &self.begin(sections, number), number, total);
        for section in sections {
            for line in lines(section, self.panel.notation, narrow(STATEMENT_WIDTH), narrow(COLUMNS - NOTE)) {
                out.extend(self.text_row(&line));
            }
            out.push(String::new());
        }
        out.extend(wrap(&format!("CAUTION: {}", frame.caution), fits_page));
        out.extend(wrap(&frame.run, fits_page));
        out.push(ends(&frame.image, &format!("page {number} of {total}")));
        out.iter().flat_map(|line| [line.trim_end(), "\n"]).collect()
    }

    fn text_head(&self, frame: &Frame, begin: &str, number: usize, total: usize) -> Vec<String> {
        let mut out = vec![ends(&frame.name.to_uppercase(), &format!("page {number} of {total}"))];
        out.push(ends(&frame.kind, &frame.facts));
        out.extend(wrap(&frame.effort, fits_page));
        out.push(String::new());
        out.extend(wrap(begin, fits_page));
        out.extend(wrap(&frame.check, fits_page));
        out.push(format!(
            "Levers: {PUSH_UP} push up   {PUSH_DOWN} push down   {IS_UP} is up, leave   {IS_DOWN} is down, leave"
        ));
        out.push(format!("Keys: {}", self.key_legend()));
        if let Some(levers) = self.sense_levers() {
            let levers = Levers { moved: 0, ..levers };
            out.push(format!("At the start: {}   {}", frame.sense, self.lever_text(levers)));
        }
        out.push(String::new());
        out.push(self.text_columns());
        out
    }

    /// The letters of the keys that the panel has.
    fn key_legend(&self) -> String {
        let keys = [
            (true, Key::Examine),
            (self.panel.examine_next, Key::ExamineNext),
            (true, Key::Deposit),
            (self.panel.deposit_next, Key::DepositNext),
        ];
        let legend = keys.iter().filter(|(present, _)| *present);
        legend.map(|(_, key)| format!("{} {}", key.letters(), key.name())).collect::<Vec<_>>().join("   ")
    }

    /// The line above the rows: what the columns are, and the number of every switch.
    fn text_columns(&self) -> String {
        let notation = self.panel.notation;
        let numbers: String = (0..8u8)
            .rev()
            .map(|number| format!("{}{number}", if opens_group(number, notation) { "  " } else { " " }))
            .collect();
        let left = format!("{:<STATEMENT$}{:<STATEMENT_WIDTH$} byte", "do  ck address", "instruction");
        let width = LEVERS_END - left.len();
        format!("{left}{:>width$}  key  note", numbers.trim_start())
    }

    /// A row, and below it what its note has no room for.
    fn text_row(&self, line: &Line) -> Vec<String> {
        if let Action::Sum { .. } = line.row.action {
            return vec![format!("        {}", line.note)];
        }
        let boxes = match (line.row.has_first_box(), line.row.has_second_box()) {
            (true, true) => "[ ][ ]",
            (true, false) => "[ ]   ",
            (false, _) => "   [ ]",
        };
        let mut out = format!("{boxes} {:<7} {}", line.address, fit(&line.statement, STATEMENT_WIDTH));
        let levers = line.row.levers.map_or_else(String::new, |levers| self.lever_text(levers));
        let width = LEVERS_END - self.lever_offset(line.row.levers);
        let before = width - levers.chars().count();
        if !line.byte.is_empty() {
            out = format!("{out:<BYTE$}{}", line.byte);
        }
        out = format!("{out:<before$}{levers}");
        out = format!("{out:<LEVERS_END$}  {}", keys(&line.row.keys, true));
        let mut note = wrap(&line.note, narrow(COLUMNS - NOTE)).into_iter().map(|part| fit(&part, COLUMNS - NOTE));
        let mut rows = vec![format!("{out:<NOTE$}{}", note.next().unwrap_or_default())];
        rows.extend(note.map(|part| format!("{:NOTE$}{part}", "")));
        rows
    }

    fn lever_text(&self, setting: Levers) -> String {
        levers(setting, self.panel.notation)
    }

    /// Columns to the right of a setting's last lever: those of the low levers, for one on the high switches.
    fn lever_offset(&self, setting: Option<Levers>) -> usize {
        match setting {
            Some(setting) if setting.lowest == 8 => {
                let low = Levers { lowest: 0, ..setting };
                let high = opens_group(7, self.panel.notation);
                self.lever_text(low).chars().count() + if high { 2 } else { 1 }
            }
            _ => 0,
        }
    }

    /// The levers of the row that sets the sense switches.
    pub(super) fn sense_levers(&self) -> Option<Levers> {
        self.rows().find(|row| matches!(row.action, Action::Sense(_)))?.levers
    }
}

fn narrow(width: usize) -> impl Fn(&str) -> bool {
    move |text| text.chars().count() <= width
}

fn fits_page(line: &str) -> bool {
    line.chars().count() <= COLUMNS
}
