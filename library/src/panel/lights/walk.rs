//! The way that a run is taken to go, and at each branch on an open flag the other one, as far as it differs.

use std::collections::{BTreeMap, HashMap};

use super::fold::{self, Passage};
use super::request::{Request, World};
use super::state::{Base, State};
use super::trace::{Bench, Cycle, Fork, Instruction, Outcome};
use super::ways::{Branch, End, Place, Way};
use crate::notation::Address;

/// The most branches of a run that are drawn.
const BRANCHES: usize = 26;
/// The most machine cycles of a branch.
const BRANCH_CYCLES: u64 = 300;
/// The most states that are kept to notice that a branch comes back to what is drawn; none of them with more changed
/// bytes of memory than the second.
const KEPT: (usize, usize) = (1024, 512);
/// The most other ways that are kept until they are looked at; of one branch instruction the second.
const PENDING: (usize, usize) = (512, 4);
/// Instructions that a branch may show the same lights as drawn rows before it must be in the same state too.
const ALIKE: usize = 16;

struct Pending {
    state: State,
    /// The first cycles of the branch instruction, which both ways have: how many.
    common: usize,
    after: Place,
    /// The branch instruction, and what the flag is on this way.
    key: (u16, bool),
}

/// A run with all its ways.
pub struct Walk<'a> {
    bench: Bench<'a>,
    request: &'a Request,
    drawn: HashMap<u16, Vec<(Place, State)>>,
    kept: usize,
    pending: BTreeMap<usize, Pending>,
    seen: HashMap<(u16, bool), usize>,
    forks: usize,
}

/// What came of a run.
pub struct Walked {
    pub passages: Vec<Passage>,
    pub cycles: u64,
    pub end: End,
}

