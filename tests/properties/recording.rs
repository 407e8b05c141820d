//! What a recording is said to hold is on the tape: a block that is called good is good at any level of damage.

use std::collections::BTreeSet;

use coldwright::audio::{Pauses, Preset, read};
use coldwright::image::Image;
use coldwright::notation::Address;
use coldwright::source::{Origin, Position, SourceMap};
use coldwright::tape::framing::{Framing, Part, Program, bundled, encode};
use coldwright::tape::recording::Recording;

use crate::damage::{RATE, Random, noise, tape_of, wav};

/// A tape in a framing, and the program on it.
fn written(framing: &Framing, seed: u64) -> (Vec<u8>, Image) {
    let mut sources = SourceMap::default();
    let made_by = Position { source: sources.add("noise", "", Origin::Given), offset: 0 };
    let mut image = Image::default();
    image.insert(Address(0o400), &Random(seed).bytes(200), made_by).unwrap();
    image.entry = Some(Address(0o400));
    let tape = encode(framing, &[Program { name: "noise", image: &image, lettering: "" }]).unwrap();
    (tape.bytes, image)
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
                for (base, bytes) in &block.pieces {
                    for (distance, byte) in bytes.iter().enumerate() {
                        let address = base.wrapping_add(distance as u16);
                        assert_eq!(image.byte(address), Some(*byte), "{name} {level} dB: {block:?}");
                    }
                }
                assert!(block.part != Part::End || block.entry.is_none_or(|entry| Some(entry) == image.entry));
            }
            let mended: BTreeSet<_> = recording.mended.iter().map(|frame| frame.offset).collect();
            assert_eq!(mended.len(), recording.mended.len());
        }
    }
    assert!(good > 20 && damaged > 10, "{good} good and {damaged} damaged blocks show nothing");
}
