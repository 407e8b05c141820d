//! What went wrong with the stack: where it lies, and what it meets.

use super::Scene;
use crate::isa::{Mnemonic, decode};
use crate::notation::Address;
use crate::rehearsal::memory::UNDRIVEN;
use crate::source::{Code, Diagnostic};

/// What the instruction that loaded the stack pointer is called.
const SET_HERE: &str = "the stack pointer was loaded here";

impl Scene<'_> {
    /// The stack was used, and nobody had said where it is.
    pub(super) fn stack_unset(&self, pc: Address) -> Diagnostic {
        let text = match self.takes(pc) {
            true => "this takes what it finds where SP happens to point",
            false => "this pushes to wherever SP happens to point",
        };
        let headline = format!("`{}` uses the stack before it has one", self.runs.name);
        self.at(Diagnostic::error(Code::StackUnset, headline), pc, text)
            .with_note("SP holds noise after power-on, and RESET does not change it")
            .with_help(format!("begin with `LXI SP`{}", self.top_of_memory()))
    }

    /// Whether the instruction at an address takes from the stack before it puts anything there.
    fn takes(&self, pc: Address) -> bool {
        let mnemonic = decode(self.machine.board.memory.byte(pc)).mnemonic;
        matches!(mnemonic, Mnemonic::Pop | Mnemonic::Xthl | Mnemonic::Ret) || self.returns(pc)
    }

    /// Whether the instruction at an address returns, on a condition or without.
    fn returns(&self, pc: Address) -> bool {
        let byte = self.machine.board.memory.byte(pc);
        byte & 0o307 == 0o300
    }

    /// The stack lies where there is no memory.
    pub(super) fn stack_nowhere(&self, address: Address, pc: Address) -> Diagnostic {
        let headline = format!(
            "the stack of `{}` lies where there is no memory: it reaches `{}`",
            self.runs.name,
            self.address(address)
        );
        let problem = Diagnostic::error(Code::StackNowhere, headline);
        if self.takes(pc) {
            let problem = self.at(problem, pc, "this takes what nobody put there");
            return self.and_at(problem, self.machine.board.stack_set_by(), SET_HERE).with_help(format!(
                "see that no more is popped and returned than was pushed and called, or where SP points{}",
                self.top_of_memory()
            ));
        }
        let problem = self.at(problem, pc, "what this pushes is lost");
        let problem = self.and_at(problem, self.machine.board.stack_set_by(), SET_HERE);
        let undriven = self.address(Address(u16::from_be_bytes([UNDRIVEN; 2])));
        problem
            .with_note(format!("a return would go to `{undriven}`, which is what a bus reads that nothing drives"))
            .with_help(format!("load SP with the first address above free memory{}", self.top_of_memory()))
    }

    /// The stack grew into a program.
    pub(super) fn stack_overwrites(&self, address: Address, pc: Address) -> Diagnostic {
        let (runs, owner) = (&self.runs.name, self.owner(address));
        let whose = if owner == runs { "the program itself".into() } else { format!("`{owner}`") };
        let headline = format!("the stack of `{runs}` grows into {whose}: it writes over `{}`", self.address(address));
        let problem = self.at(Diagnostic::error(Code::WroteNeeded, headline), pc, "this pushes");
        let problem = self.and_at(problem, self.machine.board.stack_set_by(), SET_HERE);
        problem.with_help(format!("load SP with an address that has free memory below it{}", self.top_of_memory()))
    }

    /// What is being loaded came to lie on the stack.
    pub(super) fn stack_spoilt(&self, pc: Address) -> Diagnostic {
        let runs = &self.runs.name;
        let loaded = self.loaded.map_or("what it loads".into(), |loaded| format!("`{}`", loaded.name));
        let spoilt = self.machine.board.stack_spoilt();
        let place = spoilt.map_or(String::new(), |(address, _)| format!(" at `{}`", self.address(address)));
        let headline = format!("{loaded} was loaded over the stack of `{runs}`{place}");
        let problem = self.at(Diagnostic::error(Code::WroteNeeded, headline), pc, "this takes what is there now");
        let problem = self.and_at(problem, spoilt.map(|(_, pc)| pc), "stored by this");
        let problem = self.and_at(problem, self.machine.board.stack_set_by(), SET_HERE);
        problem.with_help(format!("load SP with an address that has free memory below it{}", self.top_of_memory()))
    }

    /// Where a stack would lie well, as words to be added.
    pub(super) fn top_of_memory(&self) -> String {
        let highest = self.plan.machine.memory.iter().max_by_key(|memory| memory.base);
        highest.map_or(String::new(), |memory| {
            let top = (memory.base.index() + memory.size) as u16;
            format!(": memory ends below {}", self.address(Address(top)))
        })
    }
}
