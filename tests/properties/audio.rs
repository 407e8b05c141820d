//! Sound: what is written is read back, whatever the tones and the format; and no file makes the reader stumble.

use std::io::Cursor;

use coldwright::audio::picture::look;
use coldwright::audio::{Channels, Depth, Modulation, PRESETS, Pauses, Preset, Shape, Sound, read, write};
use proptest::prelude::*;

use crate::damage::Random;

fn cases(debug: u32) -> ProptestConfig {
    ProptestConfig::with_cases(if cfg!(debug_assertions) { debug } else { 16 * debug })
}

/// Tones of anyone's own: the lower one, the distance in rates, the rate, stop bits, and which is mark.
fn modulations() -> impl Strategy<Value = Modulation> {
    let rates = prop_oneof![Just(110.0), Just(150.0), Just(300.0), Just(600.0)];
    (rates, 2.5..5.0_f64, prop_oneof![Just(0.5), Just(2.0 / 3.0), 0.9..3.0_f64], 1..=2_u8, any::<bool>()).prop_map(
        |(baud, low, apart, stop_bits, mark_is_low): (f64, f64, f64, u8, bool)| {
            let low_hz = (low * baud).max(600.0).round();
            let high_hz = (low_hz + apart * baud).round();
            let (mark, space) = if mark_is_low { (low_hz, high_hz) } else { (high_hz, low_hz) };
            Modulation::new(mark, space, baud, stop_bits).expect("within the ranges")
        },
    )
}

fn sounds() -> impl Strategy<Value = Sound> {
    let depths = prop_oneof![Just(Depth::Bits8), Just(Depth::Bits16), Just(Depth::Bits24), Just(Depth::Float32)];
    let channels = prop_oneof![Just(Channels::Mono), Just(Channels::Left), Just(Channels::Right), Just(Channels::Both)];
    let shapes = prop_oneof![Just(Shape::Sine), Just(Shape::Square)];
    let rates = prop_oneof![Just(11_025), Just(22_050), Just(44_100), Just(48_000)];
    (rates, -20.0..=0.0_f64, depths, channels, shapes).prop_map(|(sample_rate, level_dbfs, depth, channels, shape)| {
        Sound { sample_rate, level_dbfs, depth, channels, shape }
    })
}

/// Of a byte or two alone, or of nothing but bytes that are noughts and then ones, a close pair's tape may as well have
/// changed its speed: `docs/audio.md` tells of these under "What tells too little".
fn tells_its_speed(tape: &[u8], modulation: &Modulation) -> bool {
    let apart = (modulation.mark_hz() - modulation.space_hz()).abs() / modulation.baud();
    apart >= 1.0 || tape.len() > 2 && tape.iter().any(|byte| byte.leading_ones() + byte.trailing_zeros() != 8)
}

proptest! {
    #![proptest_config(cases(3))]

    #[test]
    fn what_is_written_is_read_back(
        modulation in modulations(),
        sound in sounds(),
        blocks in prop::collection::vec(prop::collection::vec(any::<u8>(), 1..8), 1..3),
    ) {
        let pauses = Pauses { leader: 0.8, gap: 0.6, trailer: 0.3 };
        let blocks: Vec<&[u8]> = blocks.iter().map(Vec::as_slice).collect();
        let mut wav = Cursor::new(Vec::new());
        let written = write(&mut wav, &blocks, &modulation, &pauses, &sound, |_| ()).expect("memory");
        let reading = read(&wav.get_ref()[..], &modulation, |_| ()).expect("our own file");
        let tape = blocks.concat();
        prop_assert_eq!(reading.facts.found, written.samples);
        if tells_its_speed(&tape, &modulation) {
            prop_assert_eq!(reading.values(), tape);
            let runs: Vec<usize> = reading.runs(0.3).iter().map(|run| run.len()).collect();
            prop_assert_eq!(runs, blocks.iter().map(|block| block.len()).collect::<Vec<_>>());
        }
        prop_assert_eq!(reading.carriers.iter().map(|c| c.bytes.len()).sum::<usize>(), reading.bytes.len());
    }
}

proptest! {
    #![proptest_config(cases(32))]

    #[test]
    fn no_file_makes_the_reader_stumble(
        cut in 0..4000_usize,
        changes in prop::collection::vec((0..60_usize, any::<u8>()), 0..6),
    ) {
        let preset = Preset::named("byte-1200").expect("a preset");
        let pauses = Pauses { leader: 0.01, gap: 0.0, trailer: 0.0 };
        let mut wav = Cursor::new(Vec::new());
        write(&mut wav, &[b"x"], &preset.modulation, &pauses, &Sound::default(), |_| ()).expect("memory");
        let mut bytes = wav.into_inner();
        bytes.truncate(cut);
        for (place, value) in changes {
            if let Some(byte) = bytes.get_mut(place) {
                *byte = value;
            }
        }
        let _ = read(&bytes[..], &preset.modulation, |_| ());
        let _ = look(Cursor::new(&bytes), &preset.modulation, 0.0, 0.1, 50);
    }
}

