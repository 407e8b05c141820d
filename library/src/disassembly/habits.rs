//! What short sequences of instructions do: waits, sums, moves, and what is sent to a port. Names and comments come from it.

use std::collections::BTreeMap;

use super::bytes::{Bytes, Decoded};
use super::find::Found;
use super::marks::{Mark, Uses};
use super::ports::{PortNames, Way, word};
use crate::isa::{Mnemonic, Operands, Pair, Register, TStates};

/// What was understood of a program.
#[derive(Clone, Debug, Default)]
pub struct Understood {
    /// Comments by where the instruction lies.
    pub comments: BTreeMap<usize, String>,
    /// What routines do, in a word, by where they begin.
    pub words: BTreeMap<usize, String>,
    /// What routines do, in a sentence.
    pub sentences: BTreeMap<usize, String>,
}

/// The longest loop that is looked at, in bytes.
const LONGEST: usize = 28;

/// How far before what tells its use a routine may begin, in bytes.
const BEFORE: usize = 20;

struct Looker<'a> {
    bytes: &'a Bytes,
    found: &'a Found,
    ports: &'a PortNames<'a>,
    understood: Understood,
}

/// Looks for sequences whose use is known.
pub fn understand(bytes: &Bytes, found: &Found, ports: &PortNames) -> Understood {
    let mut looker = Looker { bytes, found, ports, understood: Understood::default() };
    let mut setting = None;
    for run in bytes.runs() {
        let mut at = run.start;
        while at < run.end {
            let Some(decoded) = looker.instruction(at) else {
                setting = None;
                at += 1;
                continue;
            };
            looker.look(at, decoded, &mut setting);
            at += decoded.length();
        }
    }
    looker.understood
}

/// What the accumulator holds, and whether a chip expects its mode, along a straight sequence.
#[derive(Clone, Copy, Debug, Default)]
struct Setting {
    accumulator: Option<u8>,
    mode: bool,
    first: usize,
    sent: u8,
    status: Option<u8>,
}

