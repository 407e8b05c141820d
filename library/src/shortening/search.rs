//! Straight runs of instructions in fewer bytes: found by trying all short forms, and proved by their expressions.

use std::ops::Range;
use std::sync::LazyLock;

use hashbrown::HashSet;

use super::code::Code;
use super::effect::{Effect, Places, effect};
use super::facts::Facts;
use super::made::{Made, made_of};
use super::row::Given;
use super::state::{Access, Known, Operand, State};
use super::trial::{self, Outcome, Trial};
use super::value::{Values, Word};
use crate::isa::{Instruction, Mnemonic, decode};

/// Trials of each form before it is proved, and afterwards.
const TRIALS: u64 = 3;
const MORE_TRIALS: u64 = 500;

/// A shorter form of a run.
#[derive(Clone, Debug)]
pub(super) struct Shorter {
    /// The rows that it takes the place of, with nothing, or what stands there instead.
    pub pieces: Vec<(Range<usize>, Vec<Made>)>,
    /// Bytes saved.
    pub saves: usize,
    /// T-states more, or less.
    pub states: i64,
    /// What must be known for it, by register code.
    pub needs: Known,
    /// Where the form leaves something else, which nobody reads.
    pub differs: Places,
}

/// Whether another instruction may stand in place of one, which stands in a line of its own, and whose time nobody counts.
pub(super) fn may_go(code: &Code, facts: &Facts, number: usize) -> bool {
    let row = &code.rows[number];
    row.line.is_some()
        && !facts.timed.contains(&number)
        && !code.changing.contains(&number)
        && row.mnemonic() != Mnemonic::Nop
        // `$` is another word in every line, even where the text is the same.
        && (row.instruction.length == 1 || row.text.as_ref().is_some_and(|it| !it.text.contains('$')))
        && row.instruction.documented
        && is_straight(row.instruction)
}

/// Whether a run is met at its beginning only, and goes on from each of its instructions to the next.
pub(super) fn runs_on(code: &Code, rows: &Range<usize>) -> bool {
    rows.clone().skip(1).all(|number| {
        let joins = code.rows[number - 1].next() == code.rows[number].address;
        joins && !code.is_met(number) && !code.rows[number].labelled
    })
}

/// Whether an instruction has expressions: it runs straight on and touches neither stack nor ports.
fn is_straight(instruction: &Instruction) -> bool {
    TRAITS[usize::from(instruction.opcode)].is_some()
}

/// What of an instruction decides where it may stand: what it reads and writes, and whether it reads, and whether it writes,
/// memory besides its own bytes.
#[derive(Clone, Copy)]
struct Traits {
    effect: Effect,
    reads_memory: bool,
    writes_memory: bool,
}

/// By opcode; of instructions that have no expressions, nothing.
static TRAITS: LazyLock<Vec<Option<Traits>>> = LazyLock::new(|| {
    let of = |opcode: u8| {
        let instruction = decode(opcode);
        let mut values = Values::default();
        let mut state = State::start(&mut values, &[None; 8]);
        let operand = Operand { high: values.word(Word::default(), true), low: values.word(Word::default(), false) };
        state.run(&mut values, instruction, Some(operand))?;
        let reads = |access: &Access| matches!(access, Access::Read(..));
        Some(Traits {
            effect: effect(&mut values, instruction),
            reads_memory: state.accesses.iter().any(reads),
            writes_memory: state.accesses.iter().any(|access| !reads(access)),
        })
    };
    (0..=0xFF).map(of).collect()
});

pub(super) struct Window<'a> {
    pub rows: Range<usize>,
    pub run: Vec<Made>,
    pub live: Places,
    pub known: &'a Known,
    bytes: usize,
    states: u64,
    /// What it may write: places that it writes itself, or that nobody reads.
    writable: Places,
    reads_memory: bool,
    writes_memory: bool,
}

