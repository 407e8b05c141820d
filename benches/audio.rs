//! What a reading survives and how quick it is: prints the tables of `docs/audio.md` and fails where a requirement is not
//! met. `cargo bench --bench audio`; a preset's name as an argument measures that one alone, `speeds` only how quick it is.

#[path = "../tests/support/damage.rs"]
mod damage;
#[path = "../tests/support/audio_table.rs"]
mod audio_table;

use std::process::ExitCode;
use std::time::Instant;

use coldwright::audio::{PRESETS, Preset, Sound, read, write};

use audio_table::{Amount, Row, measure, noise_alone, with_drop_outs};
use damage::{RATE, Random, noise, tape, wav};

/// 2 KiB a tape.
const WHOLE: Amount = Amount { bytes: 2048, seeds: 8, every: 1 };
/// Times faster than playing that reading must be on two processors, 44.1 kHz mono.
const READING: f64 = 300.0;
/// Times faster than playing that writing must be on one processor.
const WRITING: f64 = 1000.0;

fn main() -> ExitCode {
    let mut wanted: Vec<String> = std::env::args().skip(1).filter(|argument| !argument.starts_with("--")).collect();
    let only_speeds = wanted.iter().any(|argument| argument == "speeds");
    wanted.retain(|argument| argument != "speeds");
    let presets = || PRESETS.iter().filter(|p| wanted.is_empty() || wanted.iter().any(|name| name == p.name));
    let mut failures = 0;
    println!("Wrong bytes (lost, made up or changed) on tapes of {} random bytes, 44.1 kHz:", WHOLE.bytes);
    for preset in presets().filter(|_| !only_speeds) {
        println!("\n{:72} {:>6} {:>8} {:>9} {:>9}", preset.name, "bytes", "wrong", "allowed", "doubtful");
        measure(preset, WHOLE, |row| failures += print(&row));
        failures += print_claims(preset);
    }
    println!("\nTimes faster than playing, ten minutes at 44.1 kHz mono, 16 bits:");
    println!("{:20} {:>10} {:>14} {:>10} {:>14}", "", "reading", "per processor", "writing", "per processor");
    for preset in presets() {
        failures += print_speeds(preset);
    }
    println!("\n{}", if failures == 0 { "every requirement is met".into() } else { format!("{failures} not met") });
    if failures == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn print(row: &Row) -> usize {
    let verdict = if row.holds() { "" } else { "  NOT MET" };
    println!("  {:70} {:6} {:8} {:9.1} {:9}{verdict}", row.name, row.bytes, row.errors, row.allowed, row.doubtful);
    usize::from(!row.holds())
}

/// No false claims: nothing is read from noise, and what a drop-out spoils is doubtful.
fn print_claims(preset: &'static Preset) -> usize {
    let heard = noise_alone(&preset.modulation, 600, 9).bytes.len();
    let (sent, reading, _) = with_drop_outs(&preset.modulation, 1000);
    let wrong = || reading.bytes.iter().zip(&sent).filter(|(heard, sent)| heard.value != **sent);
    let hidden = wrong().filter(|(heard, _)| !heard.is_doubtful()).count();
    println!("  bytes from ten minutes of noise alone: {heard}");
    println!("  five drop-outs of six bits: {} bytes wrong, {hidden} of them not said to be doubtful", wrong().count());
    usize::from(heard > 0) + usize::from(hidden > 0)
}

fn print_speeds(preset: &'static Preset) -> usize {
    let modulation = &preset.modulation;
    let bytes = Random(3).bytes((600.0 / modulation.character_seconds()) as usize);
    let mut samples = tape(&bytes, modulation);
    noise(&mut samples, 12.0, 4);
    let recording = wav(&[&samples], RATE);
    let seconds = samples.len() as f64 / f64::from(RATE);
    let reading = timed(seconds, || read(&recording[..], modulation, |_| ()).expect("a recording").bytes.len());
    let writing = timed(seconds, || {
        let mut out = std::io::Cursor::new(Vec::with_capacity(recording.len()));
        write(&mut out, &[&bytes], modulation, &preset.pauses, &Sound::default(), |_| ()).expect("memory");
        out.into_inner().len()
    });
    let met = reading.on_processors(2.0) >= READING && writing.on_processors(1.0) >= WRITING;
    println!(
        "{:20} {:10.0} {:14.0} {:10.0} {:14.0}{}",
        preset.name,
        reading.by_clock,
        reading.by_processor,
        writing.by_clock,
        writing.by_processor,
        if met { "" } else { "  NOT MET" }
    );
    usize::from(!met)
}

/// How many times faster than playing something went.
struct Speed {
    /// By the clock on the wall, the best of five.
    by_clock: f64,
    /// By the time that it had one processor to itself, all five; not a number where the system does not tell.
    by_processor: f64,
}

impl Speed {
    /// The speed with so many processors to itself, whatever else the machine was doing.
    fn on_processors(&self, count: f64) -> f64 {
        self.by_clock.max(count * self.by_processor)
    }
}

fn timed(seconds: f64, mut work: impl FnMut() -> usize) -> Speed {
    let before = processor_seconds();
    let mut once = || {
        let start = Instant::now();
        std::hint::black_box(work());
        seconds / start.elapsed().as_secs_f64()
    };
    let by_clock = (0..5).map(|_| once()).fold(0.0, f64::max);
    Speed { by_clock, by_processor: 5.0 * seconds / (processor_seconds() - before) }
}

/// Processor time of this process so far: fields 14 and 15 of `/proc/self/stat`, in hundredths of a second (proc(5)).
fn processor_seconds() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let behind_name = stat.rsplit(')').next().unwrap_or_default();
    let ticks: Option<f64> =
        behind_name.split_whitespace().skip(11).take(2).map(|field| field.parse::<f64>().ok()).sum();
    ticks.filter(|ticks| *ticks > 0.0).map_or(f64::NAN, |ticks| ticks / 100.0)
}
