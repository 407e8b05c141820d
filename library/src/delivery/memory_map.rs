//! The map of memory, drawn to scale: what the machine has, and what the chain puts there.

use crate::drawing::{Anchor, Drawing, Font, Ink, Line, Page, Paint, Pt, Rect, Stroke, Text};
use crate::image::MEMORY;
use crate::notation::Address;
use crate::panel::Paper;
use crate::project::Plan;

/// The top of the columns, millimetres.
const TOP: f64 = 35.0;
/// Millimetres that stay free below the columns.
const FOOT: f64 = 17.0;

/// The least distance between two lines of text, millimetres.
const PITCH: f64 = 4.6;

/// The least height of something that is there, millimetres.
const LEAST: f64 = 0.4;

/// A run of addresses with what is said of it.
struct Region {
    first: usize,
    last: usize,
    text: String,
    ink: Ink,
}

/// The map: all of memory on the left, on the right the part in which the chain's programs lie.
pub fn draw(plan: &Plan, paper: Paper) -> Drawing {
    let mut page = Page::new(paper.size());
    let title = format!("{}: map of memory", plan.name);
    page.push(Text::new(15.0, 20.0, Font::HelveticaBold, Pt(16.0), title.clone()));
    let right = page.size.width - 15.0;
    page.push(Text::new(right, 20.0, Font::Helvetica, Pt(10.0), "page 1 of 1").anchored(Anchor::End));
    let figures = format!("All stages in order: {}", plan.check().figures(plan.machine.panel.notation));
    page.push(Text::new(right, page.size.height - 7.0, Font::Helvetica, Pt(10.0), figures).anchored(Anchor::End));
    let (places, programs) = (places(plan), programs(plan));
    Column { plan, page: &mut page, left: 15.0, first: 0, last: MEMORY - 1, text: "all of memory" }.draw(&places, &[]);
    let inside = |region: &&Region| plan.machine.memory.iter().any(|memory| memory.contains(region.first));
    let low = programs.iter().filter(inside).map(|region| region.first).min();
    let high = programs.iter().filter(inside).map(|region| region.last).max();
    let (low, high) = match (low, high) {
        (Some(low), Some(high)) => (low & !0xFF, (high | 0xFF).min(MEMORY - 1)),
        _ => (0, MEMORY - 1),
    };
    Column { plan, page: &mut page, left: 110.0, first: low, last: high, text: "where the programs lie" }
        .draw(&places, &programs);
    Drawing { title, pages: vec![page] }
}

/// RAM and sockets.
fn places(plan: &Plan) -> Vec<Region> {
    let memory = plan.machine.memory.iter().map(|memory| Region {
        first: memory.base.index(),
        last: memory.base.index() + memory.size - 1,
        text: "RAM".into(),
        ink: Ink::grey(12),
    });
    let sockets = plan.machine.sockets.numbered().map(|(number, socket)| {
        let stages = plan.stages.iter().filter(|stage| stage.home.sockets().contains(&number));
        let names: Vec<_> = stages.map(|stage| stage.name.as_str()).collect();
        Region {
            first: socket.base.index(),
            last: socket.last().index(),
            text: format!("{} {}", socket.name, names.join(", ")),
            ink: Ink::grey(40),
        }
    });
    memory.chain(sockets).collect()
}

fn programs(plan: &Plan) -> Vec<Region> {
    let mut regions = Vec::new();
    for stage in plan.stages.iter().filter(|stage| stage.home.sockets().is_empty()) {
        for extent in stage.image.extents() {
            let (first, last) = (extent.base.index(), extent.last().index());
            regions.push(Region { first, last, text: stage.name.clone(), ink: Ink::grey(75) });
        }
    }
    regions.sort_by_key(|region| region.first);
    regions
}

struct Column<'a> {
    plan: &'a Plan,
    page: &'a mut Page,
    left: f64,
    first: usize,
    last: usize,
    text: &'a str,
}

/// The width of a column, millimetres.
const WIDTH: f64 = 22.0;

impl Column<'_> {
    fn bottom(&self) -> f64 {
        self.page.size.height - FOOT
    }

    fn y(&self, address: usize) -> f64 {
        let share = (address - self.first) as f64 / (self.last + 1 - self.first) as f64;
        TOP + share * (self.bottom() - TOP)
    }

    fn draw(&mut self, places: &[Region], programs: &[Region]) {
        self.page.push(Text::new(self.left, TOP - 5.0, Font::Helvetica, Pt(10.0), self.text));
        self.bars(places, 0.0);
        self.bars(programs, 4.0);
        let frame =
            Rect { x: self.left, y: TOP, width: WIDTH, height: self.bottom() - TOP, paint: Paint::outline(0.3) };
        self.page.push(frame);
        let named: Vec<_> = if programs.is_empty() { places.iter().collect() } else { programs.iter().collect() };
        self.name(&named);
    }

    fn bars(&mut self, regions: &[Region], inset: f64) {
        for region in regions.iter().filter(|region| region.last >= self.first && region.first <= self.last) {
            let top = self.y(region.first.max(self.first));
            let height = (self.y(region.last.min(self.last) + 1) - top).max(LEAST);
            let (x, width) = (self.left + inset, WIDTH - 2.0 * inset);
            // A thin white edge parts neighbours.
            let edge = Stroke { ink: Ink::WHITE, ..Stroke::new(0.2) };
            let paint = Paint { stroke: Some(edge), fill: Some(region.ink) };
            self.page.push(Rect { x, y: top, width, height, paint });
        }
    }

    /// Names beside the column, each as near to its region as the one above allows.
    fn name(&mut self, regions: &[&Region]) {
        let notation = self.plan.machine.panel.notation;
        let mut next = TOP;
        let mut rows: Vec<(f64, &Region)> = Vec::new();
        for region in regions.iter().filter(|region| region.last >= self.first && region.first <= self.last) {
            let y = self.y(region.first.max(self.first)).max(next);
            rows.push((y, region));
            next = y + PITCH;
        }
        // What does not fit below moves up.
        let mut limit = self.bottom();
        for (y, _) in rows.iter_mut().rev() {
            *y = y.min(limit);
            limit = *y - PITCH;
        }
        for (y, region) in rows {
            let at = self.y(region.first.max(self.first));
            let (from, to) = (self.left + WIDTH, self.left + WIDTH + 6.0);
            self.page.push(Line { from: (from, at), to: (to, y), stroke: Stroke::new(0.15) });
            let [first, last] = [region.first, region.last].map(|at| notation.address(Address(at as u16)).to_string());
            let text = format!("{first} to {last}  {}", region.text);
            self.page.push(Text::new(to + 1.0, y + 1.2, Font::Courier, Pt(8.5), text).anchored(Anchor::Start));
        }
    }
}
