//! A program as rows of instructions, where each goes on, and which of them may be changed.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::effect::{is_conditional, returns};
use super::outside::Outside;
use crate::assembler::{Assembly, Meaning, Statement, Worth};
use crate::isa::{Instruction, Mnemonic, Operands, Pair, decode};
use crate::notation::Address;
use crate::source::{SourceId, SourceMap, Span};
use crate::syntax::{Names, TokenKind, lex};

/// An instruction of a program.
#[derive(Clone, Debug)]
pub(super) struct Row {
    /// Where it lies and runs.
    pub address: u16,
    /// Its first byte, decoded.
    pub instruction: &'static Instruction,
    /// Its byte or word, 0 without.
    pub operand: u16,
    /// Its byte or word as the source has it, and whether it stays as it is when code moves.
    pub text: Option<(String, bool)>,
    /// The line of the source in which it stands alone, if it may be changed, counted from 0.
    pub line: Option<usize>,
    /// Whether a label stands in its line.
    pub labelled: bool,
}

impl Row {
    /// The address behind it.
    pub fn next(&self) -> u16 {
        self.address.wrapping_add(self.instruction.length.into())
    }

    /// The mnemonic.
    pub fn mnemonic(&self) -> Mnemonic {
        self.instruction.mnemonic
    }
}

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
}

