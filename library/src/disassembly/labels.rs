//! Names of addresses, ports and values, each once.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use super::bytes::{Bytes, Decoded};
use super::find::Found;
use super::habits::Understood;
use super::hints::{Hints, Kind};
use super::marks::{Mark, Uses};
use super::ports::{Named, PortNames, Way};
use crate::image::{Image, MEMORY, SymbolKind};
use crate::isa::{Mnemonic, Operands, Pair};
use crate::notation::{Address, Notation};

/// What names are made from.
pub struct Sight<'a> {
    /// The bytes.
    pub bytes: &'a Bytes,
    /// What they are.
    pub found: &'a Found,
    /// What a person said.
    pub hints: &'a Hints,
    /// How numbers are written.
    pub notation: Notation,
}

/// Where an operand leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reference {
    /// So many bytes behind a label.
    Label(usize, usize),
    /// So many bytes behind the beginning of a stretch that runs elsewhere, where it lies.
    Lying(usize, usize),
    /// Not among the bytes.
    Outside(u16),
}

impl Sight<'_> {
    /// Where an address leads that an instruction or table at `from` means.
    pub fn reference(&self, from: usize, address: u16) -> Reference {
        let places = &self.found.places;
        let Some(lies) = places.lies_at(self.bytes, from, address) else { return Reference::Outside(address) };
        if places.runs_at(lies) != address {
            let start = places.of(lies).map_or(lies, |moved| moved.from.start);
            return Reference::Lying(start, lies - start);
        }
        let base = self.anchor(lies);
        Reference::Label(base, lies - base)
    }

    /// Where the line begins that has the byte at an address, as far as a label cannot stand at the byte itself.
    fn anchor(&self, lies: usize) -> usize {
        match self.found.marks.at(lies) {
            Mark::Inside => self.found.marks.instruction_of(lies).unwrap_or(lies),
            Mark::Plain(Kind::Addresses | Kind::Words) if self.found.marks.is_second(lies) => lies - 1,
            _ => lies,
        }
    }

    /// Whether the operand of LXI is an address rather than a number.
    pub fn is_pointer(&self, at: usize, pair: Pair, value: u16) -> bool {
        let places = &self.found.places;
        let Some(lies) = places.lies_at(self.bytes, at, value) else { return false };
        let marks = &self.found.marks;
        let uses = marks.uses(lies);
        let known = uses.any(Uses::EXECUTED.and(Uses::LISTED).and(Uses::READ).and(Uses::WRITTEN));
        match marks.at(lies) {
            Mark::Plain(Kind::Text | Kind::Addresses) => true,
            Mark::Inside => uses.any(Uses::WRITTEN.and(Uses::READ)) || places.runs_at(lies) != value,
            _ if pair == Pair::B || value < 0x100 => known,
            Mark::Start if pair == Pair::Sp => known,
            _ => true,
        }
    }

    /// The instruction that lies at an address, if one is known there.
    pub fn instruction(&self, at: usize) -> Option<Decoded> {
        (self.found.marks.at(at) == Mark::Start).then(|| self.bytes.decode(at)).flatten()
    }

    /// The address that the operand of an instruction means, if it means one.
    pub fn meant(&self, at: usize, decoded: Decoded) -> Option<u16> {
        let instruction = decoded.instruction;
        match (instruction.mnemonic, instruction.operands) {
            (_, Operands::Address) => Some(decoded.operand),
            (Mnemonic::Lxi, Operands::PairWord(pair)) => {
                self.is_pointer(at, pair, decoded.operand).then_some(decoded.operand)
            }
            _ => None,
        }
    }
}

/// The names of a source.
#[derive(Debug, Default)]
pub struct Labels {
    at: BTreeMap<usize, String>,
    lying: BTreeMap<usize, String>,
    outside: BTreeMap<u16, String>,
    ports: BTreeMap<(u8, Way), Named>,
    /// Values by name, as hints have them.
    pub equates: Vec<(String, u16)>,
}

