//! The questions in the page are those that `diagnose` asks, and lead to the fault that is there.

use std::collections::BTreeSet;

use coldwright::diagnosis::seen::read;
use coldwright::diagnosis::{Answer, Archive, Questions, question, shows};
use coldwright::faults::{Plays, Theatre, Words};
use coldwright::source::{Diagnostics, Origin, SourceMap};

use super::browser::asked;
use super::chains::Chain;

/// What is played of the start of a chain.
fn played(chain: &Chain) -> (Plays, Words) {
    let start = chain.plan.starts.numbered().next().unwrap().0;
    let plays = Theatre::new(&chain.plan, &chain.made, start).unwrap().plays(&|| true).unwrap();
    (plays, Words::new(&chain.plan, &chain.made, start).unwrap())
}

/// Who gives the answers that a fault shows, as they are in the page, comes to places where the fault is still suspected.
#[test]
fn no_answer_that_a_fault_gives_leads_away_from_it() {
    let chain = Chain::new("probe", |_| ());
    let (plays, words) = played(&chain);
    let archive = Archive::new(&plays, &words);
    let questions = Questions::new(&archive, &words);
    let (mut sources, mut answered) = (SourceMap::default(), 0);
    for fault in plays.faults.iter().filter(|fault| fault.outcome.otherwise.is_none()) {
        let (mut place, mut had, mut seen) = (&questions.places[0], BTreeSet::new(), Vec::new());
        while let Some(ask) = &place.ask {
            let suspects = archive.suspects(&seen);
            assert!(
                suspects.iter().any(|suspect| suspect.faults == std::slice::from_ref(&fault.fault)),
                "{}",
                words.fault(&fault.fault)
            );
            let next = archive.next(&suspects, &had).unwrap();
            assert_eq!(*ask, question(&words, next.look));
            had.insert(next.look);
            let answer = shows(&words, &archive.shows(next.look, &fault.outcome.ending));
            let led = place.answers.iter().find(|(shown, _)| *shown == answer);
            let to = match led {
                Some((_, to)) => {
                    seen.extend(typed(&next.look, &answer, &mut sources, &words));
                    answered += 1;
                    *to
                }
                None => place.unsure.unwrap(),
            };
            place = &questions.places[to];
            let suspects = archive.suspects(&seen);
            assert_eq!((place.left, place.found.is_empty()), (suspects.len(), suspects.is_empty()));
        }
    }
    assert!(answered > 300, "{answered}");
}

/// An answer as it is typed to `diagnose`.
fn typed(
    look: &coldwright::diagnosis::Look,
    answer: &str,
    sources: &mut SourceMap,
    words: &Words,
) -> Vec<coldwright::diagnosis::seen::Observation> {
    use coldwright::diagnosis::Look;
    let sentence = match look {
        Look::State => answer.to_owned(),
        Look::Address => format!("address {answer}"),
        Look::Port(port) => format!("port {} shows {answer}", words.notation().byte(*port)),
        Look::Tape(tape) => format!("the tape \"{}\" {answer}", words.tapes()[*tape]),
        Look::Listing(stage) => format!("listing \"{}\" {answer}", words.stages().nth(*stage).unwrap().0),
        Look::Terminal => format!("terminal shows {answer}"),
        Look::Memory(at) => format!("{} holds {answer}", words.notation().address(*at)),
    };
    let text = sources.add("seen", sentence.clone(), Origin::Given);
    let mut problems = Diagnostics::default();
    let seen = read(sources, text, words.notation(), &mut problems);
    assert!(!problems.has_errors() && seen.len() == 1, "{sentence}");
    seen
}

#[test]
fn the_answers_of_a_wrong_sense_switch_lead_to_it_on_the_screen() {
    let chain = Chain::new("probe", |_| ());
    let (plays, words) = played(&chain);
    let archive = Archive::new(&plays, &words);
    let questions = Questions::new(&archive, &words);
    let sense = |played: &&coldwright::faults::Played| played.fault.kind.name() == "a sense switch wrong";
    let fault = plays.faults.iter().find(sense).unwrap();
    let (mut place, mut had, mut seen, mut answers) = (&questions.places[0], BTreeSet::new(), Vec::new(), Vec::new());
    let mut sources = SourceMap::default();
    while place.ask.is_some() {
        let next = archive.next(&archive.suspects(&seen), &had).unwrap();
        had.insert(next.look);
        let shown = archive.shows(next.look, &fault.outcome.ending);
        let answer = shows(&words, &shown);
        let to = place.answers.iter().find(|(told, _)| *told == answer).filter(|_| shown != Answer::Open);
        match to {
            Some((_, to)) => {
                seen.extend(typed(&next.look, &answer, &mut sources, &words));
                answers.push(answer);
                place = &questions.places[*to];
            }
            None => {
                answers.push("Something else, or not sure".into());
                place = &questions.places[place.unsure.unwrap()];
            }
        }
    }
    let Some(found) = asked(&chain, questions, &answers) else { return };
    assert!(found.iter().any(|fault| fault.contains("a sense switch wrong")), "{answers:?}: {found:?}");
}
