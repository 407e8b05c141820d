//! Tapes as sound against `minimodem`, a software modem, both ways, and against `sox`, which measures tones and wears
//! recordings out.

use std::fs::File;
use std::io::{BufReader, BufWriter};
use std::path::Path;
use std::process::Command;

use coldwright::audio::{Modulation, PRESETS, Pauses, Preset, Reading, Shape, Sound, read, write};

use crate::{modem, tool};

fn record(path: &Path, blocks: &[&[u8]], modulation: &Modulation, pauses: &Pauses, sound: &Sound) {
    let out = BufWriter::new(File::create(path).expect("a file of our own"));
    write(out, blocks, modulation, pauses, sound, |_| ()).expect("a tape");
}

fn play(path: &Path, modulation: &Modulation) -> Reading {
    read(BufReader::new(File::open(path).expect("a recording")), modulation, |_| ()).expect("a recording")
}

/// Runs `minimodem` with `input` on its standard input; gives what it printed, or `None` where it is not installed.
fn minimodem(direction: &str, modulation: &Modulation, input: &[u8], directory: &Path) -> Option<Vec<u8>> {
    let printed = modem::run(direction, modulation, input, "tape.wav", directory);
    if printed.is_none() {
        tool::skip("minimodem");
    }
    printed
}

/// Every value of a byte, in an order in which no two neighbours differ by one bit only.
fn all_bytes() -> Vec<u8> {
    let count = if cfg!(debug_assertions) { 64 } else { 256 };
    (0..count).map(|n: u32| (n * 167 % 256) as u8).collect()
}

#[test]
fn minimodem_reads_what_we_write() {
    for preset in &PRESETS {
        for shape in [Shape::Sine, Shape::Square] {
            let directory = tempfile::tempdir().expect("a directory");
            let sound = Sound { shape, sample_rate: 48_000, ..Sound::default() };
            let pauses = Pauses { leader: 1.0, gap: 0.5, trailer: 0.5 };
            let bytes = all_bytes();
            record(&directory.path().join("tape.wav"), &[&bytes], &preset.modulation, &pauses, &sound);
            let Some(heard) = minimodem("--rx", &preset.modulation, &[], directory.path()) else { return };
            assert_eq!(heard, bytes, "{} {shape:?}", preset.name);
        }
    }
}

#[test]
fn we_read_what_minimodem_writes() {
    for preset in &PRESETS {
        let directory = tempfile::tempdir().expect("a directory");
        let bytes = all_bytes();
        if minimodem("--tx", &preset.modulation, &bytes, directory.path()).is_none() {
            return;
        }
        let reading = play(&directory.path().join("tape.wav"), &preset.modulation);
        assert_eq!(reading.values(), bytes, "{}", preset.name);
        assert!(!reading.bytes.iter().any(|byte| byte.is_doubtful()), "{}", preset.name);
    }
}

/// The frequency that `sox` measures over a whole recording, to about a per cent.
fn rough_frequency(path: &Path) -> Option<f64> {
    let directory = path.parent().expect("in a directory");
    let arguments = [path.to_str().expect("a name"), "-n", "stat"];
    let output = Command::new("sox").args(arguments).current_dir(directory).output();
    let Ok(output) = output else {
        tool::skip("sox");
        return None;
    };
    let text = String::from_utf8_lossy(&output.stderr).into_owned();
    let line = text.lines().find(|line| line.starts_with("Rough")).expect("a frequency");
    line.split_whitespace().last().and_then(|value| value.parse().ok())
}

#[test]
fn sox_hears_the_tones() {
    for preset in &PRESETS {
        let directory = tempfile::tempdir().expect("a directory");
        let path = directory.path().join("tone.wav");
        let modulation = preset.modulation;
        let pauses = Pauses { leader: 2.0, gap: 0.0, trailer: 0.0 };
        record(&path, &[], &modulation, &pauses, &Sound::default());
        let Some(mark) = rough_frequency(&path) else { return };
        assert!((mark / modulation.mark_hz() - 1.0).abs() < 0.02, "{}: mark at {mark} Hz", preset.name);
        // With the tones exchanged, the leader sounds what space sounds.
        let exchanged =
            Modulation::new(modulation.space_hz(), modulation.mark_hz(), modulation.baud(), 1).expect("tones");
        record(&path, &[], &exchanged, &pauses, &Sound::default());
        let space = rough_frequency(&path).expect("it is installed");
        assert!((space / modulation.space_hz() - 1.0).abs() < 0.02, "{}: space at {space} Hz", preset.name);
    }
}

/// Off speed, with hum, hiss and a drop-out, at another rate, in one channel of two: done by `sox`, read back whole but
/// for what the drop-out took, and that is doubtful.
#[test]
fn a_tape_that_sox_wore_out_is_read_back() {
    let preset = Preset::named("byte-300").expect("a preset");
    let directory = tempfile::tempdir().expect("a directory");
    let sound = Sound { sample_rate: 48_000, ..Sound::default() };
    let pauses = Pauses { leader: 1.0, gap: 1.0, trailer: 0.5 };
    let [one, two] = [all_bytes()[..40].to_vec(), all_bytes()[20..60].to_vec()];
    record(&directory.path().join("tape.wav"), &[&one, &two], &preset.modulation, &pauses, &sound);
    let steps: [&[&str]; 9] = [
        &["tape.wav", "fast.wav", "speed", "1.09"],
        // 15 ms are lost at 2 s.
        &["fast.wav", "before.wav", "trim", "0", "2.0"],
        &["fast.wav", "after.wav", "trim", "2.015"],
        &["-n", "-r", "48000", "-c", "1", "-b", "16", "gap.wav", "trim", "0", "0.015"],
        &["before.wav", "gap.wav", "after.wav", "whole.wav"],
        &["whole.wav", "-r", "22050", "-b", "24", "-c", "2", "worn.wav", "gain", "-9", "remix", "0", "1v0.5"],
        // The tape's peak is 0.09 by now: hum 6 dB above it, and hiss.
        &["-R", "-n", "-r", "22050", "-c", "2", "-b", "24", "hum.wav", "synth", "8", "sine", "50", "vol", "0.18"],
        &["-R", "-n", "-r", "22050", "-c", "2", "-b", "24", "hiss.wav", "synth", "8", "whitenoise", "vol", "0.05"],
        &["-m", "worn.wav", "hum.wav", "hiss.wav", "bad.wav"],
    ];
    for step in steps {
        if tool::run("sox", step, directory.path()).is_none() {
            return;
        }
    }
    let reading = play(&directory.path().join("bad.wav"), &preset.modulation);
    assert_eq!(reading.facts.sample_rate, 22_050);
    let runs = reading.runs(0.5);
    assert_eq!(runs.len(), 2);
    assert!((reading.carriers[0].quality.speed() - 1.09).abs() < 0.01);
    let sent: Vec<u8> = one.iter().chain(&two).copied().collect();
    let pairs = || reading.bytes.iter().zip(&sent).filter(|(heard, sent)| heard.value != **sent);
    assert_eq!(reading.bytes.len(), sent.len());
    assert!(pairs().count() <= 2, "{} wrong", pairs().count());
    assert!(pairs().all(|(heard, _)| heard.is_doubtful() && (1.9..2.1).contains(&heard.from)));
}
