//! Lines to be filled in at the bench.

use super::flow::Flow;
use crate::drawing::Page;
use crate::panel::Paper;

/// From line to line, millimetres: room for a hand that writes standing.
const PITCH: f64 = 9.0;

/// A page of empty lines.
pub fn draw(paper: Paper) -> Vec<Page> {
    let mut flow = Flow::new(paper, "Log");
    flow.paragraph("One line for each attempt: what was started, from which tape, part or disk, and what was seen.");
    flow.blank(
        &[(0.0, "date"), (25.0, "start"), (55.0, "tape, part, disk"), (95.0, "what was seen, what was changed")],
        PITCH,
    );
    flow.finish()
}
