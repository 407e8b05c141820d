//! The listing: every line with its address, bytes and T-states, then every name with its value and uses.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::assembly::Assembly;
use super::statement::{ListedLine, Statement, Task};
use super::symbols::{Meaning, Worth};
use crate::isa::{Mnemonic, decode};
use crate::notation::{Address, Notation};
use crate::source::{SourceMap, Span};
use crate::syntax::{NameId, Operand, Step};

/// The most bytes on one row of the listing.
const BYTES_PER_ROW: usize = 4;

/// The widest column of names; a longer name goes past it.
const WIDEST_NAME: usize = 40;

/// The listing of an assembly as text.
pub fn listing(sources: &SourceMap, assembly: &Assembly, notation: Notation) -> String {
    let mut out = String::new();
    let bytes_width = BYTES_PER_ROW * (notation.byte_width() + 1) - 1;
    let address_width = notation.address_width();
    let _ =
        writeln!(out, "{:<address_width$}  {:<bytes_width$}  {:>5}  {:>6}  depth  source", "at", "bytes", "T", "line");
    for (at, line) in assembly.lines.iter().enumerate() {
        row(&mut out, sources, assembly, (line, assembly.lines.get(at + 1)), notation);
    }
    out.push('\n');
    out.push_str(&cross_reference(sources, assembly, notation));
    out
}

/// One line with the one behind it, which may begin in the middle of the same line of the source.
type Neighbours<'a> = (&'a ListedLine, Option<&'a ListedLine>);

fn row(out: &mut String, sources: &SourceMap, assembly: &Assembly, (line, next): Neighbours<'_>, notation: Notation) {
    let number = sources.get(line.source).line_of(line.start);
    let text = text_of(sources, line, next);
    let statement = line.statement.map(|number| &assembly.statements[number.get() as usize - 1]);
    let (at, bytes) = match statement {
        Some(statement) => columns(assembly, statement, notation),
        None => (String::new(), Vec::new()),
    };
    let states = match statement.map(|statement| statement.task) {
        Some(Task::Instruction(mnemonic)) => states(assembly, mnemonic, statement),
        _ => String::new(),
    };
    let depth = match (line.include_depth, line.expansion_depth, line.skipped) {
        (_, _, true) => "out".to_owned(),
        (0, 0, false) => String::new(),
        (files, 0, false) => format!("i{files}"),
        (0, expansions, false) => format!("m{expansions}"),
        (files, expansions, false) => format!("i{files}m{expansions}"),
    };
    let mut rows = bytes.chunks(BYTES_PER_ROW);
    let first = rows.next().map(|bytes| bytes.join(" ")).unwrap_or_default();
    let (address_width, bytes_width) = (notation.address_width(), BYTES_PER_ROW * (notation.byte_width() + 1) - 1);
    let expanded = expand_tabs(text);
    let row = format!("{at:<address_width$}  {first:<bytes_width$}  {states:>5}  {number:>6}  {depth:<5}  {expanded}");
    out.push_str(row.trim_end());
    out.push('\n');
    let start = statement.map_or(0, |statement| statement.location);
    for (count, bytes) in rows.enumerate() {
        let at = start.wrapping_add(((count + 1) * BYTES_PER_ROW) as u16);
        let _ = writeln!(out, "{}  {}", notation.address(Address(at)), bytes.join(" "));
    }
}

/// The address column and the bytes of a statement; for a definition its value in place of the bytes.
fn columns(assembly: &Assembly, statement: &Statement, notation: Notation) -> (String, Vec<String>) {
    if let Task::Equ(name) | Task::Set(name) = statement.task {
        let value = assembly.symbols.get(name).map(|entry| (entry.meaning, entry.worth));
        // A name that is set again and again has only its last value here, so none is shown.
        let shown = match value {
            Some((Meaning::Constant, Worth::Known(value))) => format!("= {}", notation.word(value)),
            Some((Meaning::Register(register), _)) => format!("= {}", register.name()),
            _ => String::new(),
        };
        return (String::new(), vec![shown]);
    }
    let bytes = assembly.bytes_of(statement).iter().map(|byte| notation.byte(*byte).to_string()).collect();
    (notation.address(Address(statement.location)).to_string(), bytes)
}

