//! What explains what is seen, for people.

use std::fmt::Write;

use super::inquiry::Inquiry;
use crate::wrapped::wrapped;
use coldwright::diagnosis::{Group, Next, Suspect, groups, question, shows};
use coldwright::notation::counted;

/// The most groups of faults, answers of a look, and kinds behind an answer, that are told.
const MOST_GROUPS: usize = 8;
const MOST_ANSWERS: usize = 10;
const MOST_KINDS: usize = 3;

/// The whole answer.
pub fn answer(inquiry: &Inquiry, suspects: &[Suspect]) -> String {
    let mut out = String::new();
    if suspects.is_empty() {
        nothing(&mut out, inquiry);
        return out;
    }
    told(&mut out, inquiry, suspects);
    match inquiry.archive.next(suspects, &[].into()) {
        Some(next) => look(&mut out, inquiry, &next),
        None => last(&mut out, suspects.len()),
    }
    out
}

/// The faults, with why and with the mend, and how many of them leave open what is seen.
pub fn told(out: &mut String, inquiry: &Inquiry, suspects: &[Suspect]) {
    wrapped(out, &format!("{} The likeliest first:", head(inquiry, suspects)), 0);
    list(out, inquiry, suspects);
    if inquiry.archive.looks_good(&inquiry.seen) {
        let _ = writeln!(out, "A start without a fault looks so too.");
    }
}

/// How many explain what is seen, and how many cannot be ruled out.
fn head(inquiry: &Inquiry, suspects: &[Suspect]) -> String {
    let explaining: Vec<_> = suspects.iter().filter(|suspect| suspect.explains).collect();
    let singles = explaining.iter().filter(|suspect| suspect.faults.len() == 1).count();
    let pairs = explaining.len() - singles;
    let open = match suspects.len() - explaining.len() {
        0 => ".".to_owned(),
        open => {
            format!(
                "; {open} cannot be ruled out: run into noise, or not seen far enough, it may show this or anything else."
            )
        }
    };
    let explain = |count: usize| if count == 1 { "explains" } else { "explain" };
    match (singles, pairs) {
        (0, 0) => format!("{}{open}", none(inquiry)),
        (0, _) => format!("{}; {} of two {} it{open}", none_single(), counted(pairs, "pair"), explain(pairs)),
        _ => format!("{} {} what is seen{open}", counted(singles, "single fault"), explain(singles)),
    }
}

/// Nothing that was played shows it.
fn none(inquiry: &Inquiry) -> String {
    match inquiry.pairs.len() {
        0 => none_single().to_owned(),
        tried => format!("{}, nor does any of {} of two that may", none_single(), counted(tried, "pair")),
    }
}

/// No single fault shows it.
fn none_single() -> &'static str {
    "No single fault that was played explains all that is seen"
}

/// The groups of faults, the likeliest first.
fn list(out: &mut String, inquiry: &Inquiry, suspects: &[Suspect]) {
    let words = &inquiry.told.words;
    let groups = groups(suspects, words);
    let mixed = suspects.iter().any(|suspect| suspect.explains != suspects[0].explains);
    for group in groups.iter().take(MOST_GROUPS) {
        let Group { count, first, .. } = group;
        let faults: Vec<_> = first.faults.iter().map(|fault| words.fault(fault)).collect();
        let fault = faults.join("; and ");
        let mark = if mixed && !first.explains { "perhaps " } else { "" };
        let head = match count {
            1 => format!("  {mark}{}: {fault}", group.name()),
            count => format!("  {mark}{}: {count} of them, such as {fault}", group.name()),
        };
        wrapped(out, &head, 6);
        wrapped(out, &format!("      why: {}", words.outcome(first.outcome)), 8);
        wrapped(out, &format!("      mend: {}", group.mend()), 8);
    }
    let left: usize = groups.iter().skip(MOST_GROUPS).map(|group| group.count).sum();
    if left > 0 {
        let _ = writeln!(out, "  and {}", counted(left, "less likely one"));
    }
}

/// The next look, with what each answer speaks for.
fn look(out: &mut String, inquiry: &Inquiry, next: &Next) {
    let words = &inquiry.told.words;
    let _ = writeln!(out, "\nNext look: {}", question(words, next.look));
    for (answer, suspects) in next.answers.iter().take(MOST_ANSWERS) {
        let groups = groups(suspects, words);
        let mut kinds: Vec<String> = Vec::new();
        for group in groups {
            let name = group.name();
            if !kinds.contains(&name) {
                kinds.push(name);
            }
        }
        let more = kinds.len().saturating_sub(MOST_KINDS);
        kinds.truncate(MOST_KINDS);
        let more = if more > 0 { format!(", and {}", counted(more, "other kind")) } else { String::new() };
        let line =
            format!("  {}: {}: {}{more}", shows(words, answer), counted(suspects.len(), "fault"), kinds.join(", "));
        wrapped(out, &line, 6);
    }
    if next.answers.len() > MOST_ANSWERS {
        let _ = writeln!(out, "  and {}", counted(next.answers.len() - MOST_ANSWERS, "rarer answer"));
    }
}

/// No look is left.
pub fn last(out: &mut String, count: usize) {
    let _ = writeln!(
        out,
        "\n{}",
        match count {
            1 => "No other fault that was played explains it.",
            _ => {
                "No look that can be relied on tells these apart as the machine stands now: what they show is alike, or hangs on what\n\
                 memory held at power-on. Where a sheet was deposited, do it again and compare every CHECK row before RUN."
            }
        }
    );
}

/// Nothing explains all of it.
pub fn nothing(out: &mut String, inquiry: &Inquiry) {
    wrapped(out, &format!("{}.", none(inquiry)), 0);
    let Some(odd) = inquiry.archive.odd(&inquiry.seen) else {
        let _ = writeln!(out, "Look again, and say less: what is least sure first.");
        return;
    };
    let odd_one = inquiry.told(odd.observation).to_owned();
    wrapped(out, &format!("The odd one is `{odd_one}`: look at it again. Without it:"), 2);
    told(out, inquiry, &odd.suspects);
}
