//! What the addresses that a program says with labels are used for: each is followed from where it is loaded until no
//! register and no word of the stack holds it any more, on every way that execution may take.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use super::code::Code;
use super::effect::{is_conditional, returns};
use super::facts::Facts;
use super::row::Row;
use super::state::{Access, Operand, State};
use super::value::{Value, Values, Word};
use crate::image::Image;
use crate::isa::{Mnemonic, Operands, Pair, Register};
use crate::notation::Address;

/// States that are looked at for one label, the most.
const STATES: usize = 4000;

/// Words that a followed way pushes, the most.
const DEEP: usize = 16;

/// What a program does to its own bytes by the labels that it says.
#[derive(Debug, Default)]
pub(super) struct Touched {
    /// Addresses that are read.
    pub reads: BTreeSet<u16>,
    /// Addresses that are written.
    pub writes: BTreeSet<u16>,
    /// What is read by which row's word: the row, and the addresses that it reads or writes.
    pub by: BTreeMap<usize, BTreeSet<u16>>,
}

/// Follows every label that a program says otherwise than to go there, and every number that may be such an address. Nothing
/// if one is lost sight of: it is compared, stored, put out, mixed with what is not known, or taken for longer than can be
/// followed.
pub(super) fn follow(code: &Code, facts: &Facts, image: &Image) -> Option<Touched> {
    if !code.names_plainly {
        return None;
    }
    // A number that lies in the program, or beside it, may be an address of it.
    let lies_here = |word: u16| [0, 1, u16::MAX].iter().any(|by| image.byte(Address(word.wrapping_add(*by))).is_some());
    let names = |row: &Row| {
        let word = row.instruction.length == 3 && !row.mnemonic().goes_to_address();
        word && row.text.as_ref().is_some_and(|it| it.from.is_some() || lies_here(row.operand))
    };
    let said: Vec<usize> = (0..code.rows.len()).filter(|&number| names(&code.rows[number])).collect();
    // Bytes that are written are not those of the image any more: what was decided by one of them is looked at again.
    let mut written = BTreeSet::new();
    loop {
        let mut touched = Touched::default();
        for &number in &said {
            let mut way = Way {
                code,
                facts,
                image,
                from: number,
                written: &written,
                reads: BTreeSet::new(),
                writes: BTreeSet::new(),
            };
            way.follow()?;
            touched.by.insert(number, way.reads.union(&way.writes).copied().collect());
            touched.reads.extend(way.reads);
            touched.writes.extend(way.writes);
        }
        if touched.writes.is_subset(&written) {
            return Some(touched);
        }
        written.extend(&touched.writes);
    }
}

/// What a register or a flag holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Held {
    /// Nothing that matters.
    Other,
    Byte(u8),
    /// A half of an address of the program, high or low.
    Half(u16, bool),
    /// Something made of an address.
    Mixed,
}

/// A flag: known, not known, or made of an address.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Flag {
    Other,
    Is(bool),
    Mixed,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
enum Pushed {
    Back(usize),
    Pair(Held, Held),
    /// A pair of the accumulator and the flags.
    Status(Held, [Flag; 5]),
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Moment {
    row: usize,
    registers: [Held; 8],
    flags: [Flag; 5],
    stack: Vec<Pushed>,
}

impl Moment {
    /// Whether it holds an address of the program, or something made of one.
    fn holds(&self) -> bool {
        let of = |held: &Held| matches!(held, Held::Half(..) | Held::Mixed);
        let flags = |flags: &[Flag; 5]| flags.contains(&Flag::Mixed);
        let pushed = |it: &Pushed| match it {
            Pushed::Back(_) => false,
            Pushed::Pair(high, low) => of(high) || of(low),
            Pushed::Status(a, status) => of(a) || flags(status),
        };
        self.registers.iter().any(of) || flags(&self.flags) || self.stack.iter().any(pushed)
    }
}

struct Way<'a> {
    code: &'a Code,
    facts: &'a Facts,
    image: &'a Image,
    /// The row whose word is followed.
    from: usize,
    written: &'a BTreeSet<u16>,
    reads: BTreeSet<u16>,
    writes: BTreeSet<u16>,
}

