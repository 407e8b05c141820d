//! A small display list: pages of text, lines, boxes and circles, in black, white and greys.
//!
//! What is to be printed is drawn once into a [`Drawing`]; [`svg::write_page`], [`pdf::write`] and [`html::write`] turn the
//! same list into files. All lengths are millimetres, measured from the top left corner of the page to the right and
//! downwards, and come out exact: a page printed at its own size can be laid on the thing it pictures. The same
//! drawing always gives the same bytes: no writer knows a date, a path or a random number.
//!
//! This module knows nothing of what it draws.

pub mod html;
pub mod metrics;
pub mod pdf;
pub mod svg;
mod winansi;

pub(crate) use metrics::MM_PER_PT;
pub use metrics::{Font, Pt};

/// Pages under one title.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    /// What a viewer shows as the name of the document.
    pub title: String,
    /// In reading order; they may differ in size.
    pub pages: Vec<Page>,
}

/// One page and what is on it, in the order it is painted.
#[derive(Clone, Debug, PartialEq)]
pub struct Page {
    /// The paper.
    pub size: PageSize,
    /// Later items cover earlier ones.
    pub items: Vec<Item>,
}

impl Page {
    /// An empty page.
    pub fn new(size: PageSize) -> Self {
        Page { size, items: Vec::new() }
    }

    /// Paints `item` over what is there.
    pub fn push(&mut self, item: impl Into<Item>) {
        self.items.push(item.into());
    }

    /// Moves everything on it to the right, millimetres.
    pub fn shift(&mut self, by: f64) {
        self.items.iter_mut().for_each(|item| match item {
            Item::Text(text) => text.x += by,
            Item::Line(line) => (line.from.0, line.to.0) = (line.from.0 + by, line.to.0 + by),
            Item::Rect(rect) => rect.x += by,
            Item::Circle(circle) => circle.centre.0 += by,
            Item::Polyline(polyline) => polyline.points.iter_mut().for_each(|point| point.0 += by),
        });
    }
}

/// The size of a page in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PageSize {
    /// From left to right, millimetres.
    pub width: f64,
    /// From top to bottom, millimetres.
    pub height: f64,
}

impl PageSize {
    /// ISO 216 A4, upright.
    pub const A4: PageSize = PageSize { width: 210.0, height: 297.0 };
    /// ANSI/ASME Y14.1 A ("Letter"), 8.5 by 11 inches, upright.
    pub const LETTER: PageSize = PageSize { width: 215.9, height: 279.4 };

    /// The same paper on its side.
    pub fn landscape(self) -> Self {
        PageSize { width: self.width.max(self.height), height: self.width.min(self.height) }
    }
}

/// A length that a file can hold: 100 m at most either way, and 0 for what is no number.
pub(crate) fn tame(mm: f64) -> f64 {
    if mm.is_nan() { 0.0 } else { mm.clamp(-100_000.0, 100_000.0) }
}

/// How dark: a share of black.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ink(u8);

impl Ink {
    /// Full black.
    pub const BLACK: Ink = Ink(100);
    /// The paper, opaque: it covers what is below.
    pub const WHITE: Ink = Ink(0);

    /// A grey of `percent` of black, `0..=100`; more is black.
    pub const fn grey(percent: u8) -> Ink {
        Ink(if percent > 100 { 100 } else { percent })
    }

    /// The share of white light the ink gives back, `0.0..=1.0`.
    pub(crate) fn lightness(self) -> f64 {
        f64::from(100 - self.0) / 100.0
    }
}

/// Which point of a text its position names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// The left end of the base line.
    Start,
    /// The middle of the base line.
    Middle,
    /// The right end of the base line.
    End,
}

/// Something on a page.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// One line of text.
    Text(Text),
    /// A straight line.
    Line(Line),
    /// An upright rectangle.
    Rect(Rect),
    /// A circle.
    Circle(Circle),
    /// Straight lines from point to point.
    Polyline(Polyline),
}

