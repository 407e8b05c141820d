//! A disk drawn: as it lies in the drive, every sector at its angle, and as a table of what stands where.

use std::f64::consts::TAU;

use super::layout::{Layout, Sectoring};
use super::read::{Reading, Verdict};
use crate::drawing::{
    Anchor, Circle, Drawing, Font, Line, Page, PageSize, Paint, Polyline, Pt, Rect, Stroke, Text, metrics,
};
use crate::notation::Notation;
use crate::record::Spot;

/// What is to be drawn.
#[derive(Clone, Copy)]
pub struct Subject<'a> {
    /// How the disk is made up.
    pub layout: &'a Layout,
    /// What was found on it, if a disk was read.
    pub reading: Option<&'a Reading>,
    /// The checksum of that disk, which stands on every page.
    pub crc: Option<u16>,
    /// The title of the pages.
    pub title: &'a str,
    /// How numbers are written.
    pub notation: Notation,
}

/// Millimetres that stay free at the edges of a page.
const MARGIN: f64 = 12.0;

/// Millimetres from the top of a page to what is drawn on it.
const HEAD: f64 = 26.0;

/// Millimetres between the outermost track and the numbers of the sectors.
const RIM: f64 = 3.0;

/// Millimetres that the numbers take around the disk.
const NUMBERS: f64 = 7.0;

/// The height of a row of the table, millimetres.
const ROW: f64 = 10.0;

/// The width of the column of track numbers, millimetres.
const TRACKS: f64 = 18.0;

/// Degrees from point to point of an arc.
const STEP: f64 = 2.0;

/// How an area is drawn, in turn: as lines at an angle, in degrees, and their pitch in millimetres.
const HATCHES: [(f64, f64); 4] = [(45.0, 0.9), (135.0, 0.9), (90.0, 0.9), (0.0, 0.7)];

/// The dashes by which the arcs of areas differ, in turn.
const DASHES: [Option<(f64, f64)>; 4] = [None, Some((1.6, 0.8)), Some((0.5, 0.5)), Some((3.0, 0.6))];

/// The disk as it lies in the drive, and the table of its tracks on as many pages as that takes.
pub fn draw(subject: &Subject, paper: PageSize) -> Drawing {
    let rows = tracks_worth_a_row(subject);
    let size = paper.landscape();
    let rows_a_page = ((size.height - HEAD - 8.0 - MARGIN) / ROW).floor().max(1.0) as usize;
    let pages = 1 + rows.len().div_ceil(rows_a_page);
    let mut drawn = vec![View { subject, page: Page::new(paper) }.draw(pages)];
    for (number, rows) in rows.chunks(rows_a_page).enumerate() {
        drawn.push(Table { subject, page: Page::new(size) }.draw(rows, (number + 2, pages)));
    }
    Drawing { title: subject.title.to_owned(), pages: drawn }
}

/// Tracks that an area uses, or on which something stands.
fn tracks_worth_a_row(subject: &Subject) -> Vec<usize> {
    let layout = subject.layout;
    let used = |track: usize| {
        (0..layout.sectors()).any(|place| {
            let spot = Spot { track: track as u8, sector: layout.number_at(track, place) };
            area_of(layout, spot).is_some() || mark(subject, spot).is_some()
        })
    };
    (0..layout.tracks).filter(|&track| used(track)).collect()
}

/// The number of the area that a sector belongs to.
fn area_of(layout: &Layout, spot: Spot) -> Option<usize> {
    layout.areas.iter().position(|area| layout.spots(area).contains(&spot))
}

/// The sign of a sector that is not as it should be.
fn mark(subject: &Subject, spot: Spot) -> Option<char> {
    let verdict = &subject.reading?.verdicts[subject.layout.index(spot)?];
    match verdict {
        Verdict::Good | Verdict::Unproved | Verdict::Empty => None,
        Verdict::Damaged(..) => Some('X'),
        Verdict::Elsewhere(_) => Some('/'),
    }
}

/// The letter of an area: A, B, ...
fn letter(area: usize) -> char {
    char::from(b'A' + (area % 26) as u8)
}