impl Way<'_> {
    fn follow(&mut self) -> Option<()> {
        let first = Moment { row: self.from, registers: [Held::Other; 8], flags: [Flag::Other; 5], stack: Vec::new() };
        let mut seen = HashSet::new();
        let mut left = vec![first];
        while let Some(moment) = left.pop() {
            if seen.len() > STATES || moment.stack.len() > DEEP {
                return None;
            }
            if seen.insert(moment.clone()) {
                // What holds no address any more is of no interest, but for the first row of all.
                let next = self.step(moment)?;
                left.extend(next.into_iter().filter(Moment::holds));
            }
        }
        Some(())
    }

    /// What may come behind a moment.
    fn step(&mut self, mut moment: Moment) -> Option<Vec<Moment>> {
        let row = &self.code.rows[moment.row];
        if self.code.changing.contains(&moment.row) {
            return None;
        }
        let mnemonic = row.mnemonic();
        let follows = self.code.row_at(row.next());
        let on = |moment: Moment, row: Option<usize>| {
            let moment = Moment { row: row.unwrap_or_default(), ..moment };
            // Off the program: nobody knows what is done there with what is held.
            (row.is_some() || !moment.holds()).then_some(moment)
        };
        if is_conditional(mnemonic) {
            // Bits 5 to 3: NZ, Z, NC, C, PO, PE, P, M.
            let at = [1, 1, 4, 4, 3, 3, 0, 0][usize::from(row.instruction.opcode >> 3 & 7)];
            let wanted = row.instruction.opcode >> 3 & 1 == 1;
            let mut next = Vec::new();
            if moment.flags[at] == Flag::Mixed {
                return None;
            }
            if moment.flags[at] != Flag::Is(!wanted) {
                next.extend(self.goes(moment.clone())?);
            }
            if moment.flags[at] != Flag::Is(wanted) {
                next.push(on(moment, follows)?);
            }
            return Some(next);
        }
        match (mnemonic, row.instruction.operands) {
            (Mnemonic::Hlt, _) => return Some(Vec::new()),
            (Mnemonic::Jmp | Mnemonic::Call | Mnemonic::Ret | Mnemonic::Rst, _) => return self.goes(moment),
            (Mnemonic::Nop | Mnemonic::Di | Mnemonic::Ei, _) => {}
            (Mnemonic::In, _) => moment.registers[Register::A as usize] = Held::Other,
            (Mnemonic::Out, _) => {
                let a = moment.registers[Register::A as usize];
                matches!(a, Held::Other | Held::Byte(_)).then_some(())?;
            }
            (Mnemonic::Push, Operands::Pair(Pair::Psw)) => {
                let a = moment.registers[Register::A as usize];
                moment.stack.push(Pushed::Status(a, moment.flags));
            }
            (Mnemonic::Push, Operands::Pair(pair)) => {
                let at = usize::from(pair.code()) * 2;
                moment.stack.push(Pushed::Pair(moment.registers[at], moment.registers[at + 1]));
            }
            (Mnemonic::Pop, Operands::Pair(pair)) => moment.pop(pair)?,
            _ => self.straight(row, &mut moment)?,
        }
        Some(vec![on(moment, follows)?])
    }

    /// Where a jump, call or return goes that is taken.
    fn goes(&self, mut moment: Moment) -> Option<Vec<Moment>> {
        let row = &self.code.rows[moment.row];
        if returns(row.mnemonic()) {
            return match moment.stack.pop() {
                Some(Pushed::Back(to)) => Some(vec![Moment { row: to, ..moment }]),
                Some(_) => None,
                None => {
                    let behind = |&caller: &usize| {
                        let row = self.code.row_at(self.code.rows[caller].next())?;
                        Some(Moment { row, ..moment.clone() })
                    };
                    self.facts.back.get(&moment.row)?.iter().map(behind).collect()
                }
            };
        }
        let to = match row.instruction.operands {
            Operands::Vector(vector) => u16::from(vector) * 8,
            _ => row.operand,
        };
        if row.mnemonic().calls() {
            moment.stack.push(Pushed::Back(self.code.row_at(row.next())?));
        }
        Some(vec![Moment { row: self.code.row_at(to)?, ..moment }])
    }

    /// An instruction that runs straight on.
    fn straight(&mut self, row: &Row, moment: &mut Moment) -> Option<()> {
        let mut values = Values::default();
        let mut state = State::start(&mut values, &[None; 8]);
        // Whatever is made of an address is counted from this word; something else that is, from the next.
        let own = |at: u16| Word { number: OWN, on: at };
        let mixed = values.word(Word { number: OWN + 1, on: 0 }, true);
        for (register, held) in moment.registers.iter().enumerate() {
            match *held {
                Held::Other => {}
                Held::Byte(byte) => state.registers[register] = values.byte(byte),
                Held::Half(at, high) => state.registers[register] = values.word(own(at), high),
                Held::Mixed => state.registers[register] = mixed,
            }
        }
        for (at, flag) in moment.flags.iter().enumerate() {
            match *flag {
                Flag::Other => {}
                Flag::Is(bit) => state.flags[at] = values.bit(bit),
                Flag::Mixed => state.flags[at] = mixed,
            }
        }
        let operand = match &row.text {
            None => None,
            Some(given) if moment.row == self.from => {
                Some(Operand { high: values.word(own(given.value), true), low: values.word(own(given.value), false) })
            }
            // Another label's is followed by itself.
            Some(given) if given.from.is_some() => {
                Some(Operand { high: values.loaded(u32::MAX), low: values.loaded(u32::MAX - 1) })
            }
            Some(given) => {
                let [high, low] = given.value.to_be_bytes();
                Some(Operand { high: values.byte(high), low: values.byte(low) })
            }
        };
        // Run once to see what is read, and once more with what that gives.
        let start = state.clone();
        state.run(&mut values, row.instruction, operand)?;
        let mut given = Vec::new();
        for access in &state.accesses {
            match *access {
                Access::Read(high, low) => given.push(self.read(&values, (high, low))?),
                Access::Write(high, low, byte) => {
                    self.writes.extend(place(&values, (high, low))?);
                    // A half of an address in memory: nobody follows it there.
                    (!values.has_word(byte)).then_some(())?;
                }
                Access::Input(_) | Access::Output(..) => return None,
            }
        }
        state = start;
        state.given = given;
        state.run(&mut values, row.instruction, operand)?;
        for (held, &value) in moment.registers.iter_mut().zip(&state.registers) {
            *held = values.held(value);
        }
        for (flag, &value) in moment.flags.iter_mut().zip(&state.flags) {
            *flag = match values.known_bit(value) {
                Some(bit) => Flag::Is(bit),
                None if values.has_word(value) => Flag::Mixed,
                None => Flag::Other,
            };
        }
        Some(())
    }

    /// What a read gives, if it is known; `None` if it may be a byte of the program that nobody can tell.
    fn read(&mut self, values: &Values, address: (Value, Value)) -> Option<Option<u8>> {
        let Some(at) = place(values, address)? else { return Some(None) };
        self.reads.insert(at);
        if self.written.contains(&at) {
            return Some(None);
        }
        let Some(byte) = self.image.byte(Address(at)) else { return Some(None) };
        self.code.is_constant(at).then_some(Some(byte))
    }
}

