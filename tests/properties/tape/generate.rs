//! Framings, programs and damage from a seed.

use std::collections::BTreeMap;

use super::by_hand::Source;
use super::spec::{Escape, Field, Filler, Kind, Part, Spec, width};
use crate::damage::Random;

impl Random {
    pub fn below(&mut self, limit: usize) -> usize {
        (self.next() >> 33) as usize % limit
    }

    /// True so often in a hundred.
    pub fn chance(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }

    pub fn pick<T: Clone>(&mut self, of: &[T]) -> T {
        of[self.below(of.len())].clone()
    }
}

const CHECKS: [(&str, usize); 12] = [
    ("sum8", 1),
    ("sum16", 2),
    ("carry-sum8", 1),
    ("xor8", 1),
    ("fletcher16", 2),
    ("crc-8/smbus", 1),
    ("crc-16/arc", 2),
    ("crc-16/xmodem", 2),
    ("crc-16/ibm-3740", 2),
    ("crc-16/kermit", 2),
    ("crc-16/ibm-sdlc", 2),
    ("crc-16/genibus", 2),
];

/// A framing; most of them can be decoded, some are refused.
pub fn spec(random: &mut Random) -> Spec {
    let mut spec = Spec { characters: "8N", digits: "binary", ..Spec::default() };
    match random.below(20) {
        0..10 => {}
        10 | 11 => spec.digits = "hex",
        12 => spec.digits = "octal",
        13 | 14 => (spec.digits, spec.characters, spec.ignore) = ("hex", "7E", vec![0x7F]),
        15 => (spec.digits, spec.characters) = ("octal", random.pick(&["7O", "7E"])),
        16 => (spec.digits, spec.characters) = ("hex", random.pick(&["7M", "7S", "7N"])),
        _ => {
            let count = 1 + random.below(4);
            let escape =
                Escape { byte: random.next() as u8, flip: 1 + random.below(255) as u8, bytes: random.bytes(count) };
            if random.chance(30) {
                spec.ignore = if random.chance(50) { vec![escape.bytes[0]] } else { random.bytes(1) };
            }
            spec.escape = Some(escape);
        }
    }
    if random.chance(8) {
        spec.avoid = if spec.digits == "binary" { random.bytes(2) } else { vec![random.pick(b"0123456789ABCDEF")] };
    }
    fillers(random, &mut spec);
    spec.origin = if random.chance(50) { random.pick(&[0, 0x100, 0x400]) } else { random.next() as u16 & 0x3FFF };
    let mark = mark(random, &spec);
    spec.block = block(random, &spec, &mark);
    if random.chance(70) {
        spec.end = Some(end(random, &spec, &mark));
    }
    if random.chance(25) {
        spec.head = Some(head(random, &spec));
    }
    spec
}

fn fillers(random: &mut Random, spec: &mut Spec) {
    let mask = if spec.is_seven_bit() { 0x7F } else { 0xFF };
    let byte = match random.below(10) {
        0..6 => 0,
        6 | 7 => mask,
        _ => random.next() as u8 & mask,
    };
    let other = |random: &mut Random, usual: usize| match random.below(100) {
        roll if roll < usual => vec![byte],
        roll if roll < 90 => vec![13, 10],
        _ => random.bytes(2).iter().map(|byte| byte & mask).collect(),
    };
    let (gap, trailer) = (other(random, 50), other(random, 80));
    spec.leader = Filler { bytes: vec![byte], count: random.below(24) };
    spec.gap = Filler { bytes: gap, count: random.below(5) };
    spec.trailer = Filler { bytes: trailer, count: random.below(14) };
}

fn mark(random: &mut Random, spec: &Spec) -> Vec<u8> {
    let count = 1 + usize::from(random.chance(25));
    let any =
        |random: &mut Random| if spec.digits == "binary" { random.next() as u8 } else { random.pick(b":;$/!%&*GXZ") };
    (0..count).map(|_| any(random)).collect()
}