fn head(page: &mut Page, subject: &Subject, facts: &str, (number, pages): (usize, usize)) {
    let right = page.size.width - MARGIN;
    let room = (right - MARGIN) * 0.72;
    let shown = metrics::fit(subject.title, Font::HelveticaBold, Pt(14.0), room);
    page.push(Text::new(MARGIN, 13.0, Font::HelveticaBold, Pt(14.0), shown));
    let place = format!("page {number} of {pages}");
    page.push(Text::new(right, 13.0, Font::Helvetica, Pt(10.0), place).anchored(Anchor::End));
    let shown = metrics::fit(facts, Font::Helvetica, Pt(10.0), right - MARGIN);
    page.push(Text::new(MARGIN, 19.0, Font::Helvetica, Pt(10.0), shown));
    if let Some(crc) = subject.crc {
        let text = format!("disk file: CRC-16 {}", subject.notation.word(crc));
        let foot = page.size.height - 7.0;
        page.push(Text::new(right, foot, Font::Helvetica, Pt(10.0), text).anchored(Anchor::End));
    }
}

/// Lines at an angle within a rectangle.
fn hatch(page: &mut Page, rect: (f64, f64, f64, f64), area: usize) {
    let (angle, pitch) = HATCHES[area % HATCHES.len()];
    let (x, y, width, height) = rect;
    let (sin, cos) = angle.to_radians().sin_cos();
    let reach = width.hypot(height) / 2.0;
    let middle = (x + width / 2.0, y + height / 2.0);
    let lines = (reach / pitch).floor() as i32;
    for line in -lines..=lines {
        // A line through this point in the direction of the angle, cut to the rectangle.
        let (px, py) = (middle.0 - sin * f64::from(line) * pitch, middle.1 + cos * f64::from(line) * pitch);
        let mut range = (-reach, reach);
        for (origin, along, low, high) in [(px, cos, x, x + width), (py, sin, y, y + height)] {
            if along.abs() < 1e-9 {
                if origin < low || origin > high {
                    range = (1.0, 0.0);
                }
                continue;
            }
            let (a, b) = ((low - origin) / along, (high - origin) / along);
            range = (range.0.max(a.min(b)), range.1.min(a.max(b)));
        }
        if range.0 < range.1 {
            let point = |at: f64| (px + cos * at, py + sin * at);
            page.push(Line { from: point(range.0), to: point(range.1), stroke: Stroke::new(0.2) });
        }
    }
}

/// The disk seen from above.
struct View<'a> {
    subject: &'a Subject<'a>,
    page: Page,
}

