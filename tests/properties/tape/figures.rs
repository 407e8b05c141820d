//! What pages and files tell of the bundled framings, computed from the framings.

use coldwright::record::{CheckKind, Kind, Stored};
use coldwright::tape::framing::{Framing, PieceKind, bundled};

use super::{image, write};

fn words(page: &str) -> String {
    page.split_whitespace().filter(|&word| !["#", ";"].contains(&word)).collect::<Vec<_>>().join(" ")
}

/// Numbers as the files spell them.
fn spelt(number: usize) -> &'static str {
    const SPELT: [(usize, &str); 4] = [(7, "seven"), (11, "eleven"), (13, "thirteen"), (19, "nineteen")];
    SPELT.iter().find(|(value, _)| *value == number).map_or("a number that no page spells", |(_, word)| word)
}

#[test]
fn the_share_of_frames_around_the_data_is_as_the_file_of_blocks_says() {
    let framing = bundled("blocks").unwrap();
    let most = framing.block.most();
    let tape = write(&framing, &[image(&[(0, vec![1; most])], 0)]).unwrap();
    let is_block = |kind: &PieceKind| matches!(kind, PieceKind::Block { base: Some(_), .. });
    let block = tape.pieces.iter().find(|piece| is_block(&piece.kind)).unwrap().range.len();
    let gap = tape.pieces.iter().find(|piece| piece.kind == PieceKind::Gap).unwrap().range.len();
    let share = |frames: usize, of: usize| spelt((of as f64 / frames as f64).round() as usize);
    let around = block - most;
    let told = format!(
        "the {} frames around the data are one in {} of a full block (with the gap, {} are one in {})",
        spelt(around),
        share(around, block),
        spelt(around + gap),
        share(around + gap, block + gap)
    );
    assert!(words(include_str!("../../../framings/blocks.toml")).contains(&told), "{told}");
}

#[test]
fn sum8_says_which_framings_it_is_the_check_of() {
    let checks = |framing: &Framing| -> Vec<(CheckKind, Stored)> {
        let fields = framing.parts().flat_map(|(_, record)| &record.fields);
        let check =
            |kind: &Kind| if let Kind::Check { kind, stored, .. } = kind { Some((*kind, *stored)) } else { None };
        fields.filter_map(|field| check(&field.kind)).collect()
    };
    let told = words(include_str!("../../../stdlib/sum8.asm"));
    for (name, check, says) in [
        (
            "bare",
            (CheckKind::Sum8, Stored::Negated),
            "The check of the framing `bare` and of Intel HEX records is this sum negated",
        ),
        ("intel-hex", (CheckKind::Sum8, Stored::Negated), "of Intel HEX records is this sum negated"),
        ("s-record", (CheckKind::Sum8, Stored::Complement), "that of S-records is its complement"),
        ("blocks", (CheckKind::Fletcher16, Stored::Value), "The framing `blocks` has another check: fletcher.asm"),
    ] {
        let found = checks(&bundled(name).unwrap());
        assert!(!found.is_empty() && found.iter().all(|found| *found == check), "{name}: {found:?}");
        assert!(told.contains(says), "{name}: {says}");
    }
}
