//! Whether bytes that nothing leads to are instructions: what they would do is weighed.

use super::bytes::Decoded;
use super::flow::Flow;
use super::marks::{Mark, Uses};
use crate::isa::{Flags, Mnemonic, Operands, Pair, Register};

/// The most instructions that are weighed at once.
const LONGEST: usize = 256;

/// What is this much worse than nothing is given up, in tenths.
const LOST: i32 = 150;

/// A stretch of bytes that may be a routine.
#[derive(Clone, Copy, Debug)]
pub struct Weighed {
    /// Where it begins: behind what speaks against it.
    pub start: usize,
    /// Behind its last byte.
    pub end: usize,
    /// How much speaks for it, in tenths; negative if more speaks against it.
    pub weight: i32,
}

/// Whether the first instructions at an address could be some.
pub fn begins(flow: &Flow, at: usize) -> bool {
    let mut at = at;
    for _ in 0..4 {
        if flow.marks.at(at) == Mark::Start {
            return true;
        }
        let Some(decoded) = flow.readable(at) else { return false };
        if !decoded.instruction.documented || flow.marks.at(at) == Mark::Inside {
            return false;
        }
        if decoded.instruction.mnemonic.ends_flow() {
            return true;
        }
        at += decoded.length();
    }
    true
}

/// Weighs what begins at an address, up to where it ends; none if it cannot be code.
///
/// What speaks against the first instructions by more than `against` is left out.
pub fn weigh(flow: &Flow, start: usize, against: i32) -> Option<Weighed> {
    let mut sweep = Sweep {
        flow,
        start,
        starts: Vec::new(),
        targets: Vec::new(),
        weight: 0,
        depth: 0,
        pushed: false,
        best: start,
        least: 0,
    };
    let (mut at, mut ended) = (start, false);
    for _ in 0..LONGEST {
        if flow.marks.at(at) == Mark::Start {
            sweep.weight += 20;
            return sweep.judged(at);
        }
        let decoded = flow.readable(at).filter(|decoded| {
            let unknown = (at..at + decoded.length()).all(|at| flow.marks.at(at) == Mark::Unknown);
            unknown && decoded.instruction.documented
        });
        // Behind a jump or return may be anything; where it leads over is another matter.
        let Some(decoded) = decoded else { return if ended { sweep.judged(at) } else { None } };
        // Without any doubt allowed, what begins further on is better; and what is lost so far is not won back.
        if against == 0 && sweep.weight < 0 || sweep.weight < sweep.least - LOST {
            return None;
        }
        if sweep.weight < sweep.least.min(-against) {
            (sweep.least, sweep.best) = (sweep.weight, at);
        }
        sweep.take(at, decoded)?;
        at += decoded.length();
        ended = decoded.instruction.mnemonic.ends_flow();
        let pending = sweep.targets.iter().any(|target| *target >= at);
        if ended && !pending {
            return sweep.judged(at);
        }
    }
    None
}

struct Sweep<'a, 'b> {
    flow: &'a Flow<'b>,
    start: usize,
    starts: Vec<usize>,
    /// Where it goes within the bytes that are not known, near by.
    targets: Vec<usize>,
    weight: i32,
    depth: i32,
    pushed: bool,
    /// What speaks against the instructions before the best beginning.
    least: i32,
    best: usize,
}

impl Sweep<'_, '_> {
    fn take(&mut self, at: usize, decoded: Decoded) -> Option<()> {
        let instruction = decoded.instruction;
        self.weight += common(decoded);
        let previous = self.starts.last().and_then(|at| self.flow.bytes.decode(*at));
        if let Some(previous) = previous {
            self.weight += pair(previous, decoded);
        }
        match (instruction.mnemonic, instruction.operands) {
            (Mnemonic::Push, _) => (self.depth, self.pushed) = (self.depth + 1, true),
            (Mnemonic::Pop, _) => self.depth -= 1,
            (Mnemonic::Ret, _) => {
                self.weight += match (self.depth, self.pushed) {
                    (0, true) => 25,
                    (0, false) => 0,
                    _ => -15,
                }
            }
            (Mnemonic::In | Mnemonic::Out, _) => self.weight += if self.flow.knows_port(decoded) { 40 } else { 0 },
            (Mnemonic::Rst, Operands::Vector(number)) => {
                let lies = self.flow.places.lies_at(self.flow.bytes, at, u16::from(number) * 8);
                let known = lies.is_some_and(|lies| self.flow.marks.at(lies) == Mark::Start);
                self.weight += if known { 20 } else { -25 };
            }
            (Mnemonic::Lda | Mnemonic::Lhld | Mnemonic::Sta | Mnemonic::Shld, _) => self.datum(at, decoded.operand),
            _ => {}
        }
        if let Some(target) = decoded.target() {
            self.goes(at, target)?;
        }
        if needs_flags(instruction.mnemonic) {
            let set = self.starts.iter().rev().take(4).any(|at| {
                self.flow.bytes.decode(*at).is_some_and(|before| {
                    before.instruction.flags != Flags::NONE || before.instruction.mnemonic.calls()
                })
            });
            self.weight += if set { 12 } else { -12 };
        }
        self.starts.push(at);
        Some(())
    }

