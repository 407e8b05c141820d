//! One instruction after the other, with a record of every machine cycle and of what is not known of it.

use std::collections::VecDeque;

use super::bits::{Bit, Byte, Cause, Origin, Unknowns, Word, bits, split, value};
use super::ground::Ground;
use super::request::{Request, World};
use super::state::{Base, State};
use crate::isa::{CycleKind, decode};
use crate::notation::Address;
use crate::panel::live::LiveByte;
use crate::panel::model::Reach;

/// The most open bits of an address at which something may be written or read: so many places are looked at.
const OPEN_ADDRESS_BITS: u32 = 8;

/// One machine cycle as the lights show it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cycle {
    /// What goes over the bus; gives the status lights.
    pub kind: CycleKind,
    /// The address lights, open ones as zero; `None` for an internal cycle.
    pub address: Option<u16>,
    /// The address lights that may show anything.
    pub open_address: u16,
    /// The data lights, open ones as zero; `None` where no byte moves.
    pub data: Option<u8>,
    /// The data lights that may show anything.
    pub open_data: u8,
    /// What lies at the address of memory.
    pub ground: Ground,
    /// How the byte of a port moves by itself.
    pub live: Option<LiveByte>,
    /// What the run takes the byte of a port to be where it has to go one way.
    pub taken: Option<u8>,
    /// Whether a stepped panel stops in it.
    pub stops: bool,
    /// In a loop: what was different in later passes.
    pub varying: Option<Varying>,
}

/// The last pass of a loop, where its lights differed from the first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Varying {
    /// The address of the last pass.
    pub address: Option<u16>,
    /// The byte of the last pass.
    pub data: Option<u8>,
}

/// An instruction with its machine cycles.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Instruction {
    /// Where it stands.
    pub address: Address,
    /// Its machine cycles, at least one.
    pub cycles: Vec<Cycle>,
    /// Where an open flag decides how it goes on: the other way.
    pub fork: Option<Fork>,
}

/// The way that a run does not take at a branch on an open flag.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fork {
    /// Its number in the run.
    pub number: usize,
    /// The flag: its name and what it is on the other way.
    pub flag: (&'static str, bool),
    /// What decides the flag.
    pub cause: Cause,
    /// Where one bit decides: what that bit is on the other way.
    pub lit: bool,
}

/// Why a run cannot be followed beyond an instruction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lost {
    /// It goes on at an address of which not every bit is known.
    Way(Option<Origin>),
    /// It writes to an address of which so few bits are known that any byte may have changed.
    Write(Option<Origin>),
    /// The first byte of the instruction at this address is not known.
    Opcode(Address, Option<Origin>),
}

/// What came of one instruction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// The next one is at the program counter.
    Next,
    /// The processor has halted.
    Halted,
    /// It cannot be told how it goes on.
    Lost(Lost),
}

/// Memory, ports and whatever is not known of them, for all ways of a run.
pub struct Bench<'a> {
    pub base: Base,
    pub unknowns: Unknowns,
    request: &'a Request,
}

/// The flag that a conditional instruction looks at, and what it asks it to be.
pub struct Condition {
    pub bit: Bit,
    pub name: &'static str,
    /// Machine cycles of the instruction where it is not taken: one for each of its bytes.
    pub cycles: usize,
}

