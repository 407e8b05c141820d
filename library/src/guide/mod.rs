//! The guide: one page for a tablet at the machine that leads from power-on to the payload, one action at a time.
//!
//! [`Guide::new`] makes the actions, in the order of the run card with the deposit sheets where the card names them;
//! [`Guide::page`] writes them into one file that needs nothing else. What a person does and sees on the way lies in the page's
//! own program, `work.js` without the screen and `view.js` with it.

mod actions;
mod page;
mod pictures;

pub use actions::{Action, Bank, Setting, Way};

use serde::Serialize;

use crate::diagnosis::Questions;
use crate::notation::{Notation, wide};
use crate::panel::Check;
use crate::panel::card::Card;
use crate::project::{Artefacts, Id, Plan, Start};
use actions::Leader;
use pictures::Pictures;

/// A guide as data.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Guide {
    /// The name of the chain.
    pub name: String,
    /// The check of all images of the chain.
    pub image: String,
    /// The ways to start.
    pub ways: Vec<Way>,
    /// The bytes from 0 on as they are written.
    pub bytes: Vec<String>,
    pictures: Pictures,
}

impl Guide {
    /// The guide of a chain, from the cards of its starts: whether they were rehearsed, and what is asked when one does not go
    /// as shown, in the order of the starts.
    pub fn new(
        plan: &Plan,
        made: &Artefacts,
        cards: &[(Id<Start>, Card)],
        rehearsed: bool,
        questions: &[Option<Questions>],
    ) -> Guide {
        let notation = plan.machine.panel.notation;
        let ways = cards.iter().map(|(number, card)| {
            let questions = questions.get(number.place()).cloned().flatten();
            Way { rehearsed, questions, ..Leader::new(plan, made, *number).way(card) }
        });
        Guide {
            name: plan.name.clone(),
            image: image(plan, notation),
            ways: ways.collect(),
            bytes: (0..=u8::MAX).map(|byte| notation.byte(byte).to_string()).collect(),
            pictures: Pictures::of(&plan.machine.panel),
        }
    }

    /// The page as HTML. The same guide always gives the same bytes.
    pub fn page(&self) -> String {
        let data = page::data(self);
        page::write(&self.name, &self.image, &data, &self.key(&data))
    }

    /// By what a browser keeps where a person left off: another chain, or a changed one, has another.
    fn key(&self, data: &str) -> String {
        let crc = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC);
        format!("{} {}", self.name, wide(crc.checksum(data.as_bytes()).into()))
    }
}

/// By what the chain is told from another: all images, in the order of the chain file.
fn image(plan: &Plan, notation: Notation) -> String {
    let extents = plan.stages.iter().flat_map(|stage| stage.image.extents().map(|extent| extent.bytes));
    Check::of(extents).figures(notation)
}
