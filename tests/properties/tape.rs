//! Any framing that loads carries any image there and back, and no damage makes it claim what was not there.

mod bundled;
mod by_hand;
mod damaged;
mod figures;
mod framings;
mod generate;
mod short;
mod spec;
mod strictly;

use coldwright::image::{Image, MEMORY};
use coldwright::notation::{Address, Notation};
use coldwright::source::{Diagnostic, Origin, Position, SourceMap};
use coldwright::tape::framing::{
    Block, Candidate, Framing, Part, Program, ProgramRead, Reading, Slips, StretchKind, Tape, Verdict, bundled, decode,
    encode, mend, merge,
};
use proptest::collection::vec;
use proptest::prelude::*;

fn made_by() -> Position {
    Position { source: SourceMap::default().add("made up", "", Origin::Given), offset: 0 }
}

/// An image of a few runs of bytes with an entry.
fn image(runs: &[(u16, Vec<u8>)], entry: u16) -> Image {
    let mut image = Image::default();
    for (base, bytes) in runs {
        let bytes = &bytes[..bytes.len().min(MEMORY - usize::from(*base))];
        // A run that overlaps an earlier one is left out.
        let _ = image.insert(Address(*base), bytes, made_by());
    }
    image.entry = Some(Address(entry));
    image
}

fn runs() -> impl Strategy<Value = Vec<(u16, Vec<u8>)>> {
    let base = prop_oneof![any::<u16>(), 0..0x400u16, 0xFF00..=0xFFFFu16];
    vec((base, vec(any::<u8>(), 1..300)), 1..4)
}

fn write(framing: &Framing, images: &[Image]) -> Result<Tape, Diagnostic> {
    let programs: Vec<_> = images.iter().map(|image| Program { name: "BELFRY", image, lettering: "" }).collect();
    encode(framing, &programs, Notation::default())
}

fn back(reading: &Reading) -> Vec<Image> {
    reading.programs.iter().map(|program| program.image(made_by()).0).collect()
}

/// The bytes of a block with their addresses, and its entry.
type Carried = (Vec<(Address, Vec<u8>)>, Option<Address>);

/// The good blocks of each program: what its image is made of.
fn carried(reading: &Reading) -> Vec<Vec<Carried>> {
    let good = |program: &ProgramRead| {
        let blocks = program.blocks.iter().filter(|block| block.is_good());
        blocks.map(|block| (block.pieces.clone(), block.entry)).collect()
    };
    reading.programs.iter().map(good).collect()
}

/// So many cases, or as many as `PROPTEST_CASES` asks for.
fn config(usual: u32) -> ProptestConfig {
    let cases = std::env::var("PROPTEST_CASES").ok().and_then(|cases| cases.parse().ok()).unwrap_or(usual);
    ProptestConfig { cases, max_global_rejects: cases.saturating_mul(200), ..ProptestConfig::default() }
}

/// Whether frames are a block or an end of `blocks` that says what is told of it, and whose check, by Fletcher's
/// definition, agrees: then no reader could know that it was damaged.
fn is_sound(frames: &[u8], told: &Block) -> bool {
    let [0o332, _, length, low, high, data @ .., first, second] = frames else { return false };
    let (address, check) = (u16::from_le_bytes([*low, *high]), usize::from(*first) | usize::from(*second) << 8);
    let says = match told.part {
        Part::Block => told.pieces == [(Address(address), data.to_vec())] && !data.is_empty(),
        _ => data.is_empty() && told.entry == Some(Address(address)),
    };
    says && usize::from(*length) == data.len() && by_hand::check("fletcher16", &frames[..frames.len() - 2]) == check
}

/// What a framing can carry of an image: the entry only if it has a field for it, and its padding as bytes.
fn assert_carried(framing: &Framing, original: &Image, found: &Image) {
    for at in 0..=u16::MAX {
        match (original.byte(Address(at)), found.byte(Address(at))) {
            (Some(byte), read) => assert_eq!(read, Some(byte), "at {at:o} of {framing:?}"),
            (None, Some(pad)) => {
                let pads =
                    framing.block.counter().is_none() && framing.block.data().any(|(_, data)| data.pad == Some(pad));
                assert!(pads, "{pad:o} at {at:o} from nowhere, {framing:?}");
            }
            (None, None) => {}
        }
    }
    let entry = if framing.carries_entry() { original.entry } else { None };
    assert_eq!(found.entry, entry);
}