impl Moment {
    fn pop(&mut self, pair: Pair) -> Option<()> {
        let other = [Flag::Other; 5];
        let (high, low, flags) = match self.stack.pop() {
            None => (Held::Other, Held::Other, other),
            Some(Pushed::Back(_)) => return None,
            Some(Pushed::Pair(high, low)) => {
                let mixed = matches!(low, Held::Half(..) | Held::Mixed);
                (high, low, if mixed { [Flag::Mixed; 5] } else { other })
            }
            Some(Pushed::Status(a, flags)) => {
                let low = if flags.contains(&Flag::Mixed) { Held::Mixed } else { Held::Other };
                (a, low, flags)
            }
        };
        if pair == Pair::Psw {
            self.registers[Register::A as usize] = high;
            self.flags = flags;
        } else {
            let at = usize::from(pair.code()) * 2;
            (self.registers[at], self.registers[at + 1]) = (high, low);
        }
        Some(())
    }
}

/// The number of the word that addresses of the program are counted from.
const OWN: u32 = 0;

/// The address of the program's own that two bytes are; nothing inside if they are no such address, and nothing at all if
/// they are made of one.
fn place(values: &Values, (high, low): (Value, Value)) -> Option<Option<u16>> {
    match values.word_of((high, low)) {
        Some(Word { number: OWN, on }) => Some(Some(on)),
        _ if values.has_word(high) || values.has_word(low) => None,
        _ => Some(None),
    }
}

impl Values {
    fn held(&self, value: Value) -> Held {
        if let Some(byte) = self.known_byte(value) {
            return Held::Byte(byte);
        }
        match self.half_of(value) {
            Some((Word { number: OWN, on }, high)) => Held::Half(on, high),
            _ if self.has_word(value) => Held::Mixed,
            _ => Held::Other,
        }
    }
}
