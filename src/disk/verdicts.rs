//! Verdicts on sectors in words.

use std::fmt::Write;

use serde_json::{Value, json};

use coldwright::disk::Layout;
use coldwright::disk::read::{Damage, Gap, MOST_SEARCHED, Reading, Slips, Verdict, field_at};
use coldwright::notation::Notation;
use coldwright::record::Spot;

/// Sectors that are named; more of them are counted.
const MOST_NAMED: usize = 40;

/// A place on a disk.
pub fn place(spot: Spot, notation: Notation) -> String {
    format!("sector {} of track {}", notation.byte(spot.sector), notation.byte(spot.track))
}

/// How many sectors have which verdict, and every one that is not as it should be.
pub fn text(layout: &Layout, reading: &Reading, notation: Notation) -> String {
    let mut out = String::new();
    let counts: [(usize, &str); 5] = [
        (reading.count(|verdict| *verdict == Verdict::Good), "good"),
        (reading.count(|verdict| *verdict == Verdict::Unproved), "unproved"),
        (reading.count(|verdict| *verdict == Verdict::Empty), "empty"),
        (reading.count(|verdict| matches!(verdict, Verdict::Damaged(..))), "damaged"),
        (reading.count(|verdict| matches!(verdict, Verdict::Elsewhere(_))), "of another place"),
    ];
    let counts: Vec<_> =
        counts.iter().filter(|(count, _)| *count > 0).map(|(count, name)| format!("{count} {name}")).collect();
    let _ = writeln!(out, "{} sectors: {}", reading.verdicts.len(), counts.join(", "));
    let bad: Vec<_> = reading.verdicts.iter().enumerate().filter(|(_, verdict)| is_bad(verdict)).collect();
    for &(index, verdict) in bad.iter().take(MOST_NAMED) {
        let spot = layout.spot(index);
        let _ = writeln!(out, "  {}: {}", place(spot, notation), said(layout, verdict, notation));
    }
    if bad.len() > MOST_NAMED {
        let _ = writeln!(out, "  and {} more; `--json` names all", bad.len() - MOST_NAMED);
    }
    for (stands, own) in &reading.twice {
        let _ = writeln!(
            out,
            "  {} stands twice: at its place, and at that of {}",
            place(*own, notation),
            place(*stands, notation)
        );
    }
    out
}

fn is_bad(verdict: &Verdict) -> bool {
    matches!(verdict, Verdict::Damaged(..) | Verdict::Elsewhere(_))
}

fn said(layout: &Layout, verdict: &Verdict, notation: Notation) -> String {
    match verdict {
        Verdict::Good => "good".into(),
        Verdict::Unproved => "unproved".into(),
        Verdict::Empty => "empty".into(),
        Verdict::Elsewhere(spot) => format!("OF ANOTHER PLACE: it says that it is {}", place(*spot, notation)),
        Verdict::Damaged(damage, slips) => {
            let damage = match damage {
                Damage::Check { field, stands, belongs } => {
                    let name = &layout.record.fields[*field].name;
                    let bytes = |value: u16| value.to_be_bytes().map(|byte| notation.byte(byte).to_string()).join(" ");
                    format!("DAMAGED: its {name} is {}, not {}", bytes(*stands), bytes(*belongs))
                }
                Damage::MakeUp => "DAMAGED: what always stands in a sector does not".into(),
                Damage::Behind => "DAMAGED: something stands behind its end".into(),
            };
            format!("{damage}; {}", explained(layout, *slips, notation))
        }
    }
}

fn explained(layout: &Layout, slips: Slips, notation: Notation) -> String {
    match slips {
        Slips::One(slip) => {
            let field = field_at(layout, slip.byte).unwrap_or("data");
            format!(
                "one wrong bit would explain it: bit {} of byte {}, in its {field}, which would be {}",
                slip.bit,
                slip.byte,
                notation.byte(slip.right)
            )
        }
        Slips::Several => "several single bits would explain it".into(),
        Slips::None => "no single bit explains it".into(),
        Slips::Unsearched => format!("more than {MOST_SEARCHED} are damaged: no slip was searched"),
    }
}

/// What is in the way of a program.
pub fn gap(gap: &Gap, notation: Notation) -> String {
    match gap {
        Gap::Unreadable(spot) => format!("{} cannot be taken", place(*spot, notation)),
        Gap::Astray { from, to } => format!(
            "{} says that the program goes on at {}, which the area does not",
            place(*from, notation),
            place(*to, notation)
        ),
        Gap::PastTop(spot) => format!("{} is for addresses past the top of memory", place(*spot, notation)),
        Gap::Contradiction(spot) => {
            format!("{} is for addresses that another sector fills otherwise", place(*spot, notation))
        }
    }
}

/// All sectors, for programs.
pub fn json(layout: &Layout, reading: &Reading) -> Value {
    let sector = |(index, verdict): (usize, &Verdict)| {
        let spot = layout.spot(index);
        let word = match verdict {
            Verdict::Good => "good",
            Verdict::Unproved => "unproved",
            Verdict::Empty => "empty",
            Verdict::Damaged(..) => "damaged",
            Verdict::Elsewhere(_) => "elsewhere",
        };
        let mut object = json!({ "track": spot.track, "sector": spot.sector, "verdict": word });
        if let Verdict::Elsewhere(said) = verdict {
            object["says"] = json!({ "track": said.track, "sector": said.sector });
        }
        if let Verdict::Damaged(_, Slips::One(slip)) = verdict {
            object["slip"] = json!({ "byte": slip.byte, "bit": slip.bit, "right": slip.right });
        }
        object
    };
    let twice = reading.twice.iter().map(|(stands, own)| {
        json!({ "track": own.track, "sector": own.sector, "also_at": { "track": stands.track, "sector": stands.sector } })
    });
    json!({
        "sectors": reading.verdicts.iter().enumerate().map(sector).collect::<Vec<_>>(),
        "twice": twice.collect::<Vec<_>>(),
    })
}