impl View<'_> {
    fn draw(mut self, pages: usize) -> Page {
        let layout = self.subject.layout;
        let holes = match layout.sectoring {
            Sectoring::Holes(count) => format!("{count} holes"),
            Sectoring::Marks { count, .. } => format!("{count} sectors by marks"),
        };
        let scale = self.scale();
        let facts = format!(
            "{}: {} tracks, {holes}, {:.3} ms a turn; angles are exact, radii {:.0} % of the disk's",
            layout.name,
            layout.tracks,
            layout.turn.us() / 1000.0,
            scale * 100.0
        );
        head(&mut self.page, self.subject, &facts, (1, pages));
        self.tracks();
        self.sectors();
        self.holes();
        self.arrow();
        self.legend();
        self.page
    }

    /// Millimetres on paper for one on the disk: as large as the page holds, but no larger than the disk.
    fn scale(&self) -> f64 {
        let room = self.page.size.width / 2.0 - MARGIN - RIM - NUMBERS;
        (room / self.subject.layout.plan.radius_mm).min(1.0)
    }

    fn centre(&self) -> (f64, f64) {
        let half = self.page.size.width / 2.0;
        (half, HEAD + self.radius(0) + RIM + NUMBERS)
    }

    fn radius(&self, track: usize) -> f64 {
        let plan = self.subject.layout.plan;
        (plan.radius_mm - track as f64 * plan.pitch_mm) * self.scale()
    }

    /// The innermost radius at which something is written.
    fn inner(&self) -> f64 {
        self.radius(self.subject.layout.tracks - 1)
    }

    /// A point at a share of a turn behind the index, clockwise from the top.
    fn point(&self, share: f64, radius: f64) -> (f64, f64) {
        let (sin, cos) = (share * TAU).sin_cos();
        let (x, y) = self.centre();
        (x + radius * sin, y - radius * cos)
    }

    fn arc(&mut self, from: f64, share: f64, radius: f64, stroke: Stroke) {
        let steps = (share * 360.0 / STEP).ceil().max(1.0) as usize;
        let points = (0..=steps).map(|at| self.point(from + share * at as f64 / steps as f64, radius)).collect();
        self.page.push(Polyline { points, closed: false, paint: Paint { stroke: Some(stroke), fill: None } });
    }

    fn tracks(&mut self) {
        let (pitch, centre) = (self.subject.layout.plan.pitch_mm * self.scale(), self.centre());
        for radius in [self.radius(0) + pitch / 2.0, self.inner() - pitch / 2.0] {
            self.page.push(Circle { centre, radius: radius.max(0.1), paint: Paint::outline(0.3) });
        }
        self.page.push(Circle { centre, radius: (self.inner() * 0.18).max(0.5), paint: Paint::outline(0.3) });
    }

    fn sectors(&mut self) {
        let layout = self.subject.layout;
        let (outer, inner, takes) = (self.radius(0), self.inner(), layout.takes());
        for place in 0..layout.sectors() {
            let begins = layout.begins(place);
            let (from, to) = (self.point(begins, inner), self.point(begins, outer + RIM));
            self.page.push(Line { from, to, stroke: Stroke::new(0.15) });
            let (x, y) = self.point(begins + takes / 2.0, outer + RIM + NUMBERS / 2.0);
            let number = self.subject.notation.byte(layout.number_at(0, place)).to_string();
            let size = Pt(if layout.sectors() > 40 { 5.0 } else { 9.0 });
            self.page
                .push(Text::new(x, y + size.mm() * 0.35, Font::HelveticaBold, size, number).anchored(Anchor::Middle));
        }
        for (area, it) in layout.areas.iter().enumerate() {
            let stroke = Stroke { dash: DASHES[area % DASHES.len()], ..Stroke::new(self.line()) };
            for spot in layout.spots(it) {
                self.written(spot, takes, stroke);
            }
        }
        self.damaged(takes);
    }

    /// How broad a track is drawn.
    fn line(&self) -> f64 {
        (self.subject.layout.plan.pitch_mm * self.scale() * 0.6).clamp(0.1, 2.0)
    }

    fn written(&mut self, spot: Spot, takes: f64, stroke: Stroke) {
        let Some(place) = self.subject.layout.place_of(spot) else { return };
        let begins = self.subject.layout.begins(place);
        self.arc(begins, takes, self.radius(spot.track.into()), stroke);
    }

    /// A ring around every sector that is not as it should be.
    fn damaged(&mut self, takes: f64) {
        let layout = self.subject.layout;
        for index in 0..layout.tracks * layout.sectors() {
            let spot = layout.spot(index);
            if mark(self.subject, spot).is_none() {
                continue;
            }
            let Some(place) = layout.place_of(spot) else { continue };
            let centre = self.point(layout.begins(place) + takes / 2.0, self.radius(spot.track.into()));
            self.page.push(Circle { centre, radius: 1.6, paint: Paint::outline(0.5) });
        }
    }

    /// The holes lie within the innermost track; how far within is not to scale.
    fn holes(&mut self) {
        let radius = self.inner() * 0.8;
        let layout = self.subject.layout;
        if let Sectoring::Holes(count) = layout.sectoring {
            for hole in 0..count {
                let centre = self.point(hole as f64 / count as f64, radius);
                self.page.push(Circle { centre, radius: 0.9, paint: Paint::outline(0.25) });
            }
        }
        // Halfway before the first sector's hole, or where the track begins.
        let share = match layout.sectoring {
            Sectoring::Holes(count) => -0.5 / count as f64,
            Sectoring::Marks { .. } => 0.0,
        };
        let centre = self.point(share, radius);
        self.page.push(Circle { centre, radius: 0.9, paint: Paint::SOLID });
        let (x, y) = self.point(share, radius - 5.0);
        self.page.push(Text::new(x, y, Font::Helvetica, Pt(9.0), "index").anchored(Anchor::Middle));
    }

    /// In which order the sectors pass.
    fn arrow(&mut self) {
        let radius = self.inner() * 0.45;
        self.arc(0.1, 0.3, radius, Stroke::new(0.6));
        let (x, y) = self.point(0.4, radius);
        let points = vec![(x - 1.8, y - 1.0), (x + 1.0, y - 2.2), (x + 0.6, y + 1.4)];
        self.page.push(Polyline { points, closed: true, paint: Paint::SOLID });
        let (x, y) = self.centre();
        let text = "in this order they pass the head";
        self.page.push(Text::new(x, y + radius + 6.0, Font::Helvetica, Pt(9.0), text).anchored(Anchor::Middle));
    }

    fn legend(&mut self) {
        let layout = self.subject.layout;
        let mut y = self.centre().1 + self.radius(0) + RIM + NUMBERS + 8.0;
        let mut say = |page: &mut Page, stroke: Option<Stroke>, text: String| {
            if let Some(stroke) = stroke {
                page.push(Line { from: (MARGIN, y - 1.2), to: (MARGIN + 14.0, y - 1.2), stroke });
            }
            let shown = metrics::fit(&text, Font::Helvetica, Pt(10.0), page.size.width - 2.0 * MARGIN - 18.0);
            page.push(Text::new(MARGIN + 18.0, y, Font::Helvetica, Pt(10.0), shown));
            y += 5.5;
        };
        say(&mut self.page, None, "Numbers at the rim: the sectors of track 0, each where it begins.".to_owned());
        if layout.skew > 0 {
            let places = layout.skew;
            say(
                &mut self.page,
                None,
                format!("On each track they stand {places} further on than on the one outside it."),
            );
        }
        for (area, it) in layout.areas.iter().enumerate() {
            let stroke = Stroke { dash: DASHES[area % DASHES.len()], ..Stroke::new(self.line().max(0.4)) };
            let [track, sector] =
                [it.first.track, it.first.sector].map(|it| self.subject.notation.byte(it).to_string());
            let text =
                format!("{} {}: {} sectors from track {track}, sector {sector} on", letter(area), it.name, it.sectors);
            say(&mut self.page, Some(stroke), text);
        }
        if self.subject.reading.is_some_and(|reading| !reading.is_sound()) {
            say(&mut self.page, None, "A ring: a sector that is not as it should be; the table names it.".to_owned());
        }
    }
}

