//! The table: one row a mnemonic, in the order of the manual's groups. Everything else about the processor's
//! instruction set is derived from these rows.
//!
//! Sources: opcode, length, states and flags from Intel 8080 Microcomputer Systems User's Manual, September 1975,
//! chapter 4; machine cycles from its Table 2-2.

use super::cycle::{Cycle, CycleKind};
use super::operand::{Flags, Operands, Pair, Pattern, Register};

/// One row of the table: a mnemonic with all its opcodes.
#[derive(Clone, Copy, Debug)]
pub struct Form {
    /// The mnemonic.
    pub mnemonic: Mnemonic,
    /// Its spelling, in upper case.
    pub name: &'static str,
    /// The opcode with all register fields zero.
    pub opcode: u8,
    /// Which operands it takes.
    pub pattern: Pattern,
    flags: Flags,
    cycles: &'static [Cycle],
    pub(super) cycles_not_taken: Option<&'static [Cycle]>,
}

impl Form {
    /// The flags written with given operands: `POP PSW` loads them all.
    pub(super) const fn flags_of(&self, operands: &Operands) -> Flags {
        match (self.mnemonic, operands) {
            (Mnemonic::Pop, Operands::Pair(Pair::Psw)) => Flags::ALL,
            _ => self.flags,
        }
    }

    /// The cycles with given operands: where one of them is `M`, memory is read, written or both.
    pub(super) const fn cycles_of(&self, operands: &Operands) -> &'static [Cycle] {
        match (operands, self.pattern) {
            (Operands::Registers(Register::M, _), _) => FETCH_WRITE,
            (Operands::Registers(_, Register::M), _) => FETCH_READ,
            (Operands::Register(Register::M), Pattern::Source) => FETCH_READ,
            (Operands::Register(Register::M) | Operands::RegisterByte(Register::M), _) => FETCH_READ_WRITE,
            _ => self.cycles,
        }
    }
}

/// Declares the mnemonics and their rows: name, opcode, operand pattern, flags, cycles taken / not taken.
macro_rules! forms {
    ($($mnemonic:ident $name:literal $opcode:literal $pattern:ident $flags:ident $cycles:ident $(/ $skipped:ident)?;)*) => {
        /// The mnemonics of the 8080.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[allow(missing_docs)]
        pub enum Mnemonic { $($mnemonic),* }

        /// The rows, indexed by mnemonic.
        pub const FORMS: &[Form] = &[$(Form {
            mnemonic: Mnemonic::$mnemonic,
            name: $name,
            opcode: $opcode,
            pattern: Pattern::$pattern,
            flags: Flags::$flags,
            cycles: $cycles,
            cycles_not_taken: forms!(@skipped $($skipped)?),
        }),*];
    };
    (@skipped) => { None };
    (@skipped $skipped:ident) => { Some($skipped) };
}

