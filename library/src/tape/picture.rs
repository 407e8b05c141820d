//! A tape drawn to scale: folded into strips to be read on paper, or as the outlines of its holes to be cut.

use std::ops::Range;

use super::geometry::{CODE_HOLE, FEED_AXIS, FEED_HOLE, PITCH, WIDTH, length, track};
use crate::drawing::{
    Anchor, Circle, Drawing, Font, Ink, Line, Page, PageSize, Paint, Polyline, Pt, Stroke, Text, metrics,
};
use crate::notation::Notation;
use crate::source::{Code, Diagnostic};

/// What stands beside a run of frames.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// Which frames.
    pub range: Range<usize>,
    /// What they are, in a few words.
    pub text: String,
    /// Whether they are worth a heavy line: a damaged block.
    pub heavy: bool,
    /// A frame and a track, 1 to 8, to be ringed: the wrong bit that explains the damage.
    pub ring: Option<(usize, u8)>,
}

/// Frames of one strip of a page for reading: ten inches.
const STRIP: usize = 100;

/// Frames of one page for cutting: eight feet four inches, which is less than a page of PDF can be long.
const CUT_PAGE: usize = 1000;

/// Millimetres from the top of the page to the first strip, and from strip to strip.
const HEAD: f64 = 27.0;
const STRIP_PITCH: f64 = 35.2;

/// Millimetres that stay free below the last strip.
const FOOT: f64 = 6.0;

/// Outline of a hole to be cut, millimetres.
const CUT_LINE: f64 = 0.1;

/// The most frames of a picture: some 340 pages for reading, 500 m of paper to be cut.
pub const MOST_FRAMES: usize = 200_000;

/// Refuses what nobody can want on paper, before memory is full of circles.
fn bounded(tape: &[u8]) -> Result<(), Diagnostic> {
    if tape.len() <= MOST_FRAMES {
        return Ok(());
    }
    let headline = format!("a tape of {} frames is too long for a picture", tape.len());
    let problem = Diagnostic::error(Code::TapeUnfit, headline);
    Err(problem.with_note(format!("{MOST_FRAMES} frames are the most")).with_help("draw a part of it: cut the file"))
}

/// The tape for reading, on landscape pages: strips of a hundred frames with their offsets, what each stretch is, the
/// direction, the tracks by number, and the CRC-16/IBM-3740 of all its frames in `notation`. The first frame is at the left, the reference edge below.
///
/// # Errors
/// A diagnostic if there are more frames than [`MOST_FRAMES`].
pub fn to_read(
    tape: &[u8],
    title: &str,
    labels: &[Label],
    paper: PageSize,
    notation: Notation,
) -> Result<Drawing, Diagnostic> {
    bounded(tape)?;
    let size = paper.landscape();
    let strips_a_page = (((size.height - HEAD - FOOT) / STRIP_PITCH) as usize).max(1);
    let frames_a_page = strips_a_page * STRIP;
    let pages = tape.len().div_ceil(frames_a_page).max(1);
    let check = crc::Crc::<u16>::new(&crc::CRC_16_IBM_3740).checksum(tape);
    let check = format!("tape file: CRC-16 {}", notation.word(check));
    let page = |number: usize| {
        let mut page = Page::new(size);
        let left = (size.width - length(STRIP)) / 2.0;
        head(&mut page, left, title, tape.len(), (number + 1, pages));
        let foot = (left + length(STRIP), size.height - 5.0);
        page.push(Text::new(foot.0, foot.1, Font::Helvetica, Pt(10.0), check.clone()).anchored(Anchor::End));
        for strip in 0..strips_a_page {
            let start = number * frames_a_page + strip * STRIP;
            let end = tape.len().min(start + STRIP);
            if start < end {
                let top = HEAD + strip as f64 * STRIP_PITCH;
                Strip { page: &mut page, left, top, start }.draw(&tape[start..end], end == tape.len(), labels);
            }
        }
        page
    };
    Ok(Drawing { title: title.to_owned(), pages: (0..pages).map(page).collect() })
}

/// The outlines of all holes and nothing else, in exact millimetres, a page as high as the tape is wide: the page's
/// lower edge is the reference edge, its left edge stands half a pitch before the first frame.
///
/// # Errors
/// A diagnostic if there are more frames than [`MOST_FRAMES`].
pub fn to_cut(tape: &[u8], title: &str) -> Result<Drawing, Diagnostic> {
    bounded(tape)?;
    let pages = tape.chunks(CUT_PAGE).map(|frames| {
        let mut page = Page::new(PageSize { width: length(frames.len()), height: WIDTH });
        for (index, &frame) in frames.iter().enumerate() {
            holes(&mut page, frame, (index as f64 + 0.5) * PITCH, WIDTH, |_| Paint::outline(CUT_LINE));
        }
        page
    });
    Ok(Drawing { title: title.to_owned(), pages: pages.collect() })
}

