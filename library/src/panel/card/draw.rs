//! The run card drawn: action, lights and remedy side by side.

use std::ops::Range;

use super::{Act, Card, Doubt};
use crate::cautions::{FIRST, Topic};
use crate::drawing::metrics::{fit, width_mm};
use crate::drawing::{Anchor, Drawing, Font, Page, Paint, Pt, Rect, Stroke, Text};
use crate::notation::Notation;
use crate::panel::glyph::{Size, rule, tick_box};
use crate::panel::lamps::Lamp;
use crate::panel::page::{LEFT, Paper, RIGHT};
use crate::panel::text::wrap;

const BODY: (Font, Pt) = (Font::Helvetica, Pt(11.0));
const BOLD: (Font, Pt) = (Font::HelveticaBold, Pt(12.5));
const SIZE: Size = Size::CARD;
const LARGE: (Font, Pt) = (Font::HelveticaBold, Pt(16.0));
const NAME: (Font, Pt) = (Font::Helvetica, Pt(10.5));
const SMALL: (Font, Pt) = (Font::Helvetica, Pt(9.5));
/// From line to line, millimetres.
const LINE: f64 = 4.6;
/// From one line of an action to the next.
const ACTION_LINE: f64 = 5.2;
/// Heights of a row of levers and of one of lamps.
const LEVERS: f64 = 8.4;
const LAMPS: f64 = 6.6;
/// Columns, millimetres from the left edge.
const ACTION: f64 = LEFT + 13.0;
const PICTURES: f64 = ACTION + 14.0;
const CAUTION: f64 = LEFT + 18.0;
/// From the word before a column to its text.
const INDENT: f64 = 14.0;
/// Where further pages begin, and how far from the lower edge all of them end.
const FURTHER: f64 = 14.0;
const BOTTOM: f64 = 12.0;

impl Card {
    /// The card as a drawing on `paper`; as many pages as it takes, no action split between two.
    pub fn draw(&self, paper: Paper) -> Drawing {
        let size = paper.size();
        let right = size.width - RIGHT;
        let mut draughtsman = Draughtsman {
            card: self,
            pages: vec![Page::new(size)],
            right,
            y: 0.0,
            doubted: 0.0,
            notation: self.panel.notation,
        };
        draughtsman.head();
        draughtsman.cautions(&self.cautions);
        draughtsman.legend();
        draughtsman.acts();
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
    /// How high the doubts are that stand on every page.
    doubted: f64,
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
        self.doubted = self.y - 26.0;
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
                    rule(self.page(), (x - 2.5, y), x + 2.5, Stroke::new(0.15));
                    SIZE.lever(self.page(), x, y, up, true);
                }
                Sign::Lamp(look) => SIZE.lamp(self.page(), x, y, look),
            }
            self.text(x + 3.5, y + 1.2, SMALL, words);
            x += 9.5 + width_mm(words, SMALL.0, SMALL.1);
        }
        self.y += 8.5;
    }

    /// The acts, on as many pages as they take.
    fn acts(&mut self) {
        let acts: Vec<_> = self.card.acts.iter().map(|act| self.laid(act)).collect();
        let bottom = self.page().size.height - BOTTOM;
        let rooms = [bottom - self.y, bottom - FURTHER - self.doubted];
        let heights: Vec<_> = acts.iter().map(|act| act.height).collect();
        for (page, range) in paged(&heights, rooms).into_iter().enumerate() {
            if page > 0 {
                self.turn_page();
            }
            for (number, act) in (range.start + 1..).zip(&acts[range]) {
                self.act(number, act);
            }
        }
    }

    /// The words of an act, broken where the columns end.
    fn laid<'a>(&self, act: &'a Act) -> Laid<'a> {
        let action = wrapped(&act.action, BOLD, self.right - ACTION);
        let shows = wrapped(&act.shows, BODY, self.half() - ACTION - INDENT - 3.0);
        let otherwise = wrapped(&act.otherwise, BODY, self.right - self.half() - INDENT);
        let levers = if act.levers.is_some() { LEVERS } else { 0.0 };
        let has_status = act.lights.as_ref().is_some_and(|lights| !lights.status.is_empty());
        let lights = f64::from(u8::from(act.lights.is_some()) + u8::from(has_status)) * LAMPS;
        let words = shows.len().max(otherwise.len()) as f64 * LINE;
        let height = 2.0 + action.len() as f64 * ACTION_LINE + levers + lights + words + 1.2;
        Laid { act, action, shows, otherwise, height }
    }

    /// Where the right one of the two columns begins.
    fn half(&self) -> f64 {
        ACTION + (self.right - ACTION) / 2.0
    }

    fn act(&mut self, number: usize, laid: &Laid<'_>) {
        self.rule(Stroke::new(0.4));
        let top = self.y;
        tick_box(self.page(), LEFT, top + 4.2);
        self.page().push(Text::new(LEFT + 11.0, top + 5.8, BOLD.0, BOLD.1, number.to_string()).anchored(Anchor::End));
        let mut y = top + 5.8;
        for line in &laid.action {
            self.text(ACTION, y, BOLD, line.clone());
            y += ACTION_LINE;
        }
        y = self.pictures(laid.act, y);
        self.columns(&laid.shows, &laid.otherwise, y);
        self.y = top + laid.height;
    }

    /// Levers and lights, each bank on a line of its own; gives back where text goes on.
    fn pictures(&mut self, act: &Act, mut y: f64) -> f64 {
        let notation = self.notation;
        if let Some(setting) = act.levers {
            let left = SIZE.switch_offset(15, notation) + SIZE.pitch / 2.0;
            self.text(ACTION, y + 1.6, SMALL, "levers");
            SIZE.levers(self.page(), PICTURES + left, y + 0.3, setting, notation);
            y += LEVERS;
        }
        if let Some(lights) = &act.lights {
            self.text(ACTION, y, SMALL, "lights");
            SIZE.lamps(self.page(), PICTURES, y - 1.2, &lights.address, notation);
            if !lights.data.is_empty() {
                let left = PICTURES + SIZE.lamps_width(16, notation) + 5.0;
                self.text(left, y, SMALL, "data");
                SIZE.lamps(self.page(), left + 10.0, y - 1.2, &lights.data, notation);
            }
            y += LAMPS;
            if !lights.status.is_empty() {
                self.status(&lights.status, y);
                y += LAMPS;
            }
        }
        y
    }

    /// The status lights on one line, each with its name.
    fn status(&mut self, status: &[(&str, Lamp)], y: f64) {
        self.text(ACTION, y, SMALL, "status");
        let mut x = PICTURES + SIZE.lamp_pitch / 2.0;
        for (name, look) in status {
            SIZE.lamp(self.page(), x, y - 1.2, *look);
            self.text(x + 2.9, y, NAME, *name);
            x += 7.4 + width_mm(name, NAME.0, NAME.1);
        }
    }

    fn columns(&mut self, shows: &[String], otherwise: &[String], y: f64) {
        for (x, heading, lines) in [(ACTION, "shows", shows), (self.half(), "if not", otherwise)] {
            self.text(x, y, SMALL, heading);
            for (at, line) in lines.iter().enumerate() {
                self.text(x + INDENT, y + LINE * at as f64, BODY, line.clone());
            }
        }
    }

    fn turn_page(&mut self) {
        self.rule(Stroke::new(0.5));
        let size = self.page().size;
        self.pages.push(Page::new(size));
        self.y = FURTHER;
        self.doubts();
    }
}

