//! Registers, register pairs, flags, and the patterns in which instructions take them.

/// An eight-bit register field. The discriminants are the codes of the instruction word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub enum Register {
    B = 0,
    C = 1,
    D = 2,
    E = 3,
    H = 4,
    L = 5,
    /// The byte in memory at the address in H and L.
    M = 6,
    A = 7,
}

impl Register {
    /// All registers in the order of their codes.
    pub const ALL: [Register; 8] = {
        use Register::*;
        [B, C, D, E, H, L, M, A]
    };

    /// The register of the low three bits of `code`.
    pub const fn from_code(code: u8) -> Register {
        Register::ALL[(code & 7) as usize]
    }

    /// The register's letter.
    pub const fn name(self) -> &'static str {
        ["B", "C", "D", "E", "H", "L", "M", "A"][self as usize]
    }
}

/// A register pair, named by its high register.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub enum Pair {
    B,
    D,
    H,
    Sp,
    /// The accumulator and the flags.
    Psw,
}

impl Pair {
    /// The pair's name in source text.
    pub const fn name(self) -> &'static str {
        ["B", "D", "H", "SP", "PSW"][self as usize]
    }

    /// The two-bit code of the instruction word; `SP` and `PSW` share one.
    pub const fn code(self) -> u8 {
        match self {
            Pair::B => 0,
            Pair::D => 1,
            Pair::H => 2,
            Pair::Sp | Pair::Psw => 3,
        }
    }
}

/// Which operands a mnemonic takes, and where their bits lie in the instruction.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Pattern {
    /// No operand.
    None,
    /// Destination in bits 5-3, source in bits 2-0 (`MOV`).
    DestinationSource,
    /// A register in bits 5-3 (`INR`).
    Destination,
    /// A register in bits 5-3, then a byte (`MVI`).
    DestinationByte,
    /// A register in bits 2-0 (`ADD`).
    Source,
    /// B, D, H or SP in bits 5-4 (`INX`).
    Pair,
    /// B, D, H or SP in bits 5-4, then a word (`LXI`).
    PairWord,
    /// B or D in bit 4 (`STAX`).
    PairIndirect,
    /// B, D, H or PSW in bits 5-4 (`PUSH`).
    PairStacked,
    /// A byte (`ADI`).
    Byte,
    /// A port number, 0 to 255 (`IN`).
    Port,
    /// A word that is an address (`JMP`).
    Address,
    /// 0 to 7 in bits 5-3 (`RST`).
    Vector,
}

impl Pattern {
    /// The length in bytes of an instruction of this pattern: 1, 2 or 3.
    pub const fn length(self) -> u8 {
        match self {
            Pattern::DestinationByte | Pattern::Byte | Pattern::Port => 2,
            Pattern::PairWord | Pattern::Address => 3,
            _ => 1,
        }
    }

    /// How many register operands and how many others an instruction of this pattern is written with.
    pub const fn operand_counts(self) -> (u8, u8) {
        match self {
            Pattern::None => (0, 0),
            Pattern::DestinationSource => (2, 0),
            Pattern::Destination | Pattern::Source | Pattern::Pair | Pattern::PairIndirect | Pattern::PairStacked => {
                (1, 0)
            }
            Pattern::DestinationByte | Pattern::PairWord => (1, 1),
            // The vector is a number, but it lies in the first byte as a register does.
            Pattern::Vector => (1, 0),
            Pattern::Byte | Pattern::Port | Pattern::Address => (0, 1),
        }
    }

    /// The pairs that this pattern takes.
    pub const fn pairs(self) -> &'static [Pair] {
        match self {
            Pattern::Pair | Pattern::PairWord => &[Pair::B, Pair::D, Pair::H, Pair::Sp],
            Pattern::PairStacked => &[Pair::B, Pair::D, Pair::H, Pair::Psw],
            Pattern::PairIndirect => &[Pair::B, Pair::D],
            _ => &[],
        }
    }

    /// How many opcodes a form of this pattern covers, and the step from one to the next.
    pub(super) const fn opcodes(self) -> (u16, u8) {
        match self {
            Pattern::DestinationSource => (64, 1),
            Pattern::Destination | Pattern::DestinationByte | Pattern::Vector => (8, 0o10),
            Pattern::Source => (8, 1),
            Pattern::Pair | Pattern::PairWord | Pattern::PairStacked => (4, 0o20),
            Pattern::PairIndirect => (2, 0o20),
            Pattern::None | Pattern::Byte | Pattern::Port | Pattern::Address => (1, 0),
        }
    }
}

/// The operands of one opcode: a pattern with its register fields filled in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub enum Operands {
    None,
    Registers(Register, Register),
    Register(Register),
    RegisterByte(Register),
    Pair(Pair),
    PairWord(Pair),
    Byte,
    Port,
    Address,
    Vector(u8),
}

/// Condition flags as a set, in the bit positions of the low byte of PSW.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Flags(pub u8);

impl Flags {
    /// Sign.
    pub const S: Flags = Flags(0x80);
    /// Zero.
    pub const Z: Flags = Flags(0x40);
    /// Auxiliary carry, out of bit 3.
    pub const A: Flags = Flags(0x10);
    /// Parity: one when even.
    pub const P: Flags = Flags(0x04);
    /// Carry.
    pub const C: Flags = Flags(0x01);
    /// No flag.
    pub const NONE: Flags = Flags(0);
    /// All but the carry.
    pub const SZAP: Flags = Flags(0xD4);
    /// All five.
    pub const ALL: Flags = Flags(0xD5);

    /// Whether every flag of `other` is in the set.
    pub const fn contains(self, other: Flags) -> bool {
        self.0 & other.0 == other.0
    }
}
