//! The page as one file: style, pictures, data and program, with nothing to be fetched.

use serde::Serialize;

use super::pictures::pieces;
use crate::cautions::FIRST;
use crate::drawing::html::escape;

/// The page's own program, in the order in which its files build on one another.
const PROGRAM: [&str; 4] =
    [include_str!("work.js"), include_str!("words.js"), include_str!("view.js"), include_str!("main.js")];

/// Writes the page of a chain, of that name and check, with its data as JSON and the key by which a browser keeps a place in it.
pub fn write(name: &str, image: &str, data: &str, key: &str) -> String {
    format!(
        include_str!("page.html"),
        title = escape(name),
        style = include_str!("page.css"),
        pieces = pieces(),
        image = escape(image),
        first = escape(&sentence(FIRST)),
        key = escape(key),
        data = data,
        program = PROGRAM.concat(),
    )
}

/// The guide as JSON that may stand in a `script` element: nothing in it ends one or begins a comment.
pub fn data(guide: &impl Serialize) -> String {
    // What it is made of has no maps with keys that are no strings, so that it can always be written.
    serde_json::to_string(guide).unwrap_or_default().replace('<', "\\u003c")
}

/// With a capital at its beginning and a stop at its end.
fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).chain(['.']).collect()
}
