//! The checks of tape blocks: their values, and what each detects and misses.
//!
//! Check values over the nine characters `123456789`: the catalogue of parametrised CRC algorithms [M], each recomputed
//! with independent bitwise code [D]. Fletcher: J. G. Fletcher, IEEE Trans. Comm. COM-30(1), 1982, and RFC 1146 [M].
//! XOR: ISO 1155, longitudinal parity [M]. What is detected: T. C. Maxino and P. J. Koopman, IEEE TDSC 6(1), 2009
//! (abstract read [V]); W. W. Peterson and D. T. Brown, Proc. IRE 49, 1961 [M]; each line exercised here.

use coldwright::record::{CheckKind, Stored};

fn kind(name: &str) -> CheckKind {
    CheckKind::all().find(|kind| kind.name() == name).unwrap()
}

/// A message without 000 and 377, so that no change makes the one from the other.
fn message(length: usize) -> Vec<u8> {
    (0..length).map(|step| (step * 37 % 253 + 1) as u8).collect()
}

fn is_detected(kind: CheckKind, before: &[u8], after: &[u8]) -> bool {
    kind.of(before) != kind.of(after)
}

fn flipped(message: &[u8], bits: &[usize]) -> Vec<u8> {
    let mut after = message.to_vec();
    bits.iter().for_each(|bit| after[bit / 8] ^= 1 << (bit % 8));
    after
}

#[test]
fn check_values_over_the_nine_characters() {
    let published = [
        ("sum8", 0xDD),
        ("sum16", 0x01DD),
        ("carry-sum8", 0xDE),
        ("xor8", 0x31),
        ("fletcher16", 0x1EDE),
        ("crc-8/smbus", 0xF4),
        ("crc-16/arc", 0xBB3D),
        ("crc-16/xmodem", 0x31C3),
        ("crc-16/ibm-3740", 0x29B1),
        ("crc-16/kermit", 0x2189),
        ("crc-16/ibm-sdlc", 0x906E),
        ("crc-16/genibus", 0xD64E),
        ("crc-32/iso-hdlc", 0xCBF4_3926),
    ];
    for (name, value) in published {
        assert_eq!(kind(name).of(b"123456789"), value, "{name}");
    }
    assert_eq!(published.len(), CheckKind::all().count());
}

#[test]
fn stored_forms_make_the_published_values() {
    let (sum, value) = (kind("sum8"), kind("sum8").of(b"123456789"));
    assert_eq!(Stored::Negated.apply(sum, value), 0x23);
    assert_eq!(Stored::Complement.apply(sum, value), 0x22);
    assert_eq!(Stored::Value.apply(sum, value), 0xDD);
    for name in ["sum8", "carry-sum8", "xor8", "fletcher16", "crc-16/arc", "crc-16/xmodem"] {
        assert_eq!(kind(name).of(&[]), 0, "{name}");
    }
    assert_eq!(kind("crc-16/ibm-3740").of(&[]), 0xFFFF);
}

#[test]
fn fletcher_over_the_published_vectors_and_over_long_messages() {
    for (text, value) in [("abcde", 0xC8F0), ("abcdef", 0x2057), ("abcdefgh", 0x0627)] {
        assert_eq!(kind("fletcher16").of(text.as_bytes()), value, "{text}");
    }
    // By the definition, reduced after every byte.
    let long: Vec<u8> = (0..70_000u32).map(|step| step.wrapping_mul(step) as u8 | 0xC0).collect();
    let (mut first, mut second) = (0u32, 0u32);
    for &byte in &long {
        first = (first + u32::from(byte)) % 255;
        second = (second + first) % 255;
    }
    assert_eq!(kind("fletcher16").of(&long), second << 8 | first);
}

#[test]
fn every_check_detects_any_single_bit() {
    let message = message(40);
    for kind in CheckKind::all() {
        for bit in 0..message.len() * 8 {
            assert!(is_detected(kind, &message, &flipped(&message, &[bit])), "{} bit {bit}", kind.name());
        }
    }
}