    /// A variable that other code uses speaks for it.
    fn datum(&mut self, at: usize, address: u16) {
        let uses = match self.flow.places.lies_at(self.flow.bytes, at, address) {
            Some(lies) => {
                if self.flow.marks.at(lies) == Mark::Inside {
                    self.weight -= 20;
                }
                self.flow.marks.uses(lies)
            }
            None => self.flow.marks.outside.get(&address).copied().unwrap_or_default(),
        };
        self.weight += if uses.any(Uses::READ.and(Uses::WRITTEN)) { 45 } else { 0 };
    }

    /// Where it goes; none if it cannot go there.
    fn goes(&mut self, at: usize, target: u16) -> Option<()> {
        let Some(lies) = self.flow.places.lies_at(self.flow.bytes, at, target) else {
            let known = self.flow.marks.outside.get(&target).is_some_and(|uses| uses.any(Uses::EXECUTED));
            self.weight += if known { 45 } else { -35 };
            return Some(());
        };
        match self.flow.marks.at(lies) {
            Mark::Start => self.weight += 50,
            Mark::Inside => self.weight -= 70,
            Mark::Plain(_) => return None,
            Mark::Unknown => {
                if self.starts.contains(&lies) || lies == at {
                    self.weight += 35;
                } else if (self.start..at).contains(&lies) {
                    return None;
                } else if lies > at && lies - at < 0x100 {
                    self.targets.push(lies);
                } else {
                    self.weight += if begins(self.flow, lies) { 5 } else { -50 };
                }
            }
        }
        Some(())
    }

    fn judged(mut self, end: usize) -> Option<Weighed> {
        for target in &self.targets {
            if (self.start..end).contains(target) {
                if !self.starts.contains(target) {
                    return None;
                }
                self.weight += 25;
            } else {
                self.weight += if begins(self.flow, *target) { 5 } else { -50 };
            }
        }
        // A label within, where no instruction begins, that is read as data or gone to.
        let inside = |at: &usize| self.flow.marks.uses(*at).any(Uses::EXECUTED.and(Uses::READ).and(Uses::LISTED));
        let split = (self.start + 1..end).filter(inside).filter(|at| !self.starts.contains(at)).count();
        self.weight -= 40 * split as i32;
        Some(Weighed { start: self.best, end, weight: self.weight - self.least })
    }
}

fn needs_flags(mnemonic: Mnemonic) -> bool {
    mnemonic.goes_to_address() && !matches!(mnemonic, Mnemonic::Jmp | Mnemonic::Call)
}

