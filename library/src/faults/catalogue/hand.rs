//! What the hand can do otherwise.

use super::list::List;
use crate::faults::fault::{Slip, Wrong};
use crate::faults::hand::{acts, next_act};
use crate::faults::kind::Kind;
use crate::faults::scene::Scene;
use crate::panel::sheet::Action;

/// Each row of the hand's work. Rows that only compare change nothing; without RUN nothing runs.
pub fn rows(scene: &Scene, list: &mut List) {
    let switches = scene.panel.switches;
    for (row, task) in scene.tasks.iter().enumerate() {
        if !acts(&task.row) || matches!(task.row.action, Action::Run) {
            continue;
        }
        let mut add = |kind, slip| list.add(kind, Wrong::Row { row, slip });
        let (levers, lever, left_out) = match task.row.action {
            Action::Byte { .. } => (8, Kind::DataLever, Kind::LeftOut),
            Action::Sense(_) => (8, Kind::SenseLever, Kind::SenseLever),
            Action::Entry(_) => (switches, Kind::EntryLever, Kind::NotExamined),
            _ => (switches, Kind::AddressLever, Kind::LeftOut),
        };
        (0..levers).for_each(|number| add(lever, Slip::Lever(number)));
        add(left_out, Slip::LeftOut);
        add(Kind::Twice, Slip::Twice);
        let next = next_act(&scene.tasks, row);
        if next.is_some_and(|next| !matches!(scene.tasks[next].row.action, Action::Run)) {
            add(Kind::Exchanged, Slip::Exchanged);
        }
    }
}

/// A second attempt, after the first has come to each stage and to its end.
pub fn again(scene: &Scene, list: &mut List) {
    for after in 1..=scene.last() + 1 {
        list.add(Kind::SecondAttempt, Wrong::Again { after });
    }
}