impl<'a> Walk<'a> {
    pub fn new(base: Base, request: &'a Request) -> Walk<'a> {
        Walk {
            bench: Bench::new(base, request),
            request,
            drawn: HashMap::new(),
            kept: 0,
            pending: BTreeMap::new(),
            seen: HashMap::new(),
            forks: 0,
        }
    }

    /// The way that the run is taken to go.
    pub fn main(&mut self) -> Walked {
        let state = self.bench.start();
        self.follow(state, None, self.request.cycles, Vec::new())
    }

    /// The other ways of the forks in `passages`, and of those in them; and where that of each fork is drawn.
    pub fn others(&mut self, passages: &[Passage]) -> (Vec<Branch>, BTreeMap<usize, Way>) {
        let (mut branches, mut ways) = (Vec::new(), BTreeMap::new());
        let mut by_key: HashMap<(u16, bool), usize> = HashMap::new();
        let mut forks = Vec::new();
        collect(passages, &mut forks);
        let mut at = 0;
        while let Some(&fork) = forks.get(at) {
            at += 1;
            let way = match self.pending.remove(&fork.number) {
                None => Way::Unfollowed,
                Some(pending) => {
                    let known = by_key.get(&pending.key).copied();
                    let key = pending.key;
                    match self.begin(pending, branches.len(), known) {
                        Ok((after, first, walked)) => {
                            collect(&walked.passages, &mut forks);
                            by_key.insert(key, branches.len());
                            let Walked { passages, cycles, end } = walked;
                            branches.push(Branch { fork, after, first, passages, cycles, end });
                            Way::Branch(branches.len() - 1)
                        }
                        Err(way) => way,
                    }
                }
            };
            ways.insert(fork.number, way);
        }
        (branches, ways)
    }

    /// Goes the other way, unless it is drawn already, or too many are.
    fn begin(&mut self, pending: Pending, number: usize, known: Option<usize>) -> Result<(Place, u64, Walked), Way> {
        let Pending { mut state, common, after, .. } = pending;
        let mut first = state.stops;
        let (mut instruction, outcome) = self.bench.step(&mut state);
        let rest = instruction.cycles.split_off(common.min(instruction.cycles.len()));
        first += instruction.cycles.iter().filter(|cycle| cycle.stops).count() as u64 + 1;
        if rest.is_empty()
            && outcome == Outcome::Next
            && let Some(place) = self.joins(&state, None)
        {
            return Err(Way::Row(place));
        }
        if let Some(known) = known {
            return Err(Way::Like(known));
        }
        if number >= BRANCHES {
            return Err(Way::Unfollowed);
        }
        let begun = (!rest.is_empty()).then_some(Instruction { cycles: rest, ..instruction });
        let passages: Vec<Passage> = begun.into_iter().map(Passage::Instruction).collect();
        if let Outcome::Lost(lost) = outcome {
            let cycles = counted(&passages);
            return Ok((after, first, Walked { passages, cycles, end: End::Lost(lost) }));
        }
        Ok((after, first, self.follow(state, Some(number), BRANCH_CYCLES.min(self.request.cycles), passages)))
    }

    /// Executes until there is a reason to end.
    fn follow(&mut self, mut state: State, branch: Option<usize>, limit: u64, mut passages: Vec<Passage>) -> Walked {
        let mut cycles = counted(&passages);
        let mut returns = Returns::default();
        let mut begun = branch.is_some();
        let end = loop {
            let at = Address(state.pc);
            if begun && self.request.until == Some(at) {
                break End::Reached(at);
            }
            if cycles >= limit {
                break End::Count(at);
            }
            if !state.is_filled(&self.bench.base, at.0) {
                break End::NoProgram(at);
            }
            if branch.is_some()
                && let Some(place) = self.joins(&state, branch)
            {
                break End::Joined(place);
            }
            begun = true;
            self.keep(&state, branch);
            let (mut instruction, outcome) = self.instruction(&mut state, branch);
            let room = limit - cycles;
            if instruction.cycles.len() as u64 > room {
                instruction.cycles.truncate(room as usize);
                instruction.fork = None;
                cycles = limit;
                passages.push(Passage::Instruction(instruction));
                break End::CountWithin(at);
            }
            cycles += instruction.cycles.len() as u64;
            passages.push(Passage::Instruction(instruction));
            let closed_loop = fold::fold(&mut passages);
            match outcome {
                Outcome::Halted => break End::Halted,
                Outcome::Lost(lost) => break End::Lost(lost),
                Outcome::Next if closed_loop && returns.sees_again(&state, &self.bench.base) => break End::Endless,
                Outcome::Next => {}
            }
        };
        Walked { passages, cycles, end }
    }

    /// Runs one instruction; where an open flag decides, the way that the run is taken to go.
    fn instruction(&mut self, state: &mut State, branch: Option<usize>) -> (Instruction, Outcome) {
        let condition = self.bench.condition(state).filter(|condition| condition.bit.is_open());
        let Some(condition) = condition else { return self.bench.step(state) };
        let unknowns = &self.bench.unknowns;
        let taken = unknowns.taken(condition.bit);
        let (Some(cause), Some((_, complement))) = (unknowns.cause(condition.bit), condition.bit.variable()) else {
            return self.bench.step(state);
        };
        let mut other = state.clone();
        other.settle(condition.bit, !taken);
        state.settle(condition.bit, taken);
        let key = (state.pc, !taken);
        let (mut instruction, outcome) = self.bench.step(state);
        let number = self.forks;
        self.forks += 1;
        instruction.fork = Some(Fork { number, flag: (condition.name, !taken), cause, lit: taken == complement });
        let of_key = self.seen.entry(key).or_default();
        *of_key += 1;
        if *of_key <= PENDING.1 && self.pending.len() < PENDING.0 {
            // What a conditional return or call does only where it is taken comes behind these.
            let common = condition.cycles;
            let stops = instruction.cycles[..common].iter().filter(|cycle| cycle.stops).count() as u64;
            let after = Place { branch, step: other.stops + stops };
            self.pending.insert(number, Pending { state: other, common, after, key });
        }
        (instruction, outcome)
    }

    /// Keeps the state before a row that will be drawn for certain: the first at its address in this way.
    fn keep(&mut self, state: &State, branch: Option<usize>) {
        if matches!(self.request.world, World::Taken(_)) || self.kept >= KEPT.0 || state.changed().len() > KEPT.1 {
            return;
        }
        let states = self.drawn.entry(state.pc).or_default();
        if states.iter().all(|(place, _)| place.branch != branch) {
            states.push((Place { branch, step: state.stops + 1 }, state.clone()));
            self.kept += 1;
        }
    }

    /// The row, drawn in another way than `branch`, from which on the lights are as they would be from `state` on.
    fn joins(&mut self, state: &State, branch: Option<usize>) -> Option<Place> {
        let drawn = self.drawn.get(&state.pc)?.clone();
        let mut others = drawn.into_iter().filter(|(place, _)| branch.is_none() || place.branch != branch);
        others.find(|(_, drawn)| self.is_alike(drawn.clone(), state.clone())).map(|(place, _)| place)
    }

    fn is_alike(&mut self, mut drawn: State, mut state: State) -> bool {
        for _ in 0..ALIKE {
            if drawn.covers(&state, &self.bench.base) {
                return true;
            }
            let open = |bench: &mut Bench, state: &mut State| {
                bench.condition(state).is_some_and(|condition| condition.bit.is_open())
            };
            if drawn.pc != state.pc || open(&mut self.bench, &mut drawn) || open(&mut self.bench, &mut state) {
                return false;
            }
            let (rows, outcome) = self.bench.step(&mut drawn);
            let (others, other_outcome) = self.bench.step(&mut state);
            let same = rows.cycles.len() == others.cycles.len() && rows.cycles.iter().zip(&others.cycles).all(shows);
            if !same || outcome != other_outcome || matches!(outcome, Outcome::Lost(_)) {
                return false;
            }
            if outcome == Outcome::Halted {
                return true;
            }
        }
        false
    }
}

/// Whether a drawn cycle holds for another one: what is known of it is so there.
fn shows((drawn, other): (&Cycle, &Cycle)) -> bool {
    let address = |cycle: &Cycle, mask: u16| cycle.address.map(|address| address & !mask);
    let data = |cycle: &Cycle, mask: u8| cycle.data.map(|data| data & !mask);
    drawn.kind == other.kind
        && other.open_address & !drawn.open_address == 0
        && other.open_data & !drawn.open_data == 0
        && address(drawn, drawn.open_address) == address(other, drawn.open_address)
        && data(drawn, drawn.open_data) == data(other, drawn.open_data)
}

fn counted(passages: &[Passage]) -> u64 {
    let cycles = |passage: &Passage| match passage {
        Passage::Instruction(instruction) => instruction.cycles.len() as u64,
        Passage::Loop(_) => 0,
    };
    passages.iter().map(cycles).sum()
}

fn collect(passages: &[Passage], forks: &mut Vec<Fork>) {
    for passage in passages {
        match passage {
            Passage::Instruction(instruction) => forks.extend(instruction.fork),
            Passage::Loop(inner) => collect(&inner.body, forks),
        }
    }
}

/// Notices that a state came back, by comparing with one kept from earlier; the distance doubles (R. P. Brent, "An
/// improved Monte Carlo factorization algorithm", BIT 20, 1980).
#[derive(Default)]
struct Returns {
    kept: Option<State>,
    age: u64,
    limit: u64,
}

impl Returns {
    fn sees_again(&mut self, state: &State, base: &Base) -> bool {
        if self.kept.as_ref().is_some_and(|kept| kept.covers(state, base)) {
            return true;
        }
        self.age += 1;
        if self.age >= self.limit {
            *self = Returns { kept: Some(state.clone()), age: 0, limit: (self.limit * 2).max(1) };
        }
        false
    }
}
