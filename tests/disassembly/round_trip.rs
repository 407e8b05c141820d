//! Every source makes the bytes that it was read from, whatever they are.

use std::collections::BTreeMap;

use coldwright::disassembly::{Disassembled, Hints, Wish, disassemble, prove};
use coldwright::image::Image;
use coldwright::notation::{Address, Notation};
use coldwright::source::{Origin, Position, SourceMap};
use proptest::prelude::*;

use crate::corpus;

/// The source of an image, proven.
pub fn proven(image: &Image, hints: &Hints, notation: Notation, states: bool) -> Disassembled {
    let none = BTreeMap::new();
    let wish = Wish { title: "test", hints, entries: &[], machine: None, disputed: &none, notation, states };
    let made = disassemble(image, &wish);
    let mut sources = SourceMap::default();
    if let Err(problems) = prove(&made.text, "made.asm", image, made.entry, &mut sources) {
        let told: Vec<_> = problems
            .iter()
            .take(3)
            .map(|problem| {
                let at = problem.primary.as_ref().map(|label| sources.file_line(label.span.position()));
                format!("{} {at:?}", problem.headline)
            })
            .collect();
        panic!("{told:?}\n{}", made.text.lines().take(60).collect::<Vec<_>>().join("\n"));
    }
    made
}

pub fn image(pieces: &[(u16, Vec<u8>)], entry: Option<u16>) -> Image {
    let mut sources = SourceMap::default();
    let made_by = Position { source: sources.add("test", "", Origin::Given), offset: 0 };
    let mut image = Image::default();
    for (base, bytes) in pieces {
        let room = (0x1_0000 - usize::from(*base)).min(bytes.len());
        // Where two pieces overlap, the first one counts.
        let _ = image.insert(Address(*base), &bytes[..room], made_by);
    }
    image.entry = entry.map(Address);
    image
}

#[test]
fn programs_come_back_in_every_notation() {
    for program in corpus::all() {
        for (_, notation) in Notation::ALL {
            proven(&program.image, &Hints::default(), notation, notation == Notation::Octal);
        }
    }
}

/// Instructions that trouble: few opcodes, so that jumps, calls and unlisted opcodes meet often.
fn troubling() -> impl Strategy<Value = Vec<u8>> {
    let opcode = prop::sample::select(vec![
        0o303, 0o315, 0o302, 0o311, 0o351, 0o335, 0o355, 0o375, 0o313, 0o331, 0o010, 0o070, 0o001, 0o041, 0o061, 0o062,
        0o042, 0o072, 0o343, 0o341, 0o345, 0o176, 0o043, 0o267, 0o310, 0o307, 0o377, 0o323, 0o333, 0o166, 0, 0o47,
    ]);
    let near = prop_oneof![4 => opcode, 2 => 0u8..40, 1 => any::<u8>()];
    prop::collection::vec(near, 1..400)
}

fn places() -> impl Strategy<Value = u16> {
    prop_oneof![Just(0), 0u16..64, Just(0xFF80), Just(0xFFFF), any::<u16>()]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn random_bytes_come_back(
        pieces in prop::collection::vec((places(), prop::collection::vec(any::<u8>(), 1..300)), 1..4),
        entry in prop::option::of(any::<u16>()),
    ) {
        proven(&image(&pieces, entry), &Hints::default(), Notation::Hexadecimal, false);
    }

    #[test]
    fn troubling_bytes_come_back(
        pieces in prop::collection::vec((places(), troubling()), 1..3), entry in prop::option::of(0u16..300),
    ) {
        proven(&image(&pieces, entry), &Hints::default(), Notation::Octal, true);
    }

    #[test]
    fn characters_come_back(
        base in places(), bytes in prop::collection::vec(prop_oneof![3 => 0x20u8..0x7F, 1 => any::<u8>()], 1..600),
    ) {
        proven(&image(&[(base, bytes)], None), &Hints::default(), Notation::Octal, false);
    }
}

#[test]
fn all_of_memory_comes_back_whatever_fills_it() {
    let fills: [fn(usize) -> u8; 6] = [
        |at| (at.wrapping_mul(0x9E37_79B1) >> 24) as u8,
        |at| at as u8,
        |_| b'~',
        |_| 0o315,
        |at| [0o303, 0, 0][at % 3],
        |at| if at % 2 == 0 { (at >> 8) as u8 } else { 0o341 },
    ];
    for fill in fills {
        let bytes: Vec<u8> = (0..0x1_0000).map(fill).collect();
        proven(&image(&[(0, bytes)], Some(0)), &Hints::default(), Notation::Hexadecimal, false);
    }
}

#[test]
fn what_runs_round_the_top_of_memory_stays_bytes() {
    // JMP with its operand at 0000 and 0001, entered from there again.
    let made = proven(
        &image(&[(0xFFFF, vec![0o303]), (0, vec![0o377, 0o377, 0o166])], Some(0xFFFF)),
        &Hints::default(),
        Notation::Hexadecimal,
        false,
    );
    assert!(made.text.contains("DB      0C3H"), "{}", made.text);
}
