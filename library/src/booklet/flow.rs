//! Written pages: headings, paragraphs and tables from top to bottom, on as many pages as they take.

use crate::drawing::metrics::width_mm;
use crate::drawing::{Font, Line, Page, Paint, Pt, Rect, Stroke, Text};
use crate::panel::wrap;
use crate::panel::{LEFT, Paper, RIGHT};

/// Text that is read at arm's length.
pub const BODY: (Font, Pt) = (Font::Helvetica, Pt(11.0));
/// The same, heavy.
pub const BOLD: (Font, Pt) = (Font::HelveticaBold, Pt(11.0));
const HEADING: (Font, Pt) = (Font::HelveticaBold, Pt(14.0));
const TITLE: (Font, Pt) = (Font::HelveticaBold, Pt(20.0));

/// From base line to base line of the body, millimetres.
const PITCH: f64 = 4.9;
/// The first base line, and what stays free below the last, millimetres.
const TOP: f64 = 19.0;
const BOTTOM: f64 = 12.0;

/// A pen that goes down a page and on to the next.
#[derive(Clone)]
pub struct Flow {
    paper: Paper,
    pages: Vec<Page>,
    /// The base line of what comes next.
    y: f64,
}

/// A column: where it begins, from the left margin, and how wide it is, millimetres.
pub type Column = (f64, f64);

/// What stands in a column of a row, and in which type.
pub type Cell<'a> = (Column, (Font, Pt), &'a str);

impl Flow {
    /// A first page with a title.
    pub fn new(paper: Paper, title: &str) -> Flow {
        let mut flow = Flow { paper, pages: vec![Page::new(paper.size())], y: TOP };
        flow.lines(TITLE, title, 8.0);
        flow.y += 1.0;
        flow
    }

    /// The width between the margins, millimetres.
    pub fn width(&self) -> f64 {
        self.paper.size().width - LEFT - RIGHT
    }

    /// What has been written.
    pub fn finish(self) -> Vec<Page> {
        self.pages
    }

    /// On how many pages it is.
    pub fn pages(&self) -> usize {
        self.pages.len()
    }

    /// The height that is left on the page, millimetres.
    pub fn left(&self) -> f64 {
        self.paper.size().height - BOTTOM - self.y
    }

    /// Makes sure that so much height is left, on another page if need be.
    fn need(&mut self, height: f64) {
        if height > self.left() {
            self.turn();
        }
    }

    /// Goes on to another page.
    pub fn turn(&mut self) {
        self.pages.push(Page::new(self.paper.size()));
        self.y = TOP;
    }

    fn page(&mut self) -> &mut Page {
        let last = self.pages.len() - 1;
        &mut self.pages[last]
    }

    fn lines(&mut self, (font, size): (Font, Pt), text: &str, pitch: f64) {
        for line in wrapped(text, (font, size), self.width()) {
            self.need(0.0);
            let y = self.y;
            self.page().push(Text::new(LEFT, y, font, size, line));
            self.y += pitch;
        }
    }

    /// A heading; it stands on the page of what follows.
    pub fn heading(&mut self, text: &str) {
        self.y += 3.5;
        self.need(16.0);
        self.lines(HEADING, text, 6.3);
    }

    /// A paragraph.
    pub fn paragraph(&mut self, text: &str) {
        self.lines(BODY, text, PITCH);
        self.y += 1.2;
    }

    /// A paragraph in heavy type.
    pub fn strong(&mut self, text: &str) {
        self.lines(BOLD, text, PITCH);
        self.y += 1.2;
    }