/// One line of text; it never wraps.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// Where the anchor lies, millimetres.
    pub x: f64,
    /// The base line, millimetres.
    pub y: f64,
    /// What it says. A character the fonts lack is spelt if a typewriter can, and else printed as an
    /// inverted question mark.
    pub text: String,
    /// Its font.
    pub font: Font,
    /// Its type size.
    pub size: Pt,
    /// Which point of it lies at `x`.
    pub anchor: Anchor,
    /// How dark it is.
    pub ink: Ink,
}

impl Text {
    /// Black text starting at (`x`, `y`).
    pub fn new(x: f64, y: f64, font: Font, size: Pt, text: impl Into<String>) -> Self {
        Text { x, y, text: text.into(), font, size, anchor: Anchor::Start, ink: Ink::BLACK }
    }

    /// The same text with another anchor.
    pub fn anchored(self, anchor: Anchor) -> Self {
        Text { anchor, ..self }
    }

    /// The same text in another ink.
    pub fn ink(self, ink: Ink) -> Self {
        Text { ink, ..self }
    }

    /// The width it takes, millimetres.
    pub fn width(&self) -> f64 {
        metrics::width_mm(&self.text, self.font, self.size)
    }

    /// Where it begins, whatever its anchor.
    pub(crate) fn left(&self) -> f64 {
        match self.anchor {
            Anchor::Start => self.x,
            Anchor::Middle => self.x - self.width() / 2.0,
            Anchor::End => self.x - self.width(),
        }
    }
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// Millimetres.
    pub width: f64,
    /// How dark.
    pub ink: Ink,
    /// Lengths of dash and gap in millimetres; a continuous line if absent.
    pub dash: Option<(f64, f64)>,
}

impl Stroke {
    /// A continuous black line.
    pub const fn new(width: f64) -> Self {
        Stroke { width, ink: Ink::BLACK, dash: None }
    }

    /// The same line, dashed.
    pub const fn dashed(self, on: f64, off: f64) -> Self {
        Stroke { dash: Some((on, off)), ..self }
    }
}

/// A straight line whose flat ends stop at its end points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// One end, millimetres.
    pub from: (f64, f64),
    /// The other end, millimetres.
    pub to: (f64, f64),
    /// How it is drawn.
    pub stroke: Stroke,
}

/// Outline and filling of a closed shape; a shape without either is not seen.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Paint {
    /// The outline, its middle on the edge.
    pub stroke: Option<Stroke>,
    /// The filling.
    pub fill: Option<Ink>,
}

impl Paint {
    /// Filled with black.
    pub const SOLID: Paint = Paint { stroke: None, fill: Some(Ink::BLACK) };

    /// An outline only.
    pub const fn outline(width: f64) -> Self {
        Paint { stroke: Some(Stroke::new(width)), fill: None }
    }

    /// A filling only.
    pub const fn filled(ink: Ink) -> Self {
        Paint { stroke: None, fill: Some(ink) }
    }
}

/// An upright rectangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    /// Left edge, millimetres.
    pub x: f64,
    /// Top edge, millimetres.
    pub y: f64,
    /// Millimetres.
    pub width: f64,
    /// Millimetres.
    pub height: f64,
    /// Outline and filling.
    pub paint: Paint,
}

/// A circle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circle {
    /// Middle, millimetres.
    pub centre: (f64, f64),
    /// Millimetres.
    pub radius: f64,
    /// Outline and filling.
    pub paint: Paint,
}

/// Straight lines through points.
#[derive(Clone, Debug, PartialEq)]
pub struct Polyline {
    /// Corners, millimetres.
    pub points: Vec<(f64, f64)>,
    /// Whether the last point is joined to the first.
    pub closed: bool,
    /// Outline and filling.
    pub paint: Paint,
}

macro_rules! items {
    ($($kind:ident),*) => {$(
        impl From<$kind> for Item {
            fn from(item: $kind) -> Item {
                Item::$kind(item)
            }
        }
    )*};
}
items!(Text, Line, Rect, Circle, Polyline);