impl Code {
    /// The rows of a program. `own` is the source whose lines may be changed.
    pub fn new(assembly: &Assembly, sources: &SourceMap, own: SourceId, outside: &Outside) -> Result<Code, Unseen> {
        let instructions = || assembly.statements.iter().filter(|statement| statement.instruction().is_some());
        if assembly.statements.iter().any(|statement| statement.shift != 0) {
            return Err(Unseen::Moved);
        }
        let lines = Lines::new(assembly, sources, own);
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
        let mut code = Code { rows, at, entered: BTreeSet::new(), targets: BTreeSet::new(), changing: BTreeSet::new() };
        code.entered.extend(entry.and_then(|entry| code.row_at(entry.0)));
        code.look_outside(outside);
        code.look_at_operands();
        code.look_at_data(assembly);
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
    fn row_over(&self, address: u16) -> Option<usize> {
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

/// The lines of a program's own source.
struct Lines<'a> {
    assembly: &'a Assembly,
    sources: &'a SourceMap,
    own: SourceId,
    /// Offsets where lines begin.
    starts: Vec<usize>,
    /// Lines of the own source that were read once, outside macros and conditionals that repeat them.
    plain: BTreeMap<usize, bool>,
    /// What labels name, by the names in upper case.
    labels: HashMap<String, u16>,
    /// Names that are no labels, in upper case, and whether their values stay as they are when code moves.
    fixed: HashMap<String, bool>,
}

impl<'a> Lines<'a> {
    fn new(assembly: &'a Assembly, sources: &'a SourceMap, own: SourceId) -> Lines<'a> {
        let text = sources.get(own).text();
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        let label = |id| match assembly.symbols.get(id) {
            Some(entry) if entry.meaning == Meaning::Label => match entry.worth {
                Worth::Known(value) => Some((assembly.names.text(id).to_ascii_uppercase(), value)),
                Worth::Pending => None,
            },
            _ => None,
        };
        let labels = assembly.names.all().filter_map(label).collect();
        let fixed = fixed_names(assembly, sources);
        let mut lines = Lines { assembly, sources, own, starts, plain: BTreeMap::new(), labels, fixed };
        for statement in &assembly.statements {
            if statement.source == own {
                let line = lines.line(statement.span().start as usize);
                // Two statements of one line: a macro, a repetition, or several behind one another.
                lines.plain.entry(line).and_modify(|plain| *plain = false).or_insert(true);
            }
        }
        lines
    }

    fn line(&self, offset: usize) -> usize {
        self.starts.partition_point(|&start| start <= offset) - 1
    }

    fn row(&self, statement: &Statement) -> Option<Row> {
        let image = &self.assembly.image;
        let byte = |at: u16| image.byte(Address(statement.location).wrapping_add(at)).unwrap_or_default();
        let instruction = decode(byte(0));
        let operand = match instruction.length {
            2 => byte(1).into(),
            3 => u16::from_le_bytes([byte(1), byte(2)]),
            _ => 0,
        };
        let is_own = statement.source == self.own;
        let line = self.line(statement.span().start as usize);
        let text = self.sources.get(statement.source).text();
        let rest = text.get(statement.span().end as usize..)?.split('\n').next()?;
        let operand_text = if instruction.length > 1 { self.operand(rest) } else { None };
        let alone = is_own && self.plain.get(&line) == Some(&true);
        let head = text.get(*self.starts.get(line)?..statement.span().start as usize).filter(|_| is_own);
        let labelled = head.is_some_and(|head| !head.trim().is_empty());
        Some(Row {
            address: statement.location,
            instruction,
            operand,
            text: operand_text,
            line: alone.then_some(line),
            labelled,
        })
    }

    /// The last operand of a statement, and whether it stays as it is when code moves: numbers, characters and names of
    /// constants do.
    fn operand(&self, rest: &str) -> Option<(String, bool)> {
        let mut names = Names::default();
        let tokens: Vec<_> = lex(rest, &mut names)
            .take_while(|token| !matches!(token.kind, TokenKind::Comment | TokenKind::LineEnd | TokenKind::Bang))
            .filter(|token| token.kind != TokenKind::Blank)
            .collect();
        let mut depth = 0;
        let mut from = 0;
        for (at, token) in tokens.iter().enumerate() {
            match token.kind {
                TokenKind::Open => depth += 1,
                TokenKind::Close => depth -= 1,
                TokenKind::Comma if depth == 0 => from = at + 1,
                _ => {}
            }
        }
        let tokens = &tokens[from..];
        let (first, last) = (tokens.first()?, tokens.last()?);
        let text = rest[first.start as usize..last.end as usize].to_owned();
        let fixed = tokens.iter().all(|token| match token.kind {
            TokenKind::Dollar => false,
            TokenKind::Name => self.is_fixed(token.text(rest)),
            _ => true,
        });
        Some((text, fixed))
    }

    /// What labels name that stand in bytes, or in data with something added to them: addresses that are put together by
    /// hand.
    fn named_in_pieces(&self) -> Vec<u16> {
        let mut found = Vec::new();
        for statement in &self.assembly.statements {
            let width = statement.instruction().map(|mnemonic| mnemonic.form().pattern.length());
            if width == Some(3) {
                continue;
            }
            let text = self.sources.get(statement.source).text();
            let rest = text.get(statement.span().end as usize..).and_then(|rest| rest.split('\n').next());
            let rest = rest.unwrap_or_default();
            let mut names = Names::default();
            let code = lex(rest, &mut names);
            let code = code.take_while(|token| !matches!(token.kind, TokenKind::Comment | TokenKind::Bang));
            let said: Vec<_> = code.filter(|it| it.kind == TokenKind::Name).map(|it| it.text(rest)).collect();
            let bare = width.is_none() && rest.split(';').next().is_some_and(is_list_of_names);
            let labels = said.into_iter().filter_map(|name| self.labels.get(&name.to_ascii_uppercase()).copied());
            found.extend(labels.filter(|_| !bare));
        }
        found
    }

    /// Whether a name is an operator, or a constant.
    fn is_fixed(&self, name: &str) -> bool {
        self.fixed.get(&name.to_ascii_uppercase()).copied().unwrap_or(false)
    }
}

/// Whether operands are names and nothing else, parted by commas: a table of addresses.
fn is_list_of_names(operands: &str) -> bool {
    let is_part = |c: char| c.is_ascii_alphanumeric() || matches!(c, '?' | '@' | '_');
    operands.split(',').all(|it| !it.trim().is_empty() && it.trim().chars().all(is_part))
}

/// Names that are no labels, in upper case, and whether their values stay as they are when code moves: a constant that is made
/// of a label or of `$` does not.
fn fixed_names(assembly: &Assembly, sources: &SourceMap) -> HashMap<String, bool> {
    let mut fixed = HashMap::new();
    let mut made = Vec::new();
    for id in assembly.names.all() {
        let name = assembly.names.text(id).to_ascii_uppercase();
        let (is_fixed, definition) = match assembly.symbols.get(id) {
            None => (id.keyword().is_some(), None),
            Some(entry) if entry.meaning != Meaning::Constant || entry.worth == Worth::Pending => (false, None),
            Some(entry) => (true, entry.defined.map(|span| definition(sources, span))),
        };
        made.extend(definition.map(|text| (name.clone(), text)));
        fixed.insert(name, is_fixed);
    }
    // What is made of names that are not known to move is fixed, once nothing more is found to move.
    loop {
        let moves = |text: &str| {
            let mut names = Names::default();
            let mut tokens = lex(text, &mut names)
                .take_while(|token| !matches!(token.kind, TokenKind::Comment | TokenKind::LineEnd | TokenKind::Bang));
            tokens.any(|token| match token.kind {
                TokenKind::Dollar => true,
                TokenKind::Name => !fixed.get(&token.text(text).to_ascii_uppercase()).copied().unwrap_or(false),
                _ => false,
            })
        };
        let moving = made.iter().filter(|(name, text)| fixed[name] && moves(text)).map(|(name, _)| name.clone());
        let moving: Vec<_> = moving.collect();
        if moving.is_empty() {
            return fixed;
        }
        fixed.extend(moving.into_iter().map(|name| (name, false)));
    }
}

/// The line of a definition from its name on.
fn definition(sources: &SourceMap, name: Span) -> &str {
    let text = sources.get(name.source).text();
    text.get(name.start as usize..).and_then(|rest| rest.split('\n').next()).unwrap_or("$")
}
