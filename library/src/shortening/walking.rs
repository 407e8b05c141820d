//! Whether a program reads its own instructions one after the other, to sum or to copy them, or writes into them by a pointer
//! that it counts on. Then any change of them is told apart.

use std::collections::BTreeSet;

use super::code::Code;
use super::effect::{Effect, returns};
use super::facts::{Facts, after};
use super::made::made_of;
use super::row::Row;
use crate::isa::{Mnemonic, Operands, Pair, Register};

/// What a register has of a pointer to instructions.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
enum Pointer {
    /// Nothing.
    #[default]
    Not,
    /// A number, which may be a count as well.
    Number,
    /// An address that the program names with a label.
    Named,
    /// One that was counted on from such a one, or put together of two halves.
    Counted,
}

/// Words of the stack that are followed, the most.
const DEEP: usize = 16;

/// What registers, by code, and pushed words have of such pointers.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Held {
    registers: [Pointer; 8],
    stack: Vec<Pointer>,
}

impl Held {
    fn pair(&self, pair: Pair) -> Pointer {
        let at = usize::from(pair.code()) * 2;
        match pair {
            Pair::B | Pair::D | Pair::H => self.registers[at].max(self.registers[at + 1]),
            Pair::Psw => self.registers[Register::A as usize],
            Pair::Sp => Pointer::Not,
        }
    }

    fn set_pair(&mut self, pair: Pair, pointer: Pointer) {
        let at = usize::from(pair.code()) * 2;
        match pair {
            Pair::B | Pair::D | Pair::H => self.registers[at..at + 2].fill(pointer),
            Pair::Psw => self.registers[Register::A as usize] = pointer,
            Pair::Sp => {}
        }
    }

    /// With what may be held besides; whether that is more.
    fn join(&mut self, other: &Held) -> bool {
        let before = self.clone();
        for (own, other) in self.registers.iter_mut().zip(other.registers) {
            *own = (*own).max(other);
        }
        // Of stacks of two depths, the words on top are those that are popped next.
        let both = self.stack.len().min(other.stack.len());
        let (over, other_over) = (self.stack.len() - both, other.stack.len() - both);
        let joined = self.stack[over..].iter().zip(&other.stack[other_over..]).map(|(&a, &b)| a.max(b));
        self.stack = joined.collect();
        *self != before
    }
}

/// A row that reads or writes instructions of its own program by a pointer that was counted on.
pub(super) fn walks_itself(code: &Code, facts: &Facts) -> Option<usize> {
    let held = held(code, facts);
    let walks = |number: &usize| {
        pair_used_by(&code.rows[*number]).is_some_and(|pair| held[*number].pair(pair) == Pointer::Counted)
    };
    (0..code.rows.len()).find(walks)
}

/// The pair by which a row reads or writes memory.
fn pair_used_by(row: &Row) -> Option<Pair> {
    match row.instruction.operands {
        Operands::Pair(pair) if matches!(row.mnemonic(), Mnemonic::Ldax | Mnemonic::Stax) => Some(pair),
        Operands::Register(Register::M) | Operands::RegisterByte(Register::M) => Some(Pair::H),
        Operands::Registers(to, from) if to == Register::M || from == Register::M => Some(Pair::H),
        _ => None,
    }
}

/// What is held before each row.
fn held(code: &Code, facts: &Facts) -> Vec<Held> {
    let mut held: Vec<Option<Held>> = vec![None; code.rows.len()];
    let mut left: BTreeSet<usize> = code.entered.iter().chain(&code.changing).copied().collect();
    left.iter().for_each(|&row| held[row] = Some(Held::default()));
    loop {
        while let Some(number) = left.pop_first() {
            for (to, with) in goes_on(code, facts, number, &held) {
                let changed = match &mut held[to] {
                    Some(there) => there.join(&with),
                    none => none.replace(with).is_none(),
                };
                if changed {
                    left.insert(to);
                    // What it calls comes back with the stack that it has.
                    let ends = |row: &usize| facts.back.get(row).is_some_and(|callers| callers.contains(&to));
                    left.extend((0..code.rows.len()).filter(|row| held[*row].is_some() && ends(row)));
                }
            }
        }
        // What nobody is seen to reach may be reached all the same.
        let Some(unseen) = held.iter().position(Option::is_none) else { break };
        held[unseen] = Some(Held::default());
        left.insert(unseen);
    }
    held.into_iter().map(Option::unwrap_or_default).collect()
}

