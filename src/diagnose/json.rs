//! What explains what is seen, for programs.

use serde_json::{Value, json};

use super::inquiry::Inquiry;
use coldwright::diagnosis::{Suspect, question, shows};

/// The most faults that are told one by one.
const MOST: usize = 100;

/// The answer, on a line.
pub fn answer(inquiry: &Inquiry, chain: &str, suspects: &[Suspect]) -> String {
    let words = &inquiry.told.words;
    let tell = |suspects: &[Suspect]| -> Vec<Value> {
        let told = suspects.iter().take(MOST).map(|suspect| {
            let faults = suspect.faults.iter().map(|fault| {
                json!({
                    "kind": fault.kind,
                    "name": fault.kind.name(),
                    "fault": words.fault(fault),
                    "wrong": fault.wrong,
                    "mend": fault.kind.mend(),
                })
            });
            json!({
                "faults": faults.collect::<Vec<_>>(),
                "why": words.outcome(suspect.outcome),
                "explains": suspect.explains,
            })
        });
        told.collect()
    };
    let next = inquiry.archive.next(suspects, &[].into()).map(|next| {
        let answers = next
            .answers
            .iter()
            .map(|(answer, suspects)| json!({ "shows": shows(words, answer), "count": suspects.len() }));
        json!({ "look": question(words, next.look), "answers": answers.collect::<Vec<_>>() })
    });
    let odd = inquiry.archive.odd(&inquiry.seen).filter(|_| suspects.is_empty());
    let odd = odd.map(|odd| json!({ "observation": inquiry.told(odd.observation), "suspects": tell(&odd.suspects) }));
    let answer = json!({
        "chain": chain,
        "start": inquiry.told.start,
        "count": suspects.len(),
        "explaining": suspects.iter().filter(|suspect| suspect.explains).count(),
        "pairs_played": inquiry.pairs.len(),
        "looks_good": inquiry.archive.looks_good(&inquiry.seen),
        "suspects": tell(suspects),
        "next": next,
        "odd": odd,
    });
    format!("{answer}\n")
}
