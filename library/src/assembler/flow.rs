//! What bites at the bench: where execution runs into nothing, into the middle of an instruction, or into bytes that are
//! no documented instruction.

use std::cell::LazyCell;
use std::collections::HashSet;

use super::assembly::{Assembly, Options};
use super::emit::operand_span;
use super::statement::{Statement, Task};
use super::symbols::{Meaning, Worth};
use crate::image::MEMORY;
use crate::isa::{Mnemonic, decode};
use crate::notation::{Address, Both, counted};
use crate::source::{Code, Diagnostic};
use crate::syntax::{Operand, Step};

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
    // The tables are made only where something is in doubt, which in most programs nothing is.
    let marks = LazyCell::new(|| marks(assembly));
    let (owners, entered) = (LazyCell::new(|| owners(assembly)), LazyCell::new(|| entered(assembly)));
    let runs_where_it_lies = assembly.statements.iter().all(|statement| statement.shift == 0);
    let (mut found, mut inside) = (Vec::new(), Vec::new());
    for (number, statement) in assembly.statements.iter().enumerate() {
        let Task::Instruction(mnemonic) = statement.task else { continue };
        let next = statement.location.wrapping_add(length(mnemonic));
        let follows = assembly.statements.get(number + 1).is_some_and(|other| other.begins_instruction_at(next));
        if !follows && !mnemonic.ends_flow() && marks[usize::from(next)] == Mark::Nothing {
            let problem = runs_on(assembly, statement, mnemonic, next);
            found.extend(problem.filter(|_| is_reached(assembly, number, &entered)));
        }
        if let Some(target) = target(assembly, statement, mnemonic)
            && !(runs_where_it_lies && begins_statement(assembly, target))
            && marks[target] == Mark::Inside
        {
            inside.push(Inside { statement, mnemonic, target, owner: &assembly.statements[owners[target]] });
        }
    }
    found.extend(jumps_inside(assembly, &inside));
    if options.warn_unused {
        found.extend(unused(assembly));
    }
    assembly.diagnostics.extend(found);
}

/// Whether the byte at an address was made by another statement than the one below it.
fn begins_statement(assembly: &Assembly, address: usize) -> bool {
    let address = Address(address as u16);
    assembly.image.made_by(address) != assembly.image.made_by(address.wrapping_add(u16::MAX))
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
    if own_byte(assembly, statement, 0) == Some(0o307) {
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
#[inline]
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

/// An instruction that goes to a further byte of another.
struct Inside<'a> {
    statement: &'a Statement,
    mnemonic: Mnemonic,
    target: usize,
    owner: &'a Statement,
}

/// One warning each; but a program without ORG that goes to fixed addresses lies in the wrong place, which is one.
fn jumps_inside(assembly: &Assembly, list: &[Inside<'_>]) -> Vec<Diagnostic> {
    let placed = assembly.statements.iter().any(|statement| statement.task == Task::Origin);
    let (fixed, own): (Vec<_>, Vec<_>) = list.iter().partition(|jump| !placed && goes_to_number(assembly, jump));
    let mut found: Vec<_> = own.into_iter().filter_map(|jump| jump_inside(assembly, jump)).collect();
    if let [first, ..] = fixed[..] {
        let count = counted(fixed.len(), "instruction");
        let headline = format!("there is no ORG, and {count} with a fixed address would go into the program itself");
        let problem = Diagnostic::warning(Code::JumpInside, headline)
            .at(first.statement.span(), format!("the first of them goes to {}", Both(Address(first.target as u16))))
            .and_at(first.owner.span(), "is there now")
            .with_help("put an ORG with the program's own address before its first line");
        found.push(problem);
    }
    found
}

/// Whether the operand of a jump is made of numbers and constants alone.
fn goes_to_number(assembly: &Assembly, jump: &Inside<'_>) -> bool {
    let is_label = |name| assembly.symbols.get(name).is_some_and(|entry| entry.meaning == Meaning::Label);
    let operands = assembly.program.operands(jump.statement.first, jump.statement.count);
    operands.iter().all(|operand| match *operand {
        Operand::Number(..) => true,
        Operand::Name(name, _) => !is_label(name),
        Operand::Expression(expression) => assembly.program.ops(expression).iter().all(|op| match op.step {
            Step::Name(name) => !is_label(name),
            step => step != Step::Here,
        }),
        _ => false,
    })
}

fn jump_inside(assembly: &Assembly, jump: &Inside<'_>) -> Option<Diagnostic> {
    let operand = *assembly.program.operands(jump.statement.first, jump.statement.count).first()?;
    let target = Both(Address(jump.target as u16));
    let headline = format!("{} goes to {target}, the middle of an instruction", jump.mnemonic.name());
    let problem = Diagnostic::warning(Code::JumpInside, headline)
        .at(operand_span(&assembly.program, jump.statement, operand), "this address")
        .and_at(jump.owner.span(), "is inside this one");
    Some(problem)
}

/// The run addresses at which execution may arrive other than from the instruction before: labels, and what
/// instructions go to.
fn entered(assembly: &Assembly) -> HashSet<u16> {
    let labels = assembly.names.all().filter_map(|name| {
        let entry = assembly.symbols.get(name).filter(|entry| entry.meaning == Meaning::Label)?;
        if let Worth::Known(at) = entry.worth { Some(at) } else { None }
    });
    let targets = assembly.statements.iter().filter_map(|statement| match statement.task {
        Task::Instruction(mnemonic) => target(assembly, statement, mnemonic).map(|at| at as u16),
        _ => None,
    });
    labels.chain(targets).collect()
}

/// Whether execution may arrive at the statement of a number: not if it stands behind a jump or return, with
/// instructions alone between them, and nothing leads to any of them.
fn is_reached(assembly: &Assembly, number: usize, entered: &HashSet<u16>) -> bool {
    let mut at = &assembly.statements[number];
    for before in assembly.statements[..number].iter().rev() {
        let Task::Instruction(mnemonic) = before.task else { return true };
        if entered.contains(&at.location) || before.location.wrapping_add(length(mnemonic)) != at.location {
            return true;
        }
        if mnemonic.ends_flow() {
            return false;
        }
        at = before;
    }
    true
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
    assembly.names.all().filter_map(warn).collect()
}
