//! Code whose time may be counted: loops and routines that only pass it, loops that work a port by counting, and what
//! stands between two accesses to ports with something in it that does nothing.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::RangeInclusive;

use super::code::Code;
use super::effect::{Effect, Places, is_conditional, returns};
use super::routines::Routine;
use super::row::Row;
use crate::isa::{CycleKind, Mnemonic, Operands, Pair};

/// Rows whose time may be counted.
pub(super) fn timed(
    code: &Code,
    effects: &[Effect],
    routines: &BTreeMap<usize, Routine>,
    live: &[Places],
) -> BTreeSet<usize> {
    let timing = Timing::new(code, effects, routines, live);
    let loops = timing.loops();
    let waits: BTreeSet<_> = routines.keys().copied().filter(|&start| timing.only_waits(start, &loops)).collect();
    let calls_wait =
        |at: &RangeInclusive<usize>| at.clone().any(|row| timing.callee(row).is_some_and(|it| waits.contains(&it)));
    let idle = |at: &&RangeInclusive<usize>| timing.is_idle(at) || timing.works_port(at, &loops) || calls_wait(at);
    let idle: Vec<_> = loops.iter().filter(idle).collect();
    let around = loops.iter().filter(|at| idle.iter().any(|it| at.start() <= it.start() && it.end() <= at.end()));
    let mut timed: BTreeSet<usize> = around.flat_map(|at| at.clone()).collect();
    timed.extend(waits.iter().flat_map(|start| routines[start].rows.iter().copied()));
    timed.extend(timing.between_ports(&waits));
    timed.extend(timing.unreached());
    timed
}

struct Timing<'a> {
    code: &'a Code,
    effects: &'a [Effect],
    routines: &'a BTreeMap<usize, Routine>,
    live: &'a [Places],
    /// Routines that do nothing that lasts but for registers and flags, with all that they call.
    quiet: BTreeSet<usize>,
}

