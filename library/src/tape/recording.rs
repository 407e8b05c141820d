//! A recording of a tape: what was heard, as blocks with a verdict each.
//!
//! Hearing gives every bit its odds; a block's check gives a proof. Here they meet: where a check disagrees, the few bits
//! that were heard with doubt are tried the other way, and a block is mended only if its check then agrees; where a check
//! is weak or lacking, doubt speaks against a block that would else pass.

use std::ops::Range;

use super::doubt::{self, Unproved};
use super::framing::{
    Block, Candidate, Cause, End, Framing, Part, Reading, Slips, Verdict, decode, mend, unproved_frames,
};
use crate::audio::{self, HeardByte};

/// Times a tape is read again after blocks were mended: a mended length can bring another damaged block to light.
const ROUNDS: usize = 4;

/// A recording that was heard and read.
#[derive(Clone, Debug, PartialEq)]
pub struct Recording {
    /// What was heard.
    pub heard: audio::Reading,
    /// The bytes of the tape, mended where a check proved it.
    pub tape: Vec<u8>,
    /// The blocks, by offset into the tape, which is the index of the heard byte.
    pub reading: Reading,
    /// The frames that were mended, in order.
    pub mended: Vec<MendedFrame>,
    /// Damaged blocks with bits in doubt, by the offset at which they begin, and why these did not mend them.
    pub unproved: Vec<(usize, Unproved)>,
}

/// A frame that was heard with doubt and that a check proved to be another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MendedFrame {
    /// Its offset on the tape.
    pub offset: usize,
    /// What was likelier by ear.
    pub heard: u8,
    /// What the check proves.
    pub right: u8,
}

/// How a run of bytes was heard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hearing {
    /// Where it begins, in seconds of the recording.
    pub from: f64,
    /// Where it ends, in seconds of the recording.
    pub to: f64,
    /// Mean speed as a factor of nominal.
    pub speed: f64,
    /// Energy per bit over noise density in dB, of the carrier on which it came.
    pub clearness_db: f64,
    /// Bytes of which any bit is less sure than 150 to 1.
    pub doubtful: usize,
    /// The least sure bit: its log-odds in nats.
    pub margin: f32,
}

impl Recording {
    /// Reads what was heard. A block that is called good is proved by its check, or has none and no doubtful byte.
    pub fn new(framing: &Framing, heard: audio::Reading) -> Recording {
        let mut tape = heard.values();
        let mut reading = decode(framing, &tape);
        let mut mended = Vec::new();
        for _ in 0..ROUNDS {
            let found = mendings(framing, &tape, &reading, &heard.bytes);
            if found.is_empty() {
                break;
            }
            found.iter().for_each(|frame| tape[frame.offset] = frame.right);
            mended.extend(found);
            reading = decode(framing, &tape);
        }
        mended.sort_by_key(|frame| frame.offset);
        distrust(framing, &mut reading, &tape, &heard.bytes);
        let damaged = reading.blocks().filter(|block| !block.is_good());
        let why = |block: &Block| Some((block.range.start, doubt::unproved(framing, block, &heard.bytes)?));
        let unproved = damaged.filter_map(why).collect();
        Recording { heard, tape, reading, mended, unproved }
    }

    /// How a run of bytes, such as a block's, was heard; nothing for an empty one.
    pub fn hearing(&self, range: &Range<usize>) -> Option<Hearing> {
        hearing(&self.heard, range)
    }

    /// The frames of a run that were mended.
    pub fn mended_in<'a>(&'a self, range: &'a Range<usize>) -> impl Iterator<Item = &'a MendedFrame> {
        self.mended.iter().filter(|frame| range.contains(&frame.offset))
    }
}

/// How a run of heard bytes was heard; nothing for an empty one.
pub fn hearing(heard: &audio::Reading, range: &Range<usize>) -> Option<Hearing> {
    let bytes = heard.bytes.get(range.clone())?;
    let (first, last) = (bytes.first()?, bytes.last()?);
    let carrier = heard.carriers.iter().find(|carrier| carrier.bytes.contains(&range.start));
    Some(Hearing {
        from: first.from,
        to: last.to,
        speed: bytes.iter().map(|byte| f64::from(byte.speed)).sum::<f64>() / bytes.len() as f64,
        clearness_db: carrier.map_or(0.0, |carrier| carrier.quality.clearness_db()),
        doubtful: bytes.iter().filter(|byte| byte.is_doubtful()).count(),
        margin: bytes.iter().map(HeardByte::margin).fold(f32::INFINITY, f32::min),
    })
}

