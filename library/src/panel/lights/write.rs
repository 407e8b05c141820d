//! The lights sheet as plain text, 80 columns wide.

use super::layout::Line;
use super::sheet::Lights;
use crate::panel::lamps::{self, Lamp};
use crate::panel::page::paginate;
use crate::panel::ports::Ports;
use crate::panel::program::Program;
use crate::panel::text::{COLUMNS, ends, fit, wrap};

/// Lines of a page below its head.
const ROWS: usize = 44;
/// Columns before the statement and the address lights.
const MARGIN: usize = 9;
/// The widest bank of address lights, with its gaps.
const ADDRESS_WIDTH: usize = 21;

impl Lights {
    /// The sheet as text: plain characters, 80 columns, a form feed between pages.
    pub fn text(&self, program: &Program, ports: &Ports) -> String {
        let groups: Vec<Vec<String>> = self
            .groups(program, ports)
            .iter()
            .map(|group| {
                let lines = group.iter().flat_map(|line| self.text_lines(line));
                std::iter::once(String::new()).chain(lines).collect()
            })
            .collect();
        let pages = paginate(groups.iter().map(Vec::len), ROWS);
        let total = pages.len();
        let page = |(at, range): (usize, std::ops::Range<usize>)| {
            let label = format!("page {} of {total}", at + 1);
            let mut lines = self.text_head(&label);
            lines.extend(groups[range].iter().flatten().cloned());
            lines.extend([String::new(), self.check.line(self.panel.notation)]);
            lines.iter().flat_map(|line| [line.trim_end(), "\n"]).collect::<String>()
        };
        pages.into_iter().enumerate().map(page).collect::<Vec<_>>().join("\u{c}\n")
    }

    fn text_head(&self, label: &str) -> Vec<String> {
        let frame = self.frame();
        let mut out = vec![ends(&frame.name.to_uppercase(), label), ends(&frame.kind, &frame.facts), String::new()];
        if !frame.caution.is_empty() {
            out.extend(wrap(&format!("CAUTION: {}", frame.caution), |line| line.chars().count() <= COLUMNS));
        }
        for paragraph in &frame.how {
            out.extend(wrap(paragraph, |line| line.chars().count() <= COLUMNS));
        }
        out.push("Lights: * lit   . dark   ? open: lit or dark, nobody can know here   - not shown".into());
        if self.moves() {
            out.push("        1 to 5: goes on and off, lit up to 20, 40, 60, 80, 100 % of the time".into());
        }
        let letters = self.status().map(|(name, letter)| format!("{letter} {name}")).collect::<Vec<_>>();
        if !letters.is_empty() {
            out.push(format!("Status: {}", letters.join("  ")));
        }
        out.push(String::new());
        out.push(format!("{:<MARGIN$}{:<ADDRESS_WIDTH$}  {:<10}  status    bus", "    step", "address", "data"));
        out
    }

    fn text_lines(&self, line: &Line) -> Vec<String> {
        match line {
            Line::Statement { address, text } => {
                vec![fit(&format!("{:MARGIN$}{address}  {text}", ""), COLUMNS)]
            }
            Line::Note(note) => {
                let lines = wrap(note, |line| line.chars().count() <= COLUMNS - MARGIN);
                lines.into_iter().map(|line| format!("{:MARGIN$}{line}", "")).collect()
            }
            Line::Cycle { number, address, data, status, words } => {
                let status: String = match status.as_slice() {
                    [] => self.status().map(|_| '-').collect(),
                    lamps => {
                        let signs = lamps.iter().zip(self.status());
                        signs.map(|(lamp, (_, on))| if *lamp == Lamp::Lit { on } else { '.' }).collect()
                    }
                };
                let notation = self.panel.notation;
                let (address, data) = (lamps::text(address, 16, notation), lamps::text(data, 8, notation));
                let step = number.map_or_else(String::new, |number| format!("[ ]{number:>5} "));
                let left = format!("{step:<MARGIN$}{address:<ADDRESS_WIDTH$}  {data:<10}  {status:<8}  ");
                let room = COLUMNS - left.chars().count();
                let words = wrap(words, |line| line.chars().count() <= room);
                let mut lines = Vec::new();
                for (at, part) in words.into_iter().enumerate() {
                    let before = if at == 0 { left.clone() } else { " ".repeat(left.chars().count()) };
                    lines.push(format!("{before}{part}"));
                }
                lines
            }
        }
    }
}
