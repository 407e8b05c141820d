//! What a person does, action by action.

use serde::Serialize;

use crate::diagnosis::Questions;
use crate::notation::{Address, Notation, counted};
use crate::panel::card::{Act, Card, Doubt, PanelLights, Task};
use crate::panel::sheet::{self, Row, Sheet};
use crate::panel::{Key, Lamp, Levers, Remark, Step};
use crate::project::{Artefacts, Home, Id, Plan, Stage, Start};

/// One way to start, from power-on to the payload.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Way {
    /// What it is called; empty if there is only one.
    pub name: String,
    /// What is to be known of its program in one line.
    pub facts: String,
    /// Why it is not to be trusted: what is wrong, and the reason.
    pub doubts: Vec<(String, String)>,
    /// What can hurt: a topic, and what is to be minded.
    pub cautions: Vec<(String, String)>,
    /// What its actions are parts of.
    pub parts: Vec<String>,
    /// In the order in which they are done.
    pub actions: Vec<Action>,
    /// Whether it was rehearsed.
    pub rehearsed: bool,
    /// What is asked when it does not go as shown.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub questions: Option<Questions>,
}

/// One action: something is done, and something is seen.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Action {
    /// Its place among the [`Way::parts`].
    pub part: usize,
    /// Nobody knows how the levers stand before it.
    #[serde(skip_serializing_if = "is_false")]
    pub anew: bool,
    /// What is done, or the statement that is deposited.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub words: String,
    /// What is to be known of it besides.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// What is seen then.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub shows: String,
    /// What it means if something else is.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub otherwise: String,
    /// The address that is deposited to or looked at.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub address: Option<u16>,
    /// The same as it is written.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub at: String,
    /// The byte that is deposited.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub byte: Option<u8>,
    /// The byte that the data lights must show.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub check: Option<u8>,
    /// The levers that are set before the key is pressed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub levers: Option<Setting>,
    /// The key.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub key: Option<&'static str>,
    /// The lights after it, where they are known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lights: Option<Lights>,
    /// What the clock has to do with it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clock: Option<Clock>,
    /// The program runs: from here on the questions help.
    #[serde(skip_serializing_if = "is_false")]
    pub runs: bool,
}

/// A bank of levers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Bank {
    /// The address switches.
    Address,
    /// Those that hold a data byte.
    Data,
    /// Those that hold the sense byte.
    Sense,
}

/// How a bank of levers is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Setting {
    /// The bank.
    pub bank: Bank,
    /// Up levers as ones; the rightmost is bit 0.
    pub value: u16,
}

/// The lights by their signs, the highest first.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Lights {
    /// Sixteen, or none.
    pub address: String,
    /// Eight, or none.
    pub data: String,
    /// Names and signs.
    pub status: Vec<(&'static str, char)>,
}

/// What the clock has to do with an action.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Clock {
    /// A tape begins to run.
    Starts,
    /// It is stopped when it has been read, after so many seconds where that is known.
    Stops(Option<f64>),
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde asks for a reference")]
fn is_false(value: &bool) -> bool {
    !value
}

impl From<Levers> for Setting {
    fn from(levers: Levers) -> Setting {
        let bank = match levers.bank {
            crate::panel::Bank::Address => Bank::Address,
            crate::panel::Bank::Data => Bank::Data,
            crate::panel::Bank::Sense => Bank::Sense,
        };
        Setting { bank, value: levers.value }
    }
}

impl From<&PanelLights> for Lights {
    fn from(lights: &PanelLights) -> Lights {
        let signs = |lamps: &[Lamp]| lamps.iter().map(|lamp| lamp.sign()).collect();
        Lights {
            address: signs(&lights.address),
            data: signs(&lights.data),
            status: lights.status.iter().map(|&(name, lamp)| (name, lamp.sign())).collect(),
        }
    }
}

/// Leads through one way to start.
pub struct Leader<'a> {
    start: &'a Start,
    /// The sheets that are still to be done, the last first.
    sheets: Vec<(&'a Sheet, &'a Stage)>,
    notation: Notation,
    parts: Vec<String>,
    actions: Vec<Action>,
    runs: bool,
}