impl Window<'_> {
    /// The window of a run of rows.
    pub fn new<'a>(code: &Code, facts: &'a Facts, rows: Range<usize>) -> Option<Window<'a>> {
        let live = facts.live[rows.end - 1];
        let run = rows.clone().map(|number| made_of(&code.rows[number])).collect();
        Window::of(rows.clone(), run, &facts.known[rows.start], live)
    }

    /// The window of instructions that were brought together, with what is known before and told apart behind them.
    pub fn of(rows: Range<usize>, run: Vec<Made>, known: &Known, live: Places) -> Option<Window<'_>> {
        let mut values = Values::default();
        let writes = run.iter().fold(0, |all, it| all | effect(&mut values, it.instruction).writes);
        let mut state = State::start(&mut values, &[None; 8]);
        for it in &run {
            let operand = operand(&mut values, it.operand.as_ref(), &mut Vec::new());
            state.run_with_ports(&mut values, it.instruction, operand)?;
        }
        let reads = |access: &Access| matches!(access, Access::Read(..));
        let writes_memory = |access: &Access| matches!(access, Access::Write(..));
        Some(Window {
            known,
            bytes: run.iter().map(|it| usize::from(it.instruction.length)).sum(),
            states: run.iter().map(|it| it.instruction.states().0).sum(),
            writable: writes | !live,
            reads_memory: state.accesses.iter().any(reads),
            writes_memory: state.accesses.iter().any(writes_memory),
            rows,
            run,
            live,
        })
    }

    /// The best form of the run, of so many instructions at most.
    pub fn search(&self, most: usize) -> Option<Shorter> {
        let run: Vec<_> = self.run.iter().map(Made::coded).collect();
        let wanted: Vec<_> = (0..TRIALS).map(|seed| trial::run(&run, self.known, seed)).collect();
        if self.fits(&[], &wanted) && self.is_proved(&[]) {
            return Some(self.shorter(Vec::new()));
        }
        Forms { window: self, candidates: &self.candidates(), wanted: &wanted, best: None }.search(most)
    }

    /// What is to be said of a form that is proved.
    pub fn shorter(&self, form: Vec<Made>) -> Shorter {
        let bytes: usize = form.iter().map(|it| usize::from(it.instruction.length)).sum();
        let states: u64 = form.iter().map(|it| it.instruction.states().0).sum();
        // What need not be known for the proof is not said to be.
        let mut needs = *self.known;
        for code in 0..8 {
            let without = needs[code].take();
            if without.is_some() && !self.is_proved_knowing(&form.iter().collect::<Vec<_>>(), &needs) {
                needs[code] = without;
            }
        }
        Shorter {
            saves: self.bytes - bytes,
            states: states as i64 - self.states as i64,
            differs: self.differs(&form),
            pieces: vec![(self.rows.clone(), form)],
            needs,
        }
    }

    /// Registers and flags of which the expressions are not those of the run.
    fn differs(&self, form: &[Made]) -> Places {
        let mut values = Values::default();
        let mut texts = Vec::new();
        let ends = [&self.run[..], form].map(|it| end(&mut values, &mut texts, self.known, &mut it.iter()));
        let [Some(was), Some(is)] = ends else { return 0 };
        let differs = |at: &usize| !equal(&was, &is, *at);
        (0..13).filter(|&at| at != 6).filter(differs).fold(0, |all, at| all | 1 << at)
    }

    /// Whether a form did the same in the trials.
    fn fits(&self, form: &[&Made], wanted: &[Outcome]) -> bool {
        let form: Vec<_> = form.iter().map(|it| it.coded()).collect();
        wanted
            .iter()
            .enumerate()
            .all(|(seed, wanted)| trial::run(&form, self.known, seed as u64).is_like(wanted, self.live))
    }

    /// Whether a form does the same in every state, as expressions show it, and in many more trials.
    pub fn is_proved(&self, form: &[&Made]) -> bool {
        self.is_proved_knowing(form, self.known)
    }

    fn is_proved_knowing(&self, form: &[&Made], known: &Known) -> bool {
        let mut values = Values::default();
        let mut texts = Vec::new();
        let was = end(&mut values, &mut texts, known, &mut self.run.iter());
        let is = end(&mut values, &mut texts, known, &mut form.iter().copied());
        let (Some(was), Some(is)) = (was, is) else { return false };
        let told_apart = (0..13).filter(|at| self.live >> at & 1 == 1);
        let same = was.accesses == is.accesses && told_apart.into_iter().all(|at| equal(&was, &is, at));
        let (run, form): (Vec<_>, Vec<_>) =
            (self.run.iter().map(Made::coded).collect(), form.iter().map(|it| it.coded()).collect());
        same && (0..MORE_TRIALS).all(|seed| {
            let seed = trial::mixed(seed);
            trial::run(&form, known, seed).is_like(&trial::run(&run, known, seed), self.live)
        })
    }

    /// Instructions that can be part of a form: they write nothing that is still needed, and touch memory only if the run
    /// does.
    fn candidates(&self) -> Vec<Made> {
        let mut made = Vec::new();
        let (bytes, words) = self.operands();
        for opcode in 0..=0xFF {
            let instruction = decode(opcode);
            let Some(it) = TRAITS[usize::from(opcode)].filter(|_| instruction.documented) else { continue };
            if it.effect.writes & !self.writable != 0
                || it.reads_memory && !self.reads_memory
                || it.writes_memory && !self.writes_memory
            {
                continue;
            }
            match instruction.length {
                1 => made.push(Made { instruction, operand: None }),
                2 => made.extend(bytes.iter().map(|it| Made { instruction, operand: Some(it.clone()) })),
                _ => made.extend(words.iter().map(|it| Made { instruction, operand: Some(it.clone()) })),
            }
        }
        // Of forms that are as short and as fast, the one that a reader expects: XRA A clears, ORA A sets the flags.
        use Mnemonic as M;
        made.sort_by_key(|it| !matches!(it.instruction.mnemonic, M::Mov | M::Inr | M::Dcr | M::Xra | M::Ora));
        made
    }

    /// The bytes and words that a form may use: those of the run, and words put together of two of its bytes.
    fn operands(&self) -> (Vec<Given>, Vec<Given>) {
        let given = |length: u8| {
            let of = self.run.iter().filter(move |it| it.instruction.length == length);
            of.filter_map(|it| it.operand.clone())
        };
        let (bytes, mut words): (Vec<_>, Vec<_>) = (given(2).collect(), given(3).collect());
        let single = |text: &str| text.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '_' | '?' | '@'));
        let in_brackets = |text: &str| if single(text) { text.to_owned() } else { format!("({text})") };
        for high in bytes.iter().filter(|it| it.fixed) {
            for low in bytes.iter().filter(|it| it.fixed && it.text != high.text || bytes.len() > 1) {
                if low.fixed {
                    // A number with nothing above it is that number.
                    let alone =
                        high.value == 0 && high.text == "0" && low.text.starts_with(|c: char| c.is_ascii_digit());
                    let text = match alone && single(&low.text) {
                        true => low.text.clone(),
                        false => format!("{} SHL 8 OR {}", in_brackets(&high.text), in_brackets(&low.text)),
                    };
                    words.push(Given {
                        text,
                        value: (high.value & 0xFF) << 8 | low.value & 0xFF,
                        fixed: true,
                        from: None,
                        length: false,
                    });
                }
            }
        }
        words.dedup();
        (bytes, words)
    }
}

