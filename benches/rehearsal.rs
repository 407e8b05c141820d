//! The demo chain, and a boot from disk, against the machine they stand for, and the time that building it takes against that
//! of lexing a long source. Fails when a budget is missed.

mod chains;
mod lexing;
mod sources;

use std::hint::black_box;
use std::path::Path;
use std::time::{Duration, Instant};

use coldwright::delivery::files;
use coldwright::project::{Artefacts, Plan, Recordings};
use coldwright::rehearsal::{Outcome, Request, rehearse};
use coldwright::source::SourceMap;
use divan::Bencher;
use lexing::lexed;

use self::chains::chain;

/// The first start, with all that is made for it.
fn rehearsed(plan: &Plan, request: &Request, sources: &SourceMap) -> Outcome {
    let recordings = if request.sound { Recordings::Made } else { Recordings::Left };
    let made = Artefacts::make(plan, sources, recordings).expect("the example can be made");
    let (start, _) = plan.starts.numbered().next().expect("it has a start");
    rehearse(plan, &made, start, request, sources, None, &mut |_| ())
}

/// How many times faster than the machine a rehearsal is, at least.
const FASTER: f64 = 300.0;

/// The same, where the recording is made and read back besides.
const FASTER_WITH_SOUND: f64 = 100.0;

/// Building the chain without sound may take so many times what lexing 30,000 lines takes.
const BUILD: f64 = 60.0;

/// A whole `build` may take so many times as long when nothing has changed.
const UNCHANGED: f64 = 8.0;

/// The least time of lexing 30,000 lines: by it the pace of a machine is known.
fn lexing() -> Duration {
    let text = sources::program(30_000);
    let lex = |_| {
        let began = Instant::now();
        black_box(lexed(&text));
        began.elapsed()
    };
    (0..60).map(lex).min().unwrap_or_default()
}

/// The whole process, from its start to its end: the first build of the demo chain without sound, and the best of
/// several that find nothing changed.
fn processes() -> (Duration, Duration) {
    let folder = tempfile::tempdir().expect("a folder can be made");
    for entry in std::fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/belfry")).expect("it is there")
    {
        let path = entry.expect("it can be read").path();
        if path.is_file() {
            let text = std::fs::read_to_string(&path).expect("it is text").replace("sound = \"byte-300\"", "");
            std::fs::write(folder.path().join(path.file_name().unwrap_or_default()), text).expect("it can be written");
        }
    }
    let build = || {
        let began = Instant::now();
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_coldwright"));
        let done = command.arg("build").current_dir(folder.path()).output().expect("it runs");
        assert!(done.status.success());
        began.elapsed()
    };
    let first = (0..5).map(|_| {
        std::fs::remove_dir_all(folder.path().join("out")).ok();
        build()
    });
    let first = first.min().unwrap_or_default();
    (first, (0..9).map(|_| build()).min().unwrap_or_default())
}

/// How many times faster than the machine the best of nine rehearsals is.
fn ratio_of(plan: &Plan, sources: &SourceMap, request: &Request) -> f64 {
    let ratios = (0..9).map(|_| {
        let began = Instant::now();
        let outcome = rehearsed(plan, request, sources);
        assert!(outcome.agrees());
        outcome.seconds(outcome.ended) / began.elapsed().as_secs_f64()
    });
    ratios.fold(0.0, f64::max)
}

fn main() {
    let (plan, sources) = chain("belfry");
    let (headland, disk_sources) = chain("headland");
    let disk = ratio_of(&headland, &disk_sources, &Request::default());
    let ratio = ratio_of(&plan, &sources, &Request::default());
    let heard = ratio_of(&plan, &sources, &Request { sound: true, ..Request::default() });
    let build = (0..5).map(|_| {
        let began = Instant::now();
        let (plan, sources) = chain("belfry");
        let made = Artefacts::make(&plan, &sources, Recordings::Left).expect("the example can be made");
        assert!(files(&plan, &made, &sources, None).is_ok());
        began.elapsed()
    });
    let build = build.min().unwrap_or_default();
    println!(
        "{ratio:.0} times faster than the machine (at least {FASTER}), {heard:.0} with its recording (at least \
         {FASTER_WITH_SOUND})"
    );
    println!("{disk:.0} times faster than the machine from a disk");
    let lexing = lexing();
    let times = |time: Duration| time.as_secs_f64() / lexing.as_secs_f64();
    println!("built in {build:?}, {:.1} times lexing 30,000 lines in {lexing:?} (at most {BUILD})", times(build));
    let (first, unchanged) = processes();
    let (of_first, of_unchanged) = (times(first), times(unchanged));
    println!(
        "process: built in {first:?}, {of_first:.1} times (at most {BUILD}); unchanged in {unchanged:?}, {of_unchanged:.1} times (at \
         most {UNCHANGED})"
    );
    let slow = times(build.max(first)) > BUILD || of_unchanged > UNCHANGED;
    if ratio < FASTER || heard < FASTER_WITH_SOUND || slow {
        eprintln!("a budget is missed");
        std::process::exit(1);
    }
    divan::main();
}

#[divan::bench]
fn rehearse_belfry(bencher: Bencher) {
    let (plan, sources) = chain("belfry");
    let request = Request::default();
    bencher.bench_local(|| rehearsed(&plan, &request, &sources).instructions);
}

#[divan::bench]
fn rehearse_belfry_from_its_recording(bencher: Bencher) {
    let (plan, sources) = chain("belfry");
    let request = Request { sound: true, ..Request::default() };
    bencher.bench_local(|| rehearsed(&plan, &request, &sources).instructions);
}

#[divan::bench]
fn rehearse_headland_from_its_disk(bencher: Bencher) {
    let (plan, sources) = chain("headland");
    let request = Request::default();
    bencher.bench_local(|| rehearsed(&plan, &request, &sources).instructions);
}