#[test]
fn every_check_detects_any_change_of_one_byte_but_fletcher_and_the_carry_sum_take_000_for_377() {
    let message = message(12);
    for kind in CheckKind::all() {
        let blind = matches!(kind.name(), "fletcher16" | "carry-sum8");
        for at in 0..message.len() {
            let with = |byte: u8| {
                let mut after = message.clone();
                after[at] = byte;
                after
            };
            for (before, after) in (0..=255u8).flat_map(|before| (0..before).map(move |after| (before, after))) {
                let same = blind && (before, after) == (0xFF, 0);
                let detected = is_detected(kind, &with(before), &with(after));
                assert_eq!(detected, !same, "{} at {at}: {before:03o} to {after:03o}", kind.name());
            }
        }
    }
}

#[test]
fn two_bits_in_different_tracks_are_detected_by_every_check() {
    let message = message(12);
    for kind in CheckKind::all() {
        for one in 0..96 {
            for other in (0..one).filter(|other| other % 8 != one % 8) {
                let after = flipped(&message, &[one, other]);
                assert!(is_detected(kind, &message, &after), "{} bits {one}, {other}", kind.name());
            }
        }
    }
}

#[test]
fn two_bits_in_one_track_escape_sums_and_xor_as_published() {
    let message = message(12);
    for one in 0..96 {
        for other in (0..one).filter(|other| other % 8 == one % 8) {
            let after = flipped(&message, &[one, other]);
            let rose = |bit: usize| after[bit / 8] > message[bit / 8];
            let opposite = rose(one) != rose(other);
            assert!(!is_detected(kind("xor8"), &message, &after));
            // Twice 128 is nothing modulo 256; it is 1 with the carry added back in, and 256 modulo 65536.
            let missed_by_sum8 = opposite || one % 8 == 7;
            assert_eq!(is_detected(kind("sum8"), &message, &after), !missed_by_sum8, "{one}, {other}");
            for name in ["carry-sum8", "sum16"] {
                assert_eq!(is_detected(kind(name), &message, &after), !opposite, "{name} {one}, {other}");
            }
            for name in ["fletcher16", "crc-16/arc", "crc-16/xmodem", "crc-16/ibm-3740"] {
                assert!(is_detected(kind(name), &message, &after), "{name} {one}, {other}");
            }
        }
    }
}

#[test]
fn fletcher_misses_opposite_bits_255_bytes_apart() {
    let mut message = message(300);
    (message[3], message[258], message[257]) = (0o001, 0o002, 0o002);
    let (mut far, mut near) = (message.clone(), message.clone());
    (far[3], far[258]) = (0o002, 0o001);
    (near[3], near[257]) = (0o002, 0o001);
    assert!(!is_detected(kind("fletcher16"), &message, &far));
    assert!(is_detected(kind("fletcher16"), &message, &near));
}

#[test]
fn the_share_of_double_slips_that_is_missed_nears_the_published_one() {
    // Numbers of a linear congruential generator, so that every run tries the same ones.
    let mut state = 8080u64;
    let mut number = |below: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % below
    };
    let message: Vec<u8> = (0..4096).map(|_| number(256) as u8).collect();
    for (name, share) in [("sum8", 9.0 / 128.0), ("xor8", 1.0 / 8.0)] {
        let tries = 4000;
        let missed = (0..tries).filter(|_| {
            let (one, other) = (number(32_768), number(32_768));
            one != other && !is_detected(kind(name), &message, &flipped(&message, &[one, other]))
        });
        let found = missed.count() as f64 / f64::from(tries);
        assert!((found - share).abs() < 0.015, "{name}: {found}, published {share}");
    }
}

#[test]
fn an_odd_number_of_slips_is_detected_by_xor_and_by_both_crc_generators() {
    let message = message(6);
    for name in ["xor8", "crc-16/arc", "crc-16/xmodem", "crc-16/kermit"] {
        for one in 0..48 {
            for two in 0..one {
                for three in 0..two {
                    assert!(is_detected(kind(name), &message, &flipped(&message, &[one, two, three])), "{name}");
                }
            }
        }
    }
}

