//! Lexing alone against the whole assembly of the same source, in one run; growth with the size of the source; the whole
//! process against the host's own system assembler. Ends with exit code 1 if a budget of the design is missed.

mod lexing;
mod sources;

use std::hint::black_box;
use std::process::{Command, ExitCode, Stdio};
use std::time::{Duration, Instant};

use coldwright::assembler::{Assembly, Options, StdlibOnly, assemble};
use coldwright::source::{Origin, SourceId, SourceMap};
use lexing::lexed;

/// The whole assembly may take this many times what lexing takes.
const MOST_TIMES_LEXING: f64 = 2.5;
/// How many times as long the longer source is, by which growth is seen.
const TIMES: u32 = 12;
/// So many times the lines may take this many times the time, if growth is linear.
const MOST_GROWTH: f64 = TIMES as f64 * 1.35;

/// More than any of the works below takes at once.
const KEPT: usize = 31 << 20;

fn main() -> ExitCode {
    keep_memory();
    let text = sources::program(30_000);
    let lines = text.lines().count();
    let (mut sources, root) = read(&text);
    let (lexing, whole, times) = compared(60, (5, || lexed(&text)), (5, || assembled(&mut sources, root)));
    println!(
        "source            {lines} lines, {} bytes of text, {} bytes of code",
        text.len(),
        assembled(&mut sources, root)
    );
    println!("lexing alone      {lexing:?}");
    println!("whole assembly    {whole:?} = {times:.2} times lexing (at most {MOST_TIMES_LEXING})");

    let few = sparse(30_000);
    let many = sparse(30_000 * TIMES as usize);
    let (short, long, growth) = grown(40, || read_and_assembled(&few), || read_and_assembled(&many));
    println!(
        "growth            {short:?}; {TIMES} times the lines {long:?}, {growth:.1} times (at most {MOST_GROWTH:.1})"
    );

    let faster = against_system_assembler(&text);
    let missed = times > MOST_TIMES_LEXING || growth > MOST_GROWTH || faster.is_some_and(|times| times < 1.0);
    if missed { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

/// Has the allocator keep what is freed. An allocator that hands it back to the system between two runs gets it again page by
/// page, which takes longer the more else goes on at the machine, and longest for whoever uses the most. One that has seen a
/// large block come and go keeps as much.
fn keep_memory() {
    drop(black_box(vec![1_u8; KEPT]));
}

fn read(text: &str) -> (SourceMap, SourceId) {
    let mut sources = SourceMap::default();
    let root = sources.add("bench.asm", text, Origin::Given);
    (sources, root)
}

/// Reads and assembles a text whose expansions add sources of their own; what comes of it is kept.
fn read_and_assembled(text: &str) -> (SourceMap, Assembly) {
    let (mut sources, root) = read(text);
    let assembly = assembly(&mut sources, root);
    (sources, assembly)
}

fn assembled(sources: &mut SourceMap, root: SourceId) -> usize {
    black_box(assembly(sources, root).image.len())
}

fn assembly(sources: &mut SourceMap, root: SourceId) -> Assembly {
    let assembly = assemble(sources, root, &Options::default(), &mut StdlibOnly);
    assert!(!assembly.diagnostics.has_errors());
    assembly
}

/// Times of two works, and how many times longer the second takes. They take short turns, of which the least time of each
/// counts, since what else goes on at a machine only ever adds; and of the turns that counts whose ratio is the median, since
/// a machine that changes its pace slows both.
fn compared(
    turns: usize,
    (runs, mut one): (usize, impl FnMut() -> usize),
    (other_runs, mut other): (usize, impl FnMut() -> usize),
) -> (Duration, Duration, f64) {
    let least =
        |runs: usize, work: &mut dyn FnMut() -> usize| (0..runs).map(|_| time_of(work)).min().unwrap_or_default();
    let mut turns: Vec<_> = (0..turns).map(|_| (least(runs, &mut one), least(other_runs, &mut other))).collect();
    turns.sort_by_key(|(one, other)| (other.as_nanos() << 32) / one.as_nanos().max(1));
    let (one, other) = turns[turns.len() / 2];
    (one, other, other.as_secs_f64() / one.as_secs_f64())
}

/// The time of one of [`TIMES`] short runs and of one that is as long as all of them, and how many times the second is the
/// first. What the short ones made is kept until all are done, as the long one keeps all that it makes: so both take as
/// much memory from the system, and as much of what else the machine does. The turn in the middle counts.
fn grown<T>(turns: usize, short: impl Fn() -> T, long: impl Fn() -> T) -> (Duration, Duration, f64) {
    let all = || (0..TIMES).map(|_| short()).collect::<Vec<_>>();
    let turn = |_| (time_of(&mut || all().len()) / TIMES, time_of(&mut || [long()].len()));
    let mut turns: Vec<_> = (0..turns).map(turn).collect();
    turns.sort_by_key(|(short, long)| (long.as_nanos() << 32) / short.as_nanos().max(1));
    let (short, long) = turns[turns.len() / 2];
    (short, long, long.as_secs_f64() / short.as_secs_f64())
}

fn time_of(work: &mut dyn FnMut() -> usize) -> Duration {
    let start = Instant::now();
    black_box(work());
    start.elapsed()
}

/// How many times faster the whole process is than `as` on as many lines; `None` without `as`.
fn against_system_assembler(text: &str) -> Option<f64> {
    let folder = std::env::temp_dir().join("coldwright-bench");
    std::fs::create_dir_all(&folder).ok()?;
    let (ours, theirs) = (folder.join("ours.asm"), folder.join("theirs.s"));
    std::fs::write(&ours, text).ok()?;
    std::fs::write(&theirs, host_source(text.lines().count())).ok()?;
    let mut own = Command::new(env!("CARGO_BIN_EXE_coldwright"));
    own.arg("assemble").arg(&ours).arg("-o").arg(folder.join("out.bin"));
    let mut system = Command::new("as");
    system.arg(&theirs).arg("-o").arg(folder.join("out.o"));
    let (mut own_least, mut system_least) = (process(&mut own)?, process(&mut system));
    if system_least.is_none() {
        println!("whole process     {own_least:?}; `as` is not on this machine");
    }
    for _ in 0..20 {
        own_least = own_least.min(process(&mut own)?);
        system_least = Some(system_least?.min(process(&mut system)?));
    }
    let (own, system) = (own_least, system_least?);
    let times = system.as_secs_f64() / own.as_secs_f64();
    println!("whole process     {own:?}; `as` takes {system:?}, {times:.1} times as long (more than 1, aim at 2)");
    Some(times)
}

/// How long a process takes; `None` where it cannot be run.
fn process(command: &mut Command) -> Option<Duration> {
    let start = Instant::now();
    command.stdout(Stdio::null()).status().ok().filter(|status| status.success())?;
    Some(start.elapsed())
}

/// As many lines of host assembly: labels, jumps, data.
fn host_source(lines: usize) -> String {
    let mut out = String::new();
    for block in 0..lines / 5 {
        out += &format!("L{block}:\n\tnop\n\t.byte 'B', 13, {}\n\t.long L{block} + 4\n\tnop # go on\n", block % 200);
    }
    out
}

/// A source of `lines` lines, most of which make no code: comments, conditionals and macro calls.
fn sparse(lines: usize) -> String {
    let mut out = String::from("TICK\tMACRO\tX\nN\tSET\tN+X\n\tENDM\nN\tSET\t0\n");
    for _ in 0..lines / 8 {
        out.push_str(
            "; a comment of the usual length, which says what the next lines are for\n\
             \tIF\tN EQ 0FFFFH\n\
             \tMVI\tA,1\n\
             \tELSE\n\
             ; the other way\n\
             \tTICK\t1\n\
             \tENDIF\n\
             \n",
        );
    }
    out
}
