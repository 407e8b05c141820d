//! The table of faults on paper: black and white, the worst first.

use super::outcome::Class;
use super::table::{Line, Part, Table};
use super::words::Words;
use crate::drawing::metrics::{fit, width_mm};
use crate::drawing::{Anchor, Drawing, Font, Page, Pt, Stroke, Text};
use crate::panel::{Paper, wrap};

const TITLE: (Font, Pt) = (Font::HelveticaBold, Pt(18.0));
const PART: (Font, Pt) = (Font::HelveticaBold, Pt(13.0));
const KIND: (Font, Pt) = (Font::HelveticaBold, Pt(10.5));
const BODY: (Font, Pt) = (Font::Helvetica, Pt(10.5));
const SMALL: (Font, Pt) = (Font::Helvetica, Pt(9.5));

/// Margins, millimetres.
const LEFT: f64 = 13.0;
const RIGHT: f64 = 9.0;
/// The right edge of the numbers, and the left one of the words.
const COUNT: f64 = LEFT + 14.0;
const WORDS: f64 = LEFT + 18.0;
/// From line to line.
const PITCH: f64 = 4.5;
/// Kept free below.
const FOOT: f64 = 16.0;

/// The table as pages, headed with a title.
pub fn draw(title: &str, table: &Table, words: &Words, paper: Paper) -> Drawing {
    let size = paper.size();
    let mut draughtsman = Draughtsman { pages: Vec::new(), paper, y: 0.0, check: Vec::new() };
    draughtsman.begin_page();
    draughtsman.head(title, table);
    table.parts.iter().for_each(|part| draughtsman.part(part));
    draughtsman.left_out(&words.left_out());
    let sum = crc::Crc::<u16>::new(&crc::CRC_16_IBM_3740).checksum(&draughtsman.check);
    let total = draughtsman.pages.len();
    let right = size.width - RIGHT;
    for (at, page) in draughtsman.pages.iter_mut().enumerate() {
        let y = size.height - 8.0;
        let label = format!("page {} of {total}", at + 1);
        let name = format!("{title}; CRC-16 of this table {}", words.notation().word(sum));
        let name = fit(&name, SMALL.0, SMALL.1, right - LEFT - width_mm(&label, SMALL.0, SMALL.1) - 4.0);
        page.push(Text::new(LEFT, y, SMALL.0, SMALL.1, name));
        page.push(Text::new(right, y, SMALL.0, SMALL.1, label).anchored(Anchor::End));
    }
    Drawing { title: title.to_owned(), pages: draughtsman.pages }
}

struct Draughtsman {
    pages: Vec<Page>,
    paper: Paper,
    /// The base line of what was written last.
    y: f64,
    /// All that was written, for the sum.
    check: Vec<u8>,
}

impl Draughtsman {
    fn right(&self) -> f64 {
        self.paper.size().width - RIGHT
    }

    fn begin_page(&mut self) {
        self.pages.push(Page::new(self.paper.size()));
        self.y = 10.0;
    }

    /// Makes sure that so much height is left, on another page if need be.
    fn need(&mut self, height: f64) {
        if self.y + height > self.paper.size().height - FOOT {
            self.begin_page();
        }
    }

    fn push(&mut self, text: Text) {
        self.check.extend(text.text.bytes());
        if let Some(page) = self.pages.last_mut() {
            page.push(text);
        }
    }

    fn text(&mut self, x: f64, (font, size): (Font, Pt), text: impl Into<String>) {
        self.push(Text::new(x, self.y, font, size, text));
    }

    fn rule(&mut self, y: f64, width: f64) {
        let line = crate::drawing::Line { from: (LEFT, y), to: (self.right(), y), stroke: Stroke::new(width) };
        if let Some(page) = self.pages.last_mut() {
            page.push(line);
        }
    }

    fn count(&mut self, count: usize, (font, size): (Font, Pt)) {
        self.push(Text::new(COUNT, self.y, font, size, count.to_string()).anchored(Anchor::End));
    }

    fn head(&mut self, title: &str, table: &Table) {
        self.y = 16.0;
        self.text(LEFT, TITLE, fit(title, TITLE.0, TITLE.1, self.right() - LEFT));
        self.y += 3.0;
        for (class, count) in &table.counts {
            self.y += 5.0;
            let font = if *class == Class::Silent { KIND } else { BODY };
            self.count(*count, font);
            self.text(WORDS, font, class.words());
        }
        self.y += 3.0;
    }

    fn part(&mut self, part: &Part) {
        self.need(24.0);
        self.y += 8.0;
        self.count(part.count, PART);
        self.text(WORDS, PART, part.class.words());
        self.y += 1.6;
        self.rule(self.y, 0.5);
        part.lines.iter().for_each(|line| self.line(part.class, line));
    }

    /// What is not played.
    fn left_out(&mut self, lines: &[&str]) {
        self.need(24.0);
        self.y += 8.0;
        self.text(WORDS, PART, "not played");
        self.y += 1.6;
        self.rule(self.y, 0.5);
        self.y += 1.0;
        for line in lines {
            for text in broken(line, BODY, self.right() - WORDS) {
                self.need(PITCH);
                self.y += PITCH;
                self.text(WORDS, BODY, text);
            }
            self.y += 1.0;
        }
    }

    fn line(&mut self, class: Class, line: &Line) {
        let room = self.right() - WORDS;
        let says = broken(&line.gist, BODY, room);
        let mut notes = broken(&format!("such as {}: {}", line.example, line.outcome), SMALL, room);
        if class == Class::Silent {
            notes.extend(broken(&format!("found by: {}", line.found_by), SMALL, room));
        }
        self.need(PITCH * (2 + says.len() + notes.len()) as f64);
        self.y += PITCH + 1.0;
        self.count(line.count, KIND);
        self.text(WORDS, KIND, line.kind.name());
        for (font, text) in says.into_iter().map(|it| (BODY, it)).chain(notes.into_iter().map(|it| (SMALL, it))) {
            self.y += PITCH;
            self.text(WORDS, font, text);
        }
        self.rule(self.y + 1.6, 0.15);
        self.y += 0.6;
    }
}

fn broken(text: &str, (font, size): (Font, Pt), room: f64) -> Vec<String> {
    wrap(text, |line| width_mm(line, font, size) <= room)
}