/// An act with its words broken into lines.
struct Laid<'a> {
    act: &'a Act,
    action: Vec<String>,
    shows: Vec<String>,
    otherwise: Vec<String>,
    height: f64,
}

/// Which acts stand on which page; the first page has room of its own. None stands alone on the last if another can join it.
fn paged(heights: &[f64], [first, further]: [f64; 2]) -> Vec<Range<usize>> {
    let mut pages: Vec<Range<usize>> = Vec::new();
    let mut left = first;
    for (at, height) in heights.iter().enumerate() {
        match pages.last_mut() {
            Some(page) if *height <= left => page.end = at + 1,
            last => {
                left = if last.is_some() { further } else { first };
                pages.push(at..at + 1);
            }
        }
        left -= height;
    }
    if let [.., before, last] = pages.as_mut_slice()
        && last.len() == 1
        && before.len() > 2
        && heights[before.end - 1] <= left
    {
        before.end -= 1;
        last.start -= 1;
    }
    pages
}

/// A picture of the legend.
enum Sign {
    Lever { up: bool },
    Lamp(Lamp),
}

fn wrapped(text: &str, (font, size): (Font, Pt), room: f64) -> Vec<String> {
    wrap(text, |line| width_mm(line, font, size) <= room)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_act_stands_alone_on_the_last_page_if_another_can_join_it() {
        assert_eq!(paged(&[40.0, 40.0, 40.0, 40.0], [130.0, 200.0]), [0..2, 2..4]);
        assert_eq!(paged(&[40.0, 40.0, 40.0], [130.0, 200.0]).len(), 1);
        assert_eq!(paged(&[40.0, 40.0, 40.0, 190.0], [130.0, 200.0]), [0..3, 3..4], "it has no room");
        assert_eq!(paged(&[150.0, 150.0], [130.0, 140.0]), [0..1, 1..2], "taller than a page");
        assert!(paged(&[], [130.0, 140.0]).is_empty());
    }
}
