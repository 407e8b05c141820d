//! What stands where.

use super::flow::Flow;
use crate::drawing::Page;
use crate::panel::Paper;

/// A line of the contents.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// What begins there.
    pub title: String,
    /// On which page, counted from 1.
    pub page: usize,
}

/// The contents.
pub fn draw(paper: Paper, entries: &[Entry]) -> Vec<Page> {
    let mut flow = Flow::new(paper, "Contents");
    for entry in entries {
        flow.led(0.0, &entry.title, &entry.page.to_string());
    }
    flow.finish()
}
