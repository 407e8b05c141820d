//! Whatever is compared or read as a dump, nothing panics, and what is said adds up.

use coldwright::comparison::{differences, explain, read_dump};
use coldwright::image::Image;
use coldwright::notation::{Address, Notation};
use coldwright::source::{Origin, Position, SourceMap};
use proptest::prelude::*;

fn image(pieces: &[(u16, Vec<u8>)]) -> Image {
    let mut sources = SourceMap::default();
    let made_by = Position { source: sources.add("test", "", Origin::Given), offset: 0 };
    let mut image = Image::default();
    for (base, bytes) in pieces {
        let room = (0x1_0000 - usize::from(*base)).min(bytes.len());
        // Where two pieces overlap, the first one counts.
        let _ = image.insert(Address(*base), &bytes[..room], made_by);
    }
    image
}

fn pieces() -> impl Strategy<Value = Vec<(u16, Vec<u8>)>> {
    let base = prop_oneof![Just(0), Just(0xFFF0), 0u16..512];
    prop::collection::vec((base, prop::collection::vec(any::<u8>(), 1..80)), 0..3)
}

/// Two that have nothing in common have no reason either.
#[test]
fn what_has_nothing_in_common_has_no_reason() {
    for (seed, size) in [(1u64, 300usize), (2, 1024), (3, 4096)] {
        let mut draw = crate::faults::Draw(seed);
        let mut bytes = || (0..size).map(|_| draw.below(256) as u8).collect::<Vec<_>>();
        let found = explain(&image(&[(0, bytes())]), &image(&[(0, bytes())]));
        assert!(found.reasons.is_empty(), "{:?}", found.reasons);
        assert_eq!(found.unexplained.len(), found.differing);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn what_is_explained_and_what_is_not_are_all(first in pieces(), second in pieces()) {
        let (first, second) = (image(&first), image(&second));
        let found = explain(&first, &second);
        prop_assert_eq!(found.together + found.unexplained.len(), found.differing);
        let there = differences(&first, &second).iter().filter(|it| it.second.is_some()).count();
        prop_assert!(found.differing <= there);
    }

    #[test]
    fn any_text_is_read_or_refused(text in "[0-9A-F >:|.\r\n-]{0,300}|.{0,200}") {
        let mut sources = SourceMap::default();
        let id = sources.add("capture", text.as_str(), Origin::Given);
        let text = sources.get(id).text().to_owned();
        read_dump(&text, id);
    }

    #[test]
    fn what_a_monitor_shows_is_read_back(
        base in 0u16..0xF000, bytes in prop::collection::vec(any::<u8>(), 1..200), which in 0usize..3, wide in 1usize..17,
        colon in any::<bool>(), beside in any::<bool>(),
    ) {
        let (_, notation) = Notation::ALL[which];
        // Two rows are needed to tell octal from split octal where the address could be either.
        prop_assume!(bytes.len() > wide);
        let mut text = String::from("> D\r\n");
        for (row, chunk) in bytes.chunks(wide).enumerate() {
            let address = notation.address(Address(base + (row * wide) as u16));
            let shown: Vec<_> = chunk.iter().map(|byte| notation.byte(*byte).to_string()).collect();
            text += &format!("{address}{} {}", if colon { ":" } else { "" }, shown.join(" "));
            if beside {
                text += &format!("  |{}|", "AB 12".chars().cycle().take(chunk.len()).collect::<String>());
            }
            text += "\r\n";
        }
        let mut sources = SourceMap::default();
        let id = sources.add("capture", text.as_str(), Origin::Given);
        let reading = read_dump(&text, id);
        let found: Vec<_> = reading.image.extents().map(|extent| (extent.base.0, extent.bytes.to_vec())).collect();
        // The last row may be longer where characters beside it look like bytes; it is cut to the others' length.
        let all = found.first().map(|(at, all)| (*at, all[..bytes.len().min(all.len())].to_vec()));
        prop_assert_eq!(all, Some((base, bytes)), "{}\n{:?}", text, reading.facts);
    }
}