proptest! {
    #![proptest_config(config(96))]

    #[test]
    fn any_framing_carries_any_image(text in framings::texts(), runs in vec(runs(), 1..3), entry in any::<u16>()) {
        let Some(framing) = framings::load(&text) else { return Err(TestCaseError::reject("refused")) };
        let images: Vec<_> = runs.iter().map(|runs| image(&framings::fit(&framing, runs), entry)).collect();
        let Ok(tape) = write(&framing, &images) else { return Err(TestCaseError::reject("unfit")) };
        let reading = decode(&framing, &tape.bytes);
        prop_assert!(reading.is_whole(), "{text}\n{reading:?}");
        prop_assert!(reading.programs.iter().all(|program| program.image(made_by()).1.is_empty()), "{text}\n{reading:?}");
        let found = back(&reading);
        prop_assert_eq!(found.len(), images.len(), "{}", text);
        for (original, found) in images.iter().zip(&found) {
            assert_carried(&framing, original, found);
        }
    }

    #[test]
    fn a_damaged_framing_file_is_refused_or_read_but_never_a_panic(
        text in framings::texts(),
        cuts in vec((any::<prop::sample::Index>(), "[-0-9a-z\"{}=, \\[\\]]{0,6}"), 1..4),
        bytes in vec(any::<u8>(), 0..300),
    ) {
        let mut text = text;
        for (place, put) in cuts {
            let at = place.index(text.len());
            text.replace_range(at..(at + 3).min(text.len()), &put);
        }
        if let Some(framing) = framings::load(&text) {
            decode(&framing, &bytes);
            let _ = write(&framing, &[image(&[(0, bytes.clone())], 0)]);
        }
    }

    #[test]
    fn the_stretches_of_a_reading_cover_the_tape(text in framings::texts(), bytes in vec(any::<u8>(), 0..2000)) {
        let Some(framing) = framings::load(&text) else { return Err(TestCaseError::reject("refused")) };
        let mut at = 0;
        for stretch in decode(&framing, &bytes).stretches {
            prop_assert_eq!(stretch.range.start, at);
            prop_assert!(stretch.range.end > at);
            at = stretch.range.end;
        }
        prop_assert_eq!(at, bytes.len());
    }

    #[test]
    fn damage_never_makes_a_good_block_that_was_not_written(
        runs in runs(),
        damage in vec((any::<prop::sample::Index>(), 0..3, any::<u8>(), 1..40usize), 1..12),
    ) {
        let framing = bundled("blocks").unwrap();
        let tape = write(&framing, &[image(&runs, 0)]).unwrap();
        let written = decode(&framing, &tape.bytes);
        let mut bytes = tape.bytes;
        for (at, kind, value, count) in damage {
            let at = at.index(bytes.len());
            let end = bytes.len().min(at + count);
            match kind {
                0 => bytes[at] ^= value,
                1 => drop(bytes.drain(at..end)),
                _ => drop(bytes.splice(at..at, vec![value; count])),
            }
        }
        for block in decode(&framing, &bytes).blocks().filter(|block| block.is_good()) {
            let known = written.blocks().any(|other| {
                (&other.pieces, other.entry, other.number.map(|number| number % 256))
                    == (&block.pieces, block.entry, block.number.map(|number| number % 256))
            });
            // A check of 16 bits is fooled once in 65,536, and this one takes 000 for 377.
            prop_assert!(known || is_sound(&bytes[block.range.clone()], block), "{block:?}");
        }
    }

    #[test]
    fn readings_that_lost_different_blocks_merge_to_the_whole(
        runs in runs(),
        losses in vec((any::<prop::sample::Index>(), any::<u8>()), 2..4),
    ) {
        let framing = bundled("blocks").unwrap();
        let original = image(&runs, 0o400);
        let tape = write(&framing, std::slice::from_ref(&original)).unwrap();
        let ends: Vec<_> = tape.block_ends().collect();
        let mut readings = Vec::new();
        for (number, (place, value)) in losses.iter().enumerate() {
            let mut bytes = tape.bytes.clone();
            // Each reading loses a block of its own, as long as there are enough.
            if number < ends.len() {
                let at = ends[number] - 1 - place.index(7);
                // A change of 000 to 377 is the one that this check does not see.
                bytes[at] ^= value & 0x7F | 1;
            }
            readings.push(decode(&framing, &bytes));
        }
        let merged = merge(&framing, &readings);
        prop_assert!(merged.is_whole(), "{merged:?}");
        let (found, _) = merged.programs[0].image(made_by());
        prop_assert_eq!(found, original);
    }
}

