//! The parts of the era, in one table. Organisation, erased level and pins are its facts; supplies and programming
//! voltages are there to caution, never to build a programmer by.

use std::fmt::Write;

use super::outputs::{Level, Width};
use crate::cautions::{When, applying};

/// What makes a part keep its bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Charge, removed by short-wave ultraviolet light.
    Eprom,
    /// Fuses, blown once.
    Fuse,
}

/// A row of the table: one part, or several that differ in their outputs only.
#[derive(Debug, PartialEq, Eq)]
pub struct Known {
    /// The names; the first is the usual one.
    pub names: &'static [&'static str],
    /// Words.
    pub words: usize,
    /// Outputs.
    pub width: Width,
    /// Pins of the package.
    pub pins: u8,
    /// How an unprogrammed cell reads.
    pub erased: Level,
    /// What keeps its bits.
    pub kind: Kind,
    /// Supplies for reading, to be confirmed.
    pub supplies: &'static str,
    /// What programming takes, to be confirmed; empty where no source says.
    pub programming: &'static str,
    /// Where the row comes from.
    pub source: &'static str,
}

impl Known {
    /// Whether it has supplies whose order matters even for reading.
    pub fn has_three_supplies(&self) -> bool {
        self.supplies == THREE
    }
}

const INTEL_1702: &str = "Intel 1702A data sheet, from memory";
const INTEL_2708: &str =
    "Intel 2708/2704 data sheet, from memory; programming: Intel data catalogs 1976 and 1977, quoted";
const INTEL_27XX: &str = "Intel 2716 to 27256 data sheets, from memory";
const TEXAS_2716: &str = "Texas Instruments TMS2716 data sheet, from memory";
const SIGNETICS_1973: &str =
    "organisation: Signetics, Bipolar Memories, 1973, contents; level: Signetics data book 1975, quoted";
const SIGNETICS_1973_REST: &str = "organisation: Signetics, Bipolar Memories, 1973, contents; the rest from memory";
const SIGNETICS_3000: &str = "organisation: Signetics Series 3000 book, contents; the rest from memory";
const SIGNETICS: &str = "Signetics data sheet, from memory";
const NATIONAL: &str = "National Semiconductor data sheet, from memory; other makers may ship the other level";
const TEXAS_18S: &str = "Texas Instruments data sheet, from memory";
const TEXAS_24_28: &str =
    "level: Texas Instruments series 24 and 28 data sheet, 1979, revised 1984; organisation and pins from memory";
const HARRIS: &str = "Harris data sheet, from memory";

const THREE: &str = "+5 V, +12 V, -5 V";
const FIVE: &str = "+5 V";
const SIGNETICS_FUSING: &str = "VCC 10 V, a current forced into one output at a time";

/// An EPROM that reads 1 where erased.
const fn eprom(names: &'static [&'static str], words: usize, pins: u8, programming: &'static str) -> Known {
    Known {
        names,
        words,
        width: Width::Byte,
        pins,
        erased: Level::High,
        kind: Kind::Eprom,
        supplies: FIVE,
        programming,
        source: INTEL_27XX,
    }
}

/// An EPROM with three supplies.
const fn three_supplies(
    names: &'static [&'static str],
    words: usize,
    programming: &'static str,
    source: &'static str,
) -> Known {
    Known { supplies: THREE, source, ..eprom(names, words, 24, programming) }
}

/// A fuse PROM that is shipped low.
const fn fuse(
    names: &'static [&'static str],
    words: usize,
    width: Width,
    pins: u8,
    programming: &'static str,
    source: &'static str,
) -> Known {
    let (erased, kind) = (Level::Low, Kind::Fuse);
    Known { names, words, width, pins, erased, kind, supplies: FIVE, programming, source }
}

/// A fuse PROM that is shipped high.
const fn fuse_high(
    names: &'static [&'static str],
    words: usize,
    width: Width,
    pins: u8,
    source: &'static str,
) -> Known {
    Known { erased: Level::High, ..fuse(names, words, width, pins, "", source) }
}

use Width::{Byte, Nibble};