/// What is shown of a line: all of it, or the part up to where the next one begins in it.
fn text_of<'a>(sources: &'a SourceMap, line: &ListedLine, next: Option<&ListedLine>) -> &'a str {
    let text = &sources.get(line.source).text()[line.start as usize..];
    let text = text.split('\n').next().unwrap_or_default();
    let length = next
        .filter(|next| next.source == line.source && next.start > line.start)
        .map_or(text.len(), |next| text.len().min((next.start - line.start) as usize));
    text[..length].trim_end_matches(['\x1A', '\x0C', '\r']).trim_end()
}

fn states(assembly: &Assembly, mnemonic: Mnemonic, statement: Option<&Statement>) -> String {
    let opcode = statement.and_then(|statement| assembly.image.byte(Address(statement.deposit())));
    let instruction = decode(opcode.unwrap_or(mnemonic.form().opcode));
    match instruction.states_not_taken() {
        Some(fewer) => format!("{}/{fewer}", instruction.states()),
        None => instruction.states().to_string(),
    }
}

/// Tabs as blanks, every eight columns.
fn expand_tabs(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut column = 0;
    for character in text.chars() {
        match character {
            '\t' => {
                let blanks = 8 - column % 8;
                out.extend(std::iter::repeat_n(' ', blanks));
                column += blanks;
            }
            character if character.is_control() => {}
            character => {
                out.push(character);
                column += 1;
            }
        }
    }
    out
}

/// Every name with its value, where it is defined and where it is used.
pub fn cross_reference(sources: &SourceMap, assembly: &Assembly, notation: Notation) -> String {
    let uses = uses(sources, assembly);
    let mut names: Vec<_> = assembly.names.all().filter(|&name| assembly.symbols.get(name).is_some()).collect();
    names.sort_by_key(|&name| assembly.names.text(name));
    let width = names.iter().map(|&name| assembly.names.text(name).len()).max().unwrap_or(0).clamp(4, WIDEST_NAME);
    let address_width = notation.address_width();
    let mut out =
        format!("{:<width$}  {:<address_width$}  {:<8}  {:<12}  used in line\n", "name", "value", "is", "defined");
    for name in names {
        let Some(entry) = assembly.symbols.get(name) else { continue };
        let (value, is) = match (entry.meaning, entry.worth) {
            (Meaning::Register(register), _) => (register.name().to_owned(), "register"),
            (Meaning::Macro(_), _) => (String::new(), "macro"),
            (meaning, Worth::Known(value)) => {
                let is = match meaning {
                    Meaning::Label => "label",
                    Meaning::Variable => "set",
                    _ => "constant",
                };
                (notation.word(value).to_string(), is)
            }
            (_, Worth::Pending) => continue,
        };
        let defined = entry.defined.map_or("-".into(), |span| place(sources, span));
        let used = uses.get(assembly.names.text(name)).map(|lines| lines.join(" ")).unwrap_or_default();
        let row =
            format!("{:<width$}  {value:<address_width$}  {is:<8}  {defined:<12}  {used}", assembly.names.text(name));
        out.push_str(row.trim_end());
        out.push('\n');
    }
    out
}

/// The lines that read each name.
fn uses<'a>(sources: &SourceMap, assembly: &'a Assembly) -> BTreeMap<&'a str, Vec<String>> {
    let mut uses: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for statement in &assembly.statements {
        for operand in assembly.program.operands(statement.first, statement.count) {
            for name in names_in(assembly, *operand) {
                let lines = uses.entry(assembly.names.text(name)).or_default();
                let line = place(sources, statement.span());
                if lines.last() != Some(&line) {
                    lines.push(line);
                }
            }
        }
    }
    uses
}

/// The names that an operand reads.
fn names_in(assembly: &Assembly, operand: Operand) -> Vec<NameId> {
    match operand {
        Operand::Name(name, _) => vec![name],
        Operand::Expression(expression) => {
            let steps = assembly.program.ops(expression).iter();
            steps.filter_map(|op| if let Step::Name(name) = op.step { Some(name) } else { None }).collect()
        }
        Operand::Text(..) | Operand::Bare(..) | Operand::Register(..) | Operand::Number(..) => Vec::new(),
    }
}

/// A line in the outermost text by number, in an included file with its name; what an expansion holds counts for the
/// line that asked for it.
fn place(sources: &SourceMap, span: Span) -> String {
    let mut span = span;
    while let crate::source::Origin::Expanded(call, _) = sources.get(span.source).origin() {
        span = *call;
    }
    let source = sources.get(span.source);
    let line = source.line_of(span.start);
    match source.origin() {
        crate::source::Origin::Included(_) => format!("{}:{line}", source.name()),
        _ => line.to_string(),
    }
}