/// What stands where, a row a track, in the order in which sectors pass.
struct Table<'a> {
    subject: &'a Subject<'a>,
    page: Page,
}

impl Table<'_> {
    fn draw(mut self, rows: &[usize], place: (usize, usize)) -> Page {
        let layout = self.subject.layout;
        let facts =
            "sectors in the order in which they pass the head; A, B: areas; X: damaged; /: of another place; -: empty";
        head(&mut self.page, self.subject, facts, place);
        let width = (self.page.size.width - 2.0 * MARGIN - TRACKS) / layout.sectors() as f64;
        for (at, &track) in rows.iter().enumerate() {
            let y = HEAD + at as f64 * ROW;
            let name = format!("track {}", self.subject.notation.byte(track as u8));
            self.page.push(Text::new(MARGIN, y + 4.6, Font::HelveticaBold, Pt(9.0), name));
            for place in 0..layout.sectors() {
                let x = MARGIN + TRACKS + place as f64 * width;
                let spot = Spot { track: track as u8, sector: layout.number_at(track, place) };
                self.cell((x, y), width, spot);
            }
        }
        self.page
    }

    fn cell(&mut self, (x, y): (f64, f64), width: f64, spot: Spot) {
        let (layout, height) = (self.subject.layout, ROW - 0.6);
        let sign = mark(self.subject, spot);
        let outline = Paint::outline(if sign.is_some() { 0.6 } else { 0.15 });
        let area = area_of(layout, spot);
        if let Some(area) = area {
            hatch(&mut self.page, (x, y + 7.0, width, height - 7.0), area);
        }
        self.page.push(Rect { x, y, width, height, paint: outline });
        let verdict = self.subject.reading.and_then(|reading| reading.verdicts.get(layout.index(spot)?));
        let empty = matches!(verdict, Some(Verdict::Empty));
        let sign = sign.or(if empty { Some('-') } else { None });
        let number = self.subject.notation.byte(spot.sector).to_string();
        let signs: String = area.map(letter).into_iter().chain(sign).collect();
        for (text, font, down) in [(number, Font::Helvetica, 3.0), (signs, Font::HelveticaBold, 6.4)] {
            let shown = metrics::fit(&text, font, Pt(8.5), width - 0.3);
            self.page.push(Text::new(x + width / 2.0, y + down, font, Pt(8.5), shown).anchored(Anchor::Middle));
        }
    }
}
