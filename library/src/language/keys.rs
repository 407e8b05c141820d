//! What may stand at a place of a TOML file. The reader of the file itself is asked: a word that nobody means is put at
//! the place, and what the reader says could stand there instead is what may be written.

use super::completion::{Item, ItemKind};
use super::pages::said_of;
use super::words::line_at;
use crate::source::{Diagnostic, Position, Span};

/// A word that nobody means, and that is near to none.
const ASKED: &str = "coldwright-asks-what-may-stand-here";

/// What may stand at a place of a TOML text. `read` reads a changed text as the file is read, and gives all that is wrong.
pub fn key_completion(text: &str, at: Position, read: &mut dyn FnMut(&str) -> Vec<Diagnostic>) -> Vec<Item> {
    let offset = (at.offset as usize).min(text.len());
    let line = line_at(text, offset);
    let before = &text[line.start..offset];
    if in_comment(before) {
        return Vec::new();
    }
    let table = table_above(&text[..line.start], before);
    for form in forms(text, line, offset) {
        let changed = format!("{}{}{}", &text[..form.start], form.text, &text[form.end..]);
        let spot = form.start + form.text.find(ASKED).unwrap_or_default();
        let problems = read(&changed);
        let answers = problems.iter().filter(|problem| !problem.known.is_empty());
        let covers = |problem: &&Diagnostic| {
            problem.primary.as_ref().is_some_and(|label| (label.span.start..=label.span.end).contains(&(spot as u32)))
        };
        let known: Vec<_> = answers.filter(covers).flat_map(|problem| problem.known.iter().cloned()).collect();
        if known.is_empty() {
            continue;
        }
        let span = Span { source: at.source, start: form.word.0 as u32, end: form.word.1 as u32 };
        return known.into_iter().map(|word| item(&word, span, form.kind, &table)).collect();
    }
    Vec::new()
}

/// A way to put the word that asks into the text.
struct Form {
    /// What of the text it replaces.
    start: usize,
    end: usize,
    text: String,
    /// What of the text an answer replaces.
    word: (usize, usize),
    kind: ItemKind,
}

/// The ways to ask at a place, the likeliest first.
fn forms(text: &str, line: std::ops::Range<usize>, offset: usize) -> Vec<Form> {
    let is_word = |letter: char| letter.is_alphanumeric() || matches!(letter, '_' | '-');
    let (before, behind) = (&text[line.start..offset], &text[offset..line.end]);
    let start = offset - before.chars().rev().take_while(|&letter| is_word(letter)).map(char::len_utf8).sum::<usize>();
    let end = offset + behind.chars().take_while(|&letter| is_word(letter)).map(char::len_utf8).sum::<usize>();
    let word = (start, end);
    // Inside a string: its contents are the word.
    if let Some(quote) = open_quote(before) {
        let open = line.start + before.rfind(quote).unwrap_or_default();
        let close = behind.find(quote).map(|at| offset + at);
        let (inner, end) = ((open + 1, close.unwrap_or(line.end)), close.map_or(line.end, |at| at + 1));
        let form = |tail: &str| Form {
            start: open,
            end,
            text: format!("\"{ASKED}\"{tail}"),
            word: inner,
            kind: ItemKind::Value,
        };
        return ["", " }", "]", "] }"].map(form).into();
    }
    let front = text[line.start..start].trim_end();
    let form = |text: String, start: usize, end: usize, kind| Form { start, end, text, word, kind };
    if front.starts_with('[') {
        // A heading: the keys of the whole file, asked for before its first line.
        let mut root = form(format!("{ASKED} = 0\n"), 0, 0, ItemKind::Key);
        let mut whole = form(String::new(), line.start, line.end, ItemKind::Key);
        whole.text = String::new();
        // The heading itself is no table yet, and is left out.
        root.text += &text[..line.start];
        root.end = line.end;
        return vec![root];
    }
    if front.ends_with('=') || front.ends_with('[') {
        return ["", " }", "]", "] }"]
            .map(|tail| form(format!("\"{ASKED}\"{tail}"), start, end, ItemKind::Value))
            .into();
    }
    // A key: what follows it on the line is its value, if there is one.
    let has_value = text[end..line.end].trim_start().starts_with('=');
    let value = if has_value { "" } else { " = 0" };
    ["", " }", "] }", " } }"].map(|tail| form(format!("{ASKED}{value}{tail}"), start, end, ItemKind::Key)).into()
}

fn item(word: &str, span: Span, kind: ItemKind, table: &str) -> Item {
    let is_plain = word.bytes().all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'_' | b'-'));
    let text = if kind == ItemKind::Key && !is_plain { format!("\"{word}\"") } else { word.to_owned() };
    let about = if kind == ItemKind::Key { said_of(word, table).unwrap_or_default() } else { String::new() };
    Item { label: word.to_owned(), text, span, kind, detail: table.to_owned(), about }
}

/// The heading above a place, as the guide has it: `[[stage]]`, `[chain]`; empty at the top of the file.
fn table_above(above: &str, line: &str) -> String {
    if line.trim_start().starts_with('[') && !line.contains('=') {
        return String::new();
    }
    let is_heading = |line: &&str| line.starts_with('[') && line.trim_end().ends_with(']') && !line.contains('=');
    above.lines().rev().map(str::trim).find(is_heading).unwrap_or_default().to_owned()
}

fn in_comment(before: &str) -> bool {
    let mut quote = None;
    for letter in before.chars() {
        match (quote, letter) {
            (None, '#') => return true,
            (None, '"' | '\'') => quote = Some(letter),
            (Some(open), _) if open == letter => quote = None,
            _ => {}
        }
    }
    false
}

/// The quote of a string that is open at the end of a text.
fn open_quote(before: &str) -> Option<char> {
    before.chars().filter(|letter| matches!(letter, '"' | '\'')).fold(None, |open, letter| match open {
        None => Some(letter),
        Some(quote) if quote == letter => None,
        open => open,
    })
}
