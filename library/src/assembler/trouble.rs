//! Failed evaluations as diagnostics.

use super::evaluate::{Cause, Trouble};
use super::symbols::{Meaning, Symbols};
use crate::isa::{Mnemonic, Pattern};
use crate::source::{Code, Diagnostic, SourceId, Span, nearest};
use crate::syntax::{NameId, Names};

/// How many problems may come with a guess of what was meant.
const MOST_GUESSED: usize = 200;

/// How many names may be looked at for all guesses of a run.
const MOST_COMPARED: usize = 1_000_000;

/// Whether one more problem, after so many, gets a guess. It takes time for every known name.
pub(super) fn may_guess(problems: usize, names: &Names) -> bool {
    problems < MOST_GUESSED && (problems + 1).saturating_mul(names.len()) <= MOST_COMPARED
}

/// Why pass one could not do without a value.
#[derive(Clone, Copy)]
pub(super) enum Need {
    /// This directive decides where the following lines lie.
    Directive(&'static str),
    /// `%` puts the value into the text of an argument.
    Argument,
}

/// The diagnostic of a trouble in a statement of `source`.
pub(super) fn diagnose(trouble: Trouble, source: SourceId, names: &Names, symbols: &Symbols) -> Diagnostic {
    let span = Span { source, start: trouble.start, end: trouble.end };
    match trouble.cause {
        Cause::Undefined(name) => undefined(name, span, names, symbols),
        Cause::Pending(name) => {
            let headline = format!("the value of `{}` depends on itself", names.text(name));
            Diagnostic::error(Code::SymbolCircular, headline)
                .at(span, "this value is needed to find this value")
                .with_help("give one of the names in the circle a value of its own")
        }
        Cause::Macro(name) => {
            let headline = format!("`{}` is a macro and has no value", names.text(name));
            Diagnostic::error(Code::UnexpectedText, headline).at(span, "expected a value")
        }
        Cause::Register(register) => {
            Diagnostic::error(Code::RegisterAsNumber, format!("the register `{}` is not a number", register.name()))
                .at(span, "expected a number or an address")
                .with_help("only instructions that take registers, EQU, SET and macro calls accept a register")
        }
        Cause::Text => Diagnostic::error(Code::StringAsNumber, "a string is not a number")
            .at(span, "expected a number here")
            .with_help("a string by itself can only be an item of DB, a message or a name"),
        Cause::DivisionByZero => {
            Diagnostic::error(Code::DivisionByZero, "division by zero").at(span, "the divisor comes to 0")
        }
        Cause::Unfinished(mnemonic) => {
            let name = mnemonic.name();
            Diagnostic::error(
                Code::UnexpectedText,
                format!("`{name}` alone is no value: its opcode depends on its registers"),
            )
            .at(span, "expected a number or an address")
            .with_help(format!("write the whole instruction in parentheses, as in `{}`", example(mnemonic)))
        }
        Cause::NoInstruction(mnemonic) => {
            let headline = format!("these operands make no `{}` instruction", mnemonic.name());
            Diagnostic::error(Code::RegisterWrong, headline).at(span, "expected registers that it takes")
        }
    }
}

/// An instruction by itself where a word is wanted.
pub(super) fn opcode_as_word(text: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Code::SymbolUndefined, format!("`{text}` is an instruction, and no line makes it a name"))
        .at(span, "expected an address")
        .with_help(format!("if its opcode is meant, which is a byte, write `({text})`"))
        .with_instead(format!("({text})"))
}

/// An instruction with registers, in parentheses, as a value.
fn example(mnemonic: Mnemonic) -> String {
    let registers = match mnemonic.form().pattern {
        Pattern::DestinationSource => "A,B",
        Pattern::DestinationByte => "A,0",
        Pattern::PairWord => "H,0",
        Pattern::Vector => "7",
        _ => "B",
    };
    format!("({} {registers})", mnemonic.name())
}

