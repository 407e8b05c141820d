//! What one instruction reads and writes of registers and flags.

use super::state::{Access, Operand, State};
use super::value::{Values, Word};
use crate::isa::{Instruction, Mnemonic, Operands, Pair, Register};

/// Registers by code in the low byte, flags in the order of [`super::state::FLAGS`] above them.
pub(super) type Places = u16;

/// All registers and flags.
pub(super) const ALL: Places = 0b1_1111_1011_1111;

/// The bit of a register.
pub(super) const fn register(register: Register) -> Places {
    1 << register as u8
}

/// What an instruction reads before it writes, and what it always writes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Effect {
    pub reads: Places,
    pub writes: Places,
}

fn pair(pair: Pair) -> Places {
    let at = pair.code() * 2;
    match pair {
        Pair::B | Pair::D | Pair::H => 0b11 << at,
        Pair::Psw => register(Register::A) | 0b1_1111_0000_0000,
        Pair::Sp => 0,
    }
}

/// The flag that a condition looks at. Bits 5 to 3 of the opcode say which: NZ, Z, NC, C, PO, PE, P, M.
const fn condition(opcode: u8) -> Places {
    1 << (8 + [1, 1, 4, 4, 3, 3, 0, 0][(opcode >> 3 & 7) as usize])
}

/// Whether an instruction goes on in one of two places by a flag.
pub(super) fn is_conditional(mnemonic: Mnemonic) -> bool {
    use Mnemonic as M;
    let straight = matches!(mnemonic, M::Jmp | M::Call | M::Ret | M::Rst | M::Pchl);
    !straight && (mnemonic.goes_to_address() || returns(mnemonic))
}

/// Whether an instruction is a return, be it with a condition.
pub(super) fn returns(mnemonic: Mnemonic) -> bool {
    use Mnemonic as M;
    matches!(mnemonic, M::Ret | M::Rnz | M::Rz | M::Rnc | M::Rc | M::Rpo | M::Rpe | M::Rp | M::Rm)
}

/// The effect of an instruction. Of one that may do anything, everything is read.
pub(super) fn effect(values: &mut Values, instruction: &Instruction) -> Effect {
    use Mnemonic as M;
    if let Some(effect) = straight(values, instruction) {
        return effect;
    }
    let (a, hl) = (register(Register::A), pair(Pair::H));
    match (instruction.mnemonic, instruction.operands) {
        (M::Push, Operands::Pair(it)) => Effect { reads: pair(it), writes: 0 },
        (M::Pop, Operands::Pair(it)) => Effect { reads: 0, writes: pair(it) },
        (M::In, _) => Effect { reads: 0, writes: a },
        (M::Out, _) => Effect { reads: a, writes: 0 },
        (M::Xthl, _) => Effect { reads: hl, writes: hl },
        (M::Sphl, _) => Effect { reads: hl, writes: 0 },
        (M::Lxi | M::Inx | M::Dcx | M::Nop | M::Ei | M::Di | M::Hlt | M::Jmp | M::Call | M::Ret, _) => {
            Effect::default()
        }
        (M::Dad, _) => Effect { reads: hl, writes: hl | 1 << 12 },
        (mnemonic, _) if is_conditional(mnemonic) => Effect { reads: condition(instruction.opcode), writes: 0 },
        _ => Effect { reads: ALL, writes: 0 },
    }
}

/// As its expressions say it, for an instruction that has them.
fn straight(values: &mut Values, instruction: &Instruction) -> Option<Effect> {
    let before = State::start(values, &[None; 8]);
    let mut after = before.clone();
    let operand = Operand { high: values.word(Word::default(), true), low: values.word(Word::default(), false) };
    after.run(values, instruction, Some(operand))?;
    let mut effect = Effect::default();
    let before = before.registers.iter().chain(&before.flags);
    for (place, (was, is)) in before.zip(after.registers.iter().chain(&after.flags)).enumerate() {
        if was != is {
            effect.writes |= 1 << place;
            effect.reads |= values.places(*is);
        }
    }
    for access in &after.accesses {
        effect.reads |= match *access {
            Access::Read(high, low) => values.places(high) | values.places(low),
            Access::Write(high, low, byte) => values.places(high) | values.places(low) | values.places(byte),
            Access::Input(_) => 0,
            Access::Output(_, byte) => values.places(byte),
        };
    }
    Some(effect)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::isa::{Flags, decode};

    /// The flags of a set of places.
    fn flags(places: Places) -> Flags {
        let bits = super::super::state::FLAGS.iter().enumerate().filter(|(at, _)| places >> (8 + at) & 1 == 1);
        Flags(bits.fold(0, |all, (_, flag)| all | flag.0))
    }

    #[test]
    fn conditions_look_at_their_flag() {
        let flag = |opcode: u8| flags(condition(opcode)).0;
        // Jumps, calls and returns in the order of the condition's code: NZ, Z, NC, C, PO, PE, P, M.
        let wanted = [Flags::Z, Flags::Z, Flags::C, Flags::C, Flags::P, Flags::P, Flags::S, Flags::S];
        for (code, wanted) in wanted.into_iter().enumerate() {
            for first in [0o302, 0o304, 0o300] {
                assert_eq!(flag(first + 8 * code as u8), wanted.0, "{:?}", decode(first + 8 * code as u8).mnemonic);
            }
        }
    }

    #[test]
    fn effects_of_a_few() {
        let mut values = Values::default();
        let mut of = |opcode: u8| effect(&mut values, decode(opcode));
        let a = register(Register::A);
        // XRA A needs nothing; ORA A needs A and leaves it; MOV B,C; PUSH PSW; IN; a restart may do anything.
        assert_eq!(of(0o257), Effect { reads: 0, writes: a | 0x1F00 });
        assert_eq!(of(0o267), Effect { reads: a, writes: 0x1F00 });
        assert_eq!(of(0o101), Effect { reads: 0b10, writes: 0b01 });
        assert_eq!(of(0o365), Effect { reads: a | 0x1F00, writes: 0 });
        assert_eq!(of(0o333), Effect { reads: 0, writes: a });
        assert_eq!(of(0o307).reads, ALL);
    }
}
