//! The guide in a browser: a person who does only what the page shows.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::Path;
use std::process::Command;

use coldwright::diagnosis::Questions;
use coldwright::notation::Address;
use coldwright::panel::Panel;
use serde::Deserialize;
use serde_json::json;

use super::chains::{Chain, PANELS};
use super::tool;

/// What came of a person's way through the page.
#[derive(Debug, Deserialize)]
struct Told {
    /// `done` at the last step.
    end: String,
    /// What did not stand as it was drawn.
    wrong: String,
    log: Vec<String>,
    memory: BTreeMap<u16, u8>,
    presses: u32,
    /// Places that the browser still keeps.
    left: u32,
    /// Levers and keys, in order.
    hand: Vec<String>,
    /// The faults that answers have led to.
    found: Vec<String>,
    /// What was asked of other pages.
    outside: Vec<String>,
    console: Vec<String>,
    /// What is cut, and what the accessibility checker finds.
    faults: Vec<String>,
    /// Kinds of screens that it was shown.
    screens: usize,
}

/// Where the player and its libraries are.
const PLAYER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/guide/player");

/// Runs the player on a page and gives what it tells; nothing where there is no browser.
fn told<T: for<'a> Deserialize<'a>>(page: &str, plan: &str) -> Option<T> {
    if !Path::new(PLAYER).join("node_modules/playwright-core").exists() {
        tool::skip("playwright-core");
        return None;
    }
    if Command::new("chromium").arg("--version").output().is_err() {
        tool::skip("chromium");
        return None;
    }
    let directory = tempfile::tempdir().unwrap();
    let file = directory.path().join("guide.html");
    std::fs::write(&file, page).unwrap();
    let player = format!("{PLAYER}/play.mjs");
    let told = tool::run("node", &[&player, &file.display().to_string(), plan], directory.path())?;
    Some(serde_json::from_str(&told).unwrap_or_else(|error| panic!("{error}: {told}")))
}

/// Goes from power-on to the end, with a slip of the hand, a look back and a closed lid; the memory is the image then.
fn goes_through(chain: &Chain, plan: &str) -> Option<Told> {
    let told: Told = told(&chain.guide.page(), plan)?;
    assert_eq!((told.end.as_str(), told.wrong.as_str(), told.left), ("done", "", 0), "{told:?}");
    let nothing: [String; 0] = [];
    assert_eq!((&told.outside[..], &told.console[..], &told.faults[..]), (&nothing[..], &nothing[..], &nothing[..]));
    let start = chain.plan.starts.iter().next().unwrap();
    let deposited = start
        .stages
        .iter()
        .filter(|&&stage| matches!(chain.plan.stages[stage].home, coldwright::project::Home::Panel(_)));
    let mut wanted = BTreeMap::new();
    for &stage in deposited {
        for extent in chain.plan.stages[stage].image.extents() {
            let bytes = extent.bytes.iter().enumerate();
            wanted.extend(bytes.map(|(at, byte)| (extent.base.wrapping_add(at as u16).0, *byte)));
        }
    }
    assert_eq!(told.memory, wanted, "{plan}: {:?}", told.log);
    Some(told)
}

#[test]
fn a_slip_is_found_and_mended_and_a_closed_lid_loses_nothing() {
    let chain = Chain::new("belfry", |_: &mut Panel| ());
    for taps in [false, true] {
        let size = if taps { (360, 640) } else { (1024, 1366) };
        let plan = json!({
            "taps": taps, "width": size.0, "height": size.1, "dark": taps, "judged": true,
            "slipAt": 6, "slip": 2, "reloadAt": 14, "lookAt": 20,
        });
        let Some(told) = goes_through(&chain, &plan.to_string()) else { return };
        let byte = chain.plan.stages.iter().next().unwrap().image.byte(Address(5)).unwrap();
        let up = if byte & 2 == 2 { "up: its lamp is dark" } else { "down: its lamp is lit" };
        let wrong = format!("The byte at 000005 is {:03o}. It must be {byte:03o}. Lever 1 must be {up}.", byte ^ 2);
        assert_eq!(told.log, ["resumed".to_owned(), wrong]);
        assert!(told.presses > 60 && told.screens > 8, "{told:?}");
        let start = chain.plan.starts.iter().next().unwrap();
        let entry = format!("address {}", chain.plan.stages[start.stages[0]].entry.0);
        let sense = format!("sense {}", start.sense);
        let last: Vec<_> = told.hand.iter().rev().take(2).rev().collect();
        assert_eq!(last, [&entry, &sense]);
    }
}

#[test]
fn every_kind_of_panel_is_led_to_the_same_memory() {
    for alter in PANELS {
        let chain = Chain::new("probe", alter);
        let plan = r#"{ "taps": false, "slipAt": 4, "slip": 129, "reloadAt": 20, "lookAt": 11 }"#;
        let Some(told) = goes_through(&chain, plan) else { return };
        assert_eq!(told.log.len(), 2, "{told:?}");
    }
    let plan = r#"{ "taps": true, "slipAt": 2, "slip": 64, "reloadAt": 30, "lookAt": 9 }"#;
    if goes_through(&Chain::case("added.toml"), plan).is_none() {}
}

/// Of every byte of every sheet every lamp is told wrong once: the page names the byte, the lever and what mends it.
#[test]
fn every_wrong_lamp_is_named() {
    for name in ["belfry", "rooster", "probe"] {
        let chain = Chain::new(name, |_| ());
        let plan = json!({ "script": format!("{PLAYER}/../slips.js") }).to_string();
        let Some(told) = told::<Vec<String>>(&chain.guide.page(), &plan) else { return };
        let notation = chain.plan.machine.panel.notation;
        let mut wanted = Vec::new();
        for action in chain.guide.ways.iter().flat_map(|way| &way.actions) {
            let Some((address, byte)) = action.address.zip(action.check) else { continue };
            for bit in 0..8 {
                let (seen, at) = (byte ^ 1 << bit, notation.address(Address(address)));
                let up = byte >> bit & 1 == 1;
                let must = if up { "up: its lamp is dark" } else { "down: its lamp is lit" };
                let mut words = format!(
                    "The byte at {at} is {}. It must be {}. Lever {bit} must be {must}.",
                    notation.byte(seen),
                    notation.byte(byte)
                );
                for lever in (0..8).rev() {
                    write!(words, " {}{}", byte >> lever & 1, u8::from(lever == bit)).unwrap();
                }
                write!(words, " EXAMINE={at}={address} DEPOSIT={at}={byte} EXAMINE={at}={address}").unwrap();
                wanted.push(words);
            }
        }
        assert!(wanted.len() >= 100);
        assert_eq!(told, wanted, "{name}");
    }
}

/// The faults to which answers lead at the end of a way that was gone through.
pub fn asked(chain: &Chain, questions: Questions, answers: &[String]) -> Option<Vec<String>> {
    let mut guide = chain.guide.clone();
    guide.ways[0].questions = Some(questions);
    let told: Told = told(&guide.page(), &json!({ "answers": answers, "judged": true }).to_string())?;
    assert!(told.wrong.is_empty() && told.console.is_empty() && told.faults.is_empty(), "{told:?}");
    Some(told.found)
}