impl<'a> Bench<'a> {
    pub fn new(base: Base, request: &'a Request) -> Bench<'a> {
        Bench { base, unknowns: Unknowns::default(), request }
    }

    /// The state in which the run starts.
    pub fn start(&mut self) -> State {
        match self.request.world {
            World::Open { .. } => State::open(self.request.start.0, &mut self.unknowns),
            World::Taken(_) => State::zero(self.request.start.0),
        }
    }

    /// The byte at an address. Where nobody put one, it becomes an open one from now on; where no memory is, it is an
    /// other one each time.
    pub fn look(&mut self, state: &mut State, address: u16) -> Byte {
        if self.base.ground(address).is_blank() {
            return match self.request.world {
                World::Open { .. } => self.unknowns.open(Some(Origin::Blank(address)), 0),
                World::Taken(_) => bits(0),
            };
        }
        state.byte(&self.base, address).unwrap_or_else(|| {
            let byte = match self.request.world {
                World::Open { .. } => self.unknowns.open(Some(Origin::Memory(address)), 0),
                World::Taken(_) => bits(0),
            };
            state.store(address, byte);
            byte
        })
    }

    /// The condition of the next instruction, if it has one and its opcode is known.
    pub fn condition(&mut self, state: &mut State) -> Option<Condition> {
        let opcode = value(&self.look(state, state.pc))?.to_le_bytes()[0];
        // Bits 7 and 6 are ones and bit 0 a zero; bits 2 and 1 tell return, jump and call.
        if opcode & 0o301 != 0o300 || opcode & 0o007 == 0o006 {
            return None;
        }
        let (at, name) = [(6, "zero"), (0, "carry"), (2, "parity"), (7, "sign")][usize::from(opcode >> 4 & 3)];
        Some(Condition { bit: state.flags()[at], name, cycles: usize::from(decode(opcode).length) })
    }

    /// Runs one instruction, of which the condition, if it has one, is known.
    pub fn step(&mut self, state: &mut State) -> (Instruction, Outcome) {
        let address = Address(state.pc);
        let mut run = Run { bench: self, state, cycles: Vec::new(), lost: None };
        let fetched = run.fetch();
        let outcome = match value(&fetched) {
            Some(opcode) => run.execute(decode(opcode.to_le_bytes()[0])),
            None => Outcome::Lost(Lost::Opcode(address, run.origin(&fetched))),
        };
        let outcome = run.lost.map_or(outcome, Outcome::Lost);
        (Instruction { address, cycles: run.cycles, fork: None }, outcome)
    }

    fn given(&self, port: u8) -> Option<&VecDeque<u8>> {
        self.request.inputs.get(&port).filter(|values| !values.is_empty())
    }
}

/// An instruction on its way.
pub(super) struct Run<'r, 'a> {
    pub bench: &'r mut Bench<'a>,
    pub state: &'r mut State,
    cycles: Vec<Cycle>,
    pub lost: Option<Lost>,
}

impl Run<'_, '_> {
    /// Where open bits come from, if from one place.
    pub fn origin(&self, bits: &[Bit]) -> Option<Origin> {
        let mut origins = bits.iter().filter_map(|&bit| self.bench.unknowns.cause(bit)).map(|cause| cause.origin);
        let first = origins.next().flatten()?;
        origins.all(|origin| origin == Some(first)).then_some(first)
    }

    fn record(&mut self, kind: CycleKind, address: Option<&[Bit]>, data: Option<Byte>) {
        let (address, open_address) = address.map_or((None, 0), |address| {
            let (known, open) = split(address);
            (Some(known), open)
        });
        let (data, open_data) = data.map_or((None, 0), |data| {
            let (known, open) = split(&data);
            (Some(known.to_le_bytes()[0]), open.to_le_bytes()[0])
        });
        let stops = match self.bench.request.panel.step {
            Reach::Cycle => kind.status().is_some(),
            Reach::Instruction => matches!(kind, CycleKind::Fetch | CycleKind::HaltAcknowledge),
        };
        self.state.stops += u64::from(stops);
        let ground = match (kind, address) {
            (CycleKind::Input | CycleKind::Output, _) | (_, None) => Ground::Memory,
            (_, Some(_)) if open_address != 0 => Ground::Memory,
            (_, Some(address)) => self.bench.base.ground(address),
        };
        let (live, taken, varying) = (None, None, None);
        self.cycles.push(Cycle { kind, address, open_address, data, open_data, ground, live, taken, stops, varying });
    }

