//! Published figures of recorded tones, checked on the samples themselves.

use std::io::Cursor;

use coldwright::audio::{Depth, Pauses, Preset, Sound, write};

const SILENT: Pauses = Pauses { leader: 0.0, gap: 0.0, trailer: 0.0 };

fn samples(name: &str, blocks: &[&[u8]], pauses: &Pauses, sample_rate: u32) -> Vec<f32> {
    let preset = Preset::named(name).expect(name);
    let sound = Sound { sample_rate, depth: Depth::Float32, level_dbfs: 0.0, ..Sound::default() };
    let mut out = Cursor::new(Vec::new());
    write(&mut out, blocks, &preset.modulation, pauses, &sound, |_| ()).expect("memory");
    out.set_position(0);
    hound::WavReader::new(out).expect("a WAV file").into_samples().map(|s| s.expect("a sample")).collect()
}

/// Cycles in a stretch: rising zero crossings, the one at its start included.
fn cycles(samples: &[f32]) -> usize {
    let starts = samples.first().is_some_and(|first| first.abs() < 1e-4);
    usize::from(starts) + samples.windows(2).filter(|pair| pair[0] < -1e-4 && pair[1] >= -1e-4).count()
}

/// BYTE, February 1976, pp. 72-73: "mark, 8 cycles of 2400 Hz; space, 4 cycles of 1200 Hz"; start bit, eight data bits
/// with the least significant first, two or more stop bits.
#[test]
fn a_character_of_the_1976_standard_is_so_many_cycles() {
    let byte = 0b1010_0110;
    let bits = [0, /* data, from the right */ 0, 1, 1, 0, 0, 1, 0, 1, /* stop */ 1, 1];
    let samples = samples("byte-300", &[&[byte]], &SILENT, 48_000);
    assert_eq!(samples.len(), 11 * 160);
    for (index, (cell, bit)) in samples.chunks(160).zip(bits).enumerate() {
        // 208.33 us a half cycle of mark is 10 samples at 48 kHz, 416.67 us of space is 20.
        assert_eq!(cycles(cell), if bit == 1 { 8 } else { 4 }, "bit {index}");
        assert!(cell[0].abs() < 1e-4 && cell[2] > 0.2, "bit {index} begins with a rising zero crossing");
        assert!(cell.iter().sum::<f32>().abs() < 1e-3, "bit {index} has no mean");
    }
}

/// The 1200-baud derivative [common practice]: mark is 2 cycles of 2400 Hz, space is 1 cycle of 1200 Hz.
#[test]
fn a_character_of_the_1200_baud_derivative_is_so_many_cycles() {
    let samples = samples("byte-1200", &[&[0x55]], &SILENT, 48_000);
    let bits = [0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 1];
    for (cell, bit) in samples.chunks(40).zip(bits) {
        assert_eq!(cycles(cell), if bit == 1 { 2 } else { 1 });
    }
}

/// Derived from the same page: 11 units of 3.3333 ms; 256 bytes last 9.387 s, 1024 bytes 37.55 s, and a block is preceded
/// by at least 5 s of mark.
#[test]
fn durations_of_the_1976_standard() {
    let preset = Preset::named("byte-300").expect("a preset");
    assert!((preset.modulation.character_seconds() - 0.036_667).abs() < 1e-6);
    assert!(preset.pauses.leader >= 5.0 && preset.pauses.gap >= 5.0);
    for (count, seconds) in [(256, 9.387), (1024, 37.55)] {
        let length = samples("byte-300", &[&vec![0x42; count]], &SILENT, 44_100).len() as f64 / 44_100.0;
        assert!((length - seconds).abs() < 0.004, "{count} bytes: {length} s");
        let with_leader = samples("byte-300", &[&vec![0x42; count]], &preset.pauses, 44_100).len() as f64 / 44_100.0;
        assert!((with_leader - length - 6.0).abs() < 1e-4, "5 s of leader and 1 s of trailer");
    }
}

/// 44 100 Hz is 147 samples a bit exactly: the ten thousandth bit begins where it belongs, to the sample.
#[test]
fn nothing_drifts() {
    let samples = samples("byte-300", &[&[0x00; 900]], &SILENT, 44_100);
    for character in [0, 1, 450, 899] {
        let stop = (character * 11 + 9) * 147;
        assert_eq!(cycles(&samples[stop - 147..stop]), 4, "the last data bit of character {character}");
        assert_eq!(cycles(&samples[stop..stop + 147]), 8, "the first stop bit of character {character}");
        assert!(samples[stop].abs() < 1e-3);
    }
}

/// AT&T Data Set 103 [M] and ITU-T V.21 section 3 [M]: tones in Hz of mark and space on either side.
#[test]
fn modem_tones() {
    let tones = [
        ("bell-103-originate", 1270.0, 1070.0),
        ("bell-103-answer", 2225.0, 2025.0),
        ("v21-originate", 980.0, 1180.0),
        ("v21-answer", 1650.0, 1850.0),
    ];
    for (name, mark, space) in tones {
        let modulation = Preset::named(name).expect(name).modulation;
        assert_eq!((modulation.mark_hz(), modulation.space_hz(), modulation.baud()), (mark, space, 300.0));
        // Ten seconds of leader: the count of cycles is the tone, to a tenth of a cycle a second.
        let leader = samples(name, &[], &Pauses { leader: 10.0, ..SILENT }, 44_100);
        let counted = cycles(&leader) as f64 / 10.0;
        assert!((counted - mark).abs() <= 0.1, "{name}: {counted}");
        // A block of nought is nine space bits and a stop bit; 20 s of it hold nine parts of space and one of mark.
        let block = samples(name, &[&[0; 600]], &SILENT, 44_100);
        let counted = cycles(&block) as f64 / 20.0;
        assert!((counted - (0.9 * space + 0.1 * mark)).abs() <= 0.1, "{name}: {counted}");
    }
}
