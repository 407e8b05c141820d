//! What bites at the bench: where execution runs into nothing, into the middle of an instruction, or into bytes that are
//! no documented instruction.

use super::Assembly;
use super::statement::{Statement, Task};
use super::symbols::Meaning;
use super::{Options, emit::operand_span};
use crate::image::MEMORY;
use crate::isa::{Mnemonic, decode};
use crate::notation::{Address, Both};
use crate::source::{Code, Diagnostic};

/// What lies at a run address.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Mark {
    /// No instruction.
    Nothing,
    /// The first byte of an instruction.
    Opcode,
    /// A further byte of the instruction of this number among the statements.
    Inside(u32),
    /// Two regions run here at different times.
    Several,
}

/// Adds warnings to an assembly without errors.
pub(super) fn check(assembly: &mut Assembly, options: &Options) {
    let marks = marks(assembly);
    let mut found = Vec::new();
    for statement in &assembly.statements {
        let Task::Instruction(mnemonic) = statement.task else { continue };
        found.extend(runs_on(assembly, statement, mnemonic, &marks));
        found.extend(jumps_inside(assembly, statement, mnemonic, &marks));
    }
    if options.warn_unused {
        found.extend(unused(assembly));
    }
    assembly.diagnostics.extend(found);
}

fn marks(assembly: &Assembly) -> Vec<Mark> {
    let mut marks = vec![Mark::Nothing; MEMORY];
    for (number, statement) in assembly.statements.iter().enumerate() {
        let Task::Instruction(mnemonic) = statement.task else { continue };
        for at in 0..u16::from(mnemonic.form().pattern.length()) {
            let place = &mut marks[usize::from(statement.location.wrapping_add(at))];
            *place = match (*place, at) {
                (Mark::Nothing, 0) => Mark::Opcode,
                (Mark::Nothing, _) => Mark::Inside(number as u32),
                _ => Mark::Several,
            };
        }
    }
    marks
}

/// The byte of a statement `at` bytes from its start.
fn own_byte(assembly: &Assembly, statement: &Statement, at: u16) -> Option<u8> {
    let address = Address(statement.deposit()).wrapping_add(at);
    let own = assembly.image.made_by(address) == Some(statement.position());
    assembly.image.byte(address).filter(|_| own)
}

fn runs_on(assembly: &Assembly, statement: &Statement, mnemonic: Mnemonic, marks: &[Mark]) -> Option<Diagnostic> {
    // RST 0 starts the machine anew and does not come back.
    if mnemonic.ends_flow() || own_byte(assembly, statement, 0) == Some(0o307) {
        return None;
    }
    let next = statement.location.wrapping_add(mnemonic.form().pattern.length().into());
    // What is no instruction is data if a byte is there.
    let byte = assembly.image.byte(Address(next.wrapping_add(statement.shift)));
    match (marks[usize::from(next)], byte) {
        (Mark::Nothing, None) => {
            let headline = format!("execution runs on into nothing at {}", Both(Address(next)));
            let problem = Diagnostic::warning(Code::RunsIntoNothing, headline)
                .at(statement.span(), "the last instruction before it")
                .with_help("end with HLT, RET or a jump; or ignore this if something is loaded there first");
            Some(problem)
        }
        (Mark::Nothing, Some(byte)) if !mnemonic.calls() => {
            let headline = format!("execution runs into the undocumented opcode {}", Both(byte));
            let problem = Diagnostic::warning(Code::OpcodeUndocumented, headline)
                .at(statement.span(), "the instruction before it")
                .with_note(format!("it acts as {} on most chips", decode(byte).mnemonic.name()))
                .with_help("if it is data, jump round it");
            (!decode(byte).documented).then_some(problem)
        }
        _ => None,
    }
}

fn jumps_inside(assembly: &Assembly, statement: &Statement, mnemonic: Mnemonic, marks: &[Mark]) -> Option<Diagnostic> {
    if !mnemonic.goes_to_address() {
        return None;
    }
    let target = u16::from_le_bytes([own_byte(assembly, statement, 1)?, own_byte(assembly, statement, 2)?]);
    let Mark::Inside(number) = marks[usize::from(target)] else { return None };
    let inside = &assembly.statements[number as usize];
    let operand = *assembly.program.operands(statement.first, statement.count).first()?;
    let headline = format!("{} goes to {}, the middle of an instruction", mnemonic.name(), Both(Address(target)));
    let problem = Diagnostic::warning(Code::JumpInside, headline)
        .at(operand_span(&assembly.program, statement, operand), "this address")
        .and_at(inside.span(), "is inside this one");
    Some(problem)
}

fn unused(assembly: &Assembly) -> Vec<Diagnostic> {
    let warn = |name| {
        let entry = assembly.symbols.get(name).filter(|entry| entry.meaning == Meaning::Label)?;
        let headline = format!("the label `{}` is never used", assembly.names.text(name));
        let unused = !assembly.symbols.is_used(name);
        entry
            .defined
            .filter(|_| unused)
            .map(|at| Diagnostic::warning(Code::SymbolUnused, headline).at(at, "defined here"))
    };
    assembly.names.own().filter_map(warn).collect()
}