fn field(fields: &mut Vec<Field>, kind: Kind) {
    let key = kind.key();
    let twins = fields.iter().filter(|field| field.kind.key() == key).count();
    // Data fields share a name, as windows do.
    let name = if twins == 0 || key == "data" { key.into() } else { format!("{key}{}", twins + 1) };
    fields.push(Field { name, kind });
}

const FORMS: [&str; 3] = ["u8", "u16le", "u16be"];

fn block(random: &mut Random, spec: &Spec, mark: &[u8]) -> Vec<Field> {
    let mut fields = Vec::new();
    if random.chance(92) {
        field(&mut fields, Kind::Mark(mark.to_vec()));
    }
    let mut middle = Vec::new();
    if random.chance(45) {
        let form = random.pick(&FORMS);
        let most = if width(form) == 1 { 256 } else { 65_536 };
        middle.push(Kind::Sequence {
            form,
            first: if random.chance(50) { random.below(2) } else { random.below(most) } as u16,
        });
    }
    let address = random.chance(72);
    if address {
        middle.push(Kind::Address(random.pick(&["u16le", "u16le", "u16be", "u16be", "page"])));
    }
    let counted = match random.below(100) {
        0..62 => {
            middle.push(length(random, &["data"]));
            true
        }
        62..74 => {
            middle.push(Kind::Last(random.pick(&FORMS[1..])));
            address || random.chance(20)
        }
        _ => false,
    };
    if random.chance(12) {
        middle.push(Kind::Literal(random.bytes(1)));
    }
    if random.chance(8) {
        middle.push(Kind::Entry(random.pick(&["u16le", "u16be", "low"])));
    }
    shuffle(random, &mut middle);
    // The first address stands before the last.
    if let Some(last) = middle.iter().position(|kind| matches!(kind, Kind::Last(_)))
        && let Some(first) = middle.iter().position(|kind| matches!(kind, Kind::Address(_)))
        && last < first
    {
        middle.swap(first, last);
    }
    let behind = if random.chance(12) { middle.len().saturating_sub(1) } else { middle.len() };
    let rest = middle.split_off(behind);
    let check_first = random.chance(12);
    let checks = random.pick(&[0, 1, 1, 1, 1, 2]);
    if check_first && checks > 0 {
        field(&mut fields, check(random));
    }
    middle.into_iter().for_each(|kind| field(&mut fields, kind));
    data(random, spec, counted, &mut fields);
    rest.into_iter().for_each(|kind| field(&mut fields, kind));
    (usize::from(check_first)..checks).for_each(|_| field(&mut fields, check(random)));
    point(random, &mut fields);
    fields
}

fn data(random: &mut Random, spec: &Spec, counted: bool, fields: &mut Vec<Field>) {
    let most = |random: &mut Random| match random.below(20) {
        0..13 => 1 + random.below(24),
        13..16 => 32 + random.below(100),
        16 | 17 => 256,
        18 => random.pick(&[128, 300, 512]),
        _ => 200 + random.below(100),
    };
    let falling = random.chance(25);
    let at = |random: &mut Random| if random.chance(12) { random.pick(&[1, 8, 16, 64, 300]) } else { 0 };
    if !counted && random.chance(30) {
        let (low, high, at) = (1 + random.below(20), 1 + random.below(20), at(random));
        let gap = random.below(12) as u16;
        let pad = Some(random.next() as u8);
        field(fields, Kind::Data { most: low, pad, falling, at });
        field(fields, Kind::Data { most: high, pad, falling: random.chance(50), at: at + low as u16 + gap });
        return;
    }
    let pad = (!counted || random.chance(25)).then(|| if random.chance(60) { 0 } else { random.next() as u8 });
    let pad = if !counted && random.chance(4) { None } else { pad };
    let most = if spec.digits == "octal" { most(random).min(64) } else { most(random) };
    field(fields, Kind::Data { most, pad, falling, at: at(random) });
}