/// The holes of a frame at `x`, the reference edge at `edge`; `paint` is asked whether the hole is a code hole.
fn holes(page: &mut Page, frame: u8, x: f64, edge: f64, paint: impl Fn(bool) -> Paint) {
    page.push(Circle { centre: (x, edge - FEED_AXIS), radius: FEED_HOLE / 2.0, paint: paint(false) });
    for bit in (0..8).filter(|bit| frame >> bit & 1 == 1) {
        let centre = (x, edge - track(bit + 1));
        page.push(Circle { centre, radius: CODE_HOLE / 2.0, paint: paint(true) });
    }
}

fn head(page: &mut Page, left: f64, title: &str, frames: usize, (number, pages): (usize, usize)) {
    let right = left + length(STRIP);
    let room = length(STRIP) * 0.72;
    let shown = metrics::fit(title, Font::HelveticaBold, Pt(14.0), room);
    page.push(Text::new(left, 13.0, Font::HelveticaBold, Pt(14.0), shown));
    let place = format!("page {number} of {pages}");
    page.push(Text::new(right, 13.0, Font::Helvetica, Pt(10.0), place).anchored(Anchor::End));
    let facts = format!("{frames} frames at 10 to the inch; drawn to scale; a hole is a 1; track 1 below");
    page.push(Text::new(left, 18.5, Font::Helvetica, Pt(9.0), facts));
    arrow(page, right, 17.4);
}

/// The way in which the tape is read.
fn arrow(page: &mut Page, right: f64, y: f64) {
    let text = "first frame at the left, read this way";
    page.push(Text::new(right - 24.0, y + 1.1, Font::Helvetica, Pt(9.0), text).anchored(Anchor::End));
    page.push(Line { from: (right - 22.0, y), to: (right - 4.0, y), stroke: Stroke::new(0.6) });
    let points = vec![(right, y), (right - 5.0, y - 1.7), (right - 5.0, y + 1.7)];
    page.push(Polyline { points, closed: true, paint: Paint::SOLID });
}

/// One strip of the tape on a page for reading.
struct Strip<'a> {
    page: &'a mut Page,
    left: f64,
    top: f64,
    start: usize,
}