impl<'a> Leader<'a> {
    /// Who leads through a start of a chain.
    pub fn new(plan: &'a Plan, made: &'a Artefacts, start: Id<Start>) -> Leader<'a> {
        let start = &plan.starts[start];
        let (first, others) = (start.stages[0], &start.stages[1..]);
        let added = others.iter().filter_map(|&stage| Some((made.sheet(stage, None)?, &plan.stages[stage])));
        let last = made.sheet(first, Some(start.sense)).filter(|_| matches!(plan.stages[first].home, Home::Panel(_)));
        let sheets: Vec<_> = added.chain(last.map(|sheet| (sheet, &plan.stages[first]))).collect();
        Leader {
            start,
            sheets: sheets.into_iter().rev().collect(),
            notation: plan.machine.panel.notation,
            parts: Vec::new(),
            actions: Vec::new(),
            runs: false,
        }
    }

    /// The way as its card has it.
    pub fn way(mut self, card: &Card) -> Way {
        self.part("Run card");
        for act in &card.acts {
            match act.task {
                Task::Deposit => self.sheet(act),
                _ => self.act(act),
            }
        }
        Way {
            name: self.start.name.clone(),
            facts: card.facts.clone(),
            doubts: card.doubts.iter().map(Doubt::words).map(|(what, why)| (what.to_owned(), why)).collect(),
            cautions: card.cautions.iter().map(|(topic, text)| (topic.word().to_owned(), text.clone())).collect(),
            parts: self.parts,
            actions: self.actions,
            rehearsed: false,
            questions: None,
        }
    }

    fn part(&mut self, name: &str) {
        if self.parts.last().is_none_or(|last| last != name) {
            self.parts.push(name.to_owned());
        }
    }

    fn push(&mut self, action: Action) {
        self.actions.push(Action { part: self.parts.len() - 1, ..action });
    }

    fn act(&mut self, act: &Act) {
        self.part("Run card");
        self.runs |= act.task == Task::Run;
        let clock = match act.task {
            Task::StartTape => Some(Clock::Starts),
            Task::StopTape(seconds) => Some(Clock::Stops(seconds)),
            _ => None,
        };
        self.push(Action {
            words: act.action.clone(),
            shows: act.shows.clone(),
            otherwise: act.otherwise.clone(),
            levers: act.levers.map(Setting::from),
            lights: act.lights.as_ref().map(Lights::from),
            clock,
            runs: self.runs,
            ..Action::default()
        });
    }

    /// The rows of a sheet as far as its start, which the card has.
    fn sheet(&mut self, act: &Act) {
        let Some((sheet, stage)) = self.sheets.pop() else { return self.act(act) };
        let first = self.actions.len();
        let blocks = sheet.sections.len() - usize::from(sheet.starts);
        for (at, section) in sheet.sections[..blocks].iter().enumerate() {
            let count = match blocks {
                1 => String::new(),
                _ => format!(", block {} of {blocks}", at + 1),
            };
            self.part(&format!("Deposit {}{count}", stage.name));
            section.rows.iter().for_each(|row| self.row(row));
        }
        let after_another = self.actions[..first].iter().any(|action| action.byte.is_some());
        if let Some(action) = self.actions.get_mut(first) {
            action.anew = after_another;
        }
    }

    /// A row of a sheet: an action for each key that is pressed.
    fn row(&mut self, row: &Row) {
        let mut action = Action::default();
        for step in row.steps() {
            match step {
                Step::SetAddress(_) | Step::SetData(_) | Step::SetSense(_) => {
                    action.levers = row.levers.map(Setting::from);
                }
                Step::Press(key) => {
                    action.key = Some(key.name());
                    self.of_row(row, &mut action);
                    // What is pressed for a check shows the lights of this very action.
                    if !matches!(row.action, sheet::Action::Check { .. }) {
                        self.push(std::mem::take(&mut action));
                    }
                }
                Step::Compare(address, byte) => {
                    action.check = Some(byte);
                    self.place(&mut action, address);
                    self.push(std::mem::take(&mut action));
                }
            }
        }
        if let sheet::Action::Sum { last, running } = row.action {
            let (last, sum) = (self.notation.address(last), self.notation.word(running));
            let shows = format!("The address lights show {last}. On the sheet, the sum of bytes so far is {sum}.");
            self.push(Action { words: "The block is done.".into(), shows, ..Action::default() });
        }
    }

    fn place(&self, action: &mut Action, address: Address) {
        action.address = Some(address.0);
        action.at = self.notation.address(address).to_string();
    }

    /// What a row says of an action in it.
    fn of_row(&self, row: &Row, action: &mut Action) {
        match &row.action {
            sheet::Action::Byte { address, byte, remark } => {
                self.place(action, *address);
                if action.levers.is_some() {
                    action.byte = Some(*byte);
                    let Remark { statement, comment } = remark.clone().unwrap_or_default();
                    (action.words, action.note) = (statement, comment);
                }
            }
            sheet::Action::Address(address) => {
                self.place(action, *address);
                action.words = "Bring the address up.".into();
            }
            sheet::Action::Check { bytes, .. } if action.key == Some(Key::Examine.name()) => {
                action.words = format!("Check {}.", counted(bytes.len() as u64, "byte"));
            }
            _ => {}
        }
    }
}