/// Where a row goes on, with what is held there.
fn goes_on(code: &Code, facts: &Facts, number: usize, held: &[Option<Held>]) -> Vec<(usize, Held)> {
    let row = &code.rows[number];
    let before = held[number].clone().unwrap_or_default();
    let behind = behind(code, facts, number, before.clone());
    let calls = row.mnemonic().calls();
    let within = if calls { Held { stack: Vec::new(), ..behind.clone() } } else { behind.clone() };
    let mut next: Vec<_> = code.successors(number).into_iter().flatten().map(|to| (to, within.clone())).collect();
    if calls && !code.row_at(row.operand).is_some_and(|callee| facts.regular.contains(&callee)) {
        next.extend(code.row_at(row.next()).map(|to| (to, behind.clone())));
    }
    if returns(row.mnemonic()) {
        for caller in facts.back.get(&number).into_iter().flatten() {
            let stack = held[*caller].as_ref().map(|it| it.stack.clone()).unwrap_or_default();
            next.extend(code.row_at(code.rows[*caller].next()).map(|to| (to, Held { stack, ..behind.clone() })));
        }
    }
    next
}

/// What is held behind a row.
fn behind(code: &Code, facts: &Facts, number: usize, mut held: Held) -> Held {
    use Mnemonic as M;
    let row = &code.rows[number];
    let a = Register::A as usize;
    let of = |held: &Held, register: Register| match register {
        Register::M => Pointer::Not,
        register => held.registers[register as usize],
    };
    let counted = |it: Pointer| if it == Pointer::Not { it } else { Pointer::Counted };
    match (row.mnemonic(), row.instruction.operands) {
        (M::Lxi, Operands::PairWord(pair)) => held.set_pair(pair, named(code, row)),
        (M::Mov, Operands::Registers(to, from)) if to != Register::M => {
            held.registers[to as usize] = of(&held, from);
        }
        (M::Mvi, Operands::RegisterByte(to)) if to != Register::M => held.registers[to as usize] = Pointer::Not,
        (M::Inr | M::Dcr, Operands::Register(it)) if it != Register::M => {
            held.registers[it as usize] = counted(of(&held, it));
        }
        (M::Inx | M::Dcx, Operands::Pair(pair)) => held.set_pair(pair, counted(held.pair(pair))),
        (M::Dad, Operands::Pair(pair)) => {
            let sum = held.pair(Pair::H).max(held.pair(pair));
            // A number with something added is as well a count.
            held.set_pair(Pair::H, if sum == Pointer::Number { Pointer::Not } else { counted(sum) });
        }
        (M::Xchg, _) => {
            for at in 0..2 {
                held.registers.swap(2 + at, 4 + at);
            }
        }
        (M::Push, Operands::Pair(pair)) => {
            if held.stack.len() == DEEP {
                held.stack.remove(0);
            }
            held.stack.push(held.pair(pair));
        }
        (M::Pop, Operands::Pair(pair)) => {
            let top = held.stack.pop().unwrap_or_default();
            held.set_pair(pair, top);
        }
        (M::Xthl, _) => {
            let top = held.stack.pop().unwrap_or_default();
            held.stack.push(held.pair(Pair::H));
            held.set_pair(Pair::H, top);
        }
        (M::Sphl, _) => held.stack.clear(),
        (M::Lhld, _) => held.set_pair(Pair::H, Pointer::Not),
        (M::Lda | M::Ldax | M::In, _) => held.registers[a] = Pointer::Not,
        (M::Xra | M::Sub, Operands::Register(Register::A)) => held.registers[a] = Pointer::Not,
        (M::Add | M::Adc | M::Sub | M::Sbb | M::Ana | M::Xra | M::Ora, Operands::Register(it)) => {
            let both = of(&held, it).max(held.registers[a]);
            held.registers[a] = if it == Register::A { held.registers[a] } else { counted(both) };
        }
        (M::Adi | M::Aci | M::Sui | M::Sbi | M::Ani | M::Xri | M::Ori, _) => {
            held.registers[a] = counted(held.registers[a]);
        }
        _ => {}
    }
    put_together(code, facts, number, &mut held);
    held
}

/// What the word of a row names.
fn named(code: &Code, row: &Row) -> Pointer {
    let is_number = row.text.as_ref().is_some_and(|it| it.fixed);
    match code.row_over(row.operand) {
        None => Pointer::Not,
        Some(_) if is_number => Pointer::Number,
        Some(_) => Pointer::Named,
    }
}

/// A pair of which a row made the second half.
fn put_together(code: &Code, facts: &Facts, number: usize, held: &mut Held) {
    let row = &code.rows[number];
    let Operands::RegisterByte(to) = row.instruction.operands else { return };
    let known = after(&made_of(row), Effect::default(), facts.known[number]);
    for pair in [Pair::B, Pair::D, Pair::H] {
        let at = usize::from(pair.code()) * 2;
        if (at..at + 2).contains(&(to as usize))
            && let (Some(high), Some(low)) = (known[at], known[at + 1])
        {
            let pointer = match code.row_over(u16::from_be_bytes([high, low])) {
                None => Pointer::Not,
                // On the first page, two counts as well.
                Some(_) if high == 0 => Pointer::Number,
                Some(_) => Pointer::Counted,
            };
            held.set_pair(pair, pointer);
        }
    }
}
