//! What of a start hangs on what memory, registers and flags held at power-on.

use super::chain::Run;
use super::places::source_of;
use super::unset::Misuse;
use crate::notation::Address;
use crate::project::Stage;
use crate::source::{Code, Diagnostic};

/// What would mend it.
const HELP: &str = "nobody knows what memory, registers and flags hold at power-on: set them first";

impl Run<'_> {
    /// Tells what a stage did with what nobody set.
    pub(super) fn tell_unset(&mut self, place: usize) {
        let stage = &self.plan.stages[self.start.stages[place]];
        let Some(unset) = &mut self.recorder.unset else { return };
        for (misuse, pc) in unset.take_misused() {
            match misuse {
                Misuse::Branches => {
                    let headline = format!("which way `{}` goes hangs on what nobody set", stage.name);
                    let fork = self.hanging(Diagnostic::error(Code::HangsOnNoise, headline), stage, pc, "here");
                    self.outcome.forks.push(fork);
                }
                Misuse::Stores | Misuse::Goes => {
                    let (does, whither) = match misuse {
                        Misuse::Goes => ("goes to", "this is where it goes"),
                        _ => ("stores at", "this is where it stores"),
                    };
                    let headline = format!("`{}` {does} an address that nobody set", stage.name);
                    let problem = Diagnostic::error(Code::PointerUnset, headline);
                    let problem = self.hanging(problem, stage, pc, whither);
                    self.outcome.problems.push(problem);
                }
                Misuse::Gives => {
                    let headline = format!("`{}` gives a device what nobody set", stage.name);
                    let problem = Diagnostic::warning(Code::HangsOnNoise, headline);
                    let problem = self.hanging(problem, stage, pc, "this byte hangs on what was there at power-on");
                    self.outcome.problems.push(problem);
                }
            }
        }
    }

    /// A problem of an instruction for which something was not set.
    pub(super) fn hanging(&self, problem: Diagnostic, stage: &Stage, pc: Address, text: &str) -> Diagnostic {
        let problem = match source_of(self.plan, stage, pc) {
            Some(span) => problem.at(span, text),
            None => problem.at(stage.span, format!("{text}, at {}", self.plan.machine.panel.notation.address(pc))),
        };
        problem.with_help(HELP)
    }
}
