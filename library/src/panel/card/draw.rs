//! The run card drawn: action, lights and remedy side by side.

use super::{Act, Card, Doubt};
use crate::cautions::{FIRST, Topic};
use crate::drawing::metrics::{fit, width_mm};
use crate::drawing::{Anchor, Drawing, Font, Page, Paint, Pt, Rect, Stroke, Text};
use crate::notation::Notation;
use crate::panel::glyph::{self, lamp, lamps, lever, rule, tick_box};
use crate::panel::lamps::Lamp;
use crate::panel::page::{LEFT, Paper, RIGHT};
use crate::panel::text::wrap;

const BODY: (Font, Pt) = (Font::Helvetica, Pt(10.5));
const BOLD: (Font, Pt) = (Font::HelveticaBold, Pt(12.0));
const LARGE: (Font, Pt) = (Font::HelveticaBold, Pt(16.0));
const SMALL: (Font, Pt) = (Font::Helvetica, Pt(9.5));
/// From line to line, millimetres.
const LINE: f64 = 4.4;
/// Columns, millimetres from the left edge.
const ACTION: f64 = LEFT + 13.0;
const CAUTION: f64 = LEFT + 18.0;
const BOTTOM: f64 = 12.0;

impl Card {
    /// The card as a drawing on `paper`; as many pages as it takes, no action split between two.
    pub fn draw(&self, paper: Paper) -> Drawing {
        let size = paper.size();
        let right = size.width - RIGHT;
        let mut draughtsman =
            Draughtsman { card: self, pages: vec![Page::new(size)], right, y: 0.0, notation: self.panel.notation };
        draughtsman.head();
        draughtsman.cautions(&self.cautions);
        draughtsman.legend();
        for (at, act) in self.acts.iter().enumerate() {
            draughtsman.act(at + 1, act);
        }
        draughtsman.rule(Stroke::new(0.5));
        let total = draughtsman.pages.len();
        for (at, page) in draughtsman.pages.iter_mut().enumerate() {
            let label = format!("page {} of {total}", at + 1);
            let image = format!("{}: run card. {}", self.name, self.check.line(self.panel.notation));
            let name = fit(&image, SMALL.0, SMALL.1, right - LEFT - 30.0);
            page.push(Text::new(LEFT, size.height - 8.0, SMALL.0, SMALL.1, name));
            page.push(Text::new(right, size.height - 8.0, SMALL.0, SMALL.1, label).anchored(Anchor::End));
        }
        Drawing { title: format!("{}: run card", self.name), pages: draughtsman.pages }
    }
}

struct Draughtsman<'a> {
    card: &'a Card,
    pages: Vec<Page>,
    right: f64,
    /// The top of what comes next.
    y: f64,
    notation: Notation,
}

