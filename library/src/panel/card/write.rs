//! The run card as plain text, 80 columns wide.

use super::{Act, Card, Doubt, PanelLights};
use crate::cautions::FIRST;
use crate::notation::Notation;
use crate::panel::lamps;
use crate::panel::text::{COLUMNS, PUSH_DOWN, PUSH_UP, ends, levers, wrap};

const MARGIN: usize = 8;

impl Card {
    /// The card as text: plain characters, 80 columns.
    pub fn text(&self) -> String {
        let notation = self.panel.notation;
        let mut out = vec![ends(&self.name.to_uppercase(), &format!("run card, {}", self.facts)), String::new()];
        out.extend(self.doubt_lines());
        out.push(format!("CAUTION: {FIRST}"));
        for (topic, caution) in &self.cautions {
            out.extend(paragraph(topic.word(), caution));
        }
        out.push(String::new());
        out.push(format!("Levers: {PUSH_UP} up   {PUSH_DOWN} down      Lights: * lit   . dark   + flickers"));
        for (at, act) in self.acts.iter().enumerate() {
            out.push(String::new());
            out.extend(act_lines(at + 1, act, notation));
        }
        out.push(String::new());
        out.extend(self.doubt_lines());
        out.push(self.check.line(notation));
        out.iter().flat_map(|line| [line.trim_end(), "\n"]).collect()
    }

    /// Why the card is not to be trusted, with an empty line behind it.
    fn doubt_lines(&self) -> Vec<String> {
        let mut out = Vec::new();
        for (what, why) in self.doubts.iter().map(Doubt::words) {
            out.push(format!("*** {} ***", what.to_uppercase()));
            out.extend(wrap(&why, |line| line.chars().count() <= COLUMNS));
            out.push(String::new());
        }
        out
    }
}

fn act_lines(number: usize, act: &Act, notation: Notation) -> Vec<String> {
    let mut out = paragraph(&format!("[ ] {number:>2}"), &act.action);
    if let Some(setting) = act.levers {
        out.push(format!("{:MARGIN$}levers   {}", "", levers(setting, notation)));
    }
    out.extend(paragraph("  shows", &act.shows));
    if let Some(lights) = &act.lights {
        out.push(format!("{:MARGIN$}lights   {}", "", lights_text(lights, notation)));
        if !lights.status.is_empty() {
            let status: Vec<_> = lights.status.iter().map(|(name, lamp)| format!("{}{name}", lamp.sign())).collect();
            out.push(format!("{:MARGIN$}status   {}", "", status.join("  ")));
        }
    }
    out.extend(paragraph(" if not", &act.otherwise));
    out
}

fn lights_text(lights: &PanelLights, notation: Notation) -> String {
    let address = lamps::text(&lights.address, 16, notation);
    if lights.data.is_empty() {
        address
    } else {
        format!("{address}    data {}", lamps::text(&lights.data, 8, notation))
    }
}

/// A word in the margin and text beside it.
fn paragraph(margin: &str, text: &str) -> Vec<String> {
    let lines = wrap(text, |line| line.chars().count() <= COLUMNS - MARGIN);
    lines
        .into_iter()
        .enumerate()
        .map(|(at, line)| format!("{:<MARGIN$}{line}", if at == 0 { margin } else { "" }))
        .collect()
}
