//! The sheet drawn: the same rows on the same pages as the text, with levers to look at.

use super::layout::{Frame, Line, ROWS, keys, lines};
use super::{Action, Section, Sheet};
use crate::drawing::metrics::{fit, width_mm};
use crate::drawing::{Anchor, Drawing, Font, Page, PageSize, Pt, Stroke, Text};
use crate::panel::glyph::{Size, rule, tick_box};
use crate::panel::levers::Levers;
use crate::panel::page::{LEFT, Paper, RIGHT};
use crate::panel::steps::Key;
use crate::panel::text::wrap;

/// Where columns begin or (levers, byte) end, millimetres from the left edge of the page.
const SECOND_BOX: f64 = LEFT + 6.2;
const ADDRESS: f64 = LEFT + 12.6;
const STATEMENT: f64 = LEFT + 32.2;
const BYTE_END: f64 = LEFT + 77.0;
const LEVERS_END: f64 = LEFT + 119.0;
const KEYS: f64 = LEFT + 121.5;
/// Where notes begin: behind the longest key of the sheet.
const NOTE: std::ops::RangeInclusive<f64> = LEFT + 143.0..=LEFT + 151.5;

/// On a page with fewer rows than [`ROWS`] they stand further apart, as far as so many would.
const WIDEST: usize = 28;

/// The top of the first row and the bottom of the last, from the upper and lower edge of the page.
const TOP: f64 = 57.2;
const BOTTOM: f64 = 23.0;

const SIZE: Size = Size::ROWS;
const ADDRESS_TYPE: (Font, Pt) = (Font::HelveticaBold, Pt(13.0));
const BYTE_TYPE: (Font, Pt) = (Font::HelveticaBold, Pt(15.0));
const STATEMENT_TYPE: (Font, Pt) = (Font::Courier, Pt(11.0));
const NOTE_TYPE: (Font, Pt) = (Font::Helvetica, Pt(9.5));
const KEY_TYPE: (Font, Pt) = (Font::HelveticaBold, Pt(11.0));
const HEAD_TYPE: (Font, Pt) = (Font::Helvetica, Pt(10.0));
const SMALL_TYPE: (Font, Pt) = (Font::Helvetica, Pt(7.5));

impl Sheet {
    /// The sheet as a drawing on `paper`.
    pub fn draw(&self, paper: Paper) -> Drawing {
        let frame = self.frame();
        let pages = self.pages();
        let total = pages.len();
        let note = self.note_column();
        let pages = pages.into_iter().enumerate().map(|(at, sections)| {
            let label = format!("page {} of {total}", at + 1);
            Draughtsman { sheet: self, page: Page::new(paper.size()), size: paper.size(), note }.page(
                &frame,
                &self.begin(sections, at + 1),
                sections,
                &label,
            )
        });
        Drawing { title: format!("{}: {}", frame.name, frame.kind), pages: pages.collect() }
    }

    fn note_column(&self) -> f64 {
        let rows = self.sections.iter().flat_map(|section| &section.rows);
        let widest = rows.map(|row| width_mm(&key_words(&row.keys), KEY_TYPE.0, KEY_TYPE.1)).fold(0.0, f64::max);
        (KEYS + widest + 1.5).clamp(*NOTE.start(), *NOTE.end())
    }
}

/// The keys of a row, by their letters if their names have no room.
fn key_words(row: &[Key]) -> String {
    let room = NOTE.end() - KEYS - 1.0;
    let names = keys(row, false);
    if width_mm(&names, KEY_TYPE.0, KEY_TYPE.1) > room { keys(row, true) } else { names }
}

struct Draughtsman<'a> {
    sheet: &'a Sheet,
    page: Page,
    size: PageSize,
    /// Where notes begin.
    note: f64,
}