/// Forms of three instructions and of four are looked for where there are at most so many.
const MOST_FORMS: usize = 4_000_000;

/// The search through all forms of a window, shorter ones first.
struct Forms<'a> {
    window: &'a Window<'a>,
    candidates: &'a [Made],
    wanted: &'a [Outcome],
    best: Option<(usize, u64, Vec<Made>)>,
}

/// The first instructions of a form, and what they did in the trials.
struct Begun {
    form: Vec<usize>,
    bytes: usize,
    trials: Vec<Trial>,
}

impl Forms<'_> {
    fn search(mut self, most: usize) -> Option<Shorter> {
        let trials = (0..TRIALS).map(|seed| Trial::new(self.window.known, seed)).collect();
        let mut begun = vec![Begun { form: Vec::new(), bytes: 0, trials }];
        for length in 1..=most {
            let is_long = length > 1 && self.window.run.len() == 1 || length >= self.window.bytes;
            if is_long || length > 2 && begun.len() * self.candidates.len() > MOST_FORMS {
                break;
            }
            begun = self.level(&begun, length < most, length > 1);
        }
        self.best.take().map(|(.., form)| self.window.shorter(form))
    }

    /// Tries every form with one more instruction, and gives those that more may follow. With `apart`, of those that did
    /// the same in the trials only the first is kept.
    fn level(&mut self, begun: &[Begun], goes_on: bool, apart: bool) -> Vec<Begun> {
        let mut next = Vec::new();
        let mut seen = HashSet::new();
        for start in begun {
            for (number, candidate) in self.candidates.iter().enumerate() {
                let bytes = start.bytes + usize::from(candidate.instruction.length);
                if bytes >= self.window.bytes || self.best.as_ref().is_some_and(|(least, ..)| bytes > *least) {
                    continue;
                }
                let mut trials = vec![start.trials[0].clone()];
                trials[0].step(candidate.coded());
                if trials[0].outcome().is_like(&self.wanted[0], self.window.live) {
                    self.take(&start.form, number, bytes);
                }
                if goes_on && bytes + 1 < self.window.bytes {
                    trials.extend(start.trials[1..].iter().cloned().map(|mut trial| {
                        trial.step(candidate.coded());
                        trial
                    }));
                    if !apart || seen.insert(trials.iter().map(Trial::outcome).collect::<Vec<_>>()) {
                        next.push(Begun { form: [&start.form[..], &[number]].concat(), bytes, trials });
                    }
                }
            }
        }
        next
    }

    /// Takes a form if it is better than the best, and right.
    fn take(&mut self, start: &[usize], last: usize, bytes: usize) {
        let form: Vec<&Made> = start.iter().chain([&last]).map(|&number| &self.candidates[number]).collect();
        let states: u64 = form.iter().map(|it| it.instruction.states().0).sum();
        let better = self.best.as_ref().is_none_or(|(least, fastest, _)| (bytes, states) < (*least, *fastest));
        if better && self.window.fits(&form, self.wanted) && self.window.is_proved(&form) {
            self.best = Some((bytes, states, form.into_iter().cloned().collect()));
        }
    }
}

