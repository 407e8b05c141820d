//! Tapes whose level moves, and runs of one byte: nothing is lost or changed without a word.

use std::io::Cursor;

use coldwright::audio::{Depth, PRESETS, Pauses, Preset, Reading, Sound, read, write};

use crate::damage::{Random, difference, read_back};
use crate::hardships::{Hardship, hardships};

/// A recording of blocks at a low rate, which is quick.
fn recorded(preset: &Preset, blocks: &[&[u8]], pauses: &Pauses) -> Reading {
    let sound = Sound { sample_rate: 8000, depth: Depth::Bits8, ..Sound::default() };
    let mut wav = Cursor::new(Vec::new());
    write(&mut wav, blocks, &preset.modulation, pauses, &sound, |_| ()).expect("memory");
    read(&wav.get_ref()[..], &preset.modulation, |_| ()).expect("our own file")
}

fn is_sure(reading: &Reading) -> bool {
    !reading.bytes.iter().any(|byte| byte.is_doubtful())
}

const PAUSES: Pauses = Pauses { leader: 0.7, gap: 0.5, trailer: 0.3 };

/// Seen from another place a run of one byte is a run of another one; only the leader tells. Those of a few hundred bytes
/// were read from the wrong place by some presets, those that are longer than a window by all.
#[test]
fn a_run_of_one_byte_is_read_from_where_the_leader_ends() {
    let runs = [
        ("byte-300", 0o177, 1300),
        ("byte-300", 0o017, 900),
        ("byte-1200", 0o163, 2000),
        ("bell-103-originate", 0o345, 512),
        ("bell-103-originate", 0o014, 100),
        ("bell-103-answer", 0o252, 512),
        ("bell-103-answer", 0o017, 512),
        ("v21-originate", 0o345, 512),
        ("v21-originate", 0o046, 100),
        ("v21-originate", 0o252, 1000),
        ("v21-answer", 0o000, 512),
    ];
    for (name, byte, count) in runs {
        let preset = Preset::named(name).expect(name);
        let sent = vec![byte; count];
        let reading = recorded(preset, &[&sent], &PAUSES);
        assert!(reading.values() == sent, "{name} {byte:03o}: {:?}", difference(&sent, &reading));
        assert!(is_sure(&reading), "{name} {byte:03o}");
    }
}

/// The same for values and lengths at random, and under noise.
#[test]
fn runs_of_any_byte_are_read_whole() {
    let mut random = Random(19);
    let count = if cfg!(debug_assertions) { 8 } else { 100 };
    for preset in &PRESETS {
        for _ in 0..count {
            let (byte, length) = (random.next() as u8, 100 + random.next() as usize % 100);
            let sent = vec![byte; length];
            let reading = recorded(preset, &[&sent], &PAUSES);
            assert!(reading.values() == sent && is_sure(&reading), "{} {byte:03o} {length}", preset.name);
        }
        let (byte, seed) = (random.next() as u8, random.next());
        let worn = Hardship::run(byte, Some(-3.0)).wear(preset, 100, seed);
        let reading = read_back(&worn.samples, &preset.modulation);
        assert_eq!(reading.values(), worn.sent, "{} {byte:03o} under noise", preset.name);
    }
}

/// A recording that begins in the midst of a run, or a run behind silence: what could be read from several places is in
/// doubt, and what could not is not.
#[test]
fn a_run_that_hangs_on_nothing_is_in_doubt() {
    let cut = Pauses { leader: 0.0, ..PAUSES };
    for preset in &PRESETS {
        let open = recorded(preset, &[&[0o063; 90]], &cut);
        assert!(open.bytes.len() >= 88 && open.bytes.iter().all(|byte| byte.is_doubtful()), "{}", preset.name);
        // All ones have a single zero in a character: there is but one way to read them.
        let shut = recorded(preset, &[&[0o377; 90]], &cut);
        assert!(shut.values() == [0o377; 90] && is_sure(&shut), "{}", preset.name);
    }
}

/// Every wrong byte is told of, by a doubtful one or a gap; and where only the level moves, none is wrong.
#[test]
fn a_level_that_moves_changes_no_byte_in_silence() {
    let rows = hardships();
    let rows = rows.iter().filter(|row| row.is_of_level());
    for row in rows {
        for preset in &PRESETS {
            let faster = (preset.modulation.baud() / 300.0) as usize;
            let count = if cfg!(debug_assertions) { 60 * faster } else { 512 };
            let worn = row.wear(preset, count, 3);
            let reading = read_back(&worn.samples, &preset.modulation);
            let difference = difference(&worn.sent, &reading);
            assert_eq!(difference.silent, 0, "{}: {}: {difference:?}", preset.name, row.name);
            if row.leaves_all() {
                assert_eq!(difference.wrong, 0, "{}: {}: {difference:?}", preset.name, row.name);
            }
        }
    }
}

/// A drop-out over whole characters: a byte in doubt stands for each of them, so that what follows is in its place.
#[test]
fn characters_that_a_drop_out_took_are_counted() {
    for preset in &PRESETS {
        let sent = Random(23).bytes(60);
        let mut samples = crate::damage::tape(&sent, &preset.modulation);
        let character = preset.modulation.character_seconds();
        crate::damage::drop_out(&mut samples, &[crate::damage::LEADER + 20.3 * character], 4.0 * character);
        let reading = read_back(&samples, &preset.modulation);
        let heard = reading.values();
        assert_eq!(heard.len(), sent.len(), "{}", preset.name);
        assert!(heard[..20] == sent[..20] && heard[25..] == sent[25..], "{}", preset.name);
        assert!(reading.bytes[21..24].iter().all(|byte| byte.is_doubtful()), "{}", preset.name);
    }
}