impl Labels {
    /// Gives names to all that is referred to. `entry` is where the program starts.
    pub fn give(
        sight: &Sight,
        understood: &Understood,
        ports: &PortNames,
        image: &Image,
        entry: Option<Address>,
    ) -> Labels {
        let mut giver = Giver { sight, labels: Labels::default(), taken: HashSet::new() };
        let mut wanted = giver.wanted();
        let start = entry.map(|entry| sight.reference(MEMORY, entry.0));
        if let Some(start) = start {
            want(&mut wanted, start, Uses::JUMPED);
        }
        giver.told(image);
        giver.ports(&wanted.ports, ports);
        giver.labels(&wanted.at, understood, start);
        for start in wanted.lying {
            let digits = giver.sight.notation.digits(Address(start as u16));
            let name = giver.free(format!("C{digits}"));
            giver.labels.lying.insert(start, name);
        }
        for (address, uses) in wanted.outside {
            let digits = giver.sight.notation.digits(Address(address));
            let stem = if uses.any(Uses::EXECUTED) { 'X' } else { 'M' };
            if !giver.labels.outside.contains_key(&address) {
                let name = giver.free(format!("{stem}{digits}"));
                giver.labels.outside.insert(address, name);
            }
        }
        giver.labels
    }

    /// The label of the byte that lies at an address.
    pub fn at(&self, at: usize) -> Option<&str> {
        self.at.get(&at).map(String::as_str)
    }

    /// The label of a moved stretch where it lies.
    pub fn lying(&self, at: usize) -> Option<&str> {
        self.lying.get(&at).map(String::as_str)
    }

    /// The first label behind an address.
    pub fn next_after(&self, at: usize) -> Option<usize> {
        self.at.range(at + 1..).next().map(|(at, _)| *at)
    }

    /// The name of an address that is not among the bytes.
    pub fn outside(&self, address: u16) -> Option<&str> {
        self.outside.get(&address).map(String::as_str)
    }

    /// The name of a port.
    pub fn port(&self, port: u8, way: Way) -> Option<&str> {
        self.ports.get(&(port, way)).map(|named| named.name.as_str())
    }

    /// The ports that are used, each name once.
    pub fn all_ports(&self) -> BTreeMap<&str, (u8, BTreeSet<&str>)> {
        let mut all: BTreeMap<&str, (u8, BTreeSet<&str>)> = BTreeMap::new();
        for ((port, _), named) in &self.ports {
            let about = &mut all.entry(&named.name).or_insert((*port, BTreeSet::new())).1;
            about.extend((!named.about.is_empty()).then_some(named.about.as_str()));
        }
        all
    }

    /// The addresses that are not among the bytes, by their value.
    pub fn all_outside(&self) -> impl Iterator<Item = (&str, u16)> {
        self.outside.iter().map(|(address, name)| (name.as_str(), *address))
    }
}

/// What needs a name.
#[derive(Default)]
struct Wanted {
    at: BTreeSet<usize>,
    lying: BTreeSet<usize>,
    outside: BTreeMap<u16, Uses>,
    ports: BTreeSet<(u8, Way)>,
}

struct Giver<'a> {
    sight: &'a Sight<'a>,
    labels: Labels,
    taken: HashSet<String>,
}

