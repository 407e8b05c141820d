//! What old tapes and their players do besides noise and speed: the level moves, single bytes go on for ever, the capstan
//! flutters, and sparks crackle. One row a hardship, for the bench (whole) and for the tests (short).

#![allow(dead_code, reason = "not every user needs all rows")]

use coldwright::audio::Preset;

use crate::damage::{Random, dips, noise, play, pumping, spikes, swing, tape};

/// A tape and what was sent on it.
pub struct Worn {
    pub sent: Vec<u8>,
    pub samples: Vec<f32>,
}

type Wear = Box<dyn Fn(&Preset, usize, u64) -> Worn>;

/// A row of the table.
pub struct Hardship {
    pub name: String,
    /// What becomes of a tape of so many bytes.
    wear: Wear,
}

impl Hardship {
    fn of_data(name: impl Into<String>, damage: impl Fn(Vec<f32>, u64) -> Vec<f32> + 'static) -> Hardship {
        let wear = move |preset: &Preset, bytes, seed| {
            let sent = Random(1000 + seed).bytes(bytes);
            let samples = damage(tape(&sent, &preset.modulation), 77 + seed);
            Worn { sent, samples }
        };
        Hardship { name: name.into(), wear: Box::new(wear) }
    }

    fn in_place(name: impl Into<String>, damage: impl Fn(&mut [f32], u64) + 'static) -> Hardship {
        Hardship::of_data(name, move |mut samples, seed| {
            damage(&mut samples, seed);
            samples
        })
    }

    /// A run of one byte, clean or under noise.
    pub fn run(byte: u8, ratio_db: Option<f64>) -> Hardship {
        let noisy = ratio_db.map_or(String::new(), |ratio| format!(", noise at {ratio} dB"));
        let wear = move |preset: &Preset, bytes, seed| {
            let sent = vec![byte; bytes];
            let mut samples = tape(&sent, &preset.modulation);
            if let Some(ratio) = ratio_db {
                let faster = 10.0 * (preset.modulation.baud() / 300.0).log10();
                noise(&mut samples, ratio + faster, 77 + seed);
            }
            Worn { sent, samples }
        };
        Hardship { name: format!("nothing but {byte:03o}{noisy}"), wear: Box::new(wear) }
    }

    /// Whether the level moves, and nothing else is done.
    pub fn is_of_level(&self) -> bool {
        ["dips", "gain", "drop-outs"].iter().any(|what| self.name.starts_with(what))
    }

    /// Whether no bit is lost for good.
    pub fn leaves_all(&self) -> bool {
        ["dips of 7", "dips of 12", "gain"].iter().any(|what| self.name.starts_with(what))
    }

    pub fn wear(&self, preset: &Preset, bytes: usize, seed: u64) -> Worn {
        (self.wear)(preset, bytes, seed)
    }
}

/// All rows but the runs.
pub fn hardships() -> Vec<Hardship> {
    let dip = |every, decibels, seconds| move |s: &mut [f32], seed| dips(s, every, decibels, seconds, seed);
    let faint = 50.0;
    vec![
        Hardship::in_place("dips of 7 to 9 dB for 50 to 100 ms", dip(0.4, (7.0, 9.0), (0.05, 0.1))),
        Hardship::in_place("dips of 12 dB for 50 to 300 ms, noise at 30 dB", move |s, seed| {
            dips(s, 0.8, (12.0, 12.0), (0.05, 0.3), seed);
            noise(s, 30.0, seed);
        }),
        Hardship::in_place("dips of 20 dB for 0.3 s, noise at 50 dB", move |s, seed| {
            dips(s, 1.5, (20.0, 20.0), (0.3, 0.3), seed);
            noise(s, faint, seed);
        }),
        Hardship::in_place("gain that pumps by 12 dB", |s, seed| pumping(s, 12.0, seed)),
        Hardship::in_place("gain that pumps by 12 dB, noise at 20 dB", |s, seed| {
            pumping(s, 12.0, seed);
            noise(s, 20.0, seed);
        }),
        Hardship::in_place("drop-outs of 60 ms", |s, seed| dips(s, 1.5, (200.0, 200.0), (0.06, 0.06), seed)),
        Hardship::in_place("drop-outs of 200 ms", |s, seed| dips(s, 2.5, (200.0, 200.0), (0.2, 0.2), seed)),
        Hardship::of_data("flutter, 3 per cent at 8 Hz", |s, _| play(&s, swing(0.03, 8.0))),
        Hardship::of_data("flutter, 2 per cent at 12 Hz", |s, _| play(&s, swing(0.02, 12.0))),
        Hardship::in_place("100 spikes of 0.05 ms a second", |s, seed| spikes(s, 100.0, 0.000_05, seed)),
        Hardship::in_place("100 spikes of 0.1 ms a second", |s, seed| spikes(s, 100.0, 0.0001, seed)),
        Hardship::in_place("100 spikes of 0.2 ms a second", |s, seed| spikes(s, 100.0, 0.0002, seed)),
    ]
}

/// The runs that are the hardest: seen from other places they look like other bytes, or like a pause at another speed.
pub fn runs() -> Vec<Hardship> {
    [0o000, 0o017, 0o177, 0o252, 0o345, 0o377].into_iter().map(|byte| Hardship::run(byte, None)).collect()
}