impl Draughtsman<'_> {
    fn page(&mut self) -> &mut Page {
        let last = self.pages.len() - 1;
        &mut self.pages[last]
    }

    fn text(&mut self, x: f64, y: f64, (font, size): (Font, Pt), text: impl Into<String>) {
        self.page().push(Text::new(x, y, font, size, text));
    }

    fn rule(&mut self, stroke: Stroke) {
        let (y, right) = (self.y, self.right);
        rule(self.page(), (LEFT, y), right, stroke);
    }

    fn head(&mut self) {
        let card = self.card;
        let name = fit(&card.name, Font::HelveticaBold, Pt(18.0), self.right - LEFT);
        self.text(LEFT, 16.0, (Font::HelveticaBold, Pt(18.0)), name);
        self.text(LEFT, 22.0, BOLD, format!("run card, {}", card.facts));
        self.y = 26.0;
        self.doubts();
    }

    /// Why the card is not to be trusted, on every page before anything else.
    fn doubts(&mut self) {
        for (what, why) in self.card.doubts.iter().map(Doubt::words) {
            let (top, room) = (self.y, self.right - LEFT - 6.0);
            let mut y = top + 1.5;
            for line in wrapped(&what.to_uppercase(), LARGE, room) {
                y += 6.5;
                self.text(LEFT + 3.0, y, LARGE, line);
            }
            y += 1.0;
            for line in wrapped(&why, BODY, room) {
                y += LINE;
                self.text(LEFT + 3.0, y, BODY, line);
            }
            let (width, height, paint) = (self.right - LEFT, y + 3.0 - top, Paint::outline(1.4));
            self.page().push(Rect { x: LEFT, y: top, width, height, paint });
            self.y = top + height + 3.0;
        }
    }

    fn cautions(&mut self, cautions: &[(Topic, String)]) {
        let (top, room) = (self.y, self.right - CAUTION - 2.0);
        let mut y = top + 5.0;
        self.text(LEFT + 2.0, y, BOLD, format!("CAUTION: {FIRST}"));
        y += 5.0;
        for (topic, caution) in cautions {
            self.text(LEFT + 2.0, y, (Font::HelveticaBold, SMALL.1), topic.word());
            for line in wrapped(caution, SMALL, room) {
                self.text(CAUTION, y, SMALL, line);
                y += 4.2;
            }
        }
        let height = y - 4.2 + 2.2 - top;
        let (width, paint) = (self.right - LEFT, Paint::outline(0.7));
        self.page().push(Rect { x: LEFT, y: top, width, height, paint });
        self.y = top + height + 2.5;
    }

    fn legend(&mut self) {
        let (y, mut x) = (self.y + 3.0, LEFT + 2.0);
        let signs: [(Sign, &str); 5] = [
            (Sign::Lever { up: true }, "lever up"),
            (Sign::Lever { up: false }, "lever down"),
            (Sign::Lamp(Lamp::Lit), "lit"),
            (Sign::Lamp(Lamp::Dark), "dark"),
            (Sign::Lamp(Lamp::Flickers), "flickers"),
        ];
        for (sign, words) in signs {
            match sign {
                Sign::Lever { up } => {
                    rule(self.page(), (x - 2.0, y), x + 2.0, Stroke::new(0.15));
                    lever(self.page(), x, y, up, true);
                }
                Sign::Lamp(look) => lamp(self.page(), x, y, look),
            }
            self.text(x + 3.0, y + 1.2, SMALL, words);
            x += 8.5 + width_mm(words, SMALL.0, SMALL.1);
        }
        self.y += 8.0;
    }

    fn act(&mut self, number: usize, act: &Act) {
        let half = ACTION + (self.right - ACTION) / 2.0;
        let action = wrapped(&act.action, BOLD, self.right - ACTION);
        let shows = wrapped(&act.shows, BODY, half - ACTION - 19.0);
        let otherwise = wrapped(&act.otherwise, BODY, self.right - half - 16.0);
        let pictures = f64::from(u8::from(act.levers.is_some())) * 7.0;
        let has_status = act.lights.as_ref().is_some_and(|lights| !lights.status.is_empty());
        let lights = f64::from(u8::from(act.lights.is_some()) + u8::from(has_status)) * 5.5;
        let words = shows.len().max(otherwise.len()) as f64 * LINE;
        let height = 1.6 + action.len() as f64 * 5.0 + pictures + lights + words + 1.2;
        if self.y + height > self.page().size.height - BOTTOM {
            self.turn_page();
        }
        self.rule(Stroke::new(0.4));
        let top = self.y;
        tick_box(self.page(), LEFT, top + 4.0);
        self.page().push(Text::new(LEFT + 11.0, top + 5.6, BOLD.0, BOLD.1, number.to_string()).anchored(Anchor::End));
        let mut y = top + 5.6;
        for line in action {
            self.text(ACTION, y, BOLD, line);
            y += 5.0;
        }
        y = self.pictures(act, y);
        self.columns(&shows, &otherwise, y, half);
        self.y = top + height;
    }

    /// Levers and lights, each bank on a line of its own; gives back where text goes on.
    fn pictures(&mut self, act: &Act, mut y: f64) -> f64 {
        let notation = self.notation;
        if let Some(setting) = act.levers {
            let right = ACTION + 16.0 + 16.0 * glyph::PITCH + 5.0 * glyph::GAP;
            self.text(ACTION, y + 1.3, SMALL, "levers");
            glyph::levers(self.page(), right, y, setting, notation);
            y += 7.0;
        }
        if let Some(lights) = &act.lights {
            self.text(ACTION, y, SMALL, "lights");
            lamps(self.page(), ACTION + 16.0, y - 1.2, &lights.address, notation);
            if !lights.data.is_empty() {
                let left = ACTION + 16.0 + 16.0 * glyph::LAMP_PITCH + 5.0 * glyph::LAMP_GAP + 8.0;
                self.text(left, y, SMALL, "data");
                lamps(self.page(), left + 10.0, y - 1.2, &lights.data, notation);
            }
            y += 5.5;
            if !lights.status.is_empty() {
                self.status(&lights.status, y);
                y += 5.5;
            }
        }
        y
    }

    /// The status lights on one line, each with its name.
    fn status(&mut self, status: &[(&str, Lamp)], y: f64) {
        self.text(ACTION, y, SMALL, "status");
        let mut x = ACTION + 16.0 + glyph::LAMP_PITCH / 2.0;
        for (name, look) in status {
            lamp(self.page(), x, y - 1.2, *look);
            self.text(x + 2.6, y, SMALL, *name);
            x += 6.5 + width_mm(name, SMALL.0, SMALL.1);
        }
    }

    fn columns(&mut self, shows: &[String], otherwise: &[String], y: f64, half: f64) {
        for (x, heading, lines) in [(ACTION, "shows", shows), (half, "if not", otherwise)] {
            self.text(x, y, SMALL, heading);
            for (at, line) in lines.iter().enumerate() {
                self.text(x + 16.0, y + LINE * at as f64, BODY, line.clone());
            }
        }
    }

    fn turn_page(&mut self) {
        self.rule(Stroke::new(0.5));
        let size = self.page().size;
        self.pages.push(Page::new(size));
        self.y = 14.0;
        self.doubts();
    }
}

/// A picture of the legend.
enum Sign {
    Lever { up: bool },
    Lamp(Lamp),
}

fn wrapped(text: &str, (font, size): (Font, Pt), room: f64) -> Vec<String> {
    wrap(text, |line| width_mm(line, font, size) <= room)
}
