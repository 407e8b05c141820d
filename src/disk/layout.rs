//! `disk layout`: the bundled layouts, and whether a layout file is sound.

use std::fmt::Write;

use clap::Args;
use serde_json::json;

use crate::layouts::load_layout;
use crate::report::Report;
use coldwright::disk::{BUNDLED, Layout, Sectoring, bundled};
use coldwright::notation::{Notation, counted};

/// List the bundled layouts, show the file of one, or check a file of your own
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright disk layout\n  coldwright disk layout holes-32 > mine.toml")]
pub struct Show {
    /// A bundled layout, whose file is printed, or a layout file, which is checked
    name: Option<String>,
}

impl Show {
    pub(super) fn run(self, report: &mut Report) {
        let Some(name) = self.name else { return report.print(list(report.json())) };
        if let Some((_, text)) = BUNDLED.iter().find(|(bundled, _)| *bundled == name) {
            return report.print(text);
        }
        if let Some(layout) = load_layout(&name, Notation::default(), report) {
            report.print(summary(&layout, report.json()));
        }
    }
}

fn list(json: bool) -> String {
    let layouts = BUNDLED.iter().filter_map(|(name, _)| bundled(name));
    if json {
        return layouts.map(|layout| summary(&layout, true)).collect();
    }
    layouts.map(|layout| format!("{:10} {}\n", layout.name, layout.about)).collect()
}

fn summary(layout: &Layout, json: bool) -> String {
    let (needed, room) = (layout.needed_bytes(), layout.room_bytes());
    let unproved = layout.record.unproved_names();
    if json {
        let areas: Vec<_> =
            layout.areas.iter().map(|area| json!({ "name": area.name, "sectors": area.sectors })).collect();
        let object = json!({
            "name": layout.name, "about": layout.about, "tracks": layout.tracks, "sectors": layout.sectors(),
            "bytes_a_sector": layout.data_bytes(), "whole_sector": layout.record_bytes(), "needed": needed, "room": room,
            "checked": layout.is_checked(), "unproved": unproved, "areas": areas,
        });
        return format!("{object}\n");
    }
    let mut out = format!("{}: can be written and read\n", layout.name);
    let bytes = layout.tracks * layout.sectors() * layout.data_bytes();
    let _ = writeln!(
        out,
        "{} tracks of {} sectors of {} bytes: {bytes} bytes",
        layout.tracks,
        layout.sectors(),
        layout.data_bytes()
    );
    let of = match layout.sectoring {
        Sectoring::Holes(_) => "a sector",
        Sectoring::Marks { .. } => "a track",
    };
    let _ =
        writeln!(out, "{of} takes {needed} bytes; a drive {} % too fast has room for {room:.1}", layout.turn.tolerance);
    let checked = match (layout.record.checks.is_empty(), unproved.is_empty()) {
        (true, _) => "sectors are not checked: damage can go unnoticed".to_owned(),
        (false, true) => "sectors are checked".to_owned(),
        (false, false) => format!("no check covers the {} of a sector", unproved.join(", ")),
    };
    let _ = writeln!(out, "{checked}");
    for area in &layout.areas {
        let most = layout.spots(area).len() * layout.data_bytes();
        let _ = writeln!(out, "{}: {}, up to {most} bytes", area.name, counted(area.sectors, "sector"));
    }
    out
}