#[test]
fn bursts_of_up_to_16_bits_are_detected_by_a_crc_and_of_up_to_8_by_a_sum() {
    let message = message(6);
    // The serial order of the reflected CRC: least significant bit first.
    for (name, longest) in [("crc-16/arc", 16), ("crc-16/kermit", 16), ("sum8", 8), ("xor8", 8)] {
        for start in 0..48usize {
            for length in 1..=longest.min(48 - start) {
                for inside in 0..1u32 << length.saturating_sub(2).min(10) {
                    let pattern = 1 | inside << 1 | 1 << (length - 1);
                    let bits: Vec<_> =
                        (0..length).filter(|bit| pattern >> bit & 1 == 1).map(|bit| start + bit).collect();
                    assert!(is_detected(kind(name), &message, &flipped(&message, &bits)), "{name}: {bits:?}");
                }
            }
        }
    }
}

#[test]
fn swapped_bytes_and_lost_zeros_escape_sums_and_xor_and_not_the_others() {
    let message = message(12);
    for at in 0..11 {
        let mut swapped = message.clone();
        swapped.swap(at, at + 1);
        let mut with_zero = message.clone();
        with_zero.insert(at + 1, 0);
        for name in ["sum8", "sum16", "carry-sum8", "xor8"] {
            assert!(!is_detected(kind(name), &message, &swapped), "{name}");
            assert!(!is_detected(kind(name), &message, &with_zero), "{name}");
        }
        for name in ["fletcher16", "crc-16/arc", "crc-16/xmodem", "crc-16/ibm-3740"] {
            assert!(is_detected(kind(name), &message, &swapped), "{name}");
            assert!(is_detected(kind(name), &message, &with_zero), "{name}");
        }
    }
}

#[test]
fn zeros_before_a_message_escape_a_crc_that_starts_at_zero() {
    let (message, led) = (message(8), [vec![0; 3], message(8)].concat());
    for (name, detected) in [("crc-16/arc", false), ("crc-16/xmodem", false), ("crc-16/ibm-3740", true)] {
        assert_eq!(is_detected(kind(name), &message, &led), detected, "{name}");
        assert_eq!(kind(name).of(&[0; 20]) != 0, detected, "{name}: nothing but zeros with a zero check");
    }
}

/// Pairs of a message and what an error made of it.
type Pairs = Vec<(Vec<u8>, Vec<u8>)>;

/// Messages in which every value stands at every kind of place: even ones, uneven ones, zeros, and 000 beside 377.
fn messages() -> Vec<Vec<u8>> {
    let mixed =
        |seed: u32| (0..24u32).map(move |at| (at.wrapping_mul(0x9E37_79B1) ^ seed.wrapping_mul(0x85EB_CA6B)) as u8);
    let mut messages: Vec<Vec<u8>> = (1..24).map(|seed| mixed(seed).collect()).collect();
    messages.extend([message(24), vec![0; 24], vec![0xFF; 24]]);
    messages.push([0, 0xFF, 0, 7, 0xFF, 0xFF, 0, 0].repeat(3));
    messages
}

fn two_bits(chosen: impl Fn(&[u8], usize, usize) -> bool) -> Pairs {
    let mut pairs = Vec::new();
    for message in messages() {
        for one in 0..message.len() * 8 {
            let others = (0..one).filter(|&other| chosen(&message, one, other));
            pairs.extend(others.map(|other| (message.clone(), flipped(&message, &[one, other]))));
        }
    }
    pairs
}

fn is_up(message: &[u8], bit: usize) -> bool {
    message[bit / 8] >> (bit % 8) & 1 == 0
}

