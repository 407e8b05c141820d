//! What a recording is said to hold is on the tape: a block that is called good is good at any level of damage.

use std::collections::BTreeSet;

use coldwright::audio::{HeardByte, Pauses, Preset, Reading, WavFacts, read};
use coldwright::image::Image;
use coldwright::notation::{Address, Notation};
use coldwright::source::{Diagnostics, Origin, Position, SourceMap};
use coldwright::tape::framing::{Block, Framing, Part, Program, bundled, encode, load, merge};
use coldwright::tape::recording::Recording;
use coldwright::tape::splice::splice;

use crate::damage::{RATE, Random, noise, tape_of, wav};

/// A tape in a framing, and the program on it.
fn written(framing: &Framing, seed: u64) -> (Vec<u8>, Image) {
    let mut sources = SourceMap::default();
    let made_by = Position { source: sources.add("noise", "", Origin::Given), offset: 0 };
    let mut image = Image::default();
    image.insert(Address(0o400), &Random(seed).bytes(200), made_by).unwrap();
    image.entry = Some(Address(0o400));
    let tape =
        encode(framing, &[Program { name: "noise", image: &image, lettering: "" }], Notation::default()).unwrap();
    (tape.bytes, image)
}

/// A framing from its text.
fn loaded(text: &str) -> Framing {
    let mut sources = SourceMap::default();
    let source = sources.add("own.toml", text, Origin::Given);
    load(&sources, source, Notation::default(), &mut Diagnostics::default()).unwrap()
}

/// What a block says is what the program has there.
fn assert_true(image: &Image, block: &Block, what: &str) {
    for (base, bytes) in &block.pieces {
        for (distance, byte) in bytes.iter().enumerate() {
            let address = base.wrapping_add(distance as u16);
            // Padding lies behind the program.
            let expected = image.byte(address).or((*byte == 0).then_some(0));
            assert_eq!(expected, Some(*byte), "{what}: {block:?}");
        }
    }
    assert!(block.part != Part::End || block.entry.is_none_or(|entry| Some(entry) == image.entry), "{what}");
}

#[test]
fn a_block_that_is_called_good_is_good_at_any_level_of_noise() {
    let preset = Preset::named("byte-1200").unwrap();
    let (mut good, mut damaged) = (0, 0);
    for name in ["blocks", "intel-hex"] {
        let framing = bundled(name).unwrap();
        // At 1200 baud all is read at 1 dB, next to nothing at -10 dB.
        for (level, seed) in [6.0, 0.0, -1.0, -2.0, -3.0, -4.0, -6.0, -10.0].into_iter().zip(1..) {
            let (tape, image) = written(&framing, seed);
            let pauses = Pauses { leader: 0.7, gap: 0.3, trailer: 0.3 };
            let mut samples = tape_of(&[&tape], &preset.modulation, &pauses);
            noise(&mut samples, level, 77 + seed);
            let heard = read(&wav(&[&samples], RATE)[..], &preset.modulation, |_| ()).unwrap();
            let recording = Recording::new(&framing, heard);
            for block in recording.reading.blocks() {
                if !block.is_good() {
                    damaged += 1;
                    continue;
                }
                good += 1;
                assert_true(&image, block, &format!("{name} {level} dB"));
            }
            let mended: BTreeSet<_> = recording.mended.iter().map(|frame| frame.offset).collect();
            assert_eq!(mended.len(), recording.mended.len());
        }
    }
    assert!(good > 20 && damaged > 10, "{good} good and {damaged} damaged blocks show nothing");
}

/// What a noisy line makes of a tape, without the sound: some bits are in doubt, and are wrong as often as their odds say.
fn heard_with_odds(tape: &[u8], doubt: f64, random: &mut Random) -> Reading {
    let mut byte = |(index, value): (usize, &u8)| {
        let mut soft = [0.0; 8];
        for (bit, soft) in soft.iter_mut().enumerate() {
            let odds = if random.unit() < doubt { 4.9 * random.unit() } else { 20.0 };
            let is_wrong = random.unit() < 1.0 / (1.0 + odds.exp());
            let is_one = (value >> bit & 1 == 1) != is_wrong;
            *soft = (if is_one { odds } else { -odds }) as f32;
        }
        let value = (0..8).fold(0, |value, bit| value | u8::from(soft[bit] > 0.0) << bit);
        let from = index as f64;
        HeardByte { value, from, to: from + 0.9, speed: 1.0, soft, framing: 20.0 }
    };
    let bytes = tape.iter().enumerate().map(&mut byte).collect();
    let facts =
        WavFacts { sample_rate: RATE, channels: 1, bits: 16, float: false, told: None, found: 0, at_full_scale: 0 };
    Reading { facts, bytes, carriers: Vec::new(), channel_seconds: Vec::new() }
}

/// Blocks of eight bytes: with a check of 8 bits two wrong bytes cancel often enough to be seen, without one any does.
const WEAK: [(&str, &str); 2] = [
    (
        "a check of 8 bits",
        "name = 'weak'\nblock = [{ mark = [0o325, 0o221] }, { address = 'u16le' }, { data = 8, pad = 0 },
         { check = 'xor8', over = ['address', 'data'] }]",
    ),
    ("no check", "name = 'bare'\nblock = [{ mark = [0o325, 0o221] }, { address = 'u16le' }, { data = 8, pad = 0 }]"),
];

#[test]
fn a_block_with_a_weak_check_is_not_called_good_on_doubtful_bytes() {
    for (name, text) in WEAK {
        let framing = loaded(text);
        let mut random = Random(11);
        let (mut good, mut damaged) = (0, 0);
        for seed in 0..200 {
            let (tape, image) = written(&framing, seed);
            let recording = Recording::new(&framing, heard_with_odds(&tape, 0.02, &mut random));
            for block in recording.reading.blocks() {
                if block.is_good() {
                    good += 1;
                    assert_true(&image, block, name);
                } else {
                    damaged += 1;
                }
            }
        }
        assert!(good > 200 && damaged > 200, "{name}: {good} good and {damaged} damaged blocks show nothing");
    }
}

#[test]
fn recordings_that_lost_different_blocks_are_spliced_to_the_tape_as_it_was() {
    for name in ["blocks", "intel-hex"] {
        let framing = bundled(name).unwrap();
        let (tape, _) = written(&framing, 5);
        let mut random = Random(3);
        let whole = Recording::new(&framing, heard_with_odds(&tape, 0.0, &mut random));
        let places: Vec<_> = whole.reading.blocks().map(|block| block.range.clone()).collect();
        assert!(places.len() > 2);
        // The first recording lacks every other block, the second the others.
        let mut wrong = tape.clone();
        places.iter().step_by(2).for_each(|place| wrong[place.start + place.len() / 2] ^= 0o44);
        let mut other = tape.clone();
        places.iter().skip(1).step_by(2).for_each(|place| other[place.start + place.len() / 2] ^= 0o11);
        let recordings = [wrong, other].map(|tape| Recording::new(&framing, heard_with_odds(&tape, 0.0, &mut random)));
        assert!(recordings.iter().all(|recording| !recording.reading.is_whole()));
        let readings = recordings.each_ref().map(|recording| recording.reading.clone());
        assert_eq!(splice(&framing, &merge(&framing, &readings), &recordings), tape, "{name}");
    }
}