    /// The number of the row that the next cycle has, or the one from which a press of SINGLE STEP goes through it.
    fn row(&self) -> u64 {
        match self.bench.request.panel.step {
            Reach::Cycle => self.state.stops + 1,
            Reach::Instruction => self.state.stops,
        }
    }

    fn fetch(&mut self) -> Byte {
        self.next_byte(CycleKind::Fetch)
    }

    pub fn operand(&mut self) -> Byte {
        self.next_byte(CycleKind::Read)
    }

    fn next_byte(&mut self, kind: CycleKind) -> Byte {
        let byte = self.read(kind, bits(self.state.pc));
        self.state.pc = self.state.pc.wrapping_add(1);
        byte
    }

    /// What open bits are taken to be.
    fn taken<const N: usize>(&self, bits: [Bit; N]) -> u16 {
        bits.iter().rev().fold(0, |all, &bit| all << 1 | u16::from(self.bench.unknowns.taken(bit)))
    }

    /// The other addresses that an address may be; `None` if they are too many.
    fn others(address: Word, taken: u16) -> Option<Vec<u16>> {
        let (known, open) = split(&address);
        if open.count_ones() > OPEN_ADDRESS_BITS {
            return None;
        }
        // Every pattern of the open bits, from all ones down to none.
        let patterns = std::iter::successors(Some(open), |&pattern| (pattern != 0).then(|| (pattern - 1) & open));
        Some(patterns.map(|pattern| known | pattern).filter(|&place| place != taken).collect())
    }

    /// Reads memory, as a cycle of `kind`.
    pub fn read(&mut self, kind: CycleKind, address: Word) -> Byte {
        let taken = self.taken(address);
        let there = self.bench.look(self.state, taken);
        let byte = match Self::others(address, taken) {
            None => {
                let byte = self.taken(there);
                self.bench.unknowns.open(None, byte)
            }
            Some(others) => others.into_iter().fold(there, |all, place| {
                let byte = self.bench.look(self.state, place);
                self.bench.unknowns.each(all, byte, Unknowns::either)
            }),
        };
        self.record(kind, Some(&address), Some(byte));
        byte
    }

    /// Writes memory, as a cycle of `kind`. Where the address is open, every byte that it may be is as it was or the new
    /// one.
    pub fn write(&mut self, kind: CycleKind, address: Word, byte: Byte) {
        let taken = self.taken(address);
        match Self::others(address, taken) {
            None => self.lost = Some(Lost::Write(self.origin(&address))),
            Some(others) if others.is_empty() => self.put(taken, byte),
            Some(others) => {
                let old = self.bench.look(self.state, taken);
                let new = self.bench.unknowns.each(byte, old, Unknowns::either);
                self.put(taken, new);
                for place in others {
                    let old = self.bench.look(self.state, place);
                    let either = self.bench.unknowns.each(old, byte, Unknowns::either);
                    self.put(place, either);
                }
            }
        }
        self.record(kind, Some(&address), Some(byte));
    }

    /// Leaves a byte at an address, as far as what lies there keeps it.
    fn put(&mut self, place: u16, byte: Byte) {
        match self.bench.base.ground(place) {
            Ground::Memory => self.state.store(place, byte),
            Ground::Rom | Ground::Socket | Ground::Nothing => {}
            Ground::Either => {
                let old = self.bench.look(self.state, place);
                let either = self.bench.unknowns.each(byte, old, Unknowns::either);
                self.state.store(place, either);
            }
        }
    }

    pub fn push(&mut self, high: Byte, low: Byte) {
        let (above, below) = (self.beside(self.state.sp, 0xFFFF), self.beside(self.state.sp, 0xFFFE));
        self.write(CycleKind::StackWrite, above, high);
        self.write(CycleKind::StackWrite, below, low);
        self.state.sp = below;
    }

    /// Pops a word: high and low byte.
    pub fn pop(&mut self) -> (Byte, Byte) {
        let low = self.read(CycleKind::StackRead, self.state.sp);
        let above = self.beside(self.state.sp, 1);
        let high = self.read(CycleKind::StackRead, above);
        self.state.sp = self.beside(above, 1);
        (high, low)
    }