fn length(random: &mut Random, of: &[&str]) -> Kind {
    let mut of: Vec<String> = of.iter().map(|&name| name.into()).collect();
    if random.chance(25) {
        of.extend(["length".into(), "check".into()]);
    }
    Kind::Length {
        form: random.pick(&["u8", "u8", "u16le", "u16be"]),
        counts: random.pick(&["n", "n", "n-1", "negated"]),
        of,
    }
}

fn check(random: &mut Random) -> Kind {
    let (kind, bytes) = random.pick(&CHECKS);
    let form = if bytes == 1 { "u8" } else { random.pick(&FORMS[1..]) };
    Kind::Check { kind, form, stored: random.pick(&["value", "complement", "negated"]), over: Vec::new() }
}

/// Lets checks and lengths point at fields that are there.
fn point(random: &mut Random, fields: &mut [Field]) {
    let names: Vec<_> = fields.iter().map(|field| (field.name.clone(), field.kind.key())).collect();
    for index in 0..fields.len() {
        match &mut fields[index].kind {
            Kind::Length { of, .. } => of.retain(|name| names.iter().any(|(other, _)| other == name)),
            Kind::Check { over, .. } => {
                let share = random.pick(&[100, 100, 100, 60, 30]);
                let marks = random.chance(50);
                let other_check = random.chance(15);
                for (name, key) in &names[..] {
                    let wanted = match *key {
                        "mark" => marks,
                        // A later check may be over an earlier one.
                        "check" => other_check && *name != names[index].0 && name == "check",
                        "data" => random.chance(97),
                        _ => random.chance(share),
                    };
                    if wanted && !over.contains(name) {
                        over.push(name.clone());
                    }
                }
            }
            _ => {}
        }
    }
}

fn shuffle<T>(random: &mut Random, of: &mut [T]) {
    for index in (1..of.len()).rev() {
        of.swap(index, random.below(index + 1));
    }
}

fn end(random: &mut Random, spec: &Spec, of_block: &[u8]) -> Vec<Field> {
    let mut fields = Vec::new();
    let own = match random.below(3) {
        0 => mark(random, spec),
        // One hole away from the mark of a block.
        1 => vec![of_block[0] ^ 1 << random.below(7)],
        _ => of_block.to_vec(),
    };
    let like_block = own == of_block;
    field(&mut fields, Kind::Mark(own));
    let mut middle = Vec::new();
    if let Some((form, first)) = spec.numbered()
        && random.chance(60)
    {
        middle.push(Kind::Sequence { form, first });
    }
    if random.chance(55) {
        middle.push(Kind::Entry(random.pick(&["u16le", "u16be", "u16be", "low"])));
    }
    if random.chance(15) {
        middle.push(Kind::Address(random.pick(&["u16le", "u16be", "page"])));
    }
    shuffle(random, &mut middle);
    if like_block {
        // It takes the place of the length, which is never 0 in a block.
        let place = spec.block.iter().position(|field| matches!(field.kind, Kind::Length { .. })).unwrap_or(1);
        middle.insert(place.saturating_sub(1).min(middle.len()), Kind::Literal(vec![0]));
    }
    middle.into_iter().for_each(|kind| field(&mut fields, kind));
    if random.chance(60) {
        field(&mut fields, check(random));
    }
    point(random, &mut fields);
    fields
}

fn head(random: &mut Random, spec: &Spec) -> Vec<Field> {
    let mut fields = Vec::new();
    let own = mark(random, spec);
    field(&mut fields, Kind::Mark(own));
    if random.chance(30) {
        field(&mut fields, Kind::Literal(random.bytes(2)));
    }
    if random.chance(20) {
        field(&mut fields, Kind::Address(random.pick(&["u16le", "u16be", "page"])));
    }
    if random.chance(15) {
        field(&mut fields, Kind::Entry(random.pick(&["u16le", "low"])));
    }
    if random.chance(50) {
        field(&mut fields, length(random, &["label"]));
        field(&mut fields, Kind::Label(1 + random.below(12)));
    }
    if random.chance(60) {
        field(&mut fields, check(random));
    }
    point(random, &mut fields);
    fields
}

