//! The table of what a reading must survive: one row a requirement, for the bench (whole) and for the tests (short).

use coldwright::audio::{Modulation, Preset, Reading};

use crate::damage::{
    LEADER, Random, byte_errors, drop_out, fade, hiss, hum, noise, play, read_back, swing, tape, textbook_byte_error,
    tilt,
};

/// How much of each row is done.
#[derive(Clone, Copy)]
pub struct Amount {
    /// Bytes on each tape.
    pub bytes: usize,
    /// Tapes, each with its own seed, for the rows with noise.
    pub seeds: u64,
}

/// A measured row.
#[allow(dead_code, reason = "a test needs less of it than the bench")]
pub struct Row {
    pub name: String,
    pub bytes: usize,
    pub errors: usize,
    /// Wrong bytes that were not said to be doubtful, on tapes where none was lost or made up.
    pub undoubted: usize,
    pub doubtful: usize,
    /// Errors that are allowed.
    pub allowed: f64,
}

#[allow(dead_code, reason = "for the bench")]
impl Row {
    pub fn holds(&self) -> bool {
        self.errors as f64 <= self.allowed
    }
}

type Damage = Box<dyn Fn(Vec<f32>, u64) -> Vec<f32>>;

fn in_place(damage: impl Fn(&mut [f32], u64) + 'static) -> Damage {
    Box::new(move |mut samples, seed| {
        damage(&mut samples, seed);
        samples
    })
}

/// What is done to a tape, and whether another seed makes another row of it.
fn damages() -> Vec<(&'static str, bool, Damage)> {
    let faint = |samples: &mut [f32], seed| noise(samples, 20.0, seed);
    vec![
        ("nothing", false, in_place(|_, _| ())),
        ("0.85 of nominal speed", false, Box::new(|s, _| play(&s, |_| 0.85))),
        (
            "0.93 of nominal speed, noise at 20 dB",
            true,
            Box::new(move |s, seed| {
                let mut played = play(&s, |_| 0.93);
                faint(&mut played, seed);
                played
            }),
        ),
        (
            "1.07 of nominal speed, noise at 20 dB",
            true,
            Box::new(move |s, seed| {
                let mut played = play(&s, |_| 1.07);
                faint(&mut played, seed);
                played
            }),
        ),
        ("1.15 of nominal speed", false, Box::new(|s, _| play(&s, |_| 1.15))),
        ("wow, 6 per cent at 0.5 Hz", false, Box::new(|s, _| play(&s, swing(0.06, 0.5)))),
        ("flutter, 1.5 per cent at 8 Hz", false, Box::new(|s, _| play(&s, swing(0.015, 8.0)))),
        ("50 Hz hum, 6 dB above the signal", false, in_place(|s, _| hum(s, 50.0, 6.0))),
        ("60 Hz hum, 6 dB above the signal", false, in_place(|s, _| hum(s, 60.0, 6.0))),
        ("inverted", false, in_place(|s, _| s.iter_mut().for_each(|v| *v = -*v))),
        ("level falling by 20 dB", false, in_place(|s, _| fade(s, 20.0))),
        ("DC, a fifth of full scale", false, in_place(|s, _| s.iter_mut().for_each(|v| *v += 0.2))),
        ("clipped at an eighth", false, in_place(|s, _| s.iter_mut().for_each(|v| *v = v.clamp(-0.06, 0.06)))),
        ("dull: low-pass at 300 Hz", false, in_place(|s, _| tilt(s, 300.0, false))),
        ("shrill: high-pass at 5 kHz", false, in_place(|s, _| tilt(s, 5000.0, true))),
        ("noise at 0 dB over 22 kHz", true, in_place(|s, seed| noise(s, 0.0, seed))),
        ("noise at -3 dB", true, in_place(|s, seed| noise(s, -3.0, seed))),
        ("noise at -5 dB", true, in_place(|s, seed| noise(s, -5.0, seed))),
        (
            "all at once: 1.08, wow 3, flutter 0.5, hum, fall of 12 dB, noise at 6 dB",
            true,
            Box::new(|s, seed| {
                let (wow, flutter) = (swing(0.03, 0.5), swing(0.005, 8.0));
                let mut all = play(&s, |t| 1.08 * wow(t) * flutter(t));
                noise(&mut all, 6.0, seed);
                fade(&mut all, 12.0);
                hum(&mut all, 50.0, 0.0);
                all
            }),
        ),
    ]
}

