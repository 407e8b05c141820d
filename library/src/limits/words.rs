//! Limits in words.

use super::limit::{AS_DESCRIBED, Failure, Limit, Side, Subject};
use crate::notation::{Notation, counted};

/// A thing, and how far it may go.
pub struct Row {
    /// What, and how it is described.
    pub what: String,
    /// To less, to more, and what else there is to say of it.
    pub lines: Vec<String>,
}

/// Each limit in words.
pub fn rows(limits: &[Limit], notation: Notation) -> Vec<Row> {
    limits.iter().map(|limit| row(limit, notation)).collect()
}

/// What a list of [`not_played`] begins with.
pub const LEFT_OUT: &str =
    "What lies between the last that starts and the first that fails was not played. Neither was:";

/// What no figure shows.
pub fn not_played() -> [&'static str; 5] {
    [
        "two things at once that are not as described",
        "what chips, memory and levels bear: their data sheets say how fast a clock and a line may be",
        "a start edge found late: with a clock of 16 times the speed up to a sixteenth of a bit, which by arithmetic takes up \
         to 0.8 % off how much faster what comes down a line of eight data bits may be",
        "tapes behind the first that are started early or late, and how fast a cassette may run before its tones are lost: \
         `coldwright rehearse --after` and `--sound` play them",
        "a last program under way for longer than a rehearsal watches it",
    ]
}

fn row(limit: &Limit, notation: Notation) -> Row {
    let described = amount(limit, AS_DESCRIBED);
    let what = match &limit.subject {
        Subject::Clock => format!("the processor's clock, {described}"),
        Subject::Line { stage, line } => format!("the line `{line}` while `{stage}` reads it, {described}"),
        Subject::Sender { line } => {
            format!("what comes down the line `{line}`, while its chip stays at {described}")
        }
        Subject::Tape { tape } => format!("the tape `{tape}`, started {} s after RUN", limit.described as f64 / 100.0),
        Subject::Leader { tape } => format!("the leader of the tape `{tape}`, {described}"),
    };
    let [less, more] = match limit.subject {
        Subject::Clock | Subject::Line { .. } | Subject::Sender { .. } => ["slower", "faster"],
        Subject::Tape { .. } => ["earlier", "later"],
        Subject::Leader { .. } => ["shorter", "longer"],
    };
    let mut lines = vec![side(limit, &limit.less, less, "down to"), side(limit, &limit.more, more, "up to")];
    if let Some(tightest) = &limit.tightest {
        lines.push(format!(
            "at {} the tightest read, at {}, has {} of {} to spare",
            amount(limit, limit.more.holds),
            notation.address(tightest.pc),
            tightest.states,
            counted(tightest.character, "T-state")
        ));
    }
    Row { what, lines }
}

fn side(limit: &Limit, side: &Side, way: &str, to: &str) -> String {
    let is_time = matches!(limit.subject, Subject::Tape { .. });
    let to = if is_time { "up to" } else { to };
    let at = |parts| match is_time {
        true => format!("{:.1} s {way}", Subject::seconds_later(parts).abs()),
        false => format!("{} ({})", amount(limit, parts), per_cent(parts)),
    };
    let plays = counted(side.between, "play");
    let Some(Failure { at: fails, how, .. }) = &side.fails else {
        return format!("{way}: starts {to} {}, the furthest that was played ({plays})", at(side.holds));
    };
    let holds = match side.holds {
        AS_DESCRIBED => format!("{way}: not by as little as was played"),
        holds => format!("{way}: starts {to} {} ({plays})", at(holds)),
    };
    let again = side.again.map(|again| format!("; at {} it starts again: do not rely on it", at(again)));
    format!("{holds}; fails at {}: {how}{}", at(*fails), again.unwrap_or_default())
}

/// A clock in megahertz, a speed in baud, a leader in frames.
fn amount(limit: &Limit, parts: i64) -> String {
    let amount = limit.amount(parts) as f64;
    match limit.subject {
        Subject::Clock => format!("{} MHz", amount / 1e6),
        Subject::Line { .. } | Subject::Sender { .. } => format!("{} baud", amount / 100.0),
        Subject::Leader { .. } => counted(limit.amount(parts), "frame"),
        Subject::Tape { .. } => format!("{} s", amount / 100.0),
    }
}

/// By how much it is off.
fn per_cent(parts: i64) -> String {
    let off = (parts - AS_DESCRIBED) as f64 / 100.0;
    if off.abs() >= 1000.0 { format!("{off:+.0} %") } else { format!("{off:+.2} %") }
}
