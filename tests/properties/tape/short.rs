//! Short blocks of two tapes: a check proves that a block is sound, and not whose it is, however few bytes it has.

use coldwright::image::Image;
use coldwright::notation::Notation;
use coldwright::source::{Diagnostics, Origin, SourceMap};
use coldwright::tape::framing::{self, Framing, Part, decode, merge};
use proptest::prelude::*;

use super::{config, image, write};

/// The checks that leave open which of several wrong bits they saw.
const CHECKS: [&str; 4] = ["sum8", "xor8", "carry-sum8", "sum16"];

/// Where the program lies, and where it is entered.
const BASE: u16 = 0o1400;

/// A framing with a head, blocks and an end of one kind of check.
fn framing(check: &str) -> Framing {
    let stored = if check == "sum16" { ", as = \"u16be\"" } else { "" };
    let field = |over: &str| format!("{{ check = \"{check}\"{stored}, over = [{over}] }}");
    let text = format!(
        "name = \"short\"\nleader = {{ byte = 0, count = 40 }}\n\
         head = [{{ mark = [0o216] }}, {{ entry = \"u16be\" }}, {}]\n\
         block = [{{ mark = [0o325] }}, {{ length = \"u8\" }}, {{ address = \"u16be\" }}, {{ data = 64 }}, {}]\n\
         end = [{{ mark = [0o221] }}, {{ entry = \"u16be\" }}, {}]\n\
         gap = {{ byte = 0, count = 4 }}\ntrailer = {{ byte = 0, count = 40 }}\n",
        field("\"mark\", \"entry\""),
        field("\"mark\", \"length\", \"address\", \"data\""),
        field("\"mark\", \"entry\""),
    );
    let mut sources = SourceMap::default();
    let source = sources.add("short.toml", text, Origin::Given);
    framing::load(&sources, source, Notation::default(), &mut Diagnostics::default()).expect("the framing loads")
}

/// The frames of a program, and where its block's data and the head's last frame are.
fn tape(framing: &Framing, data: &[u8]) -> (Image, Vec<u8>, usize, usize) {
    let image = image(&[(BASE, data.to_vec())], BASE);
    let frames = write(framing, std::slice::from_ref(&image)).expect("the tape is written").bytes;
    let reading = decode(framing, &frames);
    let end = |part| reading.blocks().find(|block| block.part == part).expect("the part is read").range.clone();
    (image, frames, end(Part::Block).start + 4, end(Part::Head).end - 1)
}

proptest! {
    #![proptest_config(config(400))]

    #[test]
    fn a_short_block_of_another_tape_is_not_taken_without_a_word(
        data in proptest::collection::vec(0..0o40_u8, 1..=12),
        check in 0..CHECKS.len(), place in any::<proptest::sample::Index>(), bit in 0..8_u8,
    ) {
        let framing = framing(CHECKS[check]);
        // No byte of the other is one of these, nor one or two wrong bits from one.
        let others: Vec<u8> = data.iter().map(|byte| byte ^ 0o340).collect();
        let (one, mut damaged, at, _) = tape(&framing, &data);
        let (other, mut good, _, head) = tape(&framing, &others);
        damaged[at + place.index(data.len())] ^= 1 << bit;
        good[head] ^= 1;
        let merged = merge(&framing, &[decode(&framing, &damaged), decode(&framing, &good)]);
        prop_assert!(!merged.is_whole() || merged.is_doubted(0), "{one:?} {other:?} {merged:?}");
    }

    #[test]
    fn a_short_block_with_one_slip_is_taken_from_another_reading_of_its_tape(
        data in proptest::collection::vec(any::<u8>(), 1..=12),
        check in 0..CHECKS.len(), place in any::<proptest::sample::Index>(), bit in 0..7_u8,
    ) {
        let framing = framing(CHECKS[check]);
        let (_, good, at, head) = tape(&framing, &data);
        let (mut damaged, mut good) = (good.clone(), good);
        damaged[at + place.index(data.len())] ^= 1 << bit;
        good[head] ^= 1;
        let merged = merge(&framing, &[decode(&framing, &damaged), decode(&framing, &good)]);
        prop_assert!(merged.is_whole() && !merged.is_doubted(0), "{merged:?}");
    }
}