    /// A row of a table: each cell broken in its column, the row on one page, a thin line below it.
    pub fn row(&mut self, cells: &[Cell<'_>]) {
        self.cells(cells);
        self.line();
    }

    /// The same without the line.
    pub fn cells(&mut self, cells: &[Cell<'_>]) {
        let broken: Vec<_> = cells.iter().map(|((_, width), font, text)| wrapped(text, *font, *width)).collect();
        let count = broken.iter().map(Vec::len).max().unwrap_or(0).max(1);
        self.need(PITCH * (count - 1) as f64);
        let top = self.y;
        for (((x, _), (font, size), _), lines) in cells.iter().zip(broken) {
            for (at, line) in lines.into_iter().enumerate() {
                let text = Text::new(LEFT + x, top + PITCH * at as f64, *font, *size, line);
                self.page().push(text);
            }
        }
        self.y = top + PITCH * count as f64 + 1.6;
    }

    /// A thin line below what stands above.
    pub fn line(&mut self) {
        let (rule, right) = (self.y - PITCH + 0.1, LEFT + self.width());
        self.page().push(Line { from: (LEFT, rule), to: (right, rule), stroke: Stroke::new(0.15) });
    }

    /// Lines in a frame, the first of them large; what must not be overlooked.
    pub fn frame(&mut self, what: &str, why: &str) {
        let room = self.width() - 8.0;
        let (large, small) = (wrapped(what, HEADING, room), wrapped(why, BODY, room));
        let height = 6.3 * large.len() as f64 + PITCH * small.len() as f64 + 5.0;
        self.need(height);
        let (top, width) = (self.y - 5.0, self.width());
        self.page().push(Rect { x: LEFT, y: top, width, height, paint: Paint::outline(1.2) });
        let mut y = self.y + 2.5;
        for ((font, size), pitch, line) in
            large.into_iter().map(|line| (HEADING, 6.3, line)).chain(small.into_iter().map(|line| (BODY, PITCH, line)))
        {
            self.page().push(Text::new(LEFT + 4.0, y, font, size, line));
            y += pitch;
        }
        self.y = top + height + 7.5;
    }

    /// Empty lines to write on, under the names of their columns, down to the foot of the page.
    pub fn blank(&mut self, columns: &[(f64, &str)], pitch: f64) {
        let heads: Vec<_> = columns.iter().map(|&(x, head)| ((x, self.width() - x), BOLD, head)).collect();
        self.row(&heads);
        let (right, foot) = (LEFT + self.width(), self.paper.size().height - BOTTOM);
        let top = self.y - PITCH;
        let mut y = top + pitch;
        while y <= foot {
            self.page().push(Line { from: (LEFT, y), to: (right, y), stroke: Stroke::new(0.2) });
            y += pitch;
        }
        for &(x, _) in &columns[1..] {
            let x = LEFT + x - 1.5;
            self.page().push(Line { from: (x, top - 5.0), to: (x, y - pitch), stroke: Stroke::new(0.15) });
        }
        self.y = y;
    }

    /// A line from one text to another at the right margin, led by dots.
    pub fn led(&mut self, indent: f64, text: &str, number: &str) {
        self.need(0.0);
        let (y, right) = (self.y, LEFT + self.width());
        let number = Text::new(right, y, BODY.0, BODY.1, number).anchored(crate::drawing::Anchor::End);
        let room = self.width() - indent - number.width() - 8.0;
        let lines = wrapped(text, BODY, room);
        let last = lines.last().map_or(0.0, |line| width_mm(line, BODY.0, BODY.1));
        let count = lines.len();
        for (at, line) in lines.into_iter().enumerate() {
            self.page().push(Text::new(LEFT + indent, y + PITCH * at as f64, BODY.0, BODY.1, line));
        }
        let base = y + PITCH * (count.max(1) - 1) as f64;
        let (from, to) = ((LEFT + indent + last + 2.0, base), (right - number.width() - 2.0, base));
        self.page().push(Line { from, to, stroke: Stroke::new(0.2).dashed(0.3, 1.5) });
        self.page().push(Text { y: base, ..number });
        self.y = base + PITCH + 1.4;
    }
}

/// Text broken to lines of a width, millimetres.
pub fn wrapped(text: &str, (font, size): (Font, Pt), room: f64) -> Vec<String> {
    wrap(text, |line| width_mm(line, font, size) <= room)
}
