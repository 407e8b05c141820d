//! The lights sheet drawn on paper laid on its side.

use super::layout::Line;
use super::sheet::Lights;
use super::words::Frame;
use crate::drawing::metrics::{fit, width_mm};
use crate::drawing::{Anchor, Drawing, Font, Page, Pt, Stroke, Text};
use crate::notation::Notation;
use crate::panel::glyph::{Size, rule, tick_box};
use crate::panel::lamps::Lamp;
use crate::panel::page::{LEFT, Paper, RIGHT, paginate};
use crate::panel::ports::Ports;
use crate::panel::program::Program;
use crate::panel::text::wrap;

const ROWS: usize = 26;
const TOP: f64 = 52.0;
const BOTTOM: f64 = 12.0;

const SIZE: Size = Size::ROWS;

/// From one status light to the next: room for its name.
const STATUS_PITCH: f64 = 8.2;

const STEP_END: f64 = LEFT + 16.0;
const ADDRESS: f64 = LEFT + 20.0;
const DATA: f64 = ADDRESS + 16.0 * SIZE.lamp_pitch + 5.0 * SIZE.lamp_gap + 5.0;
const STATUS_LEFT: f64 = DATA + 8.0 * SIZE.lamp_pitch + 2.0 * SIZE.lamp_gap + 4.0;
const WORDS: f64 = STATUS_LEFT + 8.0 * STATUS_PITCH + 2.0;

/// The signs of lamps that move, with their words behind the last.
const MOVING: [(Lamp, &str); 5] = [
    (Lamp::Live(1), ""),
    (Lamp::Live(2), ""),
    (Lamp::Live(3), ""),
    (Lamp::Live(4), ""),
    (Lamp::Live(5), "goes on and off: lit up to 20, 40, 60, 80, 100 % of the time"),
];

const WORDS_TYPE: (Font, Pt) = (Font::Helvetica, Pt(10.5));
const STATEMENT_TYPE: (Font, Pt) = (Font::CourierBold, Pt(11.5));
const NOTE_TYPE: (Font, Pt) = (Font::HelveticaBold, Pt(10.0));
const HEAD_TYPE: (Font, Pt) = (Font::Helvetica, Pt(10.0));
const SMALL_TYPE: (Font, Pt) = (Font::HelveticaBold, Pt(7.0));

impl Lights {
    /// The sheet as a drawing on `paper`, laid on its side.
    pub fn draw(&self, program: &Program, ports: &Ports, paper: Paper) -> Drawing {
        let right = paper.size().landscape().width - RIGHT;
        let groups: Vec<Vec<Line>> =
            self.groups(program, ports).into_iter().map(|group| spread(group, right)).collect();
        let pages = paginate(groups.iter().map(Vec::len), ROWS);
        let total = pages.len();
        let frame = self.frame();
        let pages = pages.into_iter().enumerate().map(|(at, range)| {
            let page = Page::new(paper.size().landscape());
            let mut draughtsman = Draughtsman { page, right, notation: self.panel.notation };
            draughtsman.head(&frame, &format!("page {} of {total}", at + 1), self.moves());
            draughtsman.columns(self.status().map(|(name, _)| name));
            draughtsman.rows(groups[range].iter().flatten());
            let foot = draughtsman.page.size.height - 6.0;
            draughtsman.text(LEFT, foot, HEAD_TYPE, self.check.line(self.panel.notation));
            draughtsman.page
        });
        Drawing { title: format!("{}: {}", frame.name, frame.kind), pages: pages.collect() }
    }
}

/// Breaks notes that are wider than the page.
fn spread(group: Vec<Line>, right: f64) -> Vec<Line> {
    let mut out = Vec::new();
    for line in group {
        match line {
            Line::Note(note) => {
                let fits = |line: &str| width_mm(line, NOTE_TYPE.0, NOTE_TYPE.1) <= right - ADDRESS;
                out.extend(wrap(&note, fits).into_iter().map(Line::Note));
            }
            line => out.push(line),
        }
    }
    out
}

struct Draughtsman {
    page: Page,
    right: f64,
    notation: Notation,
}

impl Draughtsman {
    fn text(&mut self, x: f64, y: f64, (font, size): (Font, Pt), text: impl Into<String>) {
        self.page.push(Text::new(x, y, font, size, text));
    }

    fn anchored(&mut self, x: f64, y: f64, (font, size): (Font, Pt), anchor: Anchor, text: impl Into<String>) {
        self.page.push(Text::new(x, y, font, size, text).anchored(anchor));
    }

