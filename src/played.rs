//! What was played of the starts of a chain and kept, for the pages that have it.

use std::path::{Path, PathBuf};

use super::chain::LoadedChain;
use super::kept::Place;
use coldwright::booklet::Known;
use coldwright::diagnosis::{Archive, Questions, failures};
use coldwright::faults::{Plays, Words};
use coldwright::limits::Limits;
use coldwright::project::Artefacts;

/// What is kept of a chain, its starts in their order.
#[derive(Default)]
pub struct Played {
    /// The questions that tell its faults apart, for the guide.
    pub questions: Vec<Option<Questions>>,
    /// What else its faults and limits come to, for the booklet.
    pub known: Vec<Known>,
    /// The files that were looked for, each with the sum of its bytes if it is there.
    pub looked: Vec<(PathBuf, Option<u64>)>,
}

impl Played {
    /// What an earlier `faults` and `limits` have kept that was made from what is there now.
    pub fn kept(path: &Path, chain: &LoadedChain, made: &Artefacts) -> Played {
        let mut played = Played::default();
        for (number, start) in chain.plan.starts.numbered() {
            let [faults, limits] = ["faults", "limits"].map(|what| Place::new(path, chain, what, &start.name));
            let (mut questions, mut known) = (None, Known { failures: None, limits: limits.read::<Limits>() });
            if let Some((plays, words)) = faults.read::<Plays>().zip(Words::new(&chain.plan, made, number).ok()) {
                let archive = Archive::new(&plays, &words);
                questions = Some(Questions::new(&archive, &words));
                known.failures = Some(failures(&archive, &words));
            }
            played.questions.push(questions);
            played.known.push(known);
            played.looked.extend([faults.file(), limits.file()]);
        }
        played
    }
}
