//! The small pictures of a sheet: levers, lamps and boxes. They tell themselves apart by shape, so that they survive
//! a photocopier and dim light.

use crate::drawing::{Circle, Ink, Line, Page, Paint, Polyline, Rect, Stroke};

use super::lamps::Lamp;
use super::levers::{Levers, opens_group};
use crate::notation::Notation;

/// Points on the arc of a part of a disc, less one.
const ARC: usize = 24;

/// How large levers and lamps are, in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    /// Half the width of the arrow that a lever to be pushed is.
    lever: f64,
    /// From the middle of one lever to the next.
    pub pitch: f64,
    /// Additional room between two groups of levers.
    pub gap: f64,
    /// The radius of the ring of a dark lamp.
    lamp: f64,
    /// From the middle of one lamp of a bank to the next.
    pub lamp_pitch: f64,
    /// Additional room between two groups of lamps.
    pub lamp_gap: f64,
}

impl Size {
    /// In rows, a byte or a machine cycle each.
    pub const ROWS: Size = Size { lever: 1.7, pitch: 4.4, gap: 2.0, lamp: 1.3, lamp_pitch: 3.8, lamp_gap: 1.7 };
    /// On a card that leans on the machine: levers and lamps of 4 mm, to be read at arm's length.
    pub const CARD: Size = Size { lever: 2.1, pitch: 5.4, gap: 2.4, lamp: 1.95, lamp_pitch: 5.0, lamp_gap: 2.1 };

    /// How wide a bank of `count` lamps is.
    pub fn lamps_width(self, count: u8, notation: Notation) -> f64 {
        self.lamp_x(0.0, count, 0, notation) + self.lamp_pitch / 2.0
    }

    /// The middle of switch `number`, measured to the left from the right edge of switch 0's place, millimetres.
    pub fn switch_offset(self, number: u8, notation: Notation) -> f64 {
        let gaps = (0..number).filter(|&right| opens_group(right, notation)).count();
        (f64::from(number) + 0.5) * self.pitch + gaps as f64 * self.gap
    }

    /// A bank of levers whose switch 0 has its right edge at `right`, on a thin line at height `y`.
    pub fn levers(self, page: &mut Page, right: f64, y: f64, levers: Levers, notation: Notation) {
        self.bank(page, right, y, (levers.lowest, levers.count), notation);
        for lever in levers.each() {
            self.lever(page, right - self.switch_offset(lever.number, notation), y, lever.up, lever.moved);
        }
    }

    /// The line on which a bank of so many levers stands, from the lowest on: a piece for each group.
    pub fn bank(self, page: &mut Page, right: f64, y: f64, (lowest, count): (u8, u8), notation: Notation) {
        let mut group_end = None;
        for number in (lowest..lowest + count).rev() {
            let x = right - self.switch_offset(number, notation);
            let start = group_end.get_or_insert(x - self.pitch / 2.0);
            let last = number == lowest || opens_group(number - 1, notation);
            if last {
                rule(page, (*start, y), x + self.pitch / 2.0, Stroke::new(0.15));
                group_end = None;
            }
        }
    }

    /// A lever with its pivot at (`x`, `y`): a solid arrow if the hand has to push it, else a hollow bar on the side where
    /// it stands.
    pub fn lever(self, page: &mut Page, x: f64, y: f64, up: bool, moved: bool) {
        let (side, half) = (if up { -1.0 } else { 1.0 }, self.lever);
        if moved {
            let points = vec![(x - half, y), (x, y + side * 1.6 * half), (x + half, y)];
            page.push(Polyline { points, closed: true, paint: Paint::SOLID });
        } else {
            let (width, height) = (1.06 * half, 1.35 * half);
            let top = if up { y - height } else { y };
            let paint = Paint { stroke: Some(Stroke::new(0.42)), fill: Some(Ink::WHITE) };
            page.push(Rect { x: x - width / 2.0, y: top, width, height, paint });
        }
    }

    /// A lamp: a solid disc if lit, a ring if dark, a square of broken lines if it may be either, a ring with a dot if it flickers,
    /// a ring filled by 1, 3, 5, 7 or 9 tenths as it is dim or bright.
    pub fn lamp(self, page: &mut Page, x: f64, y: f64, look: Lamp) {
        let radius = self.lamp;
        let ring = || Circle { centre: (x, y), radius, paint: Paint::outline(0.2 * radius) };
        let disc = |radius| Circle { centre: (x, y), radius, paint: Paint::SOLID };
        match look {
            // As wide as a ring with its line.
            Lamp::Lit => page.push(disc(1.1 * radius)),
            Lamp::Dark => page.push(ring()),
            Lamp::Open => {
                let paint =
                    Paint { stroke: Some(Stroke::new(0.2 * radius).dashed(0.46 * radius, 0.38 * radius)), fill: None };
                page.push(Rect { x: x - radius, y: y - radius, width: 2.0 * radius, height: 2.0 * radius, paint });
            }
            Lamp::Flickers => {
                page.push(ring());
                page.push(disc(0.5 * radius));
            }
            Lamp::Live(step) => {
                page.push(sector(x, y, radius, (2.0 * f64::from(step.clamp(1, 5)) - 1.0) / 10.0));
                page.push(ring());
            }
        }
    }

    /// The middle of lamp `number` of a bank of `count` lamps that begins at `left`.
    pub fn lamp_x(self, left: f64, count: u8, number: u8, notation: Notation) -> f64 {
        let gaps = (number + 1..count).filter(|&other| opens_group(other - 1, notation)).count();
        left + (f64::from(count - 1 - number) + 0.5) * self.lamp_pitch + gaps as f64 * self.lamp_gap
    }

    /// A bank of lamps, the highest first.
    pub fn lamps(self, page: &mut Page, left: f64, y: f64, lamps: &[Lamp], notation: Notation) {
        let count = lamps.len() as u8;
        for (number, look) in (0..count).rev().zip(lamps) {
            self.lamp(page, self.lamp_x(left, count, number, notation), y, *look);
        }
    }
}

/// A part of a disc, clockwise from the top.
fn sector(x: f64, y: f64, radius: f64, part: f64) -> Polyline {
    let around = |at: usize| {
        let angle = part * std::f64::consts::TAU * at as f64 / ARC as f64;
        (x + radius * angle.sin(), y - radius * angle.cos())
    };
    let points = std::iter::once((x, y)).chain((0..=ARC).map(around)).collect();
    Polyline { points, closed: true, paint: Paint { stroke: None, fill: Some(Ink::BLACK) } }
}

/// A box to tick, 4.4 mm wide.
pub fn tick_box(page: &mut Page, x: f64, y: f64) {
    page.push(Rect { x, y: y - 2.2, width: 4.4, height: 4.4, paint: Paint::outline(0.45) });
}

/// A level line from a point to `right`.
pub fn rule(page: &mut Page, from: (f64, f64), right: f64, stroke: Stroke) {
    page.push(Line { from, to: (right, from.1), stroke });
}