impl Giver<'_> {
    fn wanted(&self) -> Wanted {
        let sight = self.sight;
        let mut wanted = Wanted::default();
        for run in sight.bytes.runs() {
            for at in run {
                let uses = sight.found.marks.uses(at);
                let mark = sight.found.marks.at(at);
                if uses.any(Uses::CALLED.and(Uses::LISTED).and(Uses::ENTRY)) && mark != Mark::Inside {
                    wanted.at.insert(sight.anchor(at));
                }
                match mark {
                    Mark::Start => self.want_of(at, &mut wanted),
                    Mark::Plain(Kind::Addresses) if !sight.found.marks.is_second(at) => {
                        if let Some(word) = sight.bytes.word(at) {
                            want(&mut wanted, sight.reference(at, word), Uses::LISTED);
                        }
                    }
                    _ => {}
                }
            }
        }
        wanted
    }

    fn want_of(&self, at: usize, wanted: &mut Wanted) {
        let Some(decoded) = self.sight.bytes.decode(at) else { return };
        match decoded.instruction.mnemonic {
            Mnemonic::In => _ = wanted.ports.insert((decoded.operand as u8, Way::In)),
            Mnemonic::Out => _ = wanted.ports.insert((decoded.operand as u8, Way::Out)),
            mnemonic => {
                let how = if mnemonic.goes_to_address() { Uses::JUMPED } else { Uses::READ };
                if let Some(address) = self.sight.meant(at, decoded) {
                    want(wanted, self.sight.reference(at, address), how);
                }
            }
        }
    }

    /// Names that a person or the file gives.
    fn told(&mut self, image: &Image) {
        let hints = self.sight.hints;
        for (name, hint) in &hints.equates {
            self.taken.insert(name.clone());
            self.labels.equates.push((name.clone(), hint.value));
            if !self.sight.bytes.has(usize::from(hint.value)) {
                self.labels.outside.insert(hint.value, name.clone());
            }
        }
        let of_file = image.symbols.iter().filter(|symbol| symbol.kind == SymbolKind::Label);
        let of_file = of_file.map(|symbol| (Address(symbol.value), symbol.name.to_ascii_uppercase(), false));
        let of_hints = hints.names.iter().map(|(at, hint)| (*at, hint.value.clone(), true));
        for (address, name, told) in of_hints.chain(of_file) {
            let known = |labels: &Labels| match self.sight.reference(MEMORY, address.0) {
                Reference::Label(at, 0) => labels.at.contains_key(&at),
                _ => labels.outside.contains_key(&address.0),
            };
            if known(&self.labels) || self.taken.contains(&name) || !told && !is_name(&name) {
                continue;
            }
            match self.sight.reference(MEMORY, address.0) {
                Reference::Label(at, 0) => _ = self.labels.at.insert(at, name.clone()),
                Reference::Outside(address) => _ = self.labels.outside.insert(address, name.clone()),
                _ => continue,
            }
            self.taken.insert(name);
        }
    }

    fn ports(&mut self, wanted: &BTreeSet<(u8, Way)>, ports: &PortNames) {
        for &(port, way) in wanted {
            let mut named = ports.named(port, way);
            let same = self.labels.ports.iter().find(|(_, other)| other.name == named.name).map(|((port, _), _)| *port);
            // Two ports that a person calls alike are told apart by their numbers.
            if same.is_none_or(|other| other != port) {
                let with_number = format!("{}_{}", named.name, self.sight.notation.byte(port));
                named.name = if self.taken.contains(&named.name) { self.free(with_number) } else { named.name };
                self.taken.insert(named.name.clone());
            }
            self.labels.ports.insert((port, way), named);
        }
    }

    fn labels(&mut self, wanted: &BTreeSet<usize>, understood: &Understood, start: Option<Reference>) {
        let mut words: BTreeMap<&str, usize> = BTreeMap::new();
        for word in understood.words.values() {
            *words.entry(word).or_default() += 1;
        }
        // What is understood is named even if nothing refers to it.
        let all: BTreeSet<usize> = wanted.iter().chain(understood.words.keys()).copied().collect();
        for at in all {
            if self.labels.at.contains_key(&at) {
                continue;
            }
            let digits = self.sight.notation.digits(Address(self.sight.found.places.runs_at(at)));
            let word = understood.words.get(&at);
            let name = match word {
                _ if start == Some(Reference::Label(at, 0)) => "START".to_owned(),
                Some(word) if words[word.as_str()] == 1 => word.clone(),
                Some(word) => format!("{word}{digits}"),
                None => format!("{}{digits}", self.stem(at)),
            };
            let name = if self.taken.contains(&name) { self.free(format!("{name}_{digits}")) } else { name };
            self.taken.insert(name.clone());
            self.labels.at.insert(at, name);
        }
    }

    /// The letter before the digits of an address.
    fn stem(&self, at: usize) -> char {
        let uses = self.sight.found.marks.uses(at);
        match self.sight.found.marks.at(at) {
            Mark::Start if uses.any(Uses::CALLED) => 'R',
            Mark::Start | Mark::Inside => 'J',
            Mark::Plain(Kind::Text) => 'T',
            Mark::Plain(Kind::Addresses) => 'A',
            _ => 'D',
        }
    }

    /// A name that nothing has yet; underscores are added until none has it.
    fn free(&mut self, mut name: String) -> String {
        while self.taken.contains(&name) {
            name.push('_');
        }
        self.taken.insert(name.clone());
        name
    }
}

fn want(wanted: &mut Wanted, reference: Reference, how: Uses) {
    match reference {
        Reference::Label(at, _) => _ = wanted.at.insert(at),
        Reference::Lying(start, _) => _ = wanted.lying.insert(start),
        Reference::Outside(address) => {
            let uses = wanted.outside.entry(address).or_default();
            *uses = uses.and(how);
        }
    }
}

/// Whether a name of a file is one of the language too.
fn is_name(name: &str) -> bool {
    let first = name.starts_with(|first: char| first.is_ascii_alphabetic() || matches!(first, '?' | '@'));
    let word = name.bytes().all(|byte| byte.is_ascii_alphanumeric() || b"?@_".contains(&byte));
    first && word && !name.starts_with("??") && crate::syntax::Names::default().intern(name).keyword().is_none()
}