/// The table. Parts whose level no source gives are left out: describe them as your own.
pub const PARTS: &[Known] = &[
    Known {
        erased: Level::Low,
        supplies: "VCC and VBB +5 V, VDD and VGG -9 V",
        source: INTEL_1702,
        ..eprom(&["1702A"], 256, 24, "about 60 V between VBB (+12 V) and VDD (-48 V)")
    },
    three_supplies(&["2704"], 512, "26 V pulses at PROGRAM, +12 V at CS/WE", INTEL_2708),
    three_supplies(&["2708", "8708"], 1024, "26 V pulses at PROGRAM, +12 V at CS/WE", INTEL_2708),
    eprom(&["2758"], 1024, 24, "VPP 25 V"),
    eprom(&["2716"], 2048, 24, "VPP 25 V"),
    three_supplies(&["TMS2716"], 2048, "as a 2708, not as a 2716: the two are not interchangeable", TEXAS_2716),
    eprom(&["2732"], 4096, 24, "VPP 25 V"),
    eprom(&["2732A"], 4096, 24, "VPP 21 V"),
    eprom(&["2764"], 8192, 28, "VPP 21 V"),
    eprom(&["2764A", "27C64"], 8192, 28, "VPP 12.5 V"),
    eprom(&["27128"], 16384, 28, "VPP 21 V or 12.5 V, by suffix"),
    eprom(&["27256"], 32768, 28, "VPP 12.5 V"),
    fuse(&["82S23", "82S123"], 32, Byte, 16, SIGNETICS_FUSING, SIGNETICS_1973),
    fuse(&["8223"], 32, Byte, 16, "", SIGNETICS_1973_REST),
    fuse(&["82S126", "82S129"], 256, Nibble, 16, "", SIGNETICS_3000),
    fuse(&["82S130", "82S131"], 512, Nibble, 16, "", SIGNETICS),
    fuse(&["82S115"], 512, Byte, 24, "", SIGNETICS_1973_REST),
    fuse(&["74S188", "74S288"], 32, Byte, 16, "", NATIONAL),
    fuse(&["74S387", "74S287"], 256, Nibble, 16, "", NATIONAL),
    fuse(&["74S570", "74S571"], 512, Nibble, 16, "", NATIONAL),
    fuse(&["TBP18S030"], 32, Byte, 16, "", TEXAS_18S),
    fuse_high(&["TBP24S10"], 256, Nibble, 16, TEXAS_24_28),
    fuse_high(&["TBP28S42"], 512, Byte, 20, TEXAS_24_28),
    fuse_high(&["HM-7603"], 32, Byte, 16, HARRIS),
    fuse_high(&["HM-7611"], 256, Nibble, 16, HARRIS),
];

/// The cautions that go with a part, by its row in the table. Every voltage among them is to be confirmed.
pub fn cautions(known: Option<&Known>) -> Vec<String> {
    let mut done = vec![When::Seat, When::Program];
    if let Some(known) = known {
        done.push(match known.kind {
            Kind::Eprom => When::Erase,
            Kind::Fuse => When::Fuse,
        });
        done.extend(known.has_three_supplies().then_some(When::ThreeSupplies));
        done.extend(known.programming.starts_with("VPP").then_some(When::Versions));
    }
    let mut list: Vec<_> = applying(&done).map(|caution| caution.short.to_owned()).collect();
    list.push(match known {
        None => "Supplies and voltages: the maker's own sheet.".into(),
        Some(known) => {
            let programming = if known.programming.is_empty() { "not sourced" } else { known.programming };
            let supplies = known.supplies;
            format!("Reading: {supplies}. Programming: {programming}. Confirm both against the maker's own sheet.")
        }
    });
    list
}

/// The table as Markdown, for the guide.
pub fn to_markdown() -> String {
    let mut out = String::from(
        "| part | words x bits | pins | erased | kind | reading, to confirm | programming, to confirm | source |\n\
         | --- | --- | --- | --- | --- | --- | --- | --- |\n",
    );
    for row in PARTS {
        let cells = cells(row);
        let programming = if row.programming.is_empty() { "not sourced" } else { row.programming };
        // Writing to a string cannot fail.
        let _ = writeln!(out, "| {} | {} | {programming} | {} |", cells.join(" | "), row.supplies, row.source);
    }
    out
}

/// The table for a terminal.
pub fn to_text() -> String {
    let mut out = String::from("part             words x bits  pins  erased  kind\n");
    for row in PARTS {
        let [names, organisation, pins, erased, kind] = cells(row);
        let _ = writeln!(out, "{names:<17}{organisation:<14}{pins:<6}{erased:<8}{kind}");
    }
    out
}

/// The facts of a row as text: names, organisation, pins, erased word, kind.
fn cells(row: &Known) -> [String; 5] {
    let erased = match row.erased {
        Level::Low => "all 0",
        Level::High => "all 1",
    };
    let kind = match row.kind {
        Kind::Eprom => "EPROM",
        Kind::Fuse => "fuse PROM",
    };
    let organisation = format!("{} x {}", row.words, row.width.bits());
    [row.names.join(", "), organisation, row.pins.to_string(), erased.into(), kind.into()]
}
