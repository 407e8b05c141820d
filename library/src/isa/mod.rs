//! The 8080 in one table. `table` holds the rows and is the only place where a mnemonic is spelt; the encoder, the
//! decoder, the cycle column of a listing, the lights and the processor itself all derive from it.
//!
//! Source: Intel 8080 Microcomputer Systems User's Manual, September 1975 (98-153B), chapter 4 and Table 2-2.

mod cycle;
mod decode;
mod operand;
mod table;

pub use cycle::{Cycle, CycleKind, TStates};
pub use decode::{Instruction, decode};
pub use operand::{Flags, Operands, Pair, Pattern, Register};
pub use table::{FORMS, Form, Mnemonic};

impl Mnemonic {
    /// The spelling, in upper case.
    pub fn name(self) -> &'static str {
        FORMS[self as usize].name
    }

    /// The table row of this mnemonic.
    pub fn form(self) -> &'static Form {
        &FORMS[self as usize]
    }

    /// Every mnemonic, in table order.
    pub fn all() -> impl Iterator<Item = Mnemonic> {
        FORMS.iter().map(|form| form.mnemonic)
    }

    /// Finds a mnemonic by its name, in either case.
    pub fn from_name(name: &str) -> Option<Mnemonic> {
        FORMS.iter().find(|form| form.name.eq_ignore_ascii_case(name)).map(|form| form.mnemonic)
    }
}

impl Mnemonic {
    /// Whether what follows in memory is never reached by running on.
    pub const fn ends_flow(self) -> bool {
        matches!(self, Mnemonic::Jmp | Mnemonic::Pchl | Mnemonic::Ret | Mnemonic::Hlt)
    }

    /// Whether the address operand is a place to go on from, rather than data.
    pub fn goes_to_address(self) -> bool {
        let data = matches!(self, Mnemonic::Lda | Mnemonic::Sta | Mnemonic::Lhld | Mnemonic::Shld);
        self.form().pattern == Pattern::Address && !data
    }

    /// Whether it may come back to what follows only after a subroutine has run.
    pub fn calls(self) -> bool {
        self == Mnemonic::Rst || self.goes_to_address() && self.name().starts_with('C')
    }
}
