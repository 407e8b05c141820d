//! What `shorten` says: each suggestion with its lines, its bytes and its reason.

use std::fmt::Write as _;

use serde_json::json;

use coldwright::notation::{Address, Notation, counted};
use coldwright::shortening::{Place, Reason, Suggestion, Unseen, Way};
use coldwright::source::{Code, Diagnostic};

/// Suggestions as lines, in a notation of bytes.
pub fn text(found: &[Suggestion], notation: Notation) -> String {
    let mut out = String::new();
    for it in found {
        let ends: Vec<_> = [it.places.first(), it.places.last()].into_iter().flatten().collect();
        let (first, last) = (ends[0].line, ends[1].line + ends[1].before.len().max(1) - 1);
        let lines = if last == first { format!("line {last}") } else { format!("lines {first} to {last}") };
        let time = match it.states {
            0 => String::new(),
            states if states < 0 => format!(", {} T-states less", -states),
            states => format!(", {states} T-states more"),
        };
        let _ = writeln!(out, "{lines}: saves {}{time}", counted(it.saves, "byte"));
        for (at, place) in it.places.iter().enumerate() {
            if at > 0 {
                let _ = writeln!(out, "  line {}", place.line);
            }
            for (sign, lines) in [('-', &place.before), ('+', &place.after)] {
                out.extend(lines.iter().map(|line| format!("  {sign} {}\n", line.trim_end())));
            }
        }
        for (line, label) in &it.labels {
            let _ = writeln!(out, "  line {line} gets the label {label}");
        }
        let _ = writeln!(out, "  {}", why(&it.reason, notation));
    }
    out
}

/// Said where nothing was found.
pub const NOTHING: &str = "nothing was found that could be shorter and is proved to be the same\n";

/// How many suggestions there are, where none was taken.
pub fn count(found: usize) -> String {
    format!("{}, each by itself; `--apply` takes one after the other\n", counted(found, "suggestion"))
}

fn why(reason: &Reason, notation: Notation) -> String {
    match reason {
        Reason::Form { known, unread } => {
            let mut why = "the same in every state".to_owned();
            if !known.is_empty() {
                let known: Vec<_> =
                    known.iter().map(|(it, byte)| format!("{} is {}", it.name(), notation.byte(*byte))).collect();
                why += &format!(" in which {}", known.join(" and "));
            }
            if !unread.is_empty() {
                why += &format!("; what differs is read by nobody behind it: {}", unread.join(", "));
            }
            why
        }
        Reason::Slot { at, calls } => format!(
            "{calls} calls become restarts to {}, among bytes that the program fills itself; no word of it, no label that was \
             followed, no stack and nothing known of its chain comes there; the {} of the jump are counted",
            notation.address(Address(*at)),
            counted(3, "byte"),
        ),
        Reason::Way(Way::ToNext) => "the jump goes to what follows it".into(),
        Reason::Way(Way::ToReturn) => "the jump goes to a return".into(),
        Reason::Way(Way::CallAndReturn) => {
            "the routine leaves the stack as it found it, and returns to whoever called here; bytes below the stack differ".into()
        }
        Reason::Way(Way::OverJump) => "the first jump only goes round the second".into(),
        Reason::Way(Way::Restart) => "a restart calls what lies there".into(),
        Reason::Way(Way::SharedTail) => "the same instructions stand there".into(),
        Reason::Way(Way::SameData) => "the same bytes lie there, and nobody writes there or here; what is read by the name is these bytes and no others".into(),
    }
}

/// A suggestion for programs, with the name of its source.
pub fn json(it: &Suggestion, source: &str, notation: Notation) -> serde_json::Value {
    let place = |it: &Place| json!({ "line": it.line, "before": it.before, "after": it.after });
    json!({
        "source": source,
        "places": it.places.iter().map(place).collect::<Vec<_>>(), "saves": it.saves, "t_states": it.states,
        "labels": it.labels.iter().map(|(line, label)| json!({ "line": line, "label": label })).collect::<Vec<_>>(),
        "why": why(&it.reason, notation),
    })
}

/// Why nothing can be said of a program.
pub fn unseen(unseen: Unseen) -> Diagnostic {
    let (headline, note) = match unseen {
        Unseen::Moved => {
            ("nothing can be said of code that runs elsewhere than where it lies", "a region is moved before it runs")
        }
        Unseen::NoEntry => ("it is not known where the program starts", "what is reached follows from its entry"),
        Unseen::Empty => ("there is no instruction to make shorter", "the source has data only"),
        Unseen::PastTop => (
            "the program runs past the top of memory, and cannot be looked at lower down",
            "another piece lies above it, or it rests on where it lies",
        ),
        Unseen::Interrupts => (
            "nothing can be said of a program that enables interrupts",
            "what an interrupt runs may read any register at any place",
        ),
        Unseen::WalksItself { .. } => (
            "nothing can be said of a program that walks through its own instructions",
            "with every change a sum or a copy of them is another, and what is written falls on others",
        ),
        Unseen::Overlapping => ("instructions lie within each other", "what a change would change cannot be told"),
    };
    let problem = Diagnostic::error(Code::ShortenUnseen, headline).with_note(note);
    match unseen {
        Unseen::NoEntry => problem.with_help("end the source with `END` and the label"),
        Unseen::WalksItself { line: Some(line) } => {
            problem.with_note(format!("line {line} reads or writes them by a pointer that is counted on"))
        }
        _ => problem,
    }
}