proptest! {
    #![proptest_config(config(48))]

    #[test]
    fn doubtful_frames_are_mended_only_to_what_a_check_proves(
        bytes in vec(1..255u8, 1..128),
        places in vec((any::<prop::sample::Index>(), 1..255u8), 1..3),
        others in vec((any::<prop::sample::Index>(), any::<u8>()), 0..4),
    ) {
        let framing = bundled("blocks").unwrap();
        let tape = write(&framing, &[image(&[(0o400, bytes)], 0o400)]).unwrap().bytes;
        let written = decode(&framing, &tape).programs[0].blocks[0].clone();
        // The mark stays, or there would be no block to mend.
        let at = |place: prop::sample::Index| written.range.start + 1 + place.index(written.range.len() - 1);
        let mut damaged = tape.clone();
        places.iter().for_each(|(place, flip)| damaged[at(*place)] ^= flip);
        let reading = decode(&framing, &damaged);
        let block = &reading.programs[0].blocks[0];
        let wrong = others.iter().map(|(place, frame)| Candidate { offset: at(*place), frame: *frame });
        let right = places.iter().map(|(place, _)| Candidate { offset: at(*place), frame: tape[at(*place)] });
        let candidates: Vec<_> = wrong.clone().chain(right).collect();
        if block.is_good() || block.range.start != written.range.start {
            return Err(TestCaseError::reject("the damage cancelled itself, or tore the block"));
        }
        // Candidates that say the same twice make no single answer.
        if let Some(mended) = mend(&framing, &damaged, block, &candidates) {
            prop_assert!(mended.block.is_good() && !mended.changed.is_empty());
            let mut frames = damaged.clone();
            mended.changed.iter().for_each(|change| frames[change.offset] = change.frame);
            // Other candidates can satisfy the check by chance.
            let is_right = mended.block.pieces == written.pieces;
            prop_assert!(is_right || is_sound(&frames[mended.block.range.clone()], &mended.block), "{mended:?}");
            prop_assert!(is_right || !others.is_empty() || places.len() > 1, "the only candidate is right");
        } else {
            prop_assert!(!others.is_empty() || places.len() > 1, "a single right candidate is enough");
        }
    }
}

/// Two programs on one tape, small enough to try every bit.
fn demo() -> (Framing, Vec<Image>, Tape) {
    let framing = bundled("blocks").unwrap();
    let strikes: Vec<u8> = (0..64u16).map(|step| (step * step % 251) as u8).collect();
    let images =
        vec![image(&[(0o400, strikes)], 0o400), image(&[(0o2000, vec![0o166; 9]), (0o3000, vec![0; 16])], 0o2000)];
    let tape = write(&framing, &images).unwrap();
    (framing, images, tape)
}