    /// An address with `distance` added to it, modulo 65536.
    pub fn beside(&mut self, address: Word, distance: u16) -> Word {
        match value(&address) {
            Some(address) => bits(address.wrapping_add(distance)),
            None => self.bench.unknowns.add(address, bits(distance), Bit::ZERO).0,
        }
    }

    /// Goes on at an address.
    pub fn jump(&mut self, address: Word) {
        match value(&address) {
            Some(address) => self.state.pc = address,
            None => self.lost = Some(Lost::Way(self.origin(&address))),
        }
    }

    /// Reads a port whose number is the operand.
    pub fn input(&mut self) -> Byte {
        let port = self.operand();
        let number = value(&port).map(|port| port.to_le_bytes()[0]);
        let live = number.filter(|&number| self.bench.given(number).is_none()).and_then(|port| self.live(port));
        let (byte, taken) = match (number, &self.bench.request.world) {
            (Some(number), _) if self.bench.given(number).is_some() => (self.given(number), None),
            (Some(number), _) if live.is_some() => (self.moving(number, live.unwrap_or_default()), None),
            (_, World::Taken(byte)) => (bits(u16::from(*byte)), None),
            (Some(number), World::Open { idle }) => {
                let taken = idle.get(&number).copied();
                let origin = Origin::Port { port: number, step: self.row() };
                (self.bench.unknowns.open(Some(origin), taken.unwrap_or(0).into()), taken)
            }
            (None, World::Open { .. }) => (self.bench.unknowns.open(None, 0), None),
        };
        self.record(CycleKind::Input, Some(&twice(port)), Some(byte));
        if let Some(cycle) = self.cycles.last_mut() {
            (cycle.taken, cycle.live) = (taken, live);
        }
        byte
    }

    /// The next value that is given for a port; the last one stays.
    fn given(&mut self, port: u8) -> Byte {
        let count = self.bench.given(port).map_or(0, VecDeque::len);
        let used = self.use_one(port, count);
        self.bench.given(port).map_or(bits(0), |values| bits(u16::from(values[used])))
    }

    /// How a port moves in its next read; the last way stays.
    fn live(&mut self, port: u8) -> Option<LiveByte> {
        let count = self.bench.request.live.get(&port).map(Vec::len).filter(|&count| count > 0)?;
        let used = self.use_one(port, count);
        Some(self.bench.request.live[&port][used])
    }

    /// The number of the value that comes next of so many, at least one; the last stays.
    fn use_one(&mut self, port: u8, count: usize) -> usize {
        let used = self.state.used.get(&port).copied().unwrap_or(0).min(count.saturating_sub(1));
        if used + 1 < count {
            self.state.used.insert(port, used + 1);
        }
        used
    }

    /// A byte of which some bits move: those are open, and taken to be what they are most of the time.
    fn moving(&mut self, port: u8, live: LiveByte) -> Byte {
        let origin = Origin::Port { port, step: self.row() };
        let open: Byte = self.bench.unknowns.open(Some(origin), live.mostly().into());
        let fixed: Byte = bits(live.mostly().into());
        let unknown = live.moving() | live.open();
        std::array::from_fn(|bit| if unknown >> bit & 1 == 1 { open[bit] } else { fixed[bit] })
    }

    pub fn output(&mut self, byte: Byte) {
        let port = self.operand();
        self.record(CycleKind::Output, Some(&twice(port)), Some(byte));
    }

    /// A cycle within the processor.
    pub fn internal(&mut self) {
        self.record(CycleKind::Internal, None, None);
    }

    pub fn halt(&mut self) {
        let pc: Word = bits(self.state.pc);
        self.record(CycleKind::HaltAcknowledge, Some(&pc), None);
    }
}

/// A port's number as it stands on the address bus.
fn twice(port: Byte) -> Word {
    super::bits::word(port, port)
}