/// The diagnostic of a value that pass one had to know: an error that names where it is defined, if it is.
pub(super) fn diagnose_early(
    (trouble, source, need): (Trouble, SourceId, Need),
    names: &Names,
    symbols: &Symbols,
) -> Diagnostic {
    let (Cause::Undefined(name) | Cause::Pending(name)) = trouble.cause else {
        return diagnose(trouble, source, names, symbols);
    };
    let Some(entry) = symbols.get(name) else { return diagnose(trouble, source, names, symbols) };
    let (text, is_pending) = (names.text(name), matches!(trouble.cause, Cause::Pending(_)));
    let (headline, help) = match is_pending {
        true => (
            format!("`{text}` must be known here, but depends on a name that is defined further on"),
            format!("move what `{text}` is made from above this line, and make it from no SET name"),
        ),
        false => (
            format!("`{text}` must be known here, but is defined further on"),
            format!("move the definition of `{text}` above this line"),
        ),
    };
    let span = Span { source, start: trouble.start, end: trouble.end };
    let why = match need {
        Need::Directive(word) => format!("{word} decides where the following lines lie, so its value cannot wait"),
        Need::Argument => "`%` passes the value as text, so it cannot wait".into(),
    };
    let problem = Diagnostic::error(Code::SymbolForward, headline).at(span, why).with_help(help);
    match entry.defined {
        Some(defined) => problem.and_at(defined, "defined here"),
        None => problem,
    }
}

/// A constant that is read before the SET name that it is made from has its value.
pub(super) fn late(name: NameId, span: Span, names: &Names, symbols: &Symbols) -> Diagnostic {
    let text = names.text(name);
    let problem = Diagnostic::error(Code::SymbolForward, format!("`{text}` has no value that holds everywhere"))
        .at(span, "its value is needed here")
        .with_help("make a constant from labels and other constants, not from a SET name with a later value");
    match symbols.get(name).and_then(|entry| entry.defined) {
        Some(defined) => problem.and_at(defined, "made from a SET name that waits for a later line"),
        None => problem,
    }
}

/// A name that nothing defines, without a guess of what was meant.
pub(super) fn not_defined(text: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Code::SymbolUndefined, format!("`{text}` is not defined")).at(span, "no line defines this name")
}

fn undefined(name: NameId, span: Span, names: &Names, symbols: &Symbols) -> Diagnostic {
    let text = names.text(name);
    let problem = not_defined(text, span);
    if name.keyword().is_some() {
        return problem.with_note("it is a word of the language, and no line makes it a name");
    }
    let is_hexadecimal = |digits: &&str| !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_hexdigit());
    if let Some(digits) = text.strip_suffix('H').filter(is_hexadecimal) {
        let number = format!("0{digits}H");
        return problem.with_help(format!("a hexadecimal number begins with a digit: `{number}`")).with_instead(number);
    }
    let pair = match text {
        "BC" => Some("B"),
        "DE" => Some("D"),
        "HL" => Some("H"),
        "AF" => Some("PSW"),
        _ => None,
    };
    if let Some(pair) = pair {
        return problem.with_help(format!("if the register pair is meant, its name is `{pair}`")).with_instead(pair);
    }
    let has_value = |&id: &NameId| symbols.get(id).is_some_and(|entry| !matches!(entry.meaning, Meaning::Macro(_)));
    let known = names.all().filter(has_value).map(|id| names.text(id));
    match nearest(text, known) {
        Some(near) => problem.with_near(near),
        None => problem,
    }
}

/// A name that is taken; without a place it is defined again on the command line.
pub(super) fn twice(name: NameId, at: Option<Span>, defined: Option<Span>, names: &Names) -> Diagnostic {
    let text = names.text(name);
    let mut problem = Diagnostic::error(Code::SymbolTwice, format!("`{text}` is defined twice"));
    if let Some(span) = at {
        problem = problem.at(span, "defined again here");
    }
    match defined {
        Some(first) => {
            problem.and_at(first, "first defined here").with_help("a value that changes is given by SET, every time")
        }
        None => problem.with_note("it was first defined on the command line"),
    }
}

/// A reserved word where a name of the user's own was wanted; without a place it came from the command line.
pub(super) fn reserved(name: NameId, at: Option<Span>, names: &Names) -> Diagnostic {
    let text = names.text(name);
    let headline = format!("`{text}` is a word of the language and cannot name anything else");
    let problem = Diagnostic::error(Code::NameReserved, headline);
    match at {
        Some(span) => problem.at(span, "expected a name of your own"),
        None => problem.with_note("it is defined on the command line"),
    }
}
