//! What bites at the bench: where execution runs into nothing, into the middle of an instruction, or into bytes that are
//! no documented instruction.

use std::cell::LazyCell;

use super::Assembly;
use super::statement::{Statement, Task};
use super::symbols::Meaning;
use super::{Options, emit::operand_span};
use crate::image::MEMORY;
use crate::isa::{Mnemonic, decode};
use crate::notation::{Address, Both};
use crate::source::{Code, Diagnostic};

/// What lies at a run address. One byte each: the table of all addresses is filled for every program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Mark {
    /// No instruction.
    Nothing,
    /// The first byte of an instruction.
    Opcode,
    /// A further byte of an instruction.
    Inside,
    /// Two regions run here at different times.
    Several,
}

/// Adds warnings to an assembly without errors.
pub(super) fn check(assembly: &mut Assembly, options: &Options) {
    let marks = marks(assembly);
    let owners = LazyCell::new(|| owners(assembly));
    let mut found = Vec::new();
    for statement in &assembly.statements {
        let Task::Instruction(mnemonic) = statement.task else { continue };
        let next = statement.location.wrapping_add(length(mnemonic));
        if marks[usize::from(next)] == Mark::Nothing {
            found.extend(runs_on(assembly, statement, mnemonic, next));
        }
        if let Some(target) = target(assembly, statement, mnemonic).filter(|target| marks[*target] == Mark::Inside) {
            found.extend(jumps_inside(assembly, statement, mnemonic, (target, &assembly.statements[owners[target]])));
        }
    }
    if options.warn_unused {
        found.extend(unused(assembly));
    }
    assembly.diagnostics.extend(found);
}

fn length(mnemonic: Mnemonic) -> u16 {
    mnemonic.form().pattern.length().into()
}

fn marks(assembly: &Assembly) -> Vec<Mark> {
    let mut marks = vec![Mark::Nothing; MEMORY];
    for statement in &assembly.statements {
        let Task::Instruction(mnemonic) = statement.task else { continue };
        for at in 0..length(mnemonic) {
            let place = &mut marks[usize::from(statement.location.wrapping_add(at))];
            *place = match (*place, at) {
                (Mark::Nothing, 0) => Mark::Opcode,
                (Mark::Nothing, _) => Mark::Inside,
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

/// Warns of an instruction behind which no instruction lies: `next` is the run address there.
fn runs_on(assembly: &Assembly, statement: &Statement, mnemonic: Mnemonic, next: u16) -> Option<Diagnostic> {
    // RST 0 starts the machine anew and does not come back.
    if mnemonic.ends_flow() || own_byte(assembly, statement, 0) == Some(0o307) {
        return None;
    }
    // What is no instruction is data if a byte is there.
    let Some(byte) = assembly.image.byte(Address(next.wrapping_add(statement.shift))) else {
        let headline = format!("execution runs on into nothing at {}", Both(Address(next)));
        let problem = Diagnostic::warning(Code::RunsIntoNothing, headline)
            .at(statement.span(), "the last instruction before it")
            .with_help("end with HLT, RET or a jump; or ignore this if something is loaded there first");
        return Some(problem);
    };
    if mnemonic.calls() || decode(byte).documented {
        return None;
    }
    let headline = format!("execution runs into the undocumented opcode {}", Both(byte));
    let problem = Diagnostic::warning(Code::OpcodeUndocumented, headline)
        .at(statement.span(), "the instruction before it")
        .with_note(format!("it acts as {} on most chips", decode(byte).mnemonic.name()))
        .with_help("if it is data, jump round it");
    Some(problem)
}

/// The run address to which a statement goes.
fn target(assembly: &Assembly, statement: &Statement, mnemonic: Mnemonic) -> Option<usize> {
    let byte = |at| own_byte(assembly, statement, at);
    mnemonic.goes_to_address().then(|| Some(u16::from_le_bytes([byte(1)?, byte(2)?]).into()))?
}

/// The number of the statement whose instruction lies at each run address; made only when a warning needs it.
fn owners(assembly: &Assembly) -> Vec<usize> {
    let mut owners = vec![0; MEMORY];
    for (number, statement) in assembly.statements.iter().enumerate() {
        let Task::Instruction(mnemonic) = statement.task else { continue };
        for at in 0..length(mnemonic) {
            owners[usize::from(statement.location.wrapping_add(at))] = number;
        }
    }
    owners
}

fn jumps_inside(
    assembly: &Assembly,
    statement: &Statement,
    mnemonic: Mnemonic,
    (target, inside): (usize, &Statement),
) -> Option<Diagnostic> {
    let operand = *assembly.program.operands(statement.first, statement.count).first()?;
    let target = Both(Address(target as u16));
    let headline = format!("{} goes to {target}, the middle of an instruction", mnemonic.name());
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
