//! A program as rows of instructions, where each goes on, and which of them may be changed.

use std::collections::{BTreeMap, BTreeSet};

use super::effect::{is_conditional, returns};
use super::lines::{Lines, own_bytes};
use super::outside::Outside;
use super::row::{Given, Row};
use crate::assembler::Assembly;
use crate::isa::{Mnemonic, Operands, Pair};

/// A program in rows.
#[derive(Debug)]
pub(super) struct Code {
    /// By address.
    pub rows: Vec<Row>,
    /// The number of the row at each address.
    at: BTreeMap<u16, usize>,
    /// Rows at which somebody may arrive with anything: the entry, and what is named otherwise than by a jump or call.
    pub entered: BTreeSet<usize>,
    /// Rows to which a jump or call goes.
    pub targets: BTreeSet<usize>,
    /// Rows whose bytes the program may change.
    pub changing: BTreeSet<usize>,
    /// Bytes of data that are no part of an address.
    plain_data: BTreeSet<u16>,
    /// Whether addresses of what is no instruction are said in words of instructions only, with nothing but numbers added.
    pub names_plainly: bool,
}

/// Why nothing can be said of a program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unseen {
    /// It has code that runs elsewhere than where it lies.
    Moved,
    /// It has no entry.
    NoEntry,
    /// It has no instruction.
    Empty,
    /// Instructions lie within each other.
    Overlapping,
    /// It runs past the top of memory, and has no other place to be looked at.
    PastTop,
    /// It enables interrupts: what they run reads registers at any place.
    Interrupts,
    /// It reads or writes its own instructions by a pointer that it counts on, in this line: any change of them is told apart.
    WalksItself {
        /// The line, from 1, if it is a line of the source itself.
        line: Option<usize>,
    },
}

impl Code {
    /// The rows of a program.
    pub fn new(assembly: &Assembly, lines: &Lines, outside: &Outside) -> Result<Code, Unseen> {
        let instructions = || assembly.statements.iter().filter(|statement| statement.instruction().is_some());
        if assembly.statements.iter().any(|statement| statement.shift != 0) {
            return Err(Unseen::Moved);
        }
        let mut rows: Vec<_> = instructions().filter_map(|statement| lines.row(statement)).collect();
        rows.sort_by_key(|row| row.address);
        if rows.is_empty() {
            return Err(Unseen::Empty);
        }
        if rows.windows(2).any(|pair| pair[1].address < pair[0].next()) {
            return Err(Unseen::Overlapping);
        }
        let at: BTreeMap<_, _> = rows.iter().enumerate().map(|(number, row)| (row.address, number)).collect();
        let entry = assembly.image.entry;
        if entry.is_none() && outside.named.is_empty() {
            return Err(Unseen::NoEntry);
        }
        if rows.iter().any(|row| row.mnemonic() == Mnemonic::Ei) {
            return Err(Unseen::Interrupts);
        }
        let mut code = Code {
            rows,
            at,
            entered: BTreeSet::new(),
            targets: BTreeSet::new(),
            changing: BTreeSet::new(),
            plain_data: BTreeSet::new(),
            names_plainly: true,
        };
        code.entered.extend(entry.and_then(|entry| code.row_at(entry.0)));
        code.look_outside(outside);
        code.look_at_operands();
        code.look_at_data(assembly);
        code.look_at_names(assembly, lines);
        for address in lines.named_in_pieces() {
            // A pointer to the bytes of an instruction, put together or counted on from its label.
            let rows: Vec<_> = (0..3).filter_map(|on| code.row_over(address.wrapping_add(on))).collect();
            code.entered.extend(code.row_at(address));
            code.changing.extend(rows);
        }
        Ok(code)
    }

    /// The row that begins at an address.
    pub fn row_at(&self, address: u16) -> Option<usize> {
        self.at.get(&address).copied()
    }

    /// The row that an address lies in.
    pub fn row_over(&self, address: u16) -> Option<usize> {
        let (_, &row) = self.at.range(..=address).next_back()?;
        (address < self.rows[row].next()).then_some(row)
    }

    /// Where others enter, and what they read or write.
    fn look_outside(&mut self, outside: &Outside) {
        for &address in &outside.named {
            match self.row_at(address) {
                Some(row) => drop(self.entered.insert(row)),
                None => self.changing.extend(self.row_over(address)),
            }
        }
        let shared: Vec<_> = outside.shared.iter().filter_map(|&address| self.row_over(address)).collect();
        self.changing.extend(shared);
    }