impl<'a> Timing<'a> {
    fn new(
        code: &'a Code,
        effects: &'a [Effect],
        routines: &'a BTreeMap<usize, Routine>,
        live: &'a [Places],
    ) -> Timing<'a> {
        let regular = routines.iter().filter(|(_, it)| it.is_regular).map(|(&start, _)| start);
        let mut timing = Timing { code, effects, routines, live, quiet: regular.collect() };
        loop {
            let is_quiet = |start: &usize| routines[start].rows.iter().all(|&row| timing.passes_time(row));
            let quiet: BTreeSet<_> = timing.quiet.iter().copied().filter(is_quiet).collect();
            if quiet.len() == timing.quiet.len() {
                return timing;
            }
            timing.quiet = quiet;
        }
    }

    fn row(&self, number: usize) -> &Row {
        &self.code.rows[number]
    }

    /// What lies between each jump back and its target.
    fn loops(&self) -> Vec<RangeInclusive<usize>> {
        let back = |(number, row): (usize, &Row)| {
            let jumps = row.mnemonic().goes_to_address() && !row.mnemonic().calls();
            let target = self.code.row_at(row.operand).filter(|_| jumps)?;
            (target <= number).then_some(target..=number)
        };
        self.code.rows.iter().enumerate().filter_map(back).collect()
    }

    /// Where the routine begins that a row calls.
    fn callee(&self, number: usize) -> Option<usize> {
        let row = self.row(number);
        let calls = row.mnemonic().calls() && row.mnemonic() != Mnemonic::Rst;
        self.code.row_at(row.operand).filter(|_| calls)
    }

    /// Whether a row does nothing that lasts but for registers, flags and the stack; what it reads is of no use.
    fn passes_time(&self, number: usize) -> bool {
        let row = self.row(number);
        match row.mnemonic() {
            Mnemonic::Hlt | Mnemonic::Out | Mnemonic::Pchl | Mnemonic::Rst => return false,
            Mnemonic::Push | Mnemonic::Pop | Mnemonic::Xthl => return true,
            it if returns(it) => return true,
            it if it.calls() => return self.callee(number).is_some_and(|start| self.quiet.contains(&start)),
            _ => {}
        }
        if matches!(row.instruction.operands, Operands::Pair(Pair::Sp) | Operands::PairWord(Pair::Sp)) {
            return row.mnemonic() == Mnemonic::Dad;
        }
        let of_kind = |kind: CycleKind| row.instruction.cycles.iter().filter(|cycle| cycle.kind == kind).count();
        // Its own bytes are read in cycles too: as many as it is long.
        let own = usize::from(row.instruction.length) - 1;
        let reads = of_kind(CycleKind::Read) + of_kind(CycleKind::Input) > own;
        of_kind(CycleKind::Write) == 0 && (!reads || self.is_dead(number))
    }

    /// Whether nobody reads what a row leaves.
    fn is_dead(&self, number: usize) -> bool {
        self.effects[number].writes & self.live[number] == 0
    }

    fn is_idle(&self, at: &RangeInclusive<usize>) -> bool {
        at.clone().all(|number| self.passes_time(number) && !returns(self.row(number).mnemonic()))
    }

    /// Whether a routine leaves nothing that anybody reads: all that it does is to take its time.
    fn only_waits(&self, start: usize, loops: &[RangeInclusive<usize>]) -> bool {
        let routine = &self.routines[&start];
        let mut saved = 0;
        let mut written = 0;
        for &number in &routine.rows {
            match self.row(number).mnemonic() {
                Mnemonic::Push => saved |= self.effects[number].reads,
                _ => written |= self.effects[number].writes,
            }
        }
        let read = routine.returns.iter().fold(0, |all, &number| all | self.live[number]);
        let takes_time = |number: usize| self.does_nothing(number) || loops.iter().any(|at| at.contains(&number));
        self.quiet.contains(&start)
            && routine.rows.iter().any(|&number| takes_time(number) || self.callee(number).is_some())
            && written & !saved & read == 0
    }

    /// What nobody is seen to reach, and holds something that does nothing: it may be called by others to wait.
    fn unreached(&self) -> Vec<usize> {
        let mut reached = BTreeSet::new();
        let mut left: Vec<usize> = self.code.entered.iter().chain(&self.code.changing).copied().collect();
        while let Some(number) = left.pop() {
            if reached.insert(number) {
                let row = self.row(number);
                left.extend(self.code.successors(number).into_iter().flatten());
                left.extend(self.code.row_at(row.next()).filter(|_| row.mnemonic().calls()));
            }
        }
        let unseen: Vec<_> = (0..self.code.rows.len()).filter(|number| !reached.contains(number)).collect();
        let stretches =
            unseen.chunk_by(|one, next| one + 1 == *next && self.row(*one).next() == self.row(*next).address);
        let holds = |stretch: &&[usize]| stretch.iter().any(|&number| self.does_nothing(number));
        stretches.filter(holds).flatten().copied().collect()
    }

    /// Whether a row does nothing but take its time, by itself or with its neighbour.
    fn does_nothing(&self, number: usize) -> bool {
        let row = self.row(number);
        let next = self.code.rows.get(number + 1).filter(|next| next.address == row.next());
        match row.mnemonic() {
            Mnemonic::Nop => true,
            // One that names what follows is there because something stood between once.
            Mnemonic::Jmp => row.operand == row.next() && row.text.as_ref().is_some_and(|it| it.text.contains('$')),
            Mnemonic::Xthl => next.is_some_and(|next| next.mnemonic() == Mnemonic::Xthl),
            Mnemonic::Push => next.is_some_and(|next| {
                next.mnemonic() == Mnemonic::Pop && next.instruction.operands == row.instruction.operands
            }),
            it if it.goes_to_address() || it.ends_flow() || is_conditional(it) || it.calls() => false,
            Mnemonic::In | Mnemonic::Out | Mnemonic::Pop => false,
            _ => self.passes_time(number) && self.is_dead(number),
        }
    }

    /// Whether a loop works a port and ends by a count, or holds something that does nothing, or does nothing besides; and
    /// does not wait for a port in a loop of its own.
    fn works_port(&self, at: &RangeInclusive<usize>, loops: &[RangeInclusive<usize>]) -> bool {
        let is = |number: usize, mnemonic: Mnemonic| self.row(number).mnemonic() == mnemonic;
        let reads = |at: &RangeInclusive<usize>| at.clone().any(|row| is(row, Mnemonic::In));
        let ports = reads(at) || at.clone().any(|row| is(row, Mnemonic::Out));
        let calls = at.clone().any(|row| self.row(row).mnemonic().calls());
        let within = |it: &&RangeInclusive<usize>| at.start() <= it.start() && it.end() <= at.end();
        let polls = loops.iter().filter(within).any(|it| reads(it) && !self.is_counted(it));
        let nothing_else = || at.clone().all(|row| is(row, Mnemonic::Out) || self.passes_time(row));
        let pads = || at.clone().any(|row| self.does_nothing(row));
        ports && !calls && !polls && (self.is_counted(at) || pads() || nothing_else())
    }

    /// Whether the jump back of a loop looks at the flags of a register that is counted down or up.
    fn is_counted(&self, at: &RangeInclusive<usize>) -> bool {
        let before = at.end().checked_sub(1).filter(|before| at.contains(before));
        let counts = |row: &Row| matches!(row.mnemonic(), Mnemonic::Dcr | Mnemonic::Inr);
        is_conditional(self.row(*at.end()).mnemonic()) && before.is_some_and(|before| counts(self.row(before)))
    }

    /// Rows that stand between two accesses to ports, in a straight run with something in it that does nothing.
    fn between_ports(&self, waits: &BTreeSet<usize>) -> BTreeSet<usize> {
        let is_port = |row: &Row| matches!(row.mnemonic(), Mnemonic::In | Mnemonic::Out);
        let mut found = BTreeSet::new();
        for first in (0..self.code.rows.len()).filter(|&first| is_port(self.row(first))) {
            let mut pads = false;
            for number in first + 1..self.code.rows.len() {
                let row = self.row(number);
                if row.address != self.row(number - 1).next() {
                    break;
                }
                if is_port(row) {
                    if pads {
                        found.extend(first + 1..number);
                    }
                    break;
                }
                let waits = self.callee(number).is_some_and(|start| waits.contains(&start));
                let nothing = waits || self.does_nothing(number);
                pads |= nothing;
                let mnemonic = row.mnemonic();
                if !nothing
                    && (mnemonic.goes_to_address()
                        || mnemonic.ends_flow()
                        || is_conditional(mnemonic)
                        || mnemonic.calls())
                {
                    break;
                }
            }
        }
        found
    }
}
