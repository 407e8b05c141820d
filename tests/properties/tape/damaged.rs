//! What a tape is said to hold is what was put on it: random framings, an encoder of the tests' own, and one thing gone
//! wrong. A reading that is called whole holds other bytes only if the damaged tape is a sound tape of its framing, so
//! that no check which is declared could see it.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};

use coldwright::image::Image;
use coldwright::notation::{Address, Notation};
use coldwright::record::Oddities;
use coldwright::source::{Diagnostics, Origin, Position, SourceMap};
use coldwright::tape::framing::{self, Block, Framing, Program, Reading, decode, encode, merge};
use rayon::prelude::*;

use super::by_hand::{Said, Source, Written, punch, write};
use super::generate::{Damage, source, spec};
use super::spec::{Part, Spec};
use super::strictly;
use crate::damage::Random;

/// Framings that are tried; `PROPTEST_CASES` asks for others.
const FRAMINGS: usize = 900;

/// Damages that are tried on each tape.
const DAMAGES: usize = 60;

fn framings() -> u64 {
    let wanted = std::env::var("PROPTEST_CASES").ok().and_then(|cases| cases.parse().ok());
    wanted.unwrap_or(FRAMINGS) as u64
}

fn load(text: &str) -> Option<Framing> {
    let mut sources = SourceMap::default();
    let source = sources.add("random.toml", text, Origin::Given);
    framing::load(&sources, source, Notation::default(), &mut Diagnostics::default())
}

fn made_by() -> Position {
    Position { source: SourceMap::default().add("made up", "", Origin::Given), offset: 0 }
}

fn image(source: &Source) -> Image {
    let mut image = Image::default();
    for (&address, &byte) in &source.bytes {
        image.insert(Address(address), &[byte], made_by()).unwrap();
    }
    image.entry = Some(Address(source.entry));
    image
}

/// A block as the program read it, in the words of these tests.
fn said(block: &Block) -> Said {
    let part = match block.part {
        framing::Part::Head => Part::Head,
        framing::Part::Block => Part::Block,
        framing::Part::End => Part::End,
    };
    let pieces = block.pieces.iter().map(|(base, bytes)| (base.0, bytes.clone())).collect();
    let (address, entry) = (block.address.map(Address::index), block.entry.map(|entry| entry.0));
    Said { part, range: block.range.clone(), pieces, address, entry, label: block.label.clone(), number: None }
}

/// What is said, wherever it stands on the tape.
fn content(said: &[Said]) -> Vec<Said> {
    said.iter().map(|said| Said { range: 0..0, number: None, ..said.clone() }).collect()
}

/// What a reading holds, head, block and end after the other.
fn told(reading: &Reading) -> Vec<Said> {
    reading.blocks().map(said).collect()
}

/// A framing with a tape in it.
pub struct Case {
    seed: u64,
    spec: Spec,
    framing: Framing,
    sources: Vec<Source>,
    written: Written,
}

/// What is not as it should be, with all that is needed to see it again.
pub type Fault = String;

impl Case {
    /// The case of a seed; nothing if the framing or the programs are refused, by the program and these tests alike.
    fn new(seed: u64) -> Result<Option<Case>, Fault> {
        let mut random = Random(seed);
        let spec = spec(&mut random);
        let Some(framing) = load(&spec.text()) else { return Ok(None) };
        let sources = (0..random.pick(&[1, 1, 1, 2])).map(|_| source(&mut random, &spec)).collect();
        Case::of(seed, spec, framing, sources)
    }

    /// The programs in the framing.
    pub fn of(seed: u64, spec: Spec, framing: Framing, sources: Vec<Source>) -> Result<Option<Case>, Fault> {
        let images: Vec<_> = sources.iter().map(image).collect();
        let programs: Vec<_> =
            sources.iter().zip(&images).map(|(it, image)| Program { name: &it.name, image, lettering: "" }).collect();
        let context = |what: &str| format!("{what}: seed {seed}\n{}\n{sources:X?}", spec.text());
        match (write(&spec, &sources), encode(&framing, &programs, Notation::default())) {
            (None, Err(_)) => Ok(None),
            (None, Ok(_)) => Err(context("carried although it cannot be")),
            (Some(_), Err(problem)) => Err(context(&format!("refused: {} {:?}", problem.headline, problem.notes))),
            (Some(written), Ok(tape)) if tape.bytes != written.frames => {
                Err(context(&format!("other frames: {:02X?}\n{:02X?}", tape.bytes, written.frames)))
            }
            (Some(written), Ok(_)) => Ok(Some(Case { seed, spec, framing, sources, written })),
        }
    }