impl Looker<'_> {
    fn instruction(&self, at: usize) -> Option<Decoded> {
        (self.found.marks.at(at) == Mark::Start).then(|| self.bytes.decode(at)).flatten()
    }

    /// The instructions from an address on, without gaps.
    fn from(&self, at: usize, count: usize) -> Vec<(usize, Decoded)> {
        let mut found = Vec::new();
        let mut at = at;
        while found.len() < count {
            let Some(decoded) = self.instruction(at) else { break };
            found.push((at, decoded));
            at += decoded.length();
        }
        found
    }

    /// The routine to which an address belongs: the last place before it to which something calls, with no end between.
    fn routine(&self, at: usize) -> Option<usize> {
        let called = |at: usize| self.found.marks.uses(at).any(Uses::CALLED.and(Uses::LISTED));
        let mut here = at;
        loop {
            if called(here) {
                return Some(here);
            }
            let before = self.found.marks.instruction_of(here.checked_sub(1)?)?;
            let ends = self.bytes.decode(before).is_none_or(|decoded| decoded.instruction.mnemonic.ends_flow());
            if ends || at - before > BEFORE {
                // What nothing calls may be a routine all the same, if it stands behind the end of another.
                return ends.then_some(here);
            }
            here = before;
        }
    }

    fn name(&mut self, at: usize, name: String, sentence: &str) {
        if let Some(routine) = self.routine(at).filter(|routine| !self.found.marks.uses(*routine).any(Uses::ENTRY)) {
            self.understood.words.entry(routine).or_insert(name);
            self.understood.sentences.entry(routine).or_insert_with(|| sentence.to_owned());
        }
    }

    fn look(&mut self, at: usize, decoded: Decoded, setting: &mut Option<Setting>) {
        let uses = self.found.marks.uses(at);
        if uses.any(Uses::EXECUTED.and(Uses::LISTED)) {
            *setting = None;
        }
        match (decoded.instruction.mnemonic, decoded.instruction.operands) {
            (Mnemonic::Mvi, Operands::RegisterByte(Register::A)) => {
                let before = setting.take().unwrap_or_default();
                *setting = Some(Setting { accumulator: Some(decoded.operand as u8), ..before });
            }
            (Mnemonic::Xra | Mnemonic::Sub, Operands::Register(Register::A)) => {
                let before = setting.take().unwrap_or_default();
                *setting = Some(Setting { accumulator: Some(0), ..before });
            }
            (Mnemonic::Out, _) => self.sends(at, decoded.operand as u8, setting),
            (Mnemonic::In, _) => {
                *setting = None;
                self.reads(at, decoded.operand as u8);
            }
            (Mnemonic::Ret, _) => self.sets_up(at, setting.take()),
            (mnemonic, _) if mnemonic.goes_to_address() => {
                *setting = None;
                self.turns(at, decoded);
            }
            // What leaves the accumulator alone.
            (Mnemonic::Lxi | Mnemonic::Push | Mnemonic::Nop, _) => {}
            (Mnemonic::Mvi, _) => {}
            _ => *setting = None,
        }
    }

    /// A byte that is known goes out.
    fn sends(&mut self, at: usize, port: u8, setting: &mut Option<Setting>) {
        let Some(state) = setting else { return };
        let Some(byte) = state.accumulator else { return };
        let effect = self.ports.effect(port, byte, state.mode);
        if let Some(effect) = effect {
            self.understood.comments.insert(at, effect);
        }
        if self.ports.serial(port).is_some_and(|serial| serial.status == port) {
            state.mode = !state.mode && byte & 0x40 != 0;
            state.status = Some(port);
            if state.sent == 0 {
                state.first = at;
            }
            state.sent += 1;
        }
    }

    /// A routine that only sends control bytes to a chip sets it up.
    fn sets_up(&mut self, at: usize, setting: Option<Setting>) {
        let Some(Setting { sent: 2.., first, status: Some(status), .. }) = setting else { return };
        if let (Some(serial), Some(_)) = (self.ports.serial(status), self.routine(at)) {
            let name = serial.name.clone();
            self.name(first, format!("{}_SETUP", word(&name)), &format!("Sets up the chip of the {name}."));
        }
    }

    /// A port is read: a wait, a test, or what comes.
    fn reads(&mut self, at: usize, port: u8) {
        let next = self.from(at, 8);
        let Some(wait) = self.wait(at, port, &next) else {
            self.test(at, port, &next);
            return;
        };
        let device = self.device(port);
        if self.routine(at).is_none_or(|routine| self.understood.words.contains_key(&routine)) {
            self.understood.comments.entry(at).or_insert(format!("waits until {}", wait.text));
        }
        for (lies, decoded) in &next[wait.length..] {
            match decoded.instruction.mnemonic {
                Mnemonic::In => {
                    self.name(at, format!("{device}READ"), &format!("Waits until {}, and reads.", wait.text));
                    self.understood.comments.entry(*lies).or_insert("what came".into());
                    return;
                }
                Mnemonic::Out => {
                    self.name(at, format!("{device}SEND"), &format!("Waits until {}, and sends.", wait.text));
                    return;
                }
                mnemonic if mnemonic.ends_flow() || mnemonic.goes_to_address() => break,
                _ => {}
            }
        }
        self.name(at, format!("{device}WAIT"), &format!("Waits until {}.", wait.text));
    }

    fn device(&self, port: u8) -> String {
        self.ports.serial(port).map(|serial| format!("{}_", word(&serial.name))).unwrap_or_default()
    }

    /// A loop that reads a port until a bit is as it wants it.
    fn wait(&self, at: usize, port: u8, next: &[(usize, Decoded)]) -> Option<Wait> {
        let (_, branch) = next.get(2)?;
        let back = branch.target().and_then(|target| self.found.places.lies_at(self.bytes, next[2].0, target))?;
        (back <= at && at - back < 12 && self.found.marks.at(back) == Mark::Start).then_some(())?;
        let condition = branch.instruction.mnemonic;
        let text = self.condition(port, next[1].1, condition, false)?;
        Some(Wait { text, length: 3 })
    }

    /// What holds when a branch is taken, or is not, of a port that was just read and one instruction looked at.
    fn condition(&self, port: u8, looks: Decoded, branch: Mnemonic, taken: bool) -> Option<String> {
        use Mnemonic::{Ana, Ani, Jc, Jm, Jnc, Jnz, Jp, Jz, Ora, Ral, Rar, Rlc, Rrc};
        let name = self.ports.named(port, Way::In).name;
        let a = looks.instruction.operands == Operands::Register(Register::A);
        let (mask, one_if_taken) = match (looks.instruction.mnemonic, branch) {
            (Ani, Jz) => (looks.operand as u8, false),
            (Ani, Jnz) => (looks.operand as u8, true),
            (Rrc | Rar, Jnc) => (1, false),
            (Rrc | Rar, Jc) => (1, true),
            (Rlc | Ral, Jnc) => (0x80, false),
            (Rlc | Ral, Jc) => (0x80, true),
            (Ora | Ana, Jp) if a => (0x80, false),
            (Ora | Ana, Jm) if a => (0x80, true),
            (Ora | Ana, Jz) if a => (0xFF, false),
            (Ora | Ana, Jnz) if a => (0xFF, true),
            _ => return None,
        };
        let one = one_if_taken == taken;
        if mask.count_ones() == 1 {
            let bit = mask.trailing_zeros() as u8;
            let meaning = self.ports.meaning(port, bit, one).map(|text| format!(": {text}")).unwrap_or_default();
            return Some(format!("bit {bit} of {name} is {}{meaning}", u8::from(one)));
        }
        let bits: Vec<_> = (0..8).rev().filter(|bit| mask >> bit & 1 == 1).map(|bit| bit.to_string()).collect();
        Some(match (mask, one) {
            (0xFF, true) => format!("{name} is not 0"),
            (0xFF, false) => format!("{name} is 0"),
            (_, true) => format!("one of the bits {} of {name} is 1", bits.join(", ")),
            (_, false) => format!("the bits {} of {name} are 0", bits.join(", ")),
        })
    }

    /// A port that is read once and looked at.
    fn test(&mut self, at: usize, port: u8, next: &[(usize, Decoded)]) {
        let [_, (_, looks), (_, then), ..] = next else { return };
        if looks.instruction.mnemonic == Mnemonic::Ani && then.instruction.mnemonic == Mnemonic::Ret {
            let mask = looks.operand as u8;
            if mask.count_ones() == 1 && self.routine(at) == Some(at) {
                let bit = mask.trailing_zeros() as u8;
                let what = self.ports.meaning(port, bit, true);
                let told =
                    what.unwrap_or_else(|| format!("bit {bit} of {} is 1", self.ports.named(port, Way::In).name));
                let device = self.device(port);
                self.name(at, format!("{device}TEST"), &format!("Not zero if {told}."));
            }
            return;
        }
        if let Some(text) = self.condition(port, *looks, then.instruction.mnemonic, true) {
            self.understood.comments.entry(next[2].0).or_insert(format!("if {text}"));
        }
    }

    /// A jump back: what the loop does.
    fn turns(&mut self, at: usize, decoded: Decoded) {
        let back = decoded.target().and_then(|target| self.found.places.lies_at(self.bytes, at, target));
        let Some(back) = back.filter(|back| *back <= at && at - back <= LONGEST) else { return };
        let mnemonic = decoded.instruction.mnemonic;
        if mnemonic.calls() || self.found.marks.at(back) != Mark::Start {
            return;
        }
        let body: Vec<_> = self.from(back, LONGEST).into_iter().take_while(|(lies, _)| *lies < at).collect();
        let has = |of: &dyn Fn(Mnemonic, Operands) -> bool| {
            body.iter().any(|(_, it)| of(it.instruction.mnemonic, it.instruction.operands))
        };
        let ports = has(&|mnemonic, _| matches!(mnemonic, Mnemonic::In | Mnemonic::Out));
        let reads = has(&|mnemonic, operands| match operands {
            Operands::Registers(_, Register::M) => true,
            Operands::Register(Register::M) => !matches!(mnemonic, Mnemonic::Inr | Mnemonic::Dcr),
            _ => mnemonic == Mnemonic::Ldax,
        });
        let writes = has(&|mnemonic, operands| {
            matches!(operands, Operands::Registers(Register::M, _) | Operands::RegisterByte(Register::M))
                || mnemonic == Mnemonic::Stax
        });
        let calls = body.iter().filter(|(_, it)| it.instruction.mnemonic.calls()).count();
        let steps = has(&|mnemonic, operands| {
            matches!(mnemonic, Mnemonic::Inx | Mnemonic::Dcx)
                && matches!(operands, Operands::Pair(Pair::H | Pair::D | Pair::B))
        });
        let on_memory =
            |of: Mnemonic| has(&|mnemonic, operands| mnemonic == of && operands == Operands::Register(Register::M));
        let with = |of: Mnemonic| on_memory(of) || reads && has(&|mnemonic, _| mnemonic == of);
        let named = match (reads, writes, calls) {
            _ if ports => None,
            (true, true, 0) if steps && !on_memory(Mnemonic::Adc) => {
                let plain = !body.iter().any(|(_, it)| is_arithmetic(it.instruction.mnemonic));
                plain.then_some(("MOVE", "Moves bytes from one place to another."))
            }
            (false, true, 0) if steps && mnemonic != Mnemonic::Jmp => Some(("FILL", "Fills memory with one byte.")),
            (true, false, 0) if steps && with(Mnemonic::Add) => Some(("SUM", "Adds up bytes.")),
            (true, false, 0) if steps && with(Mnemonic::Xra) => Some(("PARITY", "Exclusive or of bytes.")),
            (true, false, 1) if steps && self.sends_text(&body) => Some(("TEXT", "Sends a text.")),
            (false, false, 0)
                if mnemonic != Mnemonic::Jmp && body.iter().all(|(_, it)| idles(it.instruction.mnemonic)) =>
            {
                let turn =
                    body.iter().map(|(_, it)| it.instruction.states()).sum::<TStates>() + decoded.instruction.states();
                let text = format!("lets time pass: {turn} T-states a turn");
                self.understood.comments.entry(at).or_insert(text);
                (!body.is_empty()).then_some(("DELAY", "Lets time pass."))
            }
            _ => None,
        };
        if let Some((name, sentence)) = named {
            self.name(back, name.to_owned(), sentence);
        }
    }

    /// Whether the one routine that a loop calls sends what it is given.
    fn sends_text(&self, body: &[(usize, Decoded)]) -> bool {
        let call = body.iter().find(|(_, it)| it.instruction.mnemonic.calls());
        let routine = call.and_then(|(at, it)| self.found.places.lies_at(self.bytes, *at, it.operand));
        let routine = routine.map(|routine| self.from(routine, 8)).unwrap_or_default();
        let loads = body.iter().any(|(_, it)| it.instruction.operands == Operands::Registers(Register::A, Register::M));
        loads && routine.iter().any(|(_, it)| it.instruction.mnemonic == Mnemonic::Out)
    }
}

/// A wait, and how many instructions it has.
struct Wait {
    text: String,
    length: usize,
}

fn is_arithmetic(mnemonic: Mnemonic) -> bool {
    use Mnemonic::{Adc, Add, Adi, Ana, Ani, Daa, Ral, Rar, Rlc, Rrc, Sbb, Sub, Sui, Xra, Xri};
    matches!(mnemonic, Adc | Add | Adi | Ana | Ani | Daa | Ral | Rar | Rlc | Rrc | Sbb | Sub | Sui | Xra | Xri)
}

fn idles(mnemonic: Mnemonic) -> bool {
    use Mnemonic::{Dcr, Dcx, Inr, Inx, Jnz, Jz, Mov, Mvi, Nop, Ora};
    matches!(mnemonic, Dcr | Dcx | Inr | Inx | Jnz | Jz | Mov | Mvi | Nop | Ora)
}
