//! Levers and lamps one by one, for a page that puts them together itself: each is drawn as on the sheet and the card.

use super::glyph::Size;
use super::lamps::Lamp;
use super::levers::opens_group;
use crate::drawing::{Anchor, Font, Page, PageSize, Pt, Text};
use crate::notation::Notation;

/// The page makes them as large as its screen allows.
const SIZE: Size = Size::ROWS;
/// The height of a bank of levers with the numbers above it, millimetres.
const BANK_HEIGHT: f64 = 9.6;
/// Where its line lies, millimetres from the upper edge.
const BANK_LINE: f64 = 6.6;
/// The base line of the numbers, millimetres from the upper edge.
const NUMBERS: f64 = 2.6;
const NUMBER_TYPE: (Font, Pt) = (Font::HelveticaBold, Pt(7.5));

/// A row of places for levers or lamps.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// What does not change: lines and numbers. Its size is that of the whole row, millimetres.
    pub ground: Page,
    /// The middles of the places from left to right, millimetres from the left edge.
    pub at: Vec<f64>,
    /// At which of them a group begins.
    pub opens: Vec<bool>,
    /// Where the middles lie, millimetres from the upper edge.
    pub middle: f64,
}

/// A lever with its pivot at the origin.
pub fn lever(up: bool, moved: bool) -> Page {
    let mut page = dot();
    SIZE.lever(&mut page, 0.0, 0.0, up, moved);
    page
}

/// A lamp with its middle at the origin.
pub fn lamp(look: Lamp) -> Page {
    let mut page = dot();
    SIZE.lamp(&mut page, 0.0, 0.0, look);
    page
}

/// The places of `count` levers from the lowest on, with their numbers.
pub fn levers(lowest: u8, count: u8, notation: Notation) -> Row {
    let numbers: Vec<u8> = (lowest..lowest + count).rev().collect();
    let highest = numbers.first().map_or(0.0, |number| SIZE.switch_offset(*number, notation));
    let right = highest + SIZE.pitch / 2.0;
    let at: Vec<f64> = numbers.iter().map(|number| right - SIZE.switch_offset(*number, notation)).collect();
    let width = at.last().map_or(0.0, |last| last + SIZE.pitch / 2.0);
    let mut ground = Page::new(PageSize { width, height: BANK_HEIGHT });
    SIZE.bank(&mut ground, right, BANK_LINE, (lowest, count), notation);
    for (number, x) in numbers.iter().zip(&at) {
        let text = Text::new(*x, NUMBERS, NUMBER_TYPE.0, NUMBER_TYPE.1, number.to_string());
        ground.push(text.anchored(Anchor::Middle));
    }
    let opens = numbers.iter().map(|number| opens_group(*number, notation)).collect();
    Row { ground, at, opens, middle: BANK_LINE }
}

/// The places of `count` lamps.
pub fn lamps(count: u8, notation: Notation) -> Row {
    let numbers: Vec<u8> = (0..count).rev().collect();
    let at: Vec<f64> = numbers.iter().map(|number| SIZE.lamp_x(0.0, count, *number, notation)).collect();
    let width = at.last().map_or(0.0, |last| last + SIZE.lamp_pitch / 2.0);
    let opens = numbers.iter().map(|number| opens_group(*number, notation)).collect();
    Row { ground: Page::new(PageSize { width, height: SIZE.lamp_pitch }), at, opens, middle: SIZE.lamp_pitch / 2.0 }
}

/// What has no size of its own.
fn dot() -> Page {
    Page::new(PageSize { width: 0.0, height: 0.0 })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_places_lie_within_the_row_from_left_to_right() {
        for (row, count) in [
            (levers(0, 16, Notation::Octal), 16),
            (levers(8, 8, Notation::SplitOctal), 8),
            (lamps(8, Notation::Hexadecimal), 8),
        ] {
            assert_eq!((row.at.len(), row.opens.len()), (count, count));
            assert!(row.at[0] > 0.0 && row.at[count - 1] < row.ground.size.width);
            assert!(row.at.windows(2).all(|pair| pair[1] - pair[0] >= SIZE.lamp_pitch - 1e-9), "{:?}", row.at);
        }
    }
}