/// Noise in the wide rows is counted for 300 baud; four times the rate needs four times the power.
const WIDE_NOISE: [&str; 4] = ["noise at 0 dB over 22 kHz", "noise at -3 dB", "noise at -5 dB", "all at once"];

/// Measures all rows of a preset, handing each to `done` as soon as it is there.
pub fn measure(preset: &'static Preset, amount: Amount, mut done: impl FnMut(Row)) {
    let modulation = preset.modulation;
    for (name, is_random, damage) in damages() {
        if modulation.baud() > 300.0 && WIDE_NOISE.iter().any(|wide| name.starts_with(wide)) {
            continue;
        }
        let seeds = if is_random { amount.seeds.min(4) } else { 1 };
        done(row(preset, name.into(), amount.bytes, seeds, 0.0, &damage));
    }
    // The same energy per bit over noise density as -5 and -6 dB are at 300 baud.
    let faster = 10.0 * (modulation.baud() / 300.0).log10();
    let levels: &[f64] = if faster > 0.0 { &[-5.0, -6.0] } else { &[-6.0] };
    for level in levels.iter().map(|level| level + faster) {
        let predicted = textbook_byte_error(level, modulation.baud()) * (amount.bytes as u64 * amount.seeds) as f64;
        let allowed = if level - faster > -5.5 { 0.0 } else { 2.0 * predicted };
        let damage = in_place(move |s, seed| noise(s, level, seed));
        done(row(preset, format!("noise at {level:.0} dB"), amount.bytes, amount.seeds, allowed, &damage));
    }
}

fn row(preset: &'static Preset, name: String, bytes: usize, seeds: u64, allowed: f64, damage: &Damage) -> Row {
    let total = bytes * seeds as usize;
    let mut row = Row { name, bytes: total, errors: 0, undoubted: 0, doubtful: 0, allowed };
    for seed in 0..seeds {
        let sent = Random(1000 + seed).bytes(bytes);
        let samples = damage(tape(&sent, &preset.modulation), 77 + seed);
        let reading = read_back(&samples, &preset.modulation);
        row.errors += byte_errors(&sent, &reading.values());
        row.doubtful += reading.bytes.iter().filter(|byte| byte.is_doubtful()).count();
        if reading.bytes.len() == sent.len() {
            let pairs = reading.bytes.iter().zip(&sent);
            row.undoubted += pairs.filter(|(heard, sent)| heard.value != **sent && !heard.is_doubtful()).count();
        }
    }
    row
}

/// What is read from `seconds` of noise alone.
pub fn noise_alone(modulation: &Modulation, seconds: usize, seed: u64) -> Reading {
    let mut samples = vec![0.0; seconds * 44_100];
    hiss(&mut samples, 0.1, seed);
    read_back(&samples, modulation)
}

/// A tape with drop-outs of six bits; returns what was sent, what was read, and how many characters were hit.
pub fn with_drop_outs(modulation: &Modulation, bytes: usize) -> (Vec<u8>, Reading, usize) {
    let sent = Random(5).bytes(bytes);
    let mut samples = tape(&sent, modulation);
    let seconds = bytes as f64 * modulation.character_seconds();
    let times: Vec<f64> = (1..6).map(|n| LEADER + seconds * f64::from(n) / 6.0).collect();
    let length = 6.0 / modulation.baud();
    drop_out(&mut samples, &times, length);
    let each = (length / modulation.character_seconds()).ceil() as usize + 1;
    (sent, read_back(&samples, modulation), 5 * each)
}
