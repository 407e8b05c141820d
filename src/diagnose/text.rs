//! What explains what is seen, for people.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::inquiry::Inquiry;
use crate::wrapped::wrapped;
use coldwright::diagnosis::{Answer, Look, Next, Suspect};
use coldwright::faults::{Kind, Words};
use coldwright::notation::counted;

/// The most groups of faults, answers of a look, and kinds behind an answer, that are told.
const MOST_GROUPS: usize = 8;
const MOST_ANSWERS: usize = 10;
const MOST_KINDS: usize = 3;

/// Faults of a kind with one end.
pub struct Group<'a> {
    pub kind: Kind,
    pub count: usize,
    pub first: Suspect<'a>,
    weight: f64,
}

/// Faults by kinds, ends and whether they explain, the likeliest first.
pub fn groups<'a>(suspects: &[Suspect<'a>], words: &Words) -> Vec<Group<'a>> {
    let mut groups = BTreeMap::<(Kind, bool, String), Group>::new();
    for &suspect in suspects {
        let kind = suspect.played.fault.kind;
        let key = (kind, suspect.explains, words.gist(&suspect.played.outcome));
        let group = groups.entry(key).or_insert(Group { kind, count: 0, first: suspect, weight: 0.0 });
        group.count += 1;
        group.weight += suspect.weight;
    }
    let mut groups: Vec<_> = groups.into_values().collect();
    groups.sort_by(|one, other| other.weight.total_cmp(&one.weight));
    groups
}

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
    let explaining = suspects.iter().filter(|suspect| suspect.explains).count();
    let open = suspects.len() - explaining;
    let explain = if explaining == 1 { "explains" } else { "explain" };
    let head = match (counted(explaining, "single fault"), counted(open, "single fault")) {
        (_, open) if explaining == 0 => format!(
            "No single fault that was played shows all that is seen. {open} cannot be ruled out: run into noise, or not \
             seen far enough, it may show this or anything else. The likeliest first:"
        ),
        (count, _) if open == 0 => format!("{count} {explain} what is seen, the likeliest first:"),
        (count, _) => format!(
            "{count} {explain} what is seen, and {open} cannot be ruled out: run into noise, or not seen far enough, it \
             may show this or anything else. The likeliest first:"
        ),
    };
    wrapped(out, &head, 0);
    list(out, inquiry, suspects);
    if inquiry.archive.looks_good(&inquiry.seen) {
        let _ = writeln!(out, "A start without a fault looks so too.");
    }
}

/// The groups of faults, the likeliest first.
fn list(out: &mut String, inquiry: &Inquiry, suspects: &[Suspect]) {
    let words = &inquiry.told.words;
    let groups = groups(suspects, words);
    let mixed = suspects.iter().any(|suspect| suspect.explains != suspects[0].explains);
    for Group { kind, count, first, .. } in groups.iter().take(MOST_GROUPS) {
        let fault = words.fault(&first.played.fault);
        let mark = if mixed && !first.explains { "perhaps " } else { "" };
        let head = match count {
            1 => format!("  {mark}{}: {fault}", kind.name()),
            count => format!("  {mark}{}: {count} of them, such as {fault}", kind.name()),
        };
        wrapped(out, &head, 6);
        wrapped(out, &format!("      why: {}", words.outcome(&first.played.outcome)), 8);
        wrapped(out, &format!("      mend: {}", kind.mend()), 8);
    }
    let left: usize = groups.iter().skip(MOST_GROUPS).map(|group| group.count).sum();
    if left > 0 {
        let _ = writeln!(out, "  and {}", counted(left, "less likely one"));
    }
}

/// The next look, with what each answer speaks for.
fn look(out: &mut String, inquiry: &Inquiry, next: &Next) {
    let words = &inquiry.told.words;
    let _ = writeln!(out, "\nNext look: {}", self::what(words, next.look));
    for (answer, suspects) in next.answers.iter().take(MOST_ANSWERS) {
        let groups = groups(suspects, words);
        let mut kinds: Vec<String> = Vec::new();
        for group in groups {
            let name = group.kind.name().to_owned();
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
            1 => "No other single fault that was played explains it; two faults at a time are not played.",
            _ => {
                "No look that can be relied on tells these apart as the machine stands now: what they show is alike, or hangs on what\n\
                 memory held at power-on. Where a sheet was deposited, do it again and compare every CHECK row before RUN."
            }
        }
    );
}

/// Nothing explains all of it.
pub fn nothing(out: &mut String, inquiry: &Inquiry) {
    let _ = writeln!(out, "No single fault that was played explains all that is seen.");
    let Some(odd) = inquiry.archive.odd(&inquiry.seen) else {
        let _ = writeln!(out, "Look again, and say less: what is least sure first.");
        return;
    };
    let odd_one = inquiry.told(odd.observation).to_owned();
    wrapped(out, &format!("The odd one is `{odd_one}`: look at it again, or think of two faults. Without it:"), 2);
    told(out, inquiry, &odd.suspects);
}

/// What is to be looked at.
pub fn what(words: &Words, look: Look) -> String {
    match look {
        Look::State => "has it halted, or does it run?".into(),
        Look::Address => "what do the address lights show, or between which addresses do they flicker?".into(),
        Look::Port(port) => format!("what do the lamps of {} show?", words.port(port)),
        Look::Tape(tape) => format!("had the tape `{}` run out when it came to rest?", words.tapes()[tape]),
        Look::Terminal => "what does the terminal show at its end?".into(),
        Look::Memory(at) => {
            format!("STOP, EXAMINE {}: what do the data lights show?", words.notation().address(at))
        }
    }
}

/// What a look shows.
pub fn shows(words: &Words, answer: &Answer) -> String {
    let address = |at: u16| words.notation().address(coldwright::notation::Address(at)).to_string();
    match answer {
        Answer::Halted => "halted".into(),
        Answer::Running => "running".into(),
        Answer::Address(at) => address(*at),
        Answer::Between(low, high) => format!("{} to {}", address(*low), address(*high)),
        Answer::Flickers => "flickers".into(),
        Answer::Byte(byte) => words.notation().byte(*byte).to_string(),
        Answer::RanOut => "ran out".into(),
        Answer::StillRuns => "still runs".into(),
        Answer::Text(bytes) if bytes.is_empty() => "nothing".into(),
        Answer::Text(bytes) => format!(
            "\"{}\"",
            bytes.iter().map(|byte| (byte & 0o177) as char).filter(|it| !it.is_control()).collect::<String>()
        ),
        Answer::Open => "one thing or another".into(),
    }
}
