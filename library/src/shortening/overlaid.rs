//! Data whose bytes lie elsewhere in the program as well: what names them can name those.

use std::collections::BTreeSet;
use std::ops::Range;

use super::code::Code;
use super::edit::{Edit, Piece, free_name, label_of, parted};
use super::facts::Facts;
use super::follow::{Touched, follow};
use super::lines::{Data, Lines};
use super::outside::Outside;
use crate::image::Image;
use crate::notation::Address;

/// Data that could go, and what it saves.
pub(super) struct Overlaid {
    pub edit: Edit,
    pub saves: usize,
}

/// Bytes under one label, in lines of their own.
#[derive(Clone, Debug)]
struct Item {
    name: String,
    lines: Range<usize>,
    at: Range<u16>,
}

impl Item {
    fn contains(&self, address: u16) -> bool {
        self.at.contains(&address)
    }
}

/// All data under a label whose bytes lie elsewhere, and stay what they are there. Every label of the program is followed:
/// what is read by the label of such data is nothing but that data, and nothing else is read there.
pub(super) fn overlaid(
    code: &Code,
    facts: &Facts,
    image: &Image,
    lines: &Lines,
    text: &str,
    outside: &Outside,
) -> Vec<Overlaid> {
    let data = lines.data();
    let items = items(&data, text);
    if !items.iter().any(|item| !places(code, image, item).is_empty()) {
        return Vec::new();
    }
    let Some(touched) = follow(code, facts, image) else { return Vec::new() };
    let fixed: BTreeSet<u16> = outside.fixed().collect();
    // What a routine takes by way of its return address has to stay where it is.
    let is_free_to_go = |at: u16| !facts.taken.contains(&at);
    let is_free = |at: u16| !touched.writes.contains(&at) && !fixed.contains(&at);
    let may_go =
        |item: &&Item| item.at.clone().all(|at| is_free(at) && is_free_to_go(at)) && is_by_itself(item, &touched, code);
    items
        .iter()
        .filter(may_go)
        .filter_map(|item| {
            let there = places(code, image, item)
                .into_iter()
                .filter(|&at| (0..item.at.len() as u16).all(|on| is_free(at.wrapping_add(on))));
            there.into_iter().find_map(|at| edit(code, &data, text, item, at))
        })
        .collect()
}

/// Whether the rows that touch an item touch nothing else, and begin with its own label.
fn is_by_itself(item: &Item, touched: &Touched, code: &Code) -> bool {
    let mut by = touched
        .by
        .iter()
        .filter(|(row, at)| item.contains(code.rows[**row].operand) || at.iter().any(|&at| item.contains(at)));
    let mut used = false;
    let right = by.all(|(row, at)| {
        used = true;
        item.contains(code.rows[*row].operand) && at.iter().all(|&at| item.contains(at))
    });
    right && used
}

/// Data under one label each: a line with the label, and lines with no label behind it that follow at once.
fn items(data: &[Data], text: &str) -> Vec<Item> {
    let lines: Vec<&str> = text.split('\n').collect();
    let mut items: Vec<Item> = Vec::new();
    for it in data {
        let label = label_of(lines[it.line]).map(str::to_owned);
        let follows = items.last_mut().filter(|last| last.lines.end == it.line && last.at.end == it.at);
        match (label, follows) {
            (Some(name), _) => {
                items.push(Item { name, lines: it.line..it.line + 1, at: it.at..it.at.saturating_add(it.length) })
            }
            (None, Some(last)) if lines[it.line].starts_with(char::is_whitespace) => {
                (last.lines.end, last.at.end) = (it.line + 1, it.at.saturating_add(it.length));
            }
            _ => {}
        }
    }
    items
}

/// Addresses at which the bytes of an item lie besides, all of them constant.
fn places(code: &Code, image: &Image, item: &Item) -> Vec<u16> {
    let wanted: Vec<_> = item.at.clone().filter_map(|at| image.byte(Address(at))).collect();
    let own = item.at.clone().all(|at| code.is_constant(at));
    if !own || wanted.len() != item.at.len() || wanted.is_empty() {
        return Vec::new();
    }
    let mut found = Vec::new();
    for extent in image.extents() {
        for (at, bytes) in extent.bytes.windows(wanted.len()).enumerate() {
            let at = extent.base.wrapping_add(at as u16).0;
            let all = |on: usize| at.wrapping_add(on as u16);
            let apart = (0..wanted.len()).all(|on| !item.contains(all(on)) && code.is_constant(all(on)));
            // Of code, one instruction: two may be parted by a change to come.
            let row = code.row_over(at);
            let of_one = (0..wanted.len()).all(|on| code.row_over(all(on)) == row);
            let stays = row.is_none_or(|row| !code.changing.contains(&row));
            if bytes == wanted && apart && of_one && stays {
                found.push(at);
            }
        }
    }
    found
}

/// The label of an item named for what lies at an address, instead of the item.
fn edit(code: &Code, data: &[Data], text: &str, item: &Item, there: u16) -> Option<Overlaid> {
    let lines: Vec<&str> = text.split('\n').collect();
    let (line, begins) = match code.row_over(there) {
        Some(row) => (code.rows[row].line?, code.rows[row].address),
        None => {
            let it = data.iter().find(|it| (it.at..it.at.saturating_add(it.length)).contains(&there))?;
            (it.line, it.at)
        }
    };
    let mut labels = Vec::new();
    let name = match label_of(lines[line]) {
        Some(name) => name.to_owned(),
        None if !lines[line].starts_with(char::is_whitespace) => return None,
        None => {
            let name = free_name(text, "SHARE");
            labels.push((line, name.clone()));
            name
        }
    };
    let on = match there.wrapping_sub(begins) {
        0 => String::new(),
        on => format!("+{on}"),
    };
    let comments: Vec<_> = item
        .lines
        .clone()
        .map(|line| parted(lines[line]).1.trim_start_matches(';').trim())
        .filter(|it| !it.is_empty())
        .collect();
    let body = format!("{:<7} EQU     {name}{on}", item.name);
    let new = if comments.is_empty() { body } else { format!("{body:<31} ; {}", comments.join("; ")) };
    let piece = Piece { lines: item.lines.clone(), new: vec![new], form: Vec::new(), instead: Some(there), at: None };
    Some(Overlaid { edit: Edit { pieces: vec![piece], labels }, saves: item.at.len() })
}
