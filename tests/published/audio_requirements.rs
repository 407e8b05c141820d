//! The requirements on reading worn tapes, on short tapes; `cargo bench --bench audio` measures them at full length.
//!
//! The bound for noise is that of non-coherent orthogonal binary FSK, `Pb = 1/2 exp(-Eb / 2 N0)` (Proakis, Digital
//! Communications, "Probability of error for envelope detection of orthogonal signals"). Modem pairs are not orthogonal
//! and would do worse than the bound if their phase were not used.

use coldwright::audio::PRESETS;

use crate::audio_table::{Amount, measure, noise_alone, with_drop_outs};

/// On short tapes, where the bound allows for no whole byte, none may be wrong: the seeds are fixed, and so is the outcome.
fn preset_holds(name: &str) {
    let amount = Amount { bytes: 128, seeds: 1 };
    let preset = PRESETS.iter().find(|preset| preset.name == name).expect(name);
    let (mut rows, mut failures) = (0, Vec::new());
    measure(preset, amount, |row| {
        rows += 1;
        if row.errors as f64 > row.allowed.floor() {
            failures
                .push(format!("{}: {} of {} bytes wrong, {:.1} allowed", row.name, row.errors, row.bytes, row.allowed));
        }
    });
    assert!(rows >= 17 && failures.is_empty(), "{name}: {rows} rows, {failures:#?}");
}

#[test]
fn the_1976_standard_survives_what_it_must() {
    preset_holds("byte-300");
}

#[test]
fn the_1200_baud_derivative_survives_what_it_must() {
    preset_holds("byte-1200");
}

#[test]
fn bell_103_survives_what_it_must() {
    preset_holds("bell-103-originate");
    preset_holds("bell-103-answer");
}

#[test]
fn v21_survives_what_it_must() {
    preset_holds("v21-originate");
    preset_holds("v21-answer");
}

#[test]
fn noise_alone_and_silence_give_no_bytes() {
    let seconds = if cfg!(debug_assertions) { 3 } else { 120 };
    for preset in &PRESETS {
        let reading = noise_alone(&preset.modulation, seconds, 9);
        assert!(reading.bytes.is_empty(), "{}: {} bytes", preset.name, reading.bytes.len());
        let silence = crate::damage::read_back(&vec![0.0; 44_100], &preset.modulation);
        assert!(silence.bytes.is_empty() && silence.carriers.is_empty(), "{}", preset.name);
    }
}

#[test]
fn drop_outs_cost_what_they_hit_and_every_wrong_byte_is_doubtful() {
    for name in ["byte-300", "bell-103-answer", "v21-originate"] {
        let preset = PRESETS.iter().find(|preset| preset.name == name).expect(name);
        let (sent, reading, hit) = with_drop_outs(&preset.modulation, if cfg!(debug_assertions) { 60 } else { 600 });
        assert_eq!(reading.bytes.len(), sent.len(), "{name}");
        let wrong: Vec<_> = reading.bytes.iter().zip(&sent).filter(|(heard, sent)| heard.value != **sent).collect();
        assert!(wrong.len() <= hit, "{name}: {} wrong", wrong.len());
        assert!(wrong.iter().all(|(heard, _)| heard.is_doubtful()), "{name}: {wrong:?}");
        let doubtful = reading.bytes.iter().filter(|byte| byte.is_doubtful()).count();
        assert!((1..=2 * hit).contains(&doubtful), "{name}: {doubtful} doubtful");
    }
}
