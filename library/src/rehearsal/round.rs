//! Whether a loop that goes on for ever hangs on what it reads: it is played again with other bytes at its ports.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::board::Board;
use super::machine::{Machine, Stop};
use crate::cpu::{Bus, Cpu};
use crate::isa::TStates;
use crate::notation::Address;

/// The most instructions of a turn that is played again. Of a longer one it is taken for granted that it hangs on all that
/// it reads.
const LONGEST: usize = 4096;

/// One turn of a loop that goes on for ever.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Round {
    /// The ports that it reads.
    pub reads: BTreeSet<u8>,
    /// Those of them by which it decides where to go, each with the bits that alone make it go another way.
    pub decides: BTreeMap<u8, u8>,
    /// The ports to which it puts something out, each with the bytes that it puts there.
    pub shows: BTreeMap<u8, BTreeSet<u8>>,
}

impl Round {
    /// The turn at whose end the machine stands.
    pub fn of(machine: &Machine) -> Round {
        let Machine { cpu, board, .. } = machine;
        let (way, Trial { reads, shows, .. }) = turn(cpu, board);
        let mut decides = BTreeMap::new();
        for &port in &reads {
            let read = board.last_read(port);
            let differs = |byte: u8| way.len() > LONGEST || leaves(cpu, board, &way, (port, byte));
            let bits = (0..8).filter(|bit| differs(read ^ 1 << bit)).fold(0, |bits, bit| bits | 1 << bit);
            if bits != 0 || (0..=u8::MAX).any(differs) {
                decides.insert(port, bits);
            }
        }
        Round { reads, decides, shows }
    }

    /// How a machine goes on whose run was ended by the clock, if nothing but registers and what is shown at ports changes
    /// from here on until the program is here again, and no device will ever change.
    pub(super) fn for_ever(machine: &Machine) -> Option<Stop> {
        let Machine { cpu, board, .. } = machine;
        if board.next_event() != TStates(u64::MAX) {
            return None;
        }
        let (way, Trial { reads, written, .. }) = turn(cpu, board);
        let comes_back = way.len() <= LONGEST;
        let is_kept = |(address, byte): (&u16, &u8)| board.memory.byte(Address(*address)) == *byte;
        if !comes_back || !written.iter().all(is_kept) {
            return None;
        }
        let (pc, port) = (Address(cpu.registers.pc), board.last_input().filter(|(port, _)| reads.contains(port)));
        Some(Stop::Endless { pc: port.map_or(pc, |(_, at)| at), port: port.map(|(port, _)| port) })
    }

    /// The port at which the loop waits, with its bits: the one that it read last, if it decides by that.
    pub fn waits_at(&self, last: Option<u8>) -> Option<(u8, u8)> {
        let last = last.and_then(|port| self.decides.get_key_value(&port));
        last.or_else(|| self.decides.first_key_value()).map(|(&port, &bits)| (port, bits))
    }
}

/// The processor as it is, to be played on.
fn again(cpu: &Cpu) -> Cpu {
    let mut again = Cpu::default();
    (again.registers, again.clock) = (cpu.registers, cpu.clock);
    again
}

/// The addresses of the instructions of a turn, the one to which it comes back last, and what was done at ports in it.
fn turn<'a>(cpu: &Cpu, board: &'a Board) -> (Vec<u16>, Trial<'a>) {
    let (mut again, mut trial) = (again(cpu), Trial::new(board, None));
    let mut way = vec![again.registers.pc];
    while way.len() <= LONGEST {
        again.step(&mut trial);
        way.push(again.registers.pc);
        if again.registers == cpu.registers {
            break;
        }
    }
    (way, trial)
}

/// Turns until what was read has shown: it may be looked at when the next one has begun.
const TURNS: usize = 3;

/// Whether a turn leaves its way if a port reads another byte.
fn leaves(cpu: &Cpu, board: &Board, way: &[u16], other: (u8, u8)) -> bool {
    let (mut again, mut trial) = (again(cpu), Trial::new(board, Some(other)));
    way[1..].iter().cycle().take(TURNS * (way.len() - 1)).any(|&next| {
        again.step(&mut trial);
        again.registers.pc != next
    })
}

/// The board as the loop finds it, which is left as it is.
struct Trial<'a> {
    board: &'a Board,
    written: HashMap<u16, u8>,
    forced: Option<(u8, u8)>,
    reads: BTreeSet<u8>,
    shows: BTreeMap<u8, BTreeSet<u8>>,
}

impl<'a> Trial<'a> {
    fn new(board: &'a Board, forced: Option<(u8, u8)>) -> Trial<'a> {
        Trial { board, written: HashMap::new(), forced, reads: BTreeSet::new(), shows: BTreeMap::new() }
    }
}

impl Bus for Trial<'_> {
    fn read(&mut self, address: u16) -> u8 {
        self.written.get(&address).copied().unwrap_or_else(|| self.board.memory.byte(Address(address)))
    }

    fn write(&mut self, address: u16, byte: u8) {
        if self.board.memory.is_ram(Address(address)) {
            self.written.insert(address, byte);
        }
    }

    fn input(&mut self, port: u8) -> u8 {
        self.reads.insert(port);
        self.forced.filter(|(at, _)| *at == port).map_or_else(|| self.board.last_read(port), |(_, byte)| byte)
    }

    fn output(&mut self, port: u8, byte: u8) {
        self.shows.entry(port).or_default().insert(byte);
    }
}