    fn look_at_operands(&mut self) {
        for number in 0..self.rows.len() {
            let Row { instruction, operand, .. } = self.rows[number];
            if instruction.length < 3 {
                continue;
            }
            let over = self.row_over(operand);
            if instruction.mnemonic.goes_to_address() {
                match self.row_at(operand) {
                    Some(target) => drop(self.targets.insert(target)),
                    // A jump into an instruction: what it does there nobody can tell.
                    None => self.changing.extend(over),
                }
            } else if let Some(over) = over {
                self.changing.insert(over);
                self.entered.insert(over);
            }
        }
        let vectors = self.rows.iter().filter_map(|row| match row.instruction.operands {
            Operands::Vector(vector) => Some(u16::from(vector) * 8),
            _ => None,
        });
        let entered: Vec<_> = vectors.filter_map(|address| self.row_at(address)).collect();
        self.entered.extend(entered);
    }

    /// Words among the data that are addresses of instructions: tables of jumps. Two bytes that only look like one do no
    /// harm but that the row counts as entered.
    fn look_at_data(&mut self, assembly: &Assembly) {
        for extent in assembly.image.extents() {
            let bytes = extent.bytes;
            for (at, pair) in bytes.windows(2).enumerate() {
                let address = extent.base.wrapping_add(at as u16).0;
                if self.row_over(address).is_none() && self.row_over(address.wrapping_add(1)).is_none() {
                    let word = u16::from_le_bytes([pair[0], pair[1]]);
                    match self.row_at(word) {
                        Some(target) => drop(self.entered.insert(target)),
                        // An address within an instruction: somebody may write there.
                        None => self.changing.extend(self.row_over(word)),
                    }
                }
            }
        }
    }

    /// How the program says addresses of its data.
    fn look_at_names(&mut self, assembly: &Assembly, lines: &Lines) {
        let said_otherwise = |row: &Row| {
            let counted = |it: &Given| it.fixed || it.length || it.from.is_some() && row.instruction.length == 3;
            !row.mnemonic().goes_to_address() && row.text.as_ref().is_some_and(|it| !counted(it))
        };
        let mut plainly = !self.rows.iter().any(said_otherwise);
        for (statement, named) in lines.named_by_data() {
            let bytes = own_bytes(assembly, statement);
            plainly &= bytes.is_empty() || named.iter().all(|&at| self.row_at(at).is_some());
            if named.is_empty() {
                let own = (0..bytes.len()).map(|on| statement.location.wrapping_add(on as u16));
                self.plain_data.extend(own);
            }
        }
        self.names_plainly = plainly;
    }

    /// Whether the byte at an address is the same wherever code lies, as long as nobody writes there.
    pub fn is_constant(&self, address: u16) -> bool {
        match self.row_over(address) {
            None => self.plain_data.contains(&address),
            Some(number) => {
                let row = &self.rows[number];
                let fixed = address == row.address || row.text.as_ref().is_some_and(|it| it.fixed);
                fixed && row.instruction.documented
            }
        }
    }

    /// Where a row goes on within the program, calls left out; `None` among them for somewhere that is not known.
    pub fn successors(&self, number: usize) -> Vec<Option<usize>> {
        let row = &self.rows[number];
        let mnemonic = row.mnemonic();
        let next = || self.row_at(row.next());
        match mnemonic {
            Mnemonic::Jmp => vec![self.row_at(row.operand)],
            Mnemonic::Pchl | Mnemonic::Hlt | Mnemonic::Rst | Mnemonic::Ret => vec![None],
            _ if returns(mnemonic) => vec![None, next()],
            _ if mnemonic.calls() && is_conditional(mnemonic) => vec![self.row_at(row.operand), next()],
            _ if mnemonic.calls() => vec![self.row_at(row.operand)],
            _ if mnemonic.goes_to_address() => vec![self.row_at(row.operand), next()],
            _ => vec![next()],
        }
    }

    /// Whether a jump, a call or an unknown hand may arrive at a row.
    pub fn is_met(&self, row: usize) -> bool {
        self.targets.contains(&row) || self.entered.contains(&row) || self.changing.contains(&row)
    }

    /// Whether a row's stack pointer or stack words are taken otherwise than by PUSH, POP, CALL and RET.
    pub fn moves_stack(row: &Row) -> bool {
        matches!(row.instruction.operands, Operands::Pair(Pair::Sp) | Operands::PairWord(Pair::Sp))
            || matches!(row.mnemonic(), Mnemonic::Sphl | Mnemonic::Xthl)
    }
}