/// The state behind instructions.
fn end(
    values: &mut Values,
    texts: &mut Vec<(String, u16)>,
    known: &Known,
    form: &mut dyn Iterator<Item = &Made>,
) -> Option<State> {
    let mut state = State::start(values, known);
    for it in form {
        let operand = operand(values, it.operand.as_ref(), texts);
        state.run_with_ports(values, it.instruction, operand)?;
    }
    Some(state)
}

/// Whether two states are the same in a register, by code, or in a flag, above them.
fn equal(was: &State, is: &State, at: usize) -> bool {
    if at < 8 { was.registers[at] == is.registers[at] } else { was.flags[at - 8] == is.flags[at - 8] }
}

/// The bytes of an operand as values: known if they stay as they are when code moves; else counted from one value for a
/// label, or for a text that came to one value.
fn operand(values: &mut Values, given: Option<&Given>, texts: &mut Vec<(String, u16)>) -> Option<Operand> {
    let given = given?;
    if given.fixed {
        let [high, low] = given.value.to_be_bytes();
        return Some(Operand { high: values.byte(high), low: values.byte(low) });
    }
    let (text, on) = given.from.clone().unwrap_or((given.text.clone(), 0));
    let named = (text, given.value.wrapping_sub(on));
    let number = texts.iter().position(|it| *it == named).unwrap_or_else(|| {
        texts.push(named);
        texts.len() - 1
    });
    let word = Word { number: number as u32, on };
    Some(Operand { high: values.word(word, true), low: values.word(word, false) })
}
