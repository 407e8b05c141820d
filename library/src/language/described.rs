//! What the words of the language do, one sentence a word.

use crate::isa::{CycleKind, Mnemonic, Pattern};
use crate::syntax::{Binary, Control, Directive, Keyword, RegisterName, Relocation, Unary};

/// Every mnemonic with what it does. The table of the processor has their operands, times and flags.
///
/// Source: Intel 8080 Microcomputer Systems User's Manual, September 1975, chapter 4.
#[rustfmt::skip]
pub const SENTENCES: &[(Mnemonic, &str)] = {
    use Mnemonic::*;
    &[
        (Mov, "copies the second register to the first"),
        (Mvi, "puts a byte into a register"),
        (Lxi, "puts a word into a register pair"),
        (Lda, "reads the accumulator from memory"),
        (Sta, "writes the accumulator to memory"),
        (Lhld, "reads L, then H from the address behind, from memory"),
        (Shld, "writes L, then H to the address behind, to memory"),
        (Ldax, "reads the accumulator from where a register pair points"),
        (Stax, "writes the accumulator to where a register pair points"),
        (Xchg, "exchanges H and L with D and E"),
        (Add, "adds a register to the accumulator"),
        (Adi, "adds a byte to the accumulator"),
        (Adc, "adds a register and the carry to the accumulator"),
        (Aci, "adds a byte and the carry to the accumulator"),
        (Sub, "subtracts a register from the accumulator"),
        (Sui, "subtracts a byte from the accumulator"),
        (Sbb, "subtracts a register and the borrow from the accumulator"),
        (Sbi, "subtracts a byte and the borrow from the accumulator"),
        (Inr, "adds one to a register; the carry stays"),
        (Dcr, "subtracts one from a register; the carry stays"),
        (Inx, "adds one to a register pair; no flag shows it"),
        (Dcx, "subtracts one from a register pair; no flag shows it"),
        (Dad, "adds a register pair to H and L"),
        (Daa, "corrects the accumulator after an addition of decimal digits"),
        (Ana, "leaves the bits of the accumulator that a register has too; clears the carry"),
        (Ani, "leaves the bits of the accumulator that a byte has too; clears the carry"),
        (Xra, "inverts the bits of the accumulator that a register has; clears the carry"),
        (Xri, "inverts the bits of the accumulator that a byte has; clears the carry"),
        (Ora, "sets the bits of the accumulator that a register has; clears the carry"),
        (Ori, "sets the bits of the accumulator that a byte has; clears the carry"),
        (Cmp, "compares the accumulator with a register: zero if equal, carry if the register is larger"),
        (Cpi, "compares the accumulator with a byte: zero if equal, carry if the byte is larger"),
        (Rlc, "turns the accumulator left; bit 7 goes to bit 0 and to the carry"),
        (Rrc, "turns the accumulator right; bit 0 goes to bit 7 and to the carry"),
        (Ral, "turns the accumulator left through the carry"),
        (Rar, "turns the accumulator right through the carry"),
        (Cma, "inverts the accumulator"),
        (Cmc, "inverts the carry"),
        (Stc, "sets the carry"),
        (Jmp, "goes on at an address"),
        (Jnz, "goes on at an address if the last result was not zero"),
        (Jz, "goes on at an address if the last result was zero"),
        (Jnc, "goes on at an address if the carry is clear"),
        (Jc, "goes on at an address if the carry is set"),
        (Jpo, "goes on at an address if the parity is odd"),
        (Jpe, "goes on at an address if the parity is even"),
        (Jp, "goes on at an address if the sign is plus"),
        (Jm, "goes on at an address if the sign is minus"),
        (Pchl, "goes on at the address in H and L"),
        (Call, "calls a routine: pushes the address behind, and goes on there"),
        (Cnz, "calls a routine if the last result was not zero"),
        (Cz, "calls a routine if the last result was zero"),
        (Cnc, "calls a routine if the carry is clear"),
        (Cc, "calls a routine if the carry is set"),
        (Cpo, "calls a routine if the parity is odd"),
        (Cpe, "calls a routine if the parity is even"),
        (Cp, "calls a routine if the sign is plus"),
        (Cm, "calls a routine if the sign is minus"),
        (Ret, "returns to the address on the stack"),
        (Rnz, "returns if the last result was not zero"),
        (Rz, "returns if the last result was zero"),
        (Rnc, "returns if the carry is clear"),
        (Rc, "returns if the carry is set"),
        (Rpo, "returns if the parity is odd"),
        (Rpe, "returns if the parity is even"),
        (Rp, "returns if the sign is plus"),
        (Rm, "returns if the sign is minus"),
        (Rst, "calls the routine at eight times the number"),
        (Push, "puts a register pair on the stack"),
        (Pop, "takes a register pair from the stack"),
        (Xthl, "exchanges H and L with the word on the stack"),
        (Sphl, "copies H and L to the stack pointer"),
        (Ei, "enables interrupts, behind the next instruction"),
        (Di, "disables interrupts"),
        (In, "reads a port into the accumulator"),
        (Out, "writes the accumulator to a port"),
        (Hlt, "stops the processor until an interrupt or a reset"),
        (Nop, "does nothing"),
    ]
};