/// A run of zero bytes is a space tone with a notch now and then, and of a pair that lies close a space tone is the mark of
/// a tape at another speed. What the tape says elsewhere decides; where it says nothing else, the notches do.
#[test]
fn runs_of_one_tone_are_not_taken_for_a_pause_at_another_speed() {
    let mixed = [&[0; 120][..], &Random(7).bytes(40), &[0; 60]].concat();
    let nothing_else = [0; 150];
    let full = [0xFF; 100];
    let tapes: [&[&[u8]]; 3] = [&[&mixed, &full, &[0; 60]], &[&nothing_else], &[&full]];
    for preset in PRESETS.iter().filter(|preset| !preset.name.starts_with("byte")) {
        for (sample_rate, blocks) in [8000, 11_025].into_iter().flat_map(|rate| tapes.map(|tape| (rate, tape))) {
            let sound = Sound { sample_rate, depth: Depth::Bits8, ..Sound::default() };
            for leader in [0.0, 0.3] {
                let pauses = Pauses { leader, gap: 0.2, trailer: 0.2 };
                let mut wav = Cursor::new(Vec::new());
                write(&mut wav, blocks, &preset.modulation, &pauses, &sound, |_| ()).expect("memory");
                let reading = read(&wav.get_ref()[..], &preset.modulation, |_| ()).expect("our own file");
                assert!(
                    reading.values() == blocks.concat(),
                    "{} {sample_rate} {leader}: {:?}",
                    preset.name,
                    reading.values()
                );
                assert!(!reading.bytes.iter().any(|byte| byte.is_doubtful()), "{} {sample_rate} {leader}", preset.name);
            }
        }
    }
}

/// What is easily taken for something else: half cycles of a square as short as a spike, some edges of which fall between two
/// samples; and ones and noughts in turn, whose spectrum is that of the pair at another speed.
#[test]
fn square_edges_are_no_spikes_and_turns_of_bits_no_speed() {
    let square = |mark, space, stop_bits, sample_rate, tape: &[&[u8]]| {
        let modulation = Modulation::new(mark, space, 600.0, stop_bits).expect("within the ranges");
        let sound = Sound { sample_rate, shape: Shape::Square, ..Sound::default() };
        assert_eq!(read_again(tape, &modulation, &sound), tape.concat(), "{mark} {space}");
    };
    square(2254.0, 1954.0, 2, 48_000, &[&[235, 75, 214], &[89, 222, 44, 189, 84, 136]]);
    square(2124.0, 2524.0, 2, 44_100, &[&[166, 136, 76, 45, 186, 48]]);
    square(2151.0, 2551.0, 2, 44_100, &[&[217], &[174, 215, 185, 254]]);
    square(1754.0, 2535.0, 2, 48_000, &[&[33, 37, 57, 198, 167, 46], &[102, 68, 11, 7, 34, 16, 8]]);
    for (mark, space, baud) in [(605.0, 843.0, 150.0), (600.0, 770.0, 110.0), (1925.0, 3073.0, 600.0)] {
        let modulation = Modulation::new(mark, space, baud, 1).expect("within the ranges");
        for sample_rate in [11_025, 22_050, 44_100] {
            let sound = Sound { sample_rate, ..Sound::default() };
            for tape in [&[255, 81, 85, 115][..], &[85; 3], &[85; 10], &[0xAA; 12]] {
                assert_eq!(read_again(&[tape], &modulation, &sound), tape, "{mark} {space} {sample_rate}");
            }
        }
    }
}

/// A leader with a single byte behind it is nearly as well a space tone of a slow tape; it is taken for what it is at about
/// nominal speed.
#[test]
fn of_speeds_that_tell_about_the_same_the_one_near_nominal_is_taken() {
    let modulation = Modulation::new(997.0, 1197.0, 300.0, 1).expect("within the ranges");
    let sound = Sound { sample_rate: 22_050, shape: Shape::Square, ..Sound::default() };
    assert_eq!(read_again(&[&[54]], &modulation, &sound), [54]);
}

/// What is read of blocks that were written; no byte of them in doubt.
fn read_again(blocks: &[&[u8]], modulation: &Modulation, sound: &Sound) -> Vec<u8> {
    let pauses = Pauses { leader: 0.8, gap: 0.6, trailer: 0.3 };
    let mut wav = Cursor::new(Vec::new());
    write(&mut wav, blocks, modulation, &pauses, sound, |_| ()).expect("memory");
    let reading = read(&wav.get_ref()[..], modulation, |_| ()).expect("our own file");
    assert!(!reading.bytes.iter().any(|byte| byte.is_doubtful()), "{modulation:?} {:?}", reading.values());
    reading.values()
}

/// In a run of equal bytes every place where a zero follows a one looks like the start of a character. The border between
/// two windows, at 30 s, falls into such a run here; one window begins or ends within it.
#[test]
fn a_window_that_begins_within_a_run_of_equal_bytes_keeps_its_footing() {
    for (name, byte, leader) in [("byte-300", 0x33, 3.0), ("byte-300", 0xC3, 3.0), ("byte-300", 0x0F, 1.0)] {
        let preset = Preset::named(name).expect("a preset");
        let block = [byte; 250];
        let blocks = [&[0x81, 0x02][..], &block, &block, &block, &block, &[0x99, 0x42]];
        let pauses = Pauses { leader, gap: 0.2, trailer: 0.2 };
        let sound = Sound { sample_rate: 8000, ..Sound::default() };
        let mut wav = Cursor::new(Vec::new());
        write(&mut wav, &blocks, &preset.modulation, &pauses, &sound, |_| ()).expect("memory");
        let reading = read(&wav.get_ref()[..], &preset.modulation, |_| ()).expect("our own file");
        assert!(reading.values() == blocks.concat(), "{name} {byte:02X}");
        let lengths: Vec<usize> = reading.runs(0.1).iter().map(|run| run.len()).collect();
        assert_eq!(lengths, [2, 250, 250, 250, 250, 2], "{name} {byte:02X}");
    }
}
