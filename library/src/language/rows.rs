//! What the lines of a file put into memory.

use std::collections::BTreeMap;

use super::view::View;
use super::words::line_at;
use crate::assembler::Statement;
use crate::isa::{Instruction, decode};
use crate::notation::{Address, Notation};
use crate::project::Surveyed;
use crate::source::SourceId;

/// What a line puts into memory.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Row {
    /// What `$` is at its first byte.
    pub address: Address,
    /// Where its first byte is put.
    pub deposit: Address,
    /// Its bytes, those of its expansions included.
    pub bytes: Vec<u8>,
}

/// The rows of the lines of one text, by the offset of the end of the line.
pub(super) fn rows(view: &View, program: &Surveyed, source: SourceId) -> BTreeMap<u32, Row> {
    let text = view.sources.get(source).text();
    let mut rows: BTreeMap<u32, Row> = BTreeMap::new();
    for statement in &program.assembly.statements {
        let at = view.in_file(statement.position());
        if at.source != source {
            continue;
        }
        let (deposit, address) = (Address(statement.deposit()), Address(statement.location));
        let bytes = program.assembly.bytes_of(statement);
        if !bytes.is_empty() {
            let line = line_at(text, at.offset as usize);
            let end = line.start + text[line].trim_end().len();
            rows.entry(end as u32).or_insert(Row { address, deposit, bytes: Vec::new() }).bytes.extend(bytes);
        }
    }
    rows
}

/// Bytes in a notation, the first of them.
pub(super) fn shown(bytes: &[u8], most: usize, notation: Notation) -> String {
    let texts: Vec<_> = bytes.iter().take(most).map(|byte| notation.byte(*byte).to_string()).collect();
    let more = if bytes.len() > most { " ..." } else { "" };
    texts.join(" ") + more
}

/// The statements of a program whose words stand in a range of a text.
pub(super) fn statements_in(
    program: &Surveyed,
    source: SourceId,
    range: std::ops::Range<usize>,
) -> impl Iterator<Item = &Statement> {
    let is_there = move |it: &&Statement| it.source == source && range.contains(&(it.word.0 as usize));
    program.assembly.statements.iter().filter(is_there)
}

/// The instruction that a statement is, with its registers.
pub(super) fn instruction(program: &Surveyed, statement: &Statement) -> Option<&'static Instruction> {
    let mnemonic = statement.instruction()?;
    let byte = program.assembly.image.byte(Address(statement.deposit()));
    Some(decode(byte.unwrap_or(mnemonic.form().opcode)))
}