/// What a mnemonic does.
pub(super) fn does(mnemonic: Mnemonic) -> &'static str {
    SENTENCES.iter().find(|(of, _)| *of == mnemonic).map_or("", |(_, does)| does)
}

/// What a word of the language is; nothing for other spellings of directives.
pub fn described(keyword: Keyword) -> Option<String> {
    Some(match keyword {
        Keyword::Mnemonic(mnemonic) => does(mnemonic).to_owned(),
        Keyword::Register(register) => of_register(register).to_owned(),
        Keyword::Unary(operator) => of_unary(operator).to_owned(),
        Keyword::Binary(operator) => of_binary(operator).to_owned(),
        Keyword::Directive(directive) | Keyword::OtherHands(directive) => of_directive(directive).to_owned(),
        Keyword::Control(Control::Listing) => "steers a printed listing, and is passed over".to_owned(),
        Keyword::Control(Control::Absolute) => "says what is so here anyway, and is passed over".to_owned(),
        Keyword::Relocation(relocation) => of_relocation(relocation).to_owned(),
    })
}

/// How the operands of a mnemonic are written.
pub(super) fn operands(mnemonic: Mnemonic) -> &'static str {
    match mnemonic.form().pattern {
        Pattern::None => "",
        Pattern::DestinationSource => "to,from",
        Pattern::Destination | Pattern::Source => "register",
        Pattern::DestinationByte => "register,byte",
        Pattern::Pair | Pattern::PairIndirect | Pattern::PairStacked => "pair",
        Pattern::PairWord => "pair,word",
        Pattern::Byte => "byte",
        Pattern::Port => "port",
        Pattern::Address => "address",
        Pattern::Vector => "0..7",
    }
}

/// A machine cycle in a word or two.
pub(super) fn cycle(kind: CycleKind) -> &'static str {
    match kind {
        CycleKind::Fetch => "fetch",
        CycleKind::Read => "read",
        CycleKind::Write => "write",
        CycleKind::StackRead => "stack read",
        CycleKind::StackWrite => "stack write",
        CycleKind::Input => "input",
        CycleKind::Output => "output",
        CycleKind::InterruptAcknowledge | CycleKind::InterruptAcknowledgeWhileHalted => "interrupt acknowledge",
        CycleKind::HaltAcknowledge => "halt",
        CycleKind::Internal => "internal",
    }
}

const fn of_register(register: RegisterName) -> &'static str {
    match register {
        RegisterName::A => "the accumulator",
        RegisterName::B => "register B; as a pair, B and C",
        RegisterName::C => "register C",
        RegisterName::D => "register D; as a pair, D and E",
        RegisterName::E => "register E",
        RegisterName::H => "register H; as a pair, H and L",
        RegisterName::L => "register L",
        RegisterName::M => "the byte in memory at the address in H and L",
        RegisterName::Sp => "the stack pointer",
        RegisterName::Psw => "the accumulator and the flags, as a pair on the stack",
    }
}

