//! The small pictures of a sheet: levers, lamps and boxes. They tell themselves apart by shape, so that they survive
//! a photocopier and dim light.

use crate::drawing::{Circle, Ink, Line, Page, Paint, Polyline, Rect, Stroke};

use super::lamps::Lamp;
use super::levers::{Levers, opens_group};
use crate::notation::Notation;

/// From the middle of one lever or lamp to the next, millimetres.
pub const PITCH: f64 = 4.4;
/// Additional room between two groups, millimetres.
pub const GAP: f64 = 2.0;

/// From the middle of one lamp of a bank to the next, millimetres.
pub const LAMP_PITCH: f64 = 3.8;
/// Additional room between two groups of lamps, millimetres.
pub const LAMP_GAP: f64 = 1.7;

/// Points on the arc of a part of a disc, less one.
const ARC: usize = 24;

/// The middle of switch `number`, measured to the left from the right edge of switch 0's place, millimetres.
pub fn switch_offset(number: u8, notation: Notation) -> f64 {
    let gaps = (0..number).filter(|&right| opens_group(right, notation)).count();
    (f64::from(number) + 0.5) * PITCH + gaps as f64 * GAP
}

/// A bank of levers whose switch 0 has its right edge at `right`, on a thin line at height `y`.
pub fn levers(page: &mut Page, right: f64, y: f64, levers: Levers, notation: Notation) {
    bank(page, right, y, (levers.lowest, levers.count), notation);
    for lever in levers.each() {
        self::lever(page, right - switch_offset(lever.number, notation), y, lever.up, lever.moved);
    }
}

/// The line on which a bank of so many levers stands, from the lowest on: a piece for each group.
pub fn bank(page: &mut Page, right: f64, y: f64, (lowest, count): (u8, u8), notation: Notation) {
    let mut group_end = None;
    for number in (lowest..lowest + count).rev() {
        let x = right - switch_offset(number, notation);
        let start = group_end.get_or_insert(x - PITCH / 2.0);
        let last = number == lowest || opens_group(number - 1, notation);
        if last {
            rule(page, (*start, y), x + PITCH / 2.0, Stroke::new(0.15));
            group_end = None;
        }
    }
}

/// A lever with its pivot at (`x`, `y`): a solid arrow if the hand has to push it, else a hollow bar on the side where
/// it stands.
pub fn lever(page: &mut Page, x: f64, y: f64, up: bool, moved: bool) {
    let side = if up { -1.0 } else { 1.0 };
    if moved {
        let points = vec![(x - 1.7, y), (x, y + side * 2.7), (x + 1.7, y)];
        page.push(Polyline { points, closed: true, paint: Paint::SOLID });
    } else {
        let top = if up { y - 2.3 } else { y };
        let paint = Paint { stroke: Some(Stroke::new(0.42)), fill: Some(Ink::WHITE) };
        page.push(Rect { x: x - 0.9, y: top, width: 1.8, height: 2.3, paint });
    }
}

/// A lamp: a solid disc if lit, a ring if dark, a square of broken lines if it may be either, a ring with a dot if it flickers,
/// a ring filled by 1, 3, 5, 7 or 9 tenths as it is dim or bright.
pub fn lamp(page: &mut Page, x: f64, y: f64, look: Lamp) {
    let ring = |radius| Circle { centre: (x, y), radius, paint: Paint::outline(0.25) };
    let disc = |radius| Circle { centre: (x, y), radius, paint: Paint::SOLID };
    match look {
        Lamp::Lit => page.push(disc(1.45)),
        Lamp::Dark => page.push(ring(1.3)),
        Lamp::Open => {
            let paint = Paint { stroke: Some(Stroke::new(0.25).dashed(0.6, 0.5)), fill: None };
            page.push(Rect { x: x - 1.3, y: y - 1.3, width: 2.6, height: 2.6, paint });
        }
        Lamp::Flickers => {
            page.push(ring(1.3));
            page.push(disc(0.55));
        }
        Lamp::Live(step) => {
            page.push(sector(x, y, 1.3, (2.0 * f64::from(step.clamp(1, 5)) - 1.0) / 10.0));
            page.push(ring(1.3));
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

/// The middle of lamp `number` of a bank of `count` lamps that begins at `left`.
pub fn lamp_x(left: f64, count: u8, number: u8, notation: Notation) -> f64 {
    let gaps = (number + 1..count).filter(|&other| opens_group(other - 1, notation)).count();
    left + (f64::from(count - 1 - number) + 0.5) * LAMP_PITCH + gaps as f64 * LAMP_GAP
}

/// A bank of lamps, the highest first.
pub fn lamps(page: &mut Page, left: f64, y: f64, lamps: &[Lamp], notation: Notation) {
    let count = lamps.len() as u8;
    for (number, look) in (0..count).rev().zip(lamps) {
        lamp(page, lamp_x(left, count, number, notation), y, *look);
    }
}

/// A box to tick, 4.4 mm wide.
pub fn tick_box(page: &mut Page, x: f64, y: f64) {
    page.push(Rect { x, y: y - 2.2, width: 4.4, height: 4.4, paint: Paint::outline(0.45) });
}

/// A level line from a point to `right`.
pub fn rule(page: &mut Page, from: (f64, f64), right: f64, stroke: Stroke) {
    page.push(Line { from, to: (right, from.1), stroke });
}
