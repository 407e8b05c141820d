//! The faults for people.

use std::fmt::Write;

use crate::wrapped::wrapped;
use coldwright::faults::{Class, Kind, Part, Played, Table, Words};
use coldwright::notation::counted;
use coldwright::source::nearest;

/// The kind of fault with a name.
///
/// # Errors
/// There is none: the nearest, or all of them.
pub fn kind(name: &str) -> Result<Kind, String> {
    let names = || Kind::ALL.iter().map(|kind| kind.name());
    let known = Kind::ALL.iter().find(|kind| kind.name() == name);
    known.copied().ok_or_else(|| match nearest(name, names()) {
        Some(near) => format!("there is no such kind of fault; did you mean `{near}`?"),
        None => format!("there is no such kind of fault; known: {}", names().collect::<Vec<_>>().join(", ")),
    })
}

/// The table.
pub fn table(title: &str, table: &Table, words: &Words) -> String {
    let all: usize = table.counts.iter().map(|(_, count)| count).sum();
    let mut out = format!("{title}: {}\n", counted(all, "fault"));
    for (class, count) in &table.counts {
        let _ = writeln!(out, "{count:>8}  {}", class.words());
    }
    table.parts.iter().for_each(|it| part(&mut out, it));
    out += "\nNot played:\n";
    words.left_out().iter().for_each(|line| wrapped(&mut out, &format!("          {line}"), 12));
    out
}

fn part(out: &mut String, part: &Part) {
    let _ = writeln!(out, "\n{}:", capital(part.class.words()));
    for line in &part.lines {
        let head = format!("{:>8}  {}: {}", line.count, line.kind.name(), line.gist);
        wrapped(out, &head, 10);
        wrapped(out, &format!("          such as {}: {}", line.example, line.outcome), 12);
        if part.class == Class::Silent {
            wrapped(out, &format!("          found by {}", line.found_by), 12);
        }
    }
}

/// Every fault on a line of its own.
pub fn each(title: &str, played: &[Played], words: &Words) -> String {
    let mut out = format!("{title}: {}\n", counted(played.len(), "fault"));
    for class in Class::ALL {
        let mut here = played.iter().filter(|played| played.outcome.class() == class).peekable();
        if here.peek().is_some() {
            let _ = writeln!(out, "\n{}:", capital(class.words()));
        }
        for Played { fault, outcome } in here {
            let _ = writeln!(out, "  {}: {}: {}", fault.kind.name(), words.fault(fault), words.outcome(outcome));
        }
    }
    out
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}
