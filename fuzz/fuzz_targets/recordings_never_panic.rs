//! Whatever a WAV file says of itself, reading it and looking into it come back.

#![no_main]

use std::io::Cursor;
use std::sync::LazyLock;

use coldwright::audio::{Preset, picture::look, read};

static PRESET: LazyLock<Preset> = LazyLock::new(|| *Preset::named("byte-1200").expect("a preset of the table"));

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    if let Ok(reading) = read(bytes, &PRESET.modulation, |_| ()) {
        assert!(reading.bytes.iter().all(|byte| byte.to >= byte.from));
    }
    let picture = look(Cursor::new(bytes), &PRESET.modulation, 0.0, 0.1, 40);
    assert!(picture.map_or(true, |picture| picture.wave.len() == 40));
});
