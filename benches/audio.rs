//! What a reading survives and how quick it is: prints the tables of `docs/audio.md` and fails where a requirement is not
//! met. `cargo bench --bench audio`; a preset's name as an argument measures that one alone, `speeds` only how quick it is,
//! `hardships` only what is measured beside a general software modem, `runs` every run of one byte, 160 hours of sound.

#[path = "../tests/support/damage.rs"]
mod damage;
#[path = "../tests/support/audio_table.rs"]
mod audio_table;
#[path = "../tests/support/hardships.rs"]
mod hardships;
#[path = "../tests/support/modem.rs"]
mod modem;

use std::process::ExitCode;
use std::time::Instant;

use coldwright::audio::{PRESETS, Preset, Sound, read, write};

use audio_table::{Amount, Row, measure, noise_alone, with_drop_outs};
use damage::{RATE, Random, byte_errors, difference, noise, read_back, scaled, tape, wav};
use hardships::{Hardship, hardships, runs};

/// 2 KiB a tape.
const WHOLE: Amount = Amount { bytes: 2048, seeds: 8 };
/// Times faster than playing that reading must be on two processors, 44.1 kHz mono.
const READING: f64 = 300.0;
/// Times faster than playing that writing must be on one processor.
const WRITING: f64 = 1000.0;

/// Bytes of a tape that is measured beside the modem.
const HARD_BYTES: usize = 512;
/// Bytes of a run in each row of the table, and of every run of the sweep.
const RUN_BYTES: usize = 2048;
const SWEPT: [usize; 4] = [100, 511, 1500, 4096];

/// The parts that can be asked for.
const PARTS: [&str; 4] = ["table", "hardships", "speeds", "runs"];

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).filter(|argument| !argument.starts_with("--")).collect();
    let (parts, names): (Vec<&String>, Vec<&String>) =
        arguments.iter().partition(|argument| PARTS.contains(&argument.as_str()));
    let presets = || PRESETS.iter().filter(|preset| names.is_empty() || names.iter().any(|name| *name == preset.name));
    let asked = |part: &str| if parts.is_empty() { part != "runs" } else { parts.iter().any(|asked| *asked == part) };
    let mut failures = 0;
    if asked("table") {
        println!("Wrong bytes (lost, made up or changed) on tapes of {} random bytes, 44.1 kHz:", WHOLE.bytes);
        for preset in presets() {
            println!("\n{:72} {:>6} {:>8} {:>9} {:>9}", preset.name, "bytes", "wrong", "allowed", "doubtful");
            measure(preset, WHOLE, |row| failures += print(&row));
            failures += print_claims(preset);
        }
    }
    if asked("hardships") {
        println!("\nBeside a general software modem, {HARD_BYTES} random bytes or {RUN_BYTES} alike, 44.1 kHz:");
        for preset in presets() {
            println!("\n{:72} {:>6} {:>8} {:>9}", preset.name, "wrong", "silent", "the modem");
            failures += hardships().iter().map(|row| print_hardship(preset, row, HARD_BYTES)).sum::<usize>();
            failures += runs().iter().map(|row| print_hardship(preset, row, RUN_BYTES)).sum::<usize>();
        }
    }
    if asked("speeds") {
        println!("\nTimes faster than playing, ten minutes at 44.1 kHz mono, 16 bits:");
        println!("{:20} {:>10} {:>14} {:>10} {:>14}", "", "reading", "per processor", "writing", "per processor");
        failures += presets().map(print_speeds).sum::<usize>();
    }
    if asked("runs") {
        failures += presets().map(sweep_runs).sum::<usize>();
    }
    println!("\n{}", if failures == 0 { "every requirement is met".into() } else { format!("{failures} not met") });
    if failures == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// A tape in one state, read by us and by the modem: not worse than it, and no wrong byte that nothing tells of.
fn print_hardship(preset: &'static Preset, row: &Hardship, bytes: usize) -> usize {
    let worn = row.wear(preset, bytes, 3);
    let ours = difference(&worn.sent, &read_back(&worn.samples, &preset.modulation));
    let theirs = heard_by_modem(preset, &worn.samples).map(|heard| byte_errors(&worn.sent, &heard));
    let met = ours.silent == 0 && theirs.is_none_or(|theirs| ours.wrong <= theirs);
    let told = theirs.map_or("-".into(), |wrong| wrong.to_string());
    println!("  {:70} {:6} {:8} {told:>9}{}", row.name, ours.wrong, ours.silent, if met { "" } else { "  NOT MET" });
    usize::from(!met)
}

/// What the modem reads of samples; `None` where it is not installed.
fn heard_by_modem(preset: &Preset, samples: &[f32]) -> Option<Vec<u8>> {
    let directory = tempfile::tempdir().expect("a folder for a recording");
    std::fs::write(directory.path().join("worn.wav"), wav(&[&scaled(samples)], RATE)).expect("room for a recording");
    modem::run("--rx", &preset.modulation, &[], "worn.wav", directory.path())
}

/// Every run of one byte, of several lengths, clean and under noise.
fn sweep_runs(preset: &'static Preset) -> usize {
    let mut failures = 0;
    for (length, ratio_db) in SWEPT.into_iter().flat_map(|length| [(length, None), (length, Some(-3.0))]) {
        let is_read = |byte: u8| {
            let worn = Hardship::run(byte, ratio_db).wear(preset, length, u64::from(byte));
            let reading = read_back(&worn.samples, &preset.modulation);
            reading.values() == worn.sent
                && (ratio_db.is_some() || !reading.bytes.iter().any(|byte| byte.is_doubtful()))
        };
        let wrong: Vec<String> = (0..=255).filter(|byte| !is_read(*byte)).map(|byte| format!("{byte:03o}")).collect();
        let noisy = ratio_db.map_or(String::new(), |ratio| format!(" at {ratio} dB"));
        println!("{}: runs of {length}{noisy}, all 256 values: {} wrong {}", preset.name, wrong.len(), wrong.join(" "));
        failures += wrong.len();
    }
    failures
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
