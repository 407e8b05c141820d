//! Lexing alone against the whole assembly of the same source, in one run; growth with the size of the source; the whole
//! process against the host's own system assembler. Ends with exit code 1 if a budget of the design is missed.

mod sources;

use std::hint::black_box;
use std::io::Write;
use std::path::Path;
use std::process::{Command, ExitCode, Stdio};
use std::time::{Duration, Instant};

use coldwright::assembler::{Options, StdlibOnly, assemble};
use coldwright::source::{Origin, SourceId, SourceMap};
use coldwright::syntax::{Names, lex_line};

/// The whole assembly may take this many times what lexing takes.
const MOST_TIMES_LEXING: f64 = 2.5;
/// Twelve times the lines may take this many times the time, if growth is linear.
const MOST_GROWTH: f64 = 12.0 * 1.35;

fn main() -> ExitCode {
    let text = sources::program(30_000);
    let lines = text.lines().count();
    let (mut sources, root) = read(&text);
    let (lexing, whole, times) = compared(|| lexed(&text), || assembled(&mut sources, root));
    println!(
        "source            {lines} lines, {} bytes of text, {} bytes of code",
        text.len(),
        assembled(&mut sources, root)
    );
    println!("lexing alone      {lexing:?}");
    println!("whole assembly    {whole:?} = {times:.2} times lexing (at most {MOST_TIMES_LEXING})");

    let few = sources::sparse(30_000);
    let many = sources::sparse(360_000);
    let growth =
        mean_of(5, || read_and_assembled(&many)).as_secs_f64() / mean_of(60, || read_and_assembled(&few)).as_secs_f64();
    println!("growth            12 times the lines take {growth:.1} times the time (at most {MOST_GROWTH:.1})");

    let faster = against_system_assembler(&text);
    let missed = times > MOST_TIMES_LEXING || growth > MOST_GROWTH || faster.is_some_and(|times| times < 1.0);
    if missed { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

fn read(text: &str) -> (SourceMap, SourceId) {
    let mut sources = SourceMap::default();
    let root = sources.add("bench.asm", text, Origin::Given);
    (sources, root)
}

/// Reads and assembles a text whose expansions add sources of their own.
fn read_and_assembled(text: &str) -> usize {
    let (mut sources, root) = read(text);
    assembled(&mut sources, root)
}

fn assembled(sources: &mut SourceMap, root: SourceId) -> usize {
    let assembly = assemble(sources, root, &Options::default(), &mut StdlibOnly);
    assert!(!assembly.diagnostics.has_errors());
    black_box(assembly.image.len())
}

/// The lines of a text as the assembler takes them: blanks and comments dropped.
fn lexed(text: &str) -> usize {
    let (mut names, mut tokens, mut count, mut next) = (Names::default(), Vec::new(), 0, Some(0));
    while let Some(start) = next {
        next = lex_line(text, start, &mut names, &mut tokens);
        count += black_box(&tokens).len();
    }
    count
}

/// Times of two works, and how many times longer the second takes. The two take turns, and the ratio is the median over
/// the turns, so that a machine that grows slower or busier meanwhile slows both.
fn compared(mut one: impl FnMut() -> usize, mut other: impl FnMut() -> usize) -> (Duration, Duration, f64) {
    let mut turns: Vec<_> = (0..9).map(|_| (series(80, &mut one), series(40, &mut other))).collect();
    turns.sort_by_key(|(one, other)| (other.as_nanos() << 32) / one.as_nanos().max(1));
    let (one, other) = turns[turns.len() / 2];
    (one, other, other.as_secs_f64() / one.as_secs_f64())
}

/// The mean of some runs in the best of three series, so that a moment in which the machine was busy does not count.
fn mean_of(runs: u32, mut work: impl FnMut() -> usize) -> Duration {
    (0..3).map(|_| series(runs, &mut work)).min().unwrap_or_default()
}

/// The mean of one series, in processor time where the system tells it.
fn series(runs: u32, work: &mut impl FnMut() -> usize) -> Duration {
    let (start, wall) = (processor_time(), Instant::now());
    for _ in 0..runs {
        black_box(work());
    }
    let spent = match (start, processor_time()) {
        (Some(start), Some(end)) => end - start,
        _ => wall.elapsed(),
    };
    spent / runs
}

/// The time this thread has run, on Linux, in steps of some milliseconds.
fn processor_time() -> Option<Duration> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    text.split_whitespace().next()?.parse().ok().map(Duration::from_nanos)
}

/// How many times faster the whole process is than `as` on as many lines; `None` without `as`.
fn against_system_assembler(text: &str) -> Option<f64> {
    let folder = std::env::temp_dir().join("coldwright-bench");
    std::fs::create_dir_all(&folder).ok()?;
    let (ours, theirs) = (folder.join("ours.asm"), folder.join("theirs.s"));
    std::fs::write(&ours, text).ok()?;
    std::fs::write(&theirs, host_source(text.lines().count())).ok()?;
    let own = process(Command::new(env!("CARGO_BIN_EXE_coldwright")).arg("assemble").arg(&ours).arg("-o"), &folder)?;
    let Some(system) = process(Command::new("as").arg(&theirs).arg("-o"), &folder) else {
        println!("whole process     {own:?}; `as` is not on this machine");
        return None;
    };
    let times = system.as_secs_f64() / own.as_secs_f64();
    println!("whole process     {own:?}; `as` takes {system:?}, {times:.1} times as long (more than 1, aim at 2)");
    Some(times)
}

fn process(command: &mut Command, folder: &Path) -> Option<Duration> {
    command.arg(folder.join("out.bin")).stdout(Stdio::null());
    let mut best = Duration::MAX;
    for _ in 0..15 {
        let start = Instant::now();
        command.status().ok().filter(|status| status.success())?;
        best = best.min(start.elapsed());
    }
    std::io::stdout().flush().ok()?;
    Some(best)
}

/// As many lines of host assembly: labels, jumps, data.
fn host_source(lines: usize) -> String {
    let mut out = String::new();
    for block in 0..lines / 5 {
        out += &format!("L{block}:\n\tnop\n\t.byte 'B', 13, {}\n\t.long L{block} + 4\n\tnop # go on\n", block % 200);
    }
    out
}