    fn fault(&self, what: &str, damage: Option<Damage>, reading: &Reading) -> Fault {
        let Case { seed, spec, written, .. } = self;
        let parts: Vec<_> = written.parts.iter().map(|part| (part.part, part.range.clone())).collect();
        let frames = damage.map_or(written.frames.clone(), |damage| damage.done_to(&written.frames));
        format!("{what}: seed {seed}, {damage:?}\n{}\n{frames:02X?}\n{parts:?}\n{reading:X?}", spec.text())
    }

    /// An undamaged tape is whole and holds what was written, each program its own.
    pub fn is_read_whole(&self) -> Result<(), Fault> {
        let reading = decode(&self.framing, &self.written.frames);
        let fault = |what: &str| Err(self.fault(what, None, &reading));
        if !reading.is_whole() {
            return fault("an undamaged tape is not whole");
        }
        if told(&reading) != self.written_parts() {
            return fault("an undamaged tape is read otherwise");
        }
        if strictly::read(&self.spec, &self.written.frames).as_ref() != Some(&self.written.parts) {
            return fault("the strict reader does not take it");
        }
        if reading.programs.len() != self.sources.len() {
            return fault("programs are not told apart");
        }
        for (program, source) in reading.programs.iter().zip(&self.sources) {
            let (image, contested) = program.image(made_by());
            let is_there = |(&at, &byte): (&u16, &u8)| image.byte(Address(at)) == Some(byte);
            if !contested.is_empty() || !source.bytes.iter().all(is_there) {
                return fault("bytes are lost");
            }
        }
        Ok(())
    }

    pub fn frames(&self) -> usize {
        self.written.frames.len()
    }

    fn written_parts(&self) -> Vec<Said> {
        self.written.parts.iter().map(|said| Said { number: None, ..said.clone() }).collect()
    }

    /// Whether a frame of a block is not what its character is punched as.
    fn hides_a_track(&self, frames: &[u8], block: &Block) -> bool {
        let spec = &self.spec;
        let told = spec.is_seven_bit() && spec.characters != "7N";
        let is_wrong =
            |&frame: &u8| !spec.ignore.contains(&(frame & 0x7F)) && punch(spec.characters, frame & 0x7F) != frame;
        told && frames[block.range.clone()].iter().any(is_wrong)
    }

    /// Whether a wrong bit within a head, block or end is told nowhere, although track 8 is looked at.
    fn is_hidden(&self, damage: Damage, reading: &Reading) -> bool {
        let Damage::Flip(at, bit) = damage else { return false };
        let ignores =
            self.spec.characters == "7N" && bit == 7 || self.spec.ignore.contains(&(self.written.frames[at] & 0x7F));
        let within = self.written.parts.iter().any(|part| part.range.contains(&at));
        within && !ignores && reading.blocks().all(|block| block.odd == Oddities::default())
    }

    /// A damaged tape is not called whole with other content, unless it is a sound tape.
    pub fn withstands(&self, damage: Damage, tally: &Tally) -> Result<(), Fault> {
        let frames = damage.done_to(&self.written.frames);
        let reading = decode(&self.framing, &frames);
        tally.tried.fetch_add(1, Ordering::Relaxed);
        if let Some(block) = reading.blocks().find(|block| block.is_good() && self.hides_a_track(&frames, block)) {
            return Err(self.fault(&format!("a good {:?} has a wrong track 8", block.part), Some(damage), &reading));
        }
        if !reading.is_whole() {
            tally.noticed.fetch_add(1, Ordering::Relaxed);
            return Ok(());
        }
        let told = content(&told(&reading));
        if told == content(&self.written.parts) {
            return match self.is_hidden(damage, &reading) {
                true => Err(self.fault("a wrong frame of a block is not told", Some(damage), &reading)),
                false => Ok(()),
            };
        }
        tally.unseen.fetch_add(1, Ordering::Relaxed);
        match strictly::read(&self.spec, &frames) {
            Some(strict) if content(&strict) == told => Ok(()),
            _ => Err(self.fault("whole with other content", Some(damage), &reading)),
        }
    }
}

/// How many cases showed something.
#[derive(Default, Debug)]
pub struct Tally {
    pub framings: AtomicUsize,
    pub tried: AtomicUsize,
    pub noticed: AtomicUsize,
    /// Readings that are whole with other content, because the damage made a sound tape.
    pub unseen: AtomicUsize,
}

/// Wrong bits that make filler of a frame with which a head, block or end begins: then nothing seems to begin there.
fn hidden(case: &Case) -> Vec<Damage> {
    let spec = &case.spec;
    let fillers = [&spec.leader, &spec.gap, &spec.trailer].into_iter().filter(|filler| filler.count > 0);
    let fillers: Vec<u8> =
        fillers.flat_map(|filler| filler.bytes.iter().map(|&byte| punch(spec.characters, byte))).collect();
    let frames = &case.written.frames;
    let begins = case.written.parts.iter().flat_map(|part| part.range.start..part.range.end.min(part.range.start + 2));
    let flips = begins.flat_map(|at| (0..8).map(move |bit| (at, bit)));
    let hides = |&(at, bit): &(usize, u8)| fillers.contains(&(frames[at] ^ 1 << bit));
    flips.filter(hides).map(|(at, bit)| Damage::Flip(at, bit)).collect()
}