/// What each row of the table speaks of, in its words.
fn errors(row: &str) -> Pairs {
    let in_one_track = |one: usize, other: usize| one % 8 == other % 8;
    match row {
        "one bit" => messages()
            .into_iter()
            .flat_map(|it| (0..it.len() * 8).map(move |bit| (it.clone(), flipped(&it, &[bit]))))
            .collect(),
        "one byte, any change" => {
            let mut pairs = Vec::new();
            for message in messages() {
                for (at, byte) in (0..8).flat_map(|at| (0..=255).map(move |byte| (at, byte))) {
                    let mut after = message.clone();
                    after[at] = byte;
                    pairs.push((message.clone(), after));
                }
            }
            pairs.retain(|(before, after)| before != after);
            pairs
        }
        "two bits in different tracks" => two_bits(|_, one, other| !in_one_track(one, other)),
        "two bits in one track, one up, one down" => {
            let mut pairs = two_bits(|it, one, other| in_one_track(one, other) && is_up(it, one) != is_up(it, other));
            let mut far = vec![3; 300];
            (far[3], far[258]) = (1, 2);
            pairs.push((far.clone(), flipped(&far, &[3 * 8, 258 * 8])));
            pairs.retain(|(before, after)| before != after);
            pairs
        }
        "two bits in one track, both up or both down" => {
            two_bits(|it, one, other| in_one_track(one, other) && is_up(it, one) == is_up(it, other))
        }
        "neighbouring bytes swapped" => {
            let swapped = |it: &Vec<u8>, at: usize| {
                let mut after = it.clone();
                after.swap(at, at + 1);
                (it.clone(), after)
            };
            let pairs = messages().into_iter().flat_map(|it| (0..it.len() - 1).map(move |at| swapped(&it, at)));
            pairs.filter(|(before, after)| before != after).collect()
        }
        "a zero byte lost" => {
            let lost = |it: &Vec<u8>, at: usize| ([&it[..at], &[0], &it[at..]].concat(), it.clone());
            messages().into_iter().flat_map(|it| (0..=it.len()).map(move |at| lost(&it, at))).collect()
        }
        other => panic!("the table of checks speaks of {other}, which is tried nowhere"),
    }
}

/// What a cell must begin with: every error of the row is seen, some are, or none.
fn verdict(kinds: &[CheckKind], pairs: &Pairs) -> &'static str {
    let tried =
        kinds.iter().flat_map(|kind| pairs.iter().map(move |(before, after)| is_detected(*kind, before, after)));
    let (seen, missed) =
        tried.fold((0, 0), |(seen, missed), it| if it { (seen + 1, missed) } else { (seen, missed + 1) });
    match (seen, missed) {
        (_, 0) => "seen",
        (0, _) => "**missed**",
        _ => "seen, but ",
    }
}

#[test]
fn the_table_of_what_checks_see_and_miss_is_true_in_every_cell() {
    let page = include_str!("../../docs/framing-file.md");
    let table: Vec<&str> = page
        .lines()
        .skip_while(|line| !line.starts_with("| error |"))
        .take_while(|line| line.starts_with('|'))
        .collect();
    let cells = |line: &str| -> Vec<String> {
        line.trim_matches('|').split('|').map(|cell| cell.trim().replace('`', "")).collect()
    };
    let columns: Vec<Vec<CheckKind>> = cells(table[0])[1..]
        .iter()
        .map(|name| {
            CheckKind::all()
                .filter(|kind| kind.name() == name || name == "CRCs of 16 bits" && kind.name().starts_with("crc-16"))
                .collect()
        })
        .collect();
    assert!(table.len() > 8 && columns.len() == 6 && columns.iter().all(|kinds| !kinds.is_empty()), "{table:?}");
    for line in &table[2..] {
        let cells = cells(line);
        for (kinds, cell) in columns.iter().zip(&cells[1..]) {
            let name = kinds[0].name();
            if cells[0] == "nothing but zeros" {
                let taken = kinds.iter().filter(|kind| kind.of(&[0; 20]) == 0).count();
                let by_all = cell == "**taken**";
                assert!(
                    by_all && taken == kinds.len() || !by_all && taken > 0 && cell.starts_with("**taken** by "),
                    "{name}"
                );
                continue;
            }
            let expected = verdict(kinds, &errors(&cells[0]));
            let is_true = if expected.ends_with(' ') { cell.starts_with(expected) } else { cell == expected };
            assert!(is_true, "{name}: {} is {expected}, and the page says {cell}", cells[0]);
        }
    }
}
