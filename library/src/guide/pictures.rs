//! Levers and lamps for the page: each piece once, and where the pieces go.

use std::fmt::Write;

use serde::Serialize;

use crate::drawing::{Page, svg};
use crate::panel::pieces::{self, Row};
use crate::panel::{DataLevers, Lamp, Panel, SenseLevers};

/// Where the pieces go.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Pictures {
    /// The address switches.
    address: Levers,
    /// Those that hold a data byte.
    data: Levers,
    /// Those that hold the sense byte.
    sense: Levers,
    /// Sixteen lamps.
    lamps16: Places,
    /// Eight.
    lamps8: Places,
}

/// A bank of levers.
#[derive(Clone, Debug, PartialEq, Serialize)]
struct Levers {
    /// What they are set for.
    name: &'static str,
    /// The bank whose switches they are.
    on: &'static str,
    /// The number of the rightmost.
    lowest: u8,
    /// How many.
    count: u8,
    /// Where they stand.
    places: Places,
}

/// A row of places, millimetres.
#[derive(Clone, Debug, PartialEq, Serialize)]
struct Places {
    /// How wide and high the row is.
    size: (f64, f64),
    /// The middles from left to right.
    at: Vec<f64>,
    /// Where a group begins.
    opens: Vec<bool>,
    /// How far down the middles lie.
    middle: f64,
    /// What does not change, as SVG elements.
    #[serde(skip_serializing_if = "String::is_empty")]
    ground: String,
}

impl Pictures {
    /// Those for a panel.
    pub fn of(panel: &Panel) -> Pictures {
        let bank = |name, on, lowest, count| {
            let places = pieces::levers(lowest, count, panel.notation).into();
            Levers { name, on, lowest, count, places }
        };
        Pictures {
            address: bank("address", "address", 0, panel.switches),
            data: match panel.data {
                DataLevers::LowAddress => bank("data", "address", 0, 8),
                DataLevers::Own => bank("data", "data", 0, 8),
            },
            sense: match panel.sense {
                SenseLevers::HighAddress => bank("sense", "address", 8, 8),
                SenseLevers::Own => bank("sense", "sense", 0, 8),
            },
            lamps16: pieces::lamps(16, panel.notation).into(),
            lamps8: pieces::lamps(8, panel.notation).into(),
        }
    }
}

impl From<Row> for Places {
    fn from(row: Row) -> Places {
        let size = (rounded(row.ground.size.width), rounded(row.ground.size.height));
        let at = row.at.into_iter().map(rounded).collect();
        Places { size, at, opens: row.opens, middle: row.middle, ground: on_screen(&row.ground) }
    }
}

/// A length to the hundredth of a millimetre, so that the data stay short.
fn rounded(mm: f64) -> f64 {
    (mm * 100.0).round() / 100.0
}

/// The pieces, each under a name: `lever-10` is up and not to be moved, `lamp-` ends with the lamp's sign in Unicode.
pub fn pieces() -> String {
    let mut out = String::new();
    for (up, moved) in [(false, false), (false, true), (true, false), (true, true)] {
        let name = format!("lever-{}{}", u8::from(up), u8::from(moved));
        piece(&name, &pieces::lever(up, moved), &mut out);
    }
    let lamps = [Lamp::Lit, Lamp::Dark, Lamp::Open, Lamp::Flickers];
    for look in lamps.into_iter().chain((1..=5).map(Lamp::Live)) {
        piece(&format!("lamp-{}", u32::from(look.sign())), &pieces::lamp(look), &mut out);
    }
    out
}

/// A drawing in the colours of the screen, which may be dark: no rule of a style reaches into a piece that is used elsewhere,
/// and what is inherited does.
fn on_screen(page: &Page) -> String {
    let ink = svg::items(page).replace("stroke=\"#000000\"", "stroke=\"currentColor\"");
    ink.replace("fill=\"#ffffff\"", "style=\"fill:var(--paper)\"")
}

fn piece(name: &str, page: &Page, out: &mut String) {
    // Writing to a string cannot fail.
    let _ = writeln!(out, "<g id=\"{name}\">{}</g>", on_screen(page).trim_end());
}