/// What can be mended of the damaged blocks of a reading.
fn mendings(framing: &Framing, tape: &[u8], reading: &Reading, heard: &[HeardByte]) -> Vec<MendedFrame> {
    let damaged = reading.blocks().filter(|block| !block.is_good());
    let mended = damaged.filter_map(|block| mend(framing, tape, block, &doubt::candidates(tape, block, heard)?));
    let changes = mended.flat_map(|mended| mended.changed);
    let frame = |Candidate { offset, frame }| MendedFrame { offset, heard: tape[offset], right: frame };
    let mut frames: Vec<_> = changes.map(frame).collect();
    frames.sort_by_key(|frame| frame.offset);
    frames.dedup_by_key(|frame| frame.offset);
    frames
}

/// Speaks against blocks that pass although what was heard with doubt is more than their check can prove: a check of 8
/// bits proves a block with one doubtful byte, none proves a block with any, or a byte outside of the check.
fn distrust(framing: &Framing, reading: &mut Reading, tape: &[u8], heard: &[HeardByte]) {
    for program in &mut reading.programs {
        let mut end_is_bad = false;
        for block in program.blocks.iter_mut().filter(|block| block.is_good()) {
            let bytes = heard[block.range.clone()].iter().filter(|byte| byte.is_doubtful()).count();
            let is_unproved = || unproved_frames(framing, tape, block).into_iter().any(|at| heard[at].is_doubtful());
            if doubt::allowed(framing, block).is_some_and(|allowed| bytes > allowed) || bytes > 0 && is_unproved() {
                block.verdict = Verdict::Bad { cause: Cause::Doubt { bytes }, slips: Slips::None };
                end_is_bad |= block.part == Part::End;
            }
        }
        if end_is_bad {
            program.end = End::Damaged;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audio::WavFacts;
    use crate::image::Image;
    use crate::notation::{Address, Notation};
    use crate::source::{Diagnostics, Origin, Position, SourceMap};
    use crate::tape::framing::{Program, bundled, encode, load};

    fn tape(framing: &Framing) -> Vec<u8> {
        let mut image = Image::default();
        let mut sources = SourceMap::default();
        let made_by = Position { source: sources.add("clock", "", Origin::Given), offset: 0 };
        image.insert(Address(0o400), &[7; 40], made_by).unwrap();
        image.entry = Some(Address(0o400));
        encode(framing, &[Program { name: "clock", image: &image, lettering: "" }], Notation::default()).unwrap().bytes
    }

    const PLAIN: &str = "name = 'plain'
        leader = { byte = 0, count = 8 }
        block = [{ mark = [0o325] }, { length = 'u8' }, { address = 'u16le' }, { data = 128 }]";

    fn loaded(text: &str) -> Framing {
        let mut sources = SourceMap::default();
        let source = sources.add("own.toml", text, Origin::Given);
        load(&sources, source, Notation::default(), &mut Diagnostics::default()).unwrap()
    }

    /// Sure bytes but for some bits.
    fn heard(tape: &[u8], doubts: &[(usize, u8)]) -> audio::Reading {
        let byte = |(index, &value): (usize, &u8)| {
            let sure = |bit: u8| if doubts.contains(&(index, bit)) { 0.5 } else { 20.0 };
            let soft =
                std::array::from_fn(|bit| if value >> bit & 1 == 1 { sure(bit as u8) } else { -sure(bit as u8) });
            let from = index as f64;
            HeardByte { value, from, to: from + 0.9, speed: 1.0, soft, framing: 20.0 }
        };
        let facts =
            WavFacts { sample_rate: 8000, channels: 1, bits: 8, float: false, told: None, found: 0, at_full_scale: 0 };
        let bytes = tape.iter().enumerate().map(byte).collect();
        audio::Reading { facts, bytes, carriers: Vec::new(), channel_seconds: Vec::new() }
    }

    #[test]
    fn a_doubtful_slip_is_mended_once_the_check_proves_it() {
        let framing = bundled("blocks").unwrap();
        let right = tape(&framing);
        let mut wrong = right.clone();
        wrong[130] ^= 0b101;
        let recording = Recording::new(&framing, heard(&wrong, &[(130, 0), (130, 2), (140, 5)]));
        assert_eq!(recording.tape, right);
        assert!(recording.reading.is_whole());
        assert_eq!(recording.mended, [MendedFrame { offset: 130, heard: right[130] ^ 0b101, right: right[130] }]);
    }

    #[test]
    fn a_slip_without_doubt_is_not_mended_and_too_many_doubts_are_not_tried() {
        let framing = bundled("blocks").unwrap();
        let right = tape(&framing);
        let mut wrong = right.clone();
        wrong[130] ^= 1;
        let many: Vec<_> = (126..133).map(|offset| (offset, 0)).collect();
        for doubts in [&[(140, 5)][..], &many] {
            let recording = Recording::new(&framing, heard(&wrong, doubts));
            assert_eq!(recording.tape, wrong);
            assert!(recording.mended.is_empty() && !recording.reading.is_whole());
        }
    }

    #[test]
    fn without_a_check_doubt_speaks_against_a_block() {
        let framing = loaded(PLAIN);
        let right = tape(&framing);
        assert!(Recording::new(&framing, heard(&right, &[])).reading.is_whole());
        let body = decode(&framing, &right).blocks().next().unwrap().range.start;
        let doubted = Recording::new(&framing, heard(&right, &[(body, 0)]));
        let block = doubted.reading.blocks().next().unwrap();
        assert!(matches!(block.verdict, Verdict::Bad { cause: Cause::Doubt { bytes: 1 }, .. }));
        assert_eq!(doubted.hearing(&block.range).unwrap().doubtful, 1);
    }

    const WEAK: &str = "name = 'weak'
        leader = { byte = 0, count = 8 }
        block = [{ mark = [0o325] }, { address = 'u16le' }, { length = 'u8' }, { data = 8 },
                 { check = 'sum8', over = ['address', 'length', 'data'] }]";

    #[test]
    fn a_check_of_8_bits_proves_one_bit_in_doubt_and_no_more() {
        let framing = loaded(WEAK);
        let right = tape(&framing);
        let first = decode(&framing, &right).blocks().next().unwrap().range.clone();
        let mut wrong = right.clone();
        wrong[first.start + 6] ^= 1 << 3;
        let one = Recording::new(&framing, heard(&wrong, &[(first.start + 6, 3)]));
        assert_eq!((&one.tape, one.mended.len(), one.unproved.len()), (&right, 1, 0));
        assert!(one.reading.is_whole());
        // The second doubt is about a bit that is right; the check would agree with taking it the other way in another byte.
        let two = Recording::new(&framing, heard(&wrong, &[(first.start + 6, 3), (first.start + 7, 3)]));
        assert_eq!((&two.tape, two.mended.len()), (&wrong, 0));
        assert_eq!(two.unproved, [(first.start, Unproved::WeakCheck { doubts: 2, check_bits: 8 })]);
    }

    #[test]
    fn a_doubtful_entry_outside_of_the_check_of_its_end_is_not_taken() {
        let framing = loaded(
            "name = 'outside'
            leader = { byte = 0, count = 8 }
            block = [{ mark = [0o325] }, { length = 'u8' }, { address = 'u16le' }, { data = 128 },
                     { check = 'crc-16/arc', as = 'u16le', over = ['length', 'address', 'data'] }]
            end = [{ mark = [0o221] }, { literal = [5] }, { entry = 'u16le' },
                   { check = 'crc-16/arc', as = 'u16le', over = ['literal'] }]",
        );
        let right = tape(&framing);
        let end = decode(&framing, &right).blocks().last().unwrap().range.clone();
        let doubted = |at| Recording::new(&framing, heard(&right, &[(at, 0)])).reading;
        assert!(doubted(end.start + 1).is_whole() && doubted(end.start + 4).is_whole());
        let reading = doubted(end.start + 2);
        assert!(!reading.is_whole() && reading.programs[0].end == End::Damaged, "{reading:?}");
        let verdict = &reading.blocks().last().unwrap().verdict;
        assert!(matches!(verdict, Verdict::Bad { cause: Cause::Doubt { bytes: 1 }, .. }));
    }

    #[test]
    fn a_check_of_8_bits_vouches_for_one_byte_in_doubt_and_no_more() {
        let framing = loaded(WEAK);
        let right = tape(&framing);
        let first = decode(&framing, &right).blocks().next().unwrap().range.clone();
        let at = |distance| (first.start + distance, 3);
        assert!(Recording::new(&framing, heard(&right, &[at(5)])).reading.is_whole());
        let mut cancelled = right.clone();
        (cancelled[at(5).0], cancelled[at(6).0]) = (right[at(5).0] + 1, right[at(6).0] - 1);
        let doubted = Recording::new(&framing, heard(&cancelled, &[at(5), at(6)]));
        let block = doubted.reading.blocks().next().unwrap();
        assert!(matches!(block.verdict, Verdict::Bad { cause: Cause::Doubt { bytes: 2 }, .. }), "{block:?}");
    }
}
