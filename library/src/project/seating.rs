//! What is in each socket when a start begins, as far as the chain tells.

use super::listed::Id;
use super::plan::{Plan, Stage, Start};
use crate::rom::Socket;

/// What is in a socket.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Seating {
    /// Parts with these stages.
    Holds {
        /// Those at home in it, in the order of the chain file.
        stages: Vec<Id<Stage>>,
        /// Whether the start runs one of them. If not, nobody has said that it is seated.
        runs: bool,
    },
    /// Nothing: the start says so.
    SaidEmpty,
    /// Nothing: no stage of the chain lies in it, and nobody has said whether it is empty.
    TakenAsEmpty,
}

impl Plan {
    /// What is in each socket of the machine when a start begins.
    pub fn seating(&self, start: &Start) -> Vec<(Id<Socket>, Seating)> {
        let seating = |socket: Id<Socket>| {
            if start.empty.contains(&socket) {
                return Seating::SaidEmpty;
            }
            let at_home = |stage: &Stage| stage.home.sockets().contains(&socket);
            let stages = self.stages.numbered().filter(|(_, stage)| at_home(stage)).map(|(number, _)| number);
            let stages: Vec<_> = stages.collect();
            match stages.as_slice() {
                [] => Seating::TakenAsEmpty,
                there => Seating::Holds { runs: there.iter().any(|stage| start.stages.contains(stage)), stages },
            }
        };
        self.machine.sockets.numbered().map(|(socket, _)| (socket, seating(socket))).collect()
    }

    /// The names of stages in a list, each in backquotes.
    pub fn names_of(&self, stages: &[Id<Stage>]) -> String {
        let names = stages.iter().map(|&stage| format!("`{}`", self.stages[stage].name));
        names.collect::<Vec<_>>().join(", ")
    }

    /// What a rehearsal of a start takes for granted of sockets, in words.
    pub fn assumed_of_sockets(&self, start: &Start) -> Vec<String> {
        let words = |(socket, seating): (Id<Socket>, Seating)| {
            let name = &self.machine.sockets[socket].name;
            match seating {
                Seating::Holds { stages, runs: false } => {
                    let held = self.names_of(&stages);
                    Some(format!("socket {name} holds {held} (the start does not say that it is empty)"))
                }
                Seating::TakenAsEmpty => Some(format!("socket {name} is empty (no stage of the chain lies in it)")),
                Seating::Holds { runs: true, .. } | Seating::SaidEmpty => None,
            }
        };
        self.seating(start).into_iter().filter_map(words).collect()
    }
}