/// How much more often an instruction stands in programs than its first byte among bytes at random: the logarithm in
/// tenths, rounded, counted over the library and the examples.
fn common(decoded: Decoded) -> i32 {
    match (decoded.instruction.mnemonic, decoded.instruction.operands) {
        (Mnemonic::Nop, _) => -25,
        (Mnemonic::Mov, Operands::Registers(to, from)) if to == from => -60,
        (Mnemonic::Mov, Operands::Registers(Register::A, _) | Operands::Registers(_, Register::A)) => 6,
        (Mnemonic::Mov, Operands::Registers(Register::M, _) | Operands::Registers(_, Register::M)) => 0,
        (Mnemonic::Mov, _) => -9,
        (Mnemonic::Call, _) => 30,
        (Mnemonic::Jmp | Mnemonic::Jz | Mnemonic::Jnz | Mnemonic::Ret, _) => 22,
        (Mnemonic::Jc | Mnemonic::Jnc, _) => 14,
        (Mnemonic::Lxi, Operands::PairWord(Pair::H)) => 20,
        (Mnemonic::Lxi, Operands::PairWord(Pair::D)) => 8,
        (Mnemonic::Lxi, Operands::PairWord(Pair::B)) => -5,
        (Mnemonic::Lxi, _) => 0,
        (Mnemonic::Mvi, Operands::RegisterByte(Register::A)) => 22,
        (Mnemonic::Mvi, _) => 4,
        (Mnemonic::Cpi | Mnemonic::Ani | Mnemonic::In | Mnemonic::Out, _) => 18,
        (Mnemonic::Inx, Operands::Pair(Pair::H)) => 20,
        (Mnemonic::Inx, Operands::Pair(Pair::D)) => 8,
        (Mnemonic::Push | Mnemonic::Pop, _) => 12,
        (Mnemonic::Ora | Mnemonic::Xra, Operands::Register(Register::A)) => 15,
        (Mnemonic::Rz | Mnemonic::Rnz | Mnemonic::Rc | Mnemonic::Rnc, _) => 6,
        (Mnemonic::Xchg | Mnemonic::Lhld | Mnemonic::Shld | Mnemonic::Lda | Mnemonic::Sta, _) => 10,
        (Mnemonic::Rlc | Mnemonic::Rrc | Mnemonic::Adi | Mnemonic::Sui, _) => 6,
        (Mnemonic::Dcr | Mnemonic::Dcx, Operands::Register(Register::B | Register::C) | Operands::Pair(Pair::B)) => 4,
        (Mnemonic::Ldax, Operands::Pair(Pair::B)) => -4,
        (Mnemonic::Stax, _) => -10,
        (Mnemonic::Inr | Mnemonic::Inx, Operands::Register(Register::B) | Operands::Pair(Pair::B)) => -6,
        (Mnemonic::Adc | Mnemonic::Sbb | Mnemonic::Sub | Mnemonic::Add | Mnemonic::Cmp, _) => -10,
        (Mnemonic::Ana | Mnemonic::Xra | Mnemonic::Ora, _) => -8,
        (Mnemonic::Rst, _) => -10,
        (Mnemonic::Jpo | Mnemonic::Jpe | Mnemonic::Cpo | Mnemonic::Cpe | Mnemonic::Rpo | Mnemonic::Rpe, _) => -20,
        (Mnemonic::Cp | Mnemonic::Cm | Mnemonic::Cc | Mnemonic::Cnc, _) => -8,
        (Mnemonic::Hlt, _) => -8,
        (Mnemonic::Daa | Mnemonic::Cmc | Mnemonic::Sphl | Mnemonic::Xthl | Mnemonic::Pchl, _) => -8,
        (Mnemonic::Aci | Mnemonic::Sbi, _) => -10,
        _ => -3,
    }
}

/// What two instructions one behind the other say.
fn pair(first: Decoded, second: Decoded) -> i32 {
    let (one, other) = (first.instruction, second.instruction);
    let rotates = matches!(one.mnemonic, Mnemonic::Rlc | Mnemonic::Rrc | Mnemonic::Ral | Mnemonic::Rar);
    let counts = matches!(one.mnemonic, Mnemonic::Inx | Mnemonic::Dcx | Mnemonic::Dad | Mnemonic::Inr | Mnemonic::Dcr);
    if one.opcode == other.opcode && one.length == 1 && !rotates && !counts && one.mnemonic != Mnemonic::Add {
        return -15;
    }
    match (one.mnemonic, other.mnemonic) {
        (Mnemonic::Cpi | Mnemonic::Ani | Mnemonic::Cmp, next) if needs_flags(next) => 25,
        (Mnemonic::Ora | Mnemonic::Ana, next) if needs_flags(next) => 20,
        (Mnemonic::Dcr, Mnemonic::Jnz) => 25,
        (Mnemonic::In, Mnemonic::Ani) | (Mnemonic::Mvi, Mnemonic::Out) => 15,
        // What was just loaded is loaded over.
        (Mnemonic::Mvi, Mnemonic::Mvi) | (Mnemonic::Lxi, Mnemonic::Lxi) if one.opcode == other.opcode => -25,
        _ => 0,
    }
}