#[rustfmt::skip]
forms! {
    Mov  "MOV"  0o100 DestinationSource NONE FETCH5;
    Mvi  "MVI"  0o006 DestinationByte   NONE FETCH_READ;
    Lxi  "LXI"  0o001 PairWord          NONE FETCH_READ2;
    Lda  "LDA"  0o072 Address           NONE FETCH_READ3;
    Sta  "STA"  0o062 Address           NONE FETCH_READ2_WRITE;
    Lhld "LHLD" 0o052 Address           NONE FETCH_READ4;
    Shld "SHLD" 0o042 Address           NONE FETCH_READ2_WRITE2;
    Ldax "LDAX" 0o012 PairIndirect      NONE FETCH_READ;
    Stax "STAX" 0o002 PairIndirect      NONE FETCH_WRITE;
    Xchg "XCHG" 0o353 None              NONE FETCH4;
    Add  "ADD"  0o200 Source            ALL  FETCH4;
    Adi  "ADI"  0o306 Byte              ALL  FETCH_READ;
    Adc  "ADC"  0o210 Source            ALL  FETCH4;
    Aci  "ACI"  0o316 Byte              ALL  FETCH_READ;
    Sub  "SUB"  0o220 Source            ALL  FETCH4;
    Sui  "SUI"  0o326 Byte              ALL  FETCH_READ;
    Sbb  "SBB"  0o230 Source            ALL  FETCH4;
    Sbi  "SBI"  0o336 Byte              ALL  FETCH_READ;
    Inr  "INR"  0o004 Destination       SZAP FETCH5;
    Dcr  "DCR"  0o005 Destination       SZAP FETCH5;
    Inx  "INX"  0o003 Pair              NONE FETCH5;
    Dcx  "DCX"  0o013 Pair              NONE FETCH5;
    Dad  "DAD"  0o011 Pair              C    FETCH_INTERNAL2;
    Daa  "DAA"  0o047 None              ALL  FETCH4;
    Ana  "ANA"  0o240 Source            ALL  FETCH4;
    Ani  "ANI"  0o346 Byte              ALL  FETCH_READ;
    Xra  "XRA"  0o250 Source            ALL  FETCH4;
    Xri  "XRI"  0o356 Byte              ALL  FETCH_READ;
    Ora  "ORA"  0o260 Source            ALL  FETCH4;
    Ori  "ORI"  0o366 Byte              ALL  FETCH_READ;
    Cmp  "CMP"  0o270 Source            ALL  FETCH4;
    Cpi  "CPI"  0o376 Byte              ALL  FETCH_READ;
    Rlc  "RLC"  0o007 None              C    FETCH4;
    Rrc  "RRC"  0o017 None              C    FETCH4;
    Ral  "RAL"  0o027 None              C    FETCH4;
    Rar  "RAR"  0o037 None              C    FETCH4;
    Cma  "CMA"  0o057 None              NONE FETCH4;
    Cmc  "CMC"  0o077 None              C    FETCH4;
    Stc  "STC"  0o067 None              C    FETCH4;
    Jmp  "JMP"  0o303 Address           NONE FETCH_READ2;
    Jnz  "JNZ"  0o302 Address           NONE FETCH_READ2;
    Jz   "JZ"   0o312 Address           NONE FETCH_READ2;
    Jnc  "JNC"  0o322 Address           NONE FETCH_READ2;
    Jc   "JC"   0o332 Address           NONE FETCH_READ2;
    Jpo  "JPO"  0o342 Address           NONE FETCH_READ2;
    Jpe  "JPE"  0o352 Address           NONE FETCH_READ2;
    Jp   "JP"   0o362 Address           NONE FETCH_READ2;
    Jm   "JM"   0o372 Address           NONE FETCH_READ2;
    Pchl "PCHL" 0o351 None              NONE FETCH5;
    Call "CALL" 0o315 Address           NONE CALLED;
    Cnz  "CNZ"  0o304 Address           NONE CALLED / CALL_SKIPPED;
    Cz   "CZ"   0o314 Address           NONE CALLED / CALL_SKIPPED;
    Cnc  "CNC"  0o324 Address           NONE CALLED / CALL_SKIPPED;
    Cc   "CC"   0o334 Address           NONE CALLED / CALL_SKIPPED;
    Cpo  "CPO"  0o344 Address           NONE CALLED / CALL_SKIPPED;
    Cpe  "CPE"  0o354 Address           NONE CALLED / CALL_SKIPPED;
    Cp   "CP"   0o364 Address           NONE CALLED / CALL_SKIPPED;
    Cm   "CM"   0o374 Address           NONE CALLED / CALL_SKIPPED;
    Ret  "RET"  0o311 None              NONE FETCH_UNSTACK2;
    Rnz  "RNZ"  0o300 None              NONE RETURNED / FETCH5;
    Rz   "RZ"   0o310 None              NONE RETURNED / FETCH5;
    Rnc  "RNC"  0o320 None              NONE RETURNED / FETCH5;
    Rc   "RC"   0o330 None              NONE RETURNED / FETCH5;
    Rpo  "RPO"  0o340 None              NONE RETURNED / FETCH5;
    Rpe  "RPE"  0o350 None              NONE RETURNED / FETCH5;
    Rp   "RP"   0o360 None              NONE RETURNED / FETCH5;
    Rm   "RM"   0o370 None              NONE RETURNED / FETCH5;
    Rst  "RST"  0o307 Vector            NONE FETCH_STACK2;
    Push "PUSH" 0o305 PairStacked       NONE FETCH_STACK2;
    Pop  "POP"  0o301 PairStacked       NONE FETCH_UNSTACK2;
    Xthl "XTHL" 0o343 None              NONE EXCHANGE_STACK;
    Sphl "SPHL" 0o371 None              NONE FETCH5;
    Ei   "EI"   0o373 None              NONE FETCH4;
    Di   "DI"   0o363 None              NONE FETCH4;
    In   "IN"   0o333 Port              NONE FETCH_READ_INPUT;
    Out  "OUT"  0o323 Port              NONE FETCH_READ_OUTPUT;
    Hlt  "HLT"  0o166 None              NONE HALTED;
    Nop  "NOP"  0o000 None              NONE FETCH4;
}