const fn of_unary(operator: Unary) -> &'static str {
    match operator {
        Unary::Plus => "the value as it is",
        Unary::Minus => "the value with the other sign",
        Unary::Not => "the value with every bit inverted",
        Unary::High => "the high byte of a word",
        Unary::Low => "the low byte of a word",
        Unary::Nul => "true if nothing follows; for the arguments of macros",
    }
}

const fn of_binary(operator: Binary) -> &'static str {
    match operator {
        Binary::Add => "the sum",
        Binary::Subtract => "the difference",
        Binary::Multiply => "the product",
        Binary::Divide => "the quotient",
        Binary::Mod => "the remainder of a division",
        Binary::Shl => "the left value shifted left, as many bits as the right one says",
        Binary::Shr => "the left value shifted right, as many bits as the right one says",
        Binary::Eq => "true if both are equal",
        Binary::Ne => "true if both differ",
        Binary::Lt => "true if the left value is less",
        Binary::Le => "true if the left value is less or equal",
        Binary::Gt => "true if the left value is greater",
        Binary::Ge => "true if the left value is greater or equal",
        Binary::And => "the bits that both have",
        Binary::Or => "the bits that one of both has",
        Binary::Xor => "the bits that only one of both has",
    }
}

const fn of_directive(directive: Directive) -> &'static str {
    match directive {
        Directive::Org => "sets the address of what follows",
        Directive::Equ => "gives a name a fixed value",
        Directive::Set => "gives a name a value that may change",
        Directive::End => "ends the program, with the address where it starts",
        Directive::Db => "bytes and strings",
        Directive::Dw => "words, the low byte first",
        Directive::Ds => "leaves bytes free",
        Directive::If => "reads the lines up to ELSE or ENDIF only if a value is not 0",
        Directive::Else => "reads the lines up to ENDIF if those above were not read",
        Directive::EndIf => "ends IF",
        Directive::Macro => "defines a macro, up to ENDM",
        Directive::EndM => "ends a macro or a repetition",
        Directive::Local => "names that are made anew in every expansion",
        Directive::Rept => "repeats the lines up to ENDM a number of times",
        Directive::Irp => "repeats the lines up to ENDM for each item of a list",
        Directive::Irpc => "repeats the lines up to ENDM for each character of a text",
        Directive::ExitM => "ends an expansion early",
        Directive::Include => "reads another source here: beside this one, or of the library",
        Directive::Embed => "the bytes of a file, with its first byte and their number if not all are wanted",
        Directive::RunAt => "assembles what follows for another address than where it is put, up to ENDRUN",
        Directive::EndRun => "ends RUNAT",
        Directive::Insist => "fails with a message unless a value is other than 0",
        Directive::Limit => "opens a region of at most so many bytes, up to ENDLIMIT",
        Directive::EndLimit => "ends LIMIT",
        Directive::Boundary => "goes on at the next multiple of a number",
        Directive::Stuff => "a number of equal bytes",
        Directive::StuffTo => "equal bytes up to an address",
    }
}

const fn of_relocation(relocation: Relocation) -> &'static str {
    match relocation {
        Relocation::Code => "the code segment of a program that is linked",
        Relocation::Data => "the data segment of a program that is linked",
        Relocation::Stack => "the length of the stack of a program that is linked",
        Relocation::Public => "names offered to other modules of a program that is linked",
        Relocation::External => "names that other modules of a program that is linked offer",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_mnemonic_is_described_once() {
        for mnemonic in Mnemonic::all() {
            let told = SENTENCES.iter().filter(|(of, _)| *of == mnemonic).count();
            assert_eq!(told, 1, "{}", mnemonic.name());
        }
    }
}