/// What a seed brings to light.
fn faults(seed: u64, tally: &Tally) -> Vec<Fault> {
    let case = match Case::new(seed) {
        Err(fault) => return vec![fault],
        Ok(None) => return Vec::new(),
        Ok(Some(case)) => case,
    };
    tally.framings.fetch_add(1, Ordering::Relaxed);
    if let Err(fault) = case.is_read_whole() {
        return vec![fault];
    }
    let mut random = Random(!seed);
    let damages = (0..DAMAGES).map(|_| {
        // Half of the damage is done where heads, blocks and ends begin.
        let at = match random.chance(50) {
            true => random.pick(&case.written.parts).range.start + random.below(4),
            false => random.below(case.written.frames.len()),
        };
        Damage::any(&mut random, at.min(case.written.frames.len() - 1))
    });
    let damages = damages.chain(hidden(&case));
    damages.filter_map(|damage| case.withstands(damage, tally).err()).collect()
}

#[test]
fn a_whole_reading_holds_what_was_written_or_the_damage_made_a_sound_tape() {
    let tally = Tally::default();
    let faults: Vec<_> = (0..framings()).into_par_iter().flat_map_iter(|seed| faults(seed, &tally)).collect();
    // Of each kind of fault, how many there are and the shortest of them.
    let mut kinds = BTreeMap::<&str, (usize, &str)>::new();
    for fault in &faults {
        let (count, shortest) = kinds.entry(fault.split(':').next().unwrap_or_default()).or_insert((0, fault));
        *count += 1;
        *shortest = if fault.len() < shortest.len() { fault } else { shortest };
    }
    let told: String = kinds.values().map(|(count, shortest)| format!("{count} times: {shortest}\n\n")).collect();
    assert!(faults.is_empty(), "{tally:?}\n{told}");
    let Tally { framings: accepted, tried, noticed, .. } = tally;
    assert!(accepted.into_inner() as u64 * 4 > framings(), "too many framings are refused to show anything");
    assert!(noticed.into_inner() * 3 > tried.into_inner(), "too little damage is done to show anything");
}

/// Two tapes of one framing are given as readings of one, each with its own damage. What is whole without a warning is one
/// of the two.
fn mixes(seed: u64, tally: &Tally) -> Option<Fault> {
    let mut random = Random(seed ^ 0x5EED);
    let spec = spec(&mut random);
    let framing = load(&spec.text())?;
    let mut images = Vec::new();
    let mut readings = Vec::new();
    let mut tapes = Vec::new();
    for _ in 0..2 {
        let source = source(&mut random, &spec);
        let image = image(&source);
        let program = Program { name: &source.name, image: &image, lettering: "" };
        let tape = encode(&framing, &[program], Notation::default()).ok()?.bytes;
        images.push(decode(&framing, &tape).programs.first()?.image(made_by()).0);
        let at = random.below(tape.len());
        let damage = Damage::any(&mut random, at);
        let tape = if random.chance(80) { damage.done_to(&tape) } else { tape };
        readings.push(decode(&framing, &tape));
        tapes.push(tape);
    }
    tally.tried.fetch_add(1, Ordering::Relaxed);
    let merged = merge(&framing, &readings);
    if !merged.is_whole() || (0..merged.programs.len()).any(|program| merged.is_doubted(program)) {
        tally.noticed.fetch_add(1, Ordering::Relaxed);
        return None;
    }
    // What damage makes of one reading alone is another test's.
    let alone = readings.iter().flat_map(|reading| reading.programs.iter().filter(|program| program.is_whole()));
    images.extend(alone.map(|program| program.image(made_by()).0));
    let found: Vec<_> = merged.programs.iter().map(|program| program.image(made_by()).0).collect();
    let is_mixed = found.iter().any(|found| !images.contains(found));
    is_mixed
        .then(|| format!("mixed: seed {seed}\n{}\n{tapes:02X?}\n{images:X?}\n{readings:X?}\n{merged:X?}", spec.text()))
}

#[test]
fn two_tapes_are_not_mixed_to_a_whole() {
    let tally = Tally::default();
    let faults: Vec<_> = (0..4 * framings()).into_par_iter().filter_map(|seed| mixes(seed, &tally)).collect();
    let shortest = faults.iter().min_by_key(|fault| fault.len());
    assert!(faults.is_empty(), "{} of {tally:?}\n{}", faults.len(), shortest.unwrap());
}