    fn head(&mut self, frame: &Frame, label: &str, moves: bool) {
        let name_type = (Font::HelveticaBold, Pt(17.0));
        let name = fit(&frame.name, name_type.0, name_type.1, self.right - LEFT - 50.0);
        self.text(LEFT, 15.0, name_type, name);
        self.anchored(self.right, 15.0, (Font::HelveticaBold, Pt(12.0)), Anchor::End, label);
        self.text(LEFT, 21.0, (Font::HelveticaBold, Pt(11.5)), format!("{}: {}", frame.kind, frame.facts));
        rule(&mut self.page, (LEFT, 23.0), self.right, Stroke::new(0.5));
        let room = self.right - LEFT;
        let mut y = 27.5;
        if !frame.caution.is_empty() {
            self.text(LEFT, y, (Font::HelveticaBold, HEAD_TYPE.1), format!("CAUTION: {}", frame.caution));
        }
        y += 4.2;
        for paragraph in &frame.how {
            for line in wrap(paragraph, |line| width_mm(line, HEAD_TYPE.0, HEAD_TYPE.1) <= room) {
                self.text(LEFT, y, HEAD_TYPE, line);
                y += 4.2;
            }
        }
        let mut x = LEFT + 2.0;
        let mut signs = vec![
            (Lamp::Lit, "lit"),
            (Lamp::Dark, "dark"),
            (Lamp::Open, "open: lit or dark, it depends on what nobody can know here"),
        ];
        if moves {
            signs[2].1 = "open: nobody can know";
            signs.extend(MOVING);
        }
        for (look, words) in signs {
            SIZE.lamp(&mut self.page, x, 42.3, look);
            self.text(x + 3.0, 43.5, HEAD_TYPE, words);
            x += if words.is_empty() { 4.0 } else { 10.0 + width_mm(words, HEAD_TYPE.0, HEAD_TYPE.1) };
        }
    }

    fn columns(&mut self, status: impl Iterator<Item = &'static str>) {
        let (names, numbers) = (TOP - 4.6, TOP - 1.2);
        for (x, name) in [(ADDRESS, "address"), (DATA, "data"), (STATUS_LEFT, "status"), (WORDS, "on the bus")] {
            self.text(x, names, (Font::Helvetica, Pt(8.0)), name);
        }
        self.anchored(STEP_END, names, (Font::Helvetica, Pt(8.0)), Anchor::End, "step");
        for (left, count) in [(ADDRESS, 16), (DATA, 8)] {
            for number in 0..count {
                let x = SIZE.lamp_x(left, count, number, self.notation);
                self.anchored(x, numbers, SMALL_TYPE, Anchor::Middle, number.to_string());
            }
        }
        for (at, name) in status.enumerate() {
            let x = STATUS_LEFT + (at as f64 + 0.5) * STATUS_PITCH;
            self.anchored(x, numbers, SMALL_TYPE, Anchor::Middle, name);
        }
    }

    fn rows<'a>(&mut self, lines: impl Iterator<Item = &'a Line>) {
        let height = (self.page.size.height - TOP - BOTTOM) / ROWS as f64;
        let mut top = TOP;
        for line in lines {
            self.row(line, top, height);
            top += height;
        }
        rule(&mut self.page, (LEFT, top), self.right, Stroke::new(0.4));
    }

    fn row(&mut self, line: &Line, top: f64, height: f64) {
        let middle = top + height / 2.0;
        let base = middle + 1.4;
        match line {
            Line::Statement { address, text } => {
                rule(&mut self.page, (LEFT, top), self.right, Stroke::new(0.4));
                let words = format!("{address}  {text}");
                let words = fit(&words, STATEMENT_TYPE.0, STATEMENT_TYPE.1, self.right - ADDRESS);
                self.text(ADDRESS, base, STATEMENT_TYPE, words);
            }
            Line::Note(note) => self.text(ADDRESS, base, NOTE_TYPE, note.clone()),
            Line::Cycle { number, address, data, status, words } => {
                if let Some(number) = number {
                    tick_box(&mut self.page, LEFT, middle);
                    self.anchored(STEP_END, base, (Font::Helvetica, Pt(10.0)), Anchor::End, number.to_string());
                }
                SIZE.lamps(&mut self.page, ADDRESS, middle, address, self.notation);
                SIZE.lamps(&mut self.page, DATA, middle, data, self.notation);
                for (at, look) in status.iter().enumerate() {
                    SIZE.lamp(&mut self.page, STATUS_LEFT + (at as f64 + 0.5) * STATUS_PITCH, middle, *look);
                }
                self.words(base, words);
            }
        }
    }

    /// The bus action on one line; set smaller, down to 8 points, if it is long.
    fn words(&mut self, base: f64, words: &str) {
        let room = self.right - WORDS;
        let (font, Pt(mut size)) = WORDS_TYPE;
        while size > 8.0 && width_mm(words, font, Pt(size)) > room {
            size -= 0.5;
        }
        self.text(WORDS, base, (font, Pt(size)), fit(words, font, Pt(size), room));
    }
}
