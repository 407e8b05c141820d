//! Two machines with other noise, and what is known of what they do not share.

use proptest::prelude::*;

use super::{Misuse, Unset};
use crate::cpu::Cpu;
use crate::isa::{Pair, TStates, decode};
use crate::notation::Address;
use crate::rehearsal::board::Board;
use crate::rehearsal::{Machine, Setup, Witness};

struct Watcher(Unset);

impl Witness for Watcher {
    fn instruction(&mut self, cpu: &Cpu, board: &Board) {
        self.0.observe(cpu, board);
    }
}

const RAM: usize = 0o2000;
const PROGRAM: u16 = 0o400;

fn machine(program: &[u8], seed: u64) -> Machine {
    let setup = Setup { seed, ram: vec![(Address(0), RAM)], outputs: vec![1], ..Setup::default() };
    let mut machine = Machine::new(&setup).unwrap();
    for (at, &byte) in program.iter().enumerate() {
        machine.deposit(Address(PROGRAM + at as u16), byte);
    }
    machine.examine(Address(PROGRAM));
    machine
}

/// Whether all bits that differ between two machines are known to be unset.
fn covers(unset: &Unset, one: &Machine, other: &Machine) -> Result<(), String> {
    for pair in [Pair::B, Pair::D, Pair::H, Pair::Sp, Pair::Psw] {
        let differ = one.cpu.registers.pair(pair) ^ other.cpu.registers.pair(pair);
        if differ & !unset.pair(pair) != 0 {
            return Err(format!("{} differs in {differ:#b}, unset {:#b}", pair.name(), unset.pair(pair)));
        }
    }
    for at in 0..RAM as u16 {
        let address = Address(at);
        let differ = one.board.memory.byte(address) ^ other.board.memory.byte(address);
        if differ & !unset.byte(&one.board, address) != 0 {
            return Err(format!("{address:?} differs in {differ:#b}"));
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]
    #[test]
    fn what_differs_between_two_noises_is_unset(
        words in prop::collection::vec((any::<u8>(), any::<u8>(), 0..4_u8), 1..40), seed in 0..1000_u64,
    ) {
        // Pointers into RAM are as likely as anything else.
        let program: Vec<u8> = words.iter().flat_map(|&(opcode, low, high)| match decode(opcode).length {
            1 => vec![opcode],
            2 => vec![opcode, low],
            _ => vec![opcode, low, high],
        }).collect();
        let mut watcher = Watcher(Unset::new());
        let mut one = machine(&program, seed);
        let mut others = [machine(&program, seed ^ 1), machine(&program, seed + 2)];
        for _ in 0..60 {
            if one.step(&mut watcher).is_some() || !watcher.0.misused.is_empty() {
                break;
            }
            for other in &mut others {
                let _ = other.step(&mut ());
                let covered = covers(&watcher.0, &one, other);
                prop_assert!(covered.is_ok(), "{:?} after {:?}", covered, program);
                prop_assert_eq!(one.cpu.registers.pc, other.cpu.registers.pc);
            }
        }
    }
}

fn misused(program: &[u8]) -> Vec<(Misuse, Address)> {
    let mut watcher = Watcher(Unset::new());
    machine(program, 0).run(TStates(10_000), &mut watcher);
    watcher.0.take_misused()
}

#[test]
fn what_is_set_is_not_told() {
    let at = |what, offset| vec![(what, Address(PROGRAM + offset))];
    // XRA A, SUB A, ANI 0, SBB A after a known carry: known, whatever A held.
    for clears in [&[0o257, 0o300][..], &[0o227, 0o300], &[0o346, 0, 0o300], &[0o067, 0o237, 0o310]] {
        assert_eq!(misused(&[clears, &[0o166]].concat()), [], "{clears:?}");
    }
    // ORA A, RZ; DCR B, JNZ; LDA of a byte that nobody put there, ORA A, JM.
    assert_eq!(misused(&[0o267, 0o310, 0o166]), at(Misuse::Branches, 1));
    assert_eq!(misused(&[0o005, 0o302, 0o004, 0o001, 0o166]), at(Misuse::Branches, 1));
    assert_eq!(misused(&[0o072, 0, 3, 0o267, 0o372, 7, 1, 0o166]), at(Misuse::Branches, 4));
    // ORI 1, RZ: one bit is known, and is no zero.
    assert_eq!(misused(&[0o366, 1, 0o310, 0o166]), []);
    // ANI 376Q, MVI B,1, STC, ADC B, RZ: the one bit that is known is nought by the carry.
    assert_eq!(misused(&[0o346, 0o376, 0o006, 1, 0o067, 0o210, 0o310, 0o166]), at(Misuse::Branches, 6));
    // STAX D without DE; LXI D, STAX D.
    assert_eq!(misused(&[0o022, 0o166]), at(Misuse::Stores, 0));
    assert_eq!(misused(&[0o021, 0, 3, 0o022, 0o166]), []);
    // MOV A,M at a place that nobody set, then a sum of it, put out.
    let mut watcher = Watcher(Unset::new());
    machine(&[0o041, 0, 3, 0o176, 0o346, 0o016, 0o323, 1, 0o166], 0).run(TStates(10_000), &mut watcher);
    assert_eq!(watcher.0.put(0), 0o016);
}
