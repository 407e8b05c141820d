//! From power-on to RUN: what lies in the sockets, and what the hand deposits.

use super::chain::Run;
use super::diagnose;
use super::hand::Hand;
use super::outcome::Event;
use crate::isa::TStates;
use crate::notation::{Address, counted};
use crate::panel::sheet::Action;
use crate::project::{Home, Id, Seating, Stage};
use crate::source::{Code, Diagnostic};

impl Run<'_> {
    /// Memory holds noise; the hand deposits what has its home at the panel.
    ///
    /// # Errors
    /// What cannot be deposited, a slip where nothing is deposited, lights that differ from the sheet.
    pub fn power_on(&mut self) -> Result<(), Box<Diagnostic>> {
        let plan = self.plan;
        let sockets = self.sockets();
        self.event(TStates(0), format!("power on and reset; memory holds noise{sockets}"), "anything".into());
        self.faults_are_deposited()?;
        for (number, stage) in plan.stages.numbered() {
            let sockets = stage.home.sockets();
            if !sockets.is_empty() && sockets.iter().all(|socket| !self.start.empty.contains(socket)) {
                self.announce(number);
            }
        }
        // The sheet of the first ends with RUN.
        for place in (1..self.start.stages.len()).chain([0]) {
            let number = self.start.stages[place];
            let stage = &plan.stages[number];
            if !matches!(stage.home, Home::Panel(_)) {
                continue;
            }
            self.deposit(number, place == 0)?;
            if place > 0 {
                for extent in stage.image.extents() {
                    self.machine.board.set_needed(extent.base, extent.bytes.len(), true);
                }
            }
        }
        self.insert_disks()?;
        self.machine.board.sense = self.sense;
        self.machine.board.run_only_programs();
        Ok(())
    }

    /// What is in the sockets, each with a semicolon before it.
    fn sockets(&self) -> String {
        let words = |(socket, seating)| {
            let name = &self.plan.machine.sockets[socket].name;
            match seating {
                Seating::Holds { stages, .. } => format!("; {name} holds {}", self.plan.names_of(&stages)),
                Seating::SaidEmpty | Seating::TakenAsEmpty => format!("; {name} is empty"),
            }
        };
        self.plan.seating(self.start).into_iter().map(words).collect()
    }

    /// The byte that is deposited at an address.
    fn deposited(&self, address: Address) -> Option<u8> {
        let stages = self.start.stages.iter().map(|&stage| &self.plan.stages[stage]);
        let mut at_panel = stages.filter(|stage| matches!(stage.home, Home::Panel(_)));
        at_panel.find_map(|stage| stage.image.byte(address))
    }

    /// A fault of the hand at an address where it deposits nothing, or of the very byte that belongs there, would change
    /// nothing, and look as if it did no harm.
    fn faults_are_deposited(&self) -> Result<(), Box<Diagnostic>> {
        let notation = self.plan.machine.panel.notation;
        let same = self.request.slips.iter().find(|(address, byte)| self.deposited(*address) == Some(*byte));
        if let Some((address, byte)) = same {
            let (shown, byte) = (notation.address(*address), notation.byte(*byte));
            let headline = format!("the slip at `{shown}` is none: `{byte}` belongs there");
            let problem = Diagnostic::error(Code::NothingToDeposit, headline);
            return Err(Box::new(problem.with_help("`--slip` takes a byte that is not the one of the sheet")));
        }
        let slips = self.request.slips.iter().map(|(address, _)| *address);
        let Some(address) =
            slips.chain(self.request.skips.iter().copied()).find(|address| self.deposited(*address).is_none())
        else {
            return Ok(());
        };
        let shown = notation.address(address);
        let problem = Diagnostic::error(Code::NothingToDeposit, format!("nothing is deposited at `{shown}`"));
        Err(Box::new(problem.with_help("`--slip` and `--skip` take addresses of a stage that is toggled in")))
    }

    /// Plays the steps of the stage's deposit sheet, which starts it or does not.
    fn deposit(&mut self, number: Id<Stage>, starts: bool) -> Result<(), Box<Diagnostic>> {
        let (plan, stage) = (self.plan, &self.plan.stages[number]);
        let Some(sheet) = self.made.sheet(number, starts.then_some(self.start.sense)) else {
            let headline = format!("`{}` has no deposit sheet", stage.name);
            return Err(Box::new(Diagnostic::error(Code::NothingToDeposit, headline).at(stage.span, "this stage")));
        };
        let mut hand = Hand::new(&self.request.slips, &self.request.skips);
        for row in sheet.rows() {
            let byte = match row.action {
                Action::Byte { address, .. } => Some(address),
                _ => None,
            };
            for step in row.steps() {
                hand.act(step, byte, &mut self.machine)
                    .map_err(|differs| Box::new(diagnose::differs(stage, &plan.machine, differs)))?;
            }
        }
        let what = format!("deposit and verify {} of `{}`", counted(stage.image.len(), "byte"), stage.name);
        let lights = "what the sheet says, row by row".into();
        self.outcome.events.push(Event { at: TStates(0), by_hand: Some(sheet.seconds()), what, lights });
        Ok(())
    }

    /// Says which bytes of a stage are instructions.
    pub fn announce(&mut self, number: Id<Stage>) {
        let stage = &self.plan.stages[number];
        let board = &mut self.machine.board;
        for extent in stage.image.extents() {
            for at in 0..extent.bytes.len() {
                let address = extent.base.wrapping_add(at as u16);
                board.set_program(address);
                board.set_data(address, stage.code.as_ref().is_some_and(|code| !code.is_opcode(address)));
            }
        }
        for &opcode in stage.code.iter().flat_map(|code| &code.opcodes) {
            board.set_program(Address(opcode));
            board.set_data(Address(opcode), false);
        }
    }

    /// A failure after a fault that was asked for says what the fault was.
    pub fn with_faults(&self, problem: Diagnostic) -> Diagnostic {
        self.departures().into_iter().fold(problem, Diagnostic::with_note)
    }
}