impl Strip<'_> {
    fn draw(&mut self, frames: &[u8], is_last: bool, labels: &[Label]) {
        let (left, top, width) = (self.left, self.top, length(frames.len()));
        let edge = top + WIDTH;
        let outline = Stroke { ink: Ink::grey(60), ..Stroke::new(0.2) };
        for y in [top, edge] {
            self.page.push(Line { from: (left, y), to: (left + width, y), stroke: outline });
        }
        self.end(left, self.start == 0, outline);
        self.end(left + width, is_last, outline);
        self.tracks();
        for (index, &frame) in frames.iter().enumerate() {
            let x = self.middle(index);
            let feed = Paint { stroke: Some(Stroke::new(0.15)), fill: None };
            holes(self.page, frame, x, edge, |is_code| if is_code { Paint::SOLID } else { feed });
        }
        self.offsets(frames.len());
        for label in labels {
            self.label(label, frames.len());
            self.ring(label, frames.len());
        }
    }

    fn middle(&self, index: usize) -> f64 {
        self.left + (index as f64 + 0.5) * PITCH
    }

    /// An end of the strip: straight where the tape ends, dashed where it goes on.
    fn end(&mut self, x: f64, is_end: bool, stroke: Stroke) {
        let stroke = if is_end { stroke } else { stroke.dashed(1.2, 1.2) };
        self.page.push(Line { from: (x, self.top), to: (x, self.top + WIDTH), stroke });
    }

    fn tracks(&mut self) {
        for number in 1..=8 {
            let y = self.top + WIDTH - track(number) + 0.75;
            let text = Text::new(self.left - 1.2, y, Font::Helvetica, Pt(6.0), number.to_string());
            self.page.push(text.anchored(Anchor::End));
        }
    }

    /// The offset of every tenth frame, with a tick above its middle.
    fn offsets(&mut self, frames: usize) {
        for index in (0..frames).step_by(10) {
            let x = self.middle(index);
            self.page.push(Line { from: (x, self.top - 1.3), to: (x, self.top - 0.2), stroke: Stroke::new(0.2) });
            let text = Text::new(x, self.top - 1.9, Font::Helvetica, Pt(7.0), (self.start + index).to_string());
            self.page.push(text.anchored(Anchor::Middle));
        }
    }

    /// A line below the frames of a stretch, and what they are where there is room to say it.
    fn label(&mut self, label: &Label, frames: usize) {
        let from = label.range.start.max(self.start);
        let to = label.range.end.min(self.start + frames);
        if from >= to {
            return;
        }
        let (x1, x2) = (self.left + length(from - self.start) + 0.4, self.left + length(to - self.start) - 0.4);
        let y = self.top + WIDTH + 1.2;
        let stroke = Stroke::new(if label.heavy { 0.9 } else { 0.25 });
        self.page.push(Line { from: (x1, y), to: (x2, y), stroke });
        for x in [(x1, label.range.start == from), (x2, label.range.end == to)] {
            if x.1 {
                self.page.push(Line { from: (x.0, y - 0.7), to: (x.0, y + 0.7), stroke: Stroke::new(0.25) });
            }
        }
        let font = if label.heavy { Font::HelveticaBold } else { Font::Helvetica };
        let shown = metrics::fit(&label.text, font, Pt(7.5), x2 - x1);
        if shown.chars().count() > 2 {
            self.page.push(Text::new(x1, y + 3.2, font, Pt(7.5), shown));
        }
    }

    fn ring(&mut self, label: &Label, frames: usize) {
        let Some((frame, number)) = label.ring.filter(|(frame, _)| (self.start..self.start + frames).contains(frame))
        else {
            return;
        };
        let centre = (self.middle(frame - self.start), self.top + WIDTH - track(number));
        self.page.push(Circle { centre, radius: PITCH * 0.72, paint: Paint::outline(0.5) });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::Item;

    /// A tape of two pages and a bit, each frame another byte.
    fn tape() -> Vec<u8> {
        (0..1234u32).map(|frame| (frame * 37) as u8).collect()
    }

    fn circles(page: &Page) -> impl Iterator<Item = &Circle> {
        page.items.iter().filter_map(|item| if let Item::Circle(circle) = item { Some(circle) } else { None })
    }

    #[test]
    fn nobody_is_drawn_a_picture_of_a_million_frames() {
        let tape = vec![0; MOST_FRAMES + 1];
        let refused = [to_read(&tape, "t", &[], PageSize::A4, Notation::default()), to_cut(&tape, "t")]
            .map(|it| it.unwrap_err().code);
        assert_eq!(refused, [Code::TapeUnfit; 2]);
    }

    #[test]
    fn folded_and_cut_every_hole_is_drawn_once() {
        let holes: u32 = tape().iter().map(|frame| frame.count_ones()).sum();
        for (drawing, pages) in [
            (to_read(&tape(), "t", &[], PageSize::A4, Notation::default()).unwrap(), 3),
            (to_cut(&tape(), "t").unwrap(), 2),
        ] {
            assert_eq!(drawing.pages.len(), pages);
            let of = |diameter: f64| {
                let all = drawing.pages.iter().flat_map(circles);
                all.filter(|circle| (2.0 * circle.radius - diameter).abs() < 1e-9).count()
            };
            assert_eq!((of(CODE_HOLE), of(FEED_HOLE)), (holes as usize, tape().len()));
        }
    }

    #[test]
    fn everything_stays_on_the_paper_and_the_ring_is_around_its_hole() {
        let ring = Some((777, 5));
        let label = Label { range: 700..800, text: "block".into(), heavy: true, ring };
        for paper in [PageSize::A4, PageSize::LETTER] {
            let drawing = to_read(&tape(), "t", std::slice::from_ref(&label), paper, Notation::default()).unwrap();
            for page in &drawing.pages {
                for circle in circles(page) {
                    let ((x, y), r) = (circle.centre, circle.radius);
                    assert!(x > r && y > r && x + r < page.size.width && y + r < page.size.height);
                }
            }
            let rings: Vec<_> =
                drawing.pages.iter().flat_map(circles).filter(|circle| circle.radius > CODE_HOLE / 2.0 + 0.1).collect();
            let [ring] = rings[..] else { panic!("{} rings", rings.len()) };
            // Frame 777 is the 78th of its strip, the third of the second page.
            let left = (paper.landscape().width - length(STRIP)) / 2.0;
            let x = left + 77.5 * PITCH;
            let y = HEAD + 2.0 * STRIP_PITCH + WIDTH - track(5);
            assert!((ring.centre.0 - x).abs() < 1e-9 && (ring.centre.1 - y).abs() < 1e-9, "{:?}", ring.centre);
        }
    }

    #[test]
    fn an_empty_tape_is_an_empty_page() {
        assert_eq!(to_read(&[], "t", &[], PageSize::A4, Notation::default()).unwrap().pages.len(), 1);
        assert!(to_cut(&[], "t").unwrap().pages.is_empty());
    }
}
