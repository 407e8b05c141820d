//! Data behind a CALL: the routine takes its return address from the stack, reads there, and comes back behind it.

use std::ops::Range;

use super::bytes::Bytes;
use super::hints::Behind;
use super::places::Places;
use super::text;
use crate::isa::{Mnemonic, Operands};

/// How many instructions from its beginning on a routine that wants its return address takes it.
const SOON: usize = 16;

/// Whether a routine takes its return address from the stack, or looks at it, before it comes back.
pub fn takes(bytes: &Bytes, places: &Places, routine: usize) -> bool {
    let (mut at, mut pushed) = (routine, 0);
    for _ in 0..SOON {
        let Some(decoded) = bytes.decode(at) else { return false };
        match decoded.instruction.mnemonic {
            Mnemonic::Push => pushed += 1,
            Mnemonic::Pop | Mnemonic::Xthl if pushed == 0 => return true,
            Mnemonic::Pop => pushed -= 1,
            Mnemonic::Jmp => match places.lies_at(bytes, at, decoded.operand) {
                Some(target) => {
                    at = target;
                    continue;
                }
                None => return false,
            },
            Mnemonic::Lxi | Mnemonic::Dad if reaches_stack(decoded.instruction.operands) => return true,
            mnemonic if mnemonic.ends_flow() => return false,
            _ => {}
        }
        at += decoded.length();
    }
    false
}

/// `LXI H,n` with `DAD SP` looks at the stack without taking from it.
fn reaches_stack(operands: Operands) -> bool {
    operands == Operands::Pair(crate::isa::Pair::Sp)
}

/// How many bytes lie behind a CALL, as a hint has it.
pub fn told(bytes: &Bytes, first: usize, behind: Behind) -> Option<usize> {
    let to = |last: &dyn Fn(u8) -> bool| {
        let length = (first..).map_while(|at| bytes.get(at)).position(last)?;
        Some(length + 1)
    };
    match behind {
        Behind::Bytes(count) => Some(usize::from(count)),
        Behind::Until(end) => to(&|byte| byte == end),
        Behind::HighBit => to(&|byte| byte >= 0x80),
    }
}

/// Whether bytes look like characters, with an end that is none.
pub fn is_text(bytes: &Bytes, range: Range<usize>) -> bool {
    let printing = range.clone().filter(|at| bytes.get(*at).is_some_and(|byte| text::prints(byte & 0x7F))).count();
    range.len() > 1 && printing + 1 >= range.len()
}