impl Draughtsman<'_> {
    fn page(mut self, frame: &Frame, begin: &str, sections: &[Section], label: &str) -> Page {
        self.head(frame, begin, label);
        self.columns();
        let rows: usize = sections.iter().map(|section| section.rows.len()).sum();
        let height = (self.size.height - TOP - BOTTOM) / rows.clamp(WIDEST, ROWS) as f64;
        let room = self.right() - self.note;
        let fits = |note: &str| width_mm(note, NOTE_TYPE.0, NOTE_TYPE.1) <= room;
        let mut top = TOP;
        for section in sections {
            for line in lines(section, self.sheet.panel.notation, fits_statement, fits) {
                self.row(&line, top, height);
                top += height;
            }
        }
        self.rule(top, Stroke::new(0.5));
        self.foot(frame, label);
        self.page
    }

    fn right(&self) -> f64 {
        self.size.width - RIGHT
    }

    fn rule(&mut self, y: f64, stroke: Stroke) {
        let right = self.right();
        rule(&mut self.page, (LEFT, y), right, stroke);
    }

    fn text(&mut self, x: f64, y: f64, (font, size): (Font, Pt), text: impl Into<String>) {
        self.page.push(Text::new(x, y, font, size, text));
    }

    fn text_end(&mut self, x: f64, y: f64, (font, size): (Font, Pt), text: impl Into<String>) {
        self.page.push(Text::new(x, y, font, size, text).anchored(Anchor::End));
    }

    fn head(&mut self, frame: &Frame, begin: &str, label: &str) {
        let (right, bold) = (self.right(), (Font::HelveticaBold, Pt(12.0)));
        let room = right - LEFT - 40.0;
        self.text(LEFT, 16.0, (Font::HelveticaBold, Pt(18.0)), fit(&frame.name, Font::HelveticaBold, Pt(18.0), room));
        self.text_end(right, 16.0, bold, label);
        self.text(LEFT, 22.0, bold, format!("{}: {}", frame.kind, frame.facts));
        self.text(LEFT, 27.0, HEAD_TYPE, frame.effort.clone());
        self.rule(29.0, Stroke::new(0.5));
        self.text(LEFT, 33.5, HEAD_TYPE, begin);
        let width = right - LEFT;
        let check = format!("{}{}", frame.check, self.combined_keys());
        let check = wrap(&check, |line| width_mm(line, NOTE_TYPE.0, NOTE_TYPE.1) <= width);
        for (at, line) in check.into_iter().enumerate() {
            self.text(LEFT, 38.0 + 4.0 * at as f64, NOTE_TYPE, line);
        }
        self.legend(frame);
    }

    /// What the letters mean that stand where a row takes two keys.
    fn combined_keys(&self) -> String {
        let rows = self.sheet.sections.iter().flat_map(|section| &section.rows);
        let combined = rows.map(|row| row.keys.as_slice()).find(|keys| keys.len() > 1);
        combined.map_or_else(String::new, |all| {
            let names: Vec<_> = all.iter().map(|key| key.name()).collect();
            format!(" {}: press {}.", keys(all, true), names.join(", then "))
        })
    }

    /// What the levers mean, and how the sense switches stand at the start.
    fn legend(&mut self, frame: &Frame) {
        let y = 46.8;
        let mut x = LEFT + 2.0;
        for (up, moved, words) in [
            (true, true, "push up"),
            (false, true, "push down"),
            (true, false, "is up: leave"),
            (false, false, "is down: leave"),
        ] {
            rule(&mut self.page, (x - 2.0, y), x + 2.0, Stroke::new(0.15));
            SIZE.lever(&mut self.page, x, y, up, moved);
            self.text(x + 3.2, y + 1.2, NOTE_TYPE, words);
            x += 8.0 + width_mm(words, NOTE_TYPE.0, NOTE_TYPE.1);
        }
        if let Some(setting) = self.sheet.sense_levers() {
            let right = self.right();
            let setting = Levers { lowest: 0, moved: 0, ..setting };
            let notation = self.sheet.panel.notation;
            SIZE.levers(&mut self.page, right, y, setting, notation);
            let left = right - SIZE.switch_offset(7, notation) - 4.0;
            self.text_end(left, y + 1.2, (Font::HelveticaBold, Pt(10.0)), frame.sense.clone());
        }
    }

    /// The names of the columns and the number of every switch.
    fn columns(&mut self) {
        let y = TOP - 4.4;
        let headings = [
            (LEFT, "done"),
            (SECOND_BOX, "check"),
            (ADDRESS, "address"),
            (STATEMENT, "instruction"),
            (KEYS, "press"),
            (self.note, "note"),
        ];
        for (x, heading) in headings {
            let size = if x < ADDRESS { Pt(6.0) } else { SMALL_TYPE.1 };
            self.text(x, y, (SMALL_TYPE.0, size), heading);
        }
        self.text_end(BYTE_END, y, SMALL_TYPE, "byte");
        let notation = self.sheet.panel.notation;
        for number in 0..self.sheet.panel.switches {
            let x = LEVERS_END - SIZE.switch_offset(number, notation);
            let text = Text::new(x, TOP - 1.1, Font::HelveticaBold, SMALL_TYPE.1, number.to_string());
            self.page.push(text.anchored(Anchor::Middle));
        }
    }

    fn row(&mut self, line: &Line, top: f64, height: f64) {
        let is_byte = matches!(line.row.action, Action::Byte { .. });
        let stroke = match (is_byte, line.opens) {
            (false, _) => Stroke::new(0.5),
            (true, true) => Stroke::new(0.25),
            (true, false) => Stroke::new(0.15).dashed(0.4, 1.2),
        };
        self.rule(top, stroke);
        let middle = top + height / 2.0;
        let base = middle + 1.6;
        if let Action::Sum { .. } = line.row.action {
            return self.text(ADDRESS, base, (Font::HelveticaBold, Pt(10.0)), line.note.clone());
        }
        if line.row.has_first_box() {
            tick_box(&mut self.page, LEFT, middle);
        }
        if line.row.has_second_box() {
            tick_box(&mut self.page, SECOND_BOX, middle);
        }
        self.text(ADDRESS, base, ADDRESS_TYPE, line.address.clone());
        self.text(STATEMENT, base, STATEMENT_TYPE, fit_statement(&line.statement));
        self.text_end(BYTE_END, base + 0.2, BYTE_TYPE, line.byte.clone());
        if let Some(setting) = line.row.levers {
            SIZE.levers(&mut self.page, LEVERS_END, middle, setting, self.sheet.panel.notation);
        }
        self.text(KEYS, base, KEY_TYPE, key_words(&line.row.keys));
        let note_type = if is_byte { NOTE_TYPE } else { (Font::HelveticaBold, NOTE_TYPE.1) };
        self.note(base - 0.2, note_type, &line.note);
    }

    /// A note on one line; set smaller, down to 7.5 points, if it is long.
    fn note(&mut self, y: f64, (font, Pt(mut size)): (Font, Pt), note: &str) {
        let room = self.right() - self.note;
        while size > 7.5 && width_mm(note, font, Pt(size)) > room {
            size -= 0.5;
        }
        self.text(self.note, y, (font, Pt(size)), fit(note, font, Pt(size), room));
    }

    fn foot(&mut self, frame: &Frame, label: &str) {
        let y = self.size.height - 12.5;
        let caution = format!("CAUTION: {}", frame.caution);
        self.text(LEFT, y - 5.2, (Font::HelveticaBold, Pt(10.0)), caution);
        self.text(LEFT, y, (Font::HelveticaBold, Pt(11.0)), frame.run.clone());
        self.text(LEFT, y + 5.0, HEAD_TYPE, frame.image.clone());
        self.text_end(self.right(), y + 5.0, HEAD_TYPE, label);
    }
}

fn fits_statement(statement: &str) -> bool {
    width_mm(statement, STATEMENT_TYPE.0, STATEMENT_TYPE.1) <= BYTE_END - STATEMENT - 10.5
}

fn fit_statement(statement: &str) -> String {
    fit(statement, STATEMENT_TYPE.0, STATEMENT_TYPE.1, BYTE_END - STATEMENT - 10.5)
}