/// A program, mostly where the framing can put it.
pub fn source(random: &mut Random, spec: &Spec) -> Source {
    let placed = spec.layout(Part::Block).iter().any(|field| matches!(field.kind, Kind::Address(_)));
    let page = spec.block.iter().any(|field| matches!(field.kind, Kind::Address("page")));
    let at = super::by_hand::windows(&spec.block).iter().map(|window| window.0).min().unwrap_or(0);
    let mut bytes = BTreeMap::new();
    for run in 0..if placed { random.pick(&[1, 1, 2, 3]) } else { 1 } {
        let base = match (placed, random.below(10)) {
            (false, 0) => random.below(0x8000),
            (false, _) => usize::from(spec.origin) + at,
            (true, 0) => random.below(0x1_0000),
            (true, 1) => 0xFF00 + random.below(0x100),
            (true, _) if page && random.chance(85) => random.below(0x40) << 8 | at,
            (true, _) => random.below(0x600) + run * random.below(0x400),
        };
        let most = random.pick(&[16, 16, 32, 32, 64, 64, 128, 300]);
        let count = 1 + random.below(most);
        let content = content(random, spec, count);
        for (address, byte) in (base..0x1_0000).zip(content) {
            bytes.insert(address as u16, byte);
        }
    }
    let first = bytes.keys().next().copied().unwrap_or(0);
    let entry = if random.chance(60) { first & 0xFF00 | random.next() as u16 & 0xFF } else { random.next() as u16 };
    let name = random.pick(&["BELFRY", "A", "PEAL OF BELLS AND CHIMES"]).to_owned();
    Source { name, bytes, entry }
}

/// Bytes of any kind: random, few kinds, filler among them, marks among them.
fn content(random: &mut Random, spec: &Spec, count: usize) -> Vec<u8> {
    let tempting: Vec<u8> = spec
        .layouts()
        .flat_map(|(_, layout)| match &layout[0].kind {
            Kind::Mark(bytes) => bytes.clone(),
            _ => vec![0],
        })
        .chain(spec.leader.bytes.iter().chain(&spec.gap.bytes).copied())
        .collect();
    let blank = spec.leader.bytes[0];
    let kind = random.below(10);
    let byte = |random: &mut Random| match kind {
        0..4 => random.next() as u8,
        4 => blank,
        5 | 6 if random.chance(90) => blank,
        7 => random.pick(&tempting),
        8 if random.chance(50) => random.pick(&tempting),
        _ => random.next() as u8,
    };
    (0..count).map(|_| byte(random)).collect()
}

/// One thing that went wrong.
#[derive(Clone, Copy, Debug)]
pub enum Damage {
    /// A bit of a frame turned over.
    Flip(usize, u8),
    /// A frame lost.
    Lose(usize),
    /// A frame read twice.
    Double(usize),
    /// A frame that changed places with the next.
    Swap(usize),
}

impl Damage {
    /// All that can happen to a frame.
    pub fn all_of(at: usize) -> impl Iterator<Item = Damage> {
        let flips = (0..8).map(move |bit| Damage::Flip(at, bit));
        flips.chain([Damage::Lose(at), Damage::Double(at), Damage::Swap(at)])
    }

    pub fn any(random: &mut Random, at: usize) -> Damage {
        match random.below(8) {
            0..4 => Damage::Flip(at, random.below(8) as u8),
            4 | 5 => Damage::Lose(at),
            6 => Damage::Double(at),
            _ => Damage::Swap(at),
        }
    }

    pub fn done_to(self, frames: &[u8]) -> Vec<u8> {
        let mut frames = frames.to_vec();
        match self {
            Damage::Flip(at, bit) => frames[at] ^= 1 << bit,
            Damage::Lose(at) => drop(frames.remove(at)),
            Damage::Double(at) => frames.insert(at, frames[at]),
            Damage::Swap(at) if at + 1 < frames.len() => frames.swap(at, at + 1),
            Damage::Swap(_) => {}
        }
        frames
    }
}