#[test]
fn every_single_bit_slip_of_the_demo_tape_is_detected_and_named() {
    let (framing, images, tape) = demo();
    let reading = decode(&framing, &tape.bytes);
    assert_eq!(back(&reading), images);
    let whole = carried(&reading);
    let blocks: Vec<_> = reading.blocks().map(|block| block.range.clone()).collect();
    let (mut named, mut harmless) = (0, 0);
    for offset in 0..tape.bytes.len() {
        for bit in 0..8 {
            let mut bytes = tape.bytes.clone();
            bytes[offset] ^= 1 << bit;
            let reading = decode(&framing, &bytes);
            if !blocks.iter().any(|range| range.contains(&offset)) {
                assert_eq!(carried(&reading), whole, "a slip between blocks must be harmless: {offset}.{bit}");
                harmless += 1;
                continue;
            }
            assert!(!reading.is_whole(), "{offset}.{bit}");
            let slips: Vec<_> = reading
                .blocks()
                .filter_map(|block| match &block.verdict {
                    Verdict::Bad { slips: Slips::One(slip), .. } => Some((slip.offset, slip.bit, slip.right)),
                    Verdict::Bad { .. } => Some((usize::MAX, 0, 0)),
                    _ => None,
                })
                .collect();
            assert_eq!(slips, [(offset, bit, tape.bytes[offset])], "{offset}.{bit}: {reading:?}");
            named += 1;
        }
    }
    assert!(named > 900 && harmless > 2000, "{named} named, {harmless} harmless");
}

#[test]
fn a_tape_that_starts_and_ends_in_the_middle_yields_what_is_on_it() {
    let framing = bundled("blocks").unwrap();
    let images = [image(&[(0o400, vec![7; 150])], 0o400), image(&[(0o2000, vec![0o166; 9]), (0o3000, vec![0; 40])], 0)];
    let tape = write(&framing, &images).unwrap();
    let first_block = tape.pieces.iter().position(|piece| matches!(piece.range.start, 120)).unwrap();
    let cut = tape.pieces[first_block].range.start + 50..tape.bytes.len() - 70;
    let reading = decode(&framing, &tape.bytes[cut]);
    assert!(!reading.is_whole());
    assert!(matches!(reading.stretches[0].kind, StretchKind::Noise(_)));
    let good: Vec<_> =
        reading.blocks().filter(|block| block.is_good()).map(|block| (block.part, block.len())).collect();
    assert_eq!(good, [(Part::Block, 22), (Part::End, 0), (Part::Block, 9), (Part::Block, 40)]);
    assert_eq!(reading.programs[0].missing, [0]);
}

#[test]
fn programs_that_different_readings_lost_are_not_mixed() {
    let (framing, images, tape) = demo();
    let blocks: Vec<_> = decode(&framing, &tape.bytes).blocks().map(|block| block.range.clone()).collect();
    // The first reading has the first program and only damaged blocks of the second; the other has lost the first.
    let mut one = tape.bytes.clone();
    blocks[2..].iter().for_each(|range| (one[range.end - 1], one[range.end - 2]) = (one[range.end - 1] ^ 6, 0o125));
    let other = &tape.bytes[blocks[1].end + 10..];
    let readings = [decode(&framing, &one), decode(&framing, other)];
    assert_eq!([readings[0].programs.len(), readings[1].programs.len()], [2, 1]);
    let merged = merge(&framing, &readings);
    for program in &merged.programs {
        let (found, contested) = program.image(made_by());
        assert!(contested.is_empty());
        let belongs = |original: &Image| {
            found.extents().all(|extent| original.extents().any(|whole| whole == extent))
                && original.entry == found.entry
        };
        assert!(found.is_empty() || images.iter().any(belongs), "{found:?}");
    }
    // Three readings, the third whole, leave nothing open.
    let merged = merge(&framing, &[readings[0].clone(), readings[1].clone(), decode(&framing, &tape.bytes)]);
    let whole: Vec<_> = merged.programs.iter().filter(|program| program.is_whole()).collect();
    assert_eq!(whole.iter().map(|program| program.image(made_by()).0).collect::<Vec<_>>(), images);
}

#[test]
fn two_good_blocks_that_differ_are_a_contradiction_and_neither_is_taken() {
    let framing = bundled("blocks").unwrap();
    let readings: Vec<_> = [3, 4]
        .map(|byte| image(&[(0o400, vec![byte; 20])], 0o400))
        .iter()
        .map(|image| decode(&framing, &write(&framing, std::slice::from_ref(image)).unwrap().bytes))
        .collect();
    let merged = merge(&framing, &readings);
    assert_eq!((merged.programs.len(), merged.contradictions.len()), (1, 1));
    assert!(!merged.is_whole() && merged.programs[0].blocks.iter().all(|block| block.is_empty()));
}