/// Opcodes that no Intel table lists, with the instruction that the silicon runs instead (measured; two independent
/// processor libraries agree).
pub(super) const UNDOCUMENTED: &[(u8, Mnemonic)] = &[
    (0o010, Mnemonic::Nop),
    (0o020, Mnemonic::Nop),
    (0o030, Mnemonic::Nop),
    (0o040, Mnemonic::Nop),
    (0o050, Mnemonic::Nop),
    (0o060, Mnemonic::Nop),
    (0o070, Mnemonic::Nop),
    (0o313, Mnemonic::Jmp),
    (0o331, Mnemonic::Ret),
    (0o335, Mnemonic::Call),
    (0o355, Mnemonic::Call),
    (0o375, Mnemonic::Call),
];

const FETCH4: &[Cycle] = &[F4];
const FETCH5: &[Cycle] = &[F5];
const FETCH_READ: &[Cycle] = &[F4, R];
const FETCH_READ2: &[Cycle] = &[F4, R, R];
const FETCH_READ3: &[Cycle] = &[F4, R, R, R];
const FETCH_READ4: &[Cycle] = &[F4, R, R, R, R];
const FETCH_WRITE: &[Cycle] = &[F4, W];
const FETCH_READ_WRITE: &[Cycle] = &[F4, R, W];
const FETCH_READ2_WRITE: &[Cycle] = &[F4, R, R, W];
const FETCH_READ2_WRITE2: &[Cycle] = &[F4, R, R, W, W];
const FETCH_INTERNAL2: &[Cycle] = &[F4, IDLE, IDLE];
const FETCH_STACK2: &[Cycle] = &[F5, SW, SW];
const FETCH_UNSTACK2: &[Cycle] = &[F4, SR, SR];
const RETURNED: &[Cycle] = &[F5, SR, SR];
const CALLED: &[Cycle] = &[F5, R, R, SW, SW];
const CALL_SKIPPED: &[Cycle] = &[F5, R, R];
const EXCHANGE_STACK: &[Cycle] = &[F4, SR, SR, SW, cycle(CycleKind::StackWrite, 5)];
const FETCH_READ_INPUT: &[Cycle] = &[F4, R, cycle(CycleKind::Input, 3)];
const FETCH_READ_OUTPUT: &[Cycle] = &[F4, R, cycle(CycleKind::Output, 3)];
// Chapter 4 says one cycle of 7 states; Table 2-2 shows the fetch and a second cycle. The sum agrees with both.
const HALTED: &[Cycle] = &[F4, cycle(CycleKind::HaltAcknowledge, 3)];

const F4: Cycle = cycle(CycleKind::Fetch, 4);
const F5: Cycle = cycle(CycleKind::Fetch, 5);
const R: Cycle = cycle(CycleKind::Read, 3);
const W: Cycle = cycle(CycleKind::Write, 3);
const SR: Cycle = cycle(CycleKind::StackRead, 3);
const SW: Cycle = cycle(CycleKind::StackWrite, 3);
const IDLE: Cycle = cycle(CycleKind::Internal, 3);

const fn cycle(kind: CycleKind, states: u8) -> Cycle {
    Cycle { kind, states }
}
