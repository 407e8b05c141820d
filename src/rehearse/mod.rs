//! `rehearse`: the cold start of a chain, simulated.

mod basis;
mod given;
mod json;
mod loaders;
mod text;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use clap::Args;
use indicatif::ProgressBar;

use self::loaders::Loader;
pub(super) use basis::{basis, verdict};
pub(super) use text::{haste_words, span};

use super::chain::LoadedChain;
use super::panel_options::no_sense_port;
use super::progress::{self, Counted};
use super::report::Report;
use super::values;
use super::{chain, files};
use coldwright::disk::Disk;
use coldwright::line::Speed;
use coldwright::notation::{Address, parse_number};
use coldwright::project::{Artefacts, Home, Id, Plan, Recordings, Start, Tape};
use coldwright::rehearsal::{self, Outcome, Pace, Progress, Request};
use coldwright::source::{Code, Diagnostic, SourceMap, nearest};

/// Rehearse the cold start of a chain, from power-on to the payload
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright rehearse examples/belfry\n  \
    coldwright rehearse examples/rooster --start \"from the EPROM\" --json")]
pub struct Rehearse {
    /// The folder of the chain, or its chain file
    #[arg(default_value = ".", value_name = "DIR")]
    chain: PathBuf,
    /// Rehearse this way to start only
    #[arg(long, value_name = "NAME")]
    start: Option<String>,
    /// Play the recordings that `build` writes, instead of the bytes that they were made from
    #[arg(long)]
    sound: bool,
    /// Play a file instead of what the chain makes for a tape: bytes, or a recording as WAV; may be given for several tapes
    #[arg(long = "tape", value_name = "NAME=FILE", value_parser = tape)]
    tapes: Vec<(String, PathBuf)>,
    /// Start a tape so many seconds after the stage that reads it, -3600 to 3600; less than nought is before RUN
    #[arg(long = "after", value_name = "NAME=SECONDS", value_parser = after)]
    after: Vec<(String, f64)>,
    /// Let the hand set a byte wrong at the panel and not notice; may be given several times
    #[arg(long = "slip", value_name = "ADDRESS=BYTE", value_parser = slip)]
    slips: Vec<(Address, u8)>,
    /// Let the hand leave out the deposit at an address and not notice; may be given several times
    #[arg(long = "skip", value_name = "ADDRESS", value_parser = values::address)]
    skips: Vec<Address>,
    /// Set the sense switches otherwise than the chain file says
    #[arg(long, value_name = "BYTE", value_parser = values::byte)]
    sense: Option<u8>,
    /// What the noise in memory at power-on is drawn from
    #[arg(long, value_name = "NUMBER", default_value = "1")]
    seed: u64,
    /// Play at most so many instructions of a stage; turns of a loop that only waits do not count [default: 1000000000]
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u64).range(1..))]
    instructions: Option<u64>,
    /// Let every disk make so many turns a minute, whatever its layout says
    #[arg(long, value_name = "TURNS", value_parser = turns)]
    rpm: Option<f64>,
    /// Open the doors of all drives so many seconds after RUN
    #[arg(long, value_name = "SECONDS", value_parser = door)]
    door: Option<f64>,
    /// Put a disk file into a drive instead of what the chain makes for a disk; may be given for several disks
    #[arg(long = "disk", value_name = "NAME=FILE", value_parser = tape)]
    disks: Vec<(String, PathBuf)>,
    /// Let the processor have a clock of so many hertz, whatever the machine file says; lines keep their speed
    #[arg(long, value_name = "HERTZ", value_parser = clap::value_parser!(u64).range(1000..=1_000_000_000))]
    clock: Option<u64>,
    /// Let a line, its chip included, have so many baud while a program reads it; once only
    #[arg(long, value_name = "STAGE=BAUD", value_parser = speed)]
    line: Option<(String, Speed)>,
    /// Let what comes down a line come at so many baud while its chip stays as it is; may be given for several lines
    #[arg(long = "sender", value_name = "LINE=BAUD", value_parser = speed)]
    senders: Vec<(String, Speed)>,
    /// Print every instruction with its time and its source
    #[arg(long)]
    trace: bool,
}

fn tape(text: &str) -> Result<(String, PathBuf), String> {
    let (name, file) = text.split_once('=').ok_or("expected a tape's name, `=` and a file")?;
    Ok((name.to_owned(), file.into()))
}

fn after(text: &str) -> Result<(String, f64), String> {
    let (name, seconds) = text.split_once('=').ok_or("expected a tape's name, `=` and seconds")?;
    let seconds = seconds.parse().ok().filter(|seconds| (-3600.0..=3600.0).contains(seconds));
    Ok((name.to_owned(), seconds.ok_or("expected -3600 to 3600 seconds")?))
}

fn speed(text: &str) -> Result<(String, Speed), String> {
    let (name, baud) = text.split_once('=').ok_or("expected a name, `=` and a speed in baud")?;
    let hundredths = baud.parse().ok().map(|baud: f64| (baud * 100.0).round());
    let speed = hundredths.filter(|it| (0.0..=1e9).contains(it)).and_then(|it| Speed::of_hundredths(it as u32));
    Ok((name.to_owned(), speed.ok_or("expected 1 to 1000000 baud")?))
}

fn turns(text: &str) -> Result<f64, String> {
    let turns = text.parse().ok().filter(|turns| (1.0..=10_000.0).contains(turns));
    turns.ok_or_else(|| "expected 1 to 10000 turns a minute".into())
}

fn door(text: &str) -> Result<f64, String> {
    let seconds = text.parse().ok().filter(|seconds| (0.0..=86_400.0).contains(seconds));
    seconds.ok_or_else(|| "expected 0 to 86400 seconds".into())
}

fn slip(text: &str) -> Result<(Address, u8), String> {
    let (address, byte) = text.split_once('=').ok_or("expected an address, `=` and a byte")?;
    let number = |text: &str| parse_number(text).map_err(|error| format!("`{text}` is {error}"));
    let byte = number(byte)?;
    Ok((Address(number(address)?), u8::try_from(byte).map_err(|_| format!("`{byte}` is more than a byte"))?))
}

impl Rehearse {
    pub(super) fn run(self, report: &mut Report) {
        let mut sources = SourceMap::default();
        let Some(mut plan) = chain::load(&self.chain, &mut sources, report) else { return };
        let request = match self.request(&plan, report) {
            Ok(request) => request,
            Err(problem) => return report.problem(problem),
        };
        let starts = match starts_named(&plan, self.start.as_deref()) {
            Ok(starts) => starts,
            Err(problem) => return report.problem(problem),
        };
        if let Err(problem) = self.is_played(&plan, &starts) {
            return report.problem(problem);
        }
        if self.sound && !plan.is_recorded() {
            report.problem(unrecorded());
        }
        let recordings = if self.sound { Recordings::Made } else { Recordings::Left };
        let made = match Artefacts::make(&plan, &sources, recordings) {
            Ok(made) => made,
            Err(problems) => return report.problems(problems, &sources),
        };
        let mut rehearsed = Vec::new();
        for start in starts {
            let mut shown = Shown::new(report.json() || self.trace);
            let mut print = |line: &str| report.print(format!("{line}\n"));
            let trace: Option<&mut rehearsal::Trace> = if self.trace { Some(&mut print) } else { None };
            let outcome =
                rehearsal::rehearse(&plan, &made, start, &request, &sources, trace, &mut |at| shown.update(at));
            let loaders = loaders::loaders(&mut plan, &sources, start, &request, &outcome);
            rehearsed.push((outcome, loaders));
        }
        tell(&plan, rehearsed, &sources, report);
    }

    /// What is to be otherwise than the chain says.
    fn request(&self, plan: &Plan, report: &mut Report) -> Result<Request, Diagnostic> {
        let (given, started) = (self.tapes.iter().map(|it| &it.0), self.after.iter().map(|it| &it.0));
        only_once("tape", given.map(|name| format!("the tape `{name}`")))?;
        only_once("after", started.map(|name| format!("the tape `{name}`")))?;
        let notation = plan.machine.panel.notation;
        only_once("slip", self.slips.iter().map(|(address, _)| format!("`{}`", notation.address(*address))))?;
        let mut tapes = BTreeMap::new();
        for (name, path) in &self.tapes {
            tapes.insert(name.clone(), given::read(self.tape(plan, name)?, path, report)?);
        }
        for (name, _) in &self.after {
            self.tape(plan, name)?;
        }
        Ok(Request {
            seed: self.seed,
            faster: 0,
            slips: self.slips.clone(),
            skips: self.skips.clone(),
            sense: self.sense,
            tapes,
            after: self.after.iter().cloned().collect(),
            sound: self.sound,
            rpm: self.rpm,
            door: self.door,
            disks: self.disks(plan)?,
            clock_hz: self.clock,
            pace: self.line.as_ref().map(|(stage, speed)| pace(plan, stage, *speed)).transpose()?,
            senders: self.senders(plan)?,
            most_instructions: self.instructions,
            ..Request::default()
        })
    }

    /// Whether what is asked for changes anything: a tape is played in one of the starts, a port reads the switches.
    fn is_played(&self, plan: &Plan, starts: &[Id<Start>]) -> Result<(), Diagnostic> {
        if self.sense.is_some() && plan.machine.sense_port.is_none() {
            return Err(no_sense_port(true));
        }
        let asked = self.tapes.iter().map(|(name, _)| name).chain(self.after.iter().map(|(name, _)| name));
        let is_played = |name: &&String| {
            let mut stages = starts.iter().flat_map(|&start| &plan.starts[start].stages);
            stages.any(
                |&stage| matches!(plan.stages[stage].home, Home::Tape { tape, .. } if plan.tapes[tape].name == **name),
            )
        };
        let Some(name) = asked.into_iter().find(|name| !is_played(name)) else { return Ok(()) };
        let problem =
            Diagnostic::error(Code::HomeUnknown, format!("the tape `{name}` is played in no start that is rehearsed"));
        Err(problem.with_help("rehearse a start that reads it, by `--start`, or name another tape"))
    }

    /// How fast what is sent comes.
    fn senders(&self, plan: &Plan) -> Result<BTreeMap<String, Speed>, Diagnostic> {
        only_once("sender", self.senders.iter().map(|(name, _)| format!("the line `{name}`")))?;
        let lines = plan.machine.serial.iter().filter(|serial| serial.line.is_some());
        let names: Vec<_> = lines.map(|serial| serial.name.as_str()).collect();
        match self.senders.iter().find(|(name, _)| !names.contains(&name.as_str())) {
            Some((name, _)) => Err(unknown("line", name, &names)),
            None => Ok(self.senders.iter().cloned().collect()),
        }
    }

    /// The disk files that were given.
    fn disks(&self, plan: &Plan) -> Result<BTreeMap<String, Disk>, Diagnostic> {
        only_once("disk", self.disks.iter().map(|(name, _)| format!("the disk `{name}`")))?;
        let read = |(name, path): &(String, PathBuf)| {
            let names: Vec<_> = plan.disks.iter().map(|disk| disk.name.as_str()).collect();
            let disk = plan.disks.iter().find(|disk| disk.name == *name);
            let disk = disk.ok_or_else(|| unknown("disk", name, &names))?;
            Ok((name.clone(), Disk::from_bytes(&disk.layout, files::read(path)?)?))
        };
        self.disks.iter().map(read).collect()
    }

    fn tape<'a>(&self, plan: &'a Plan, name: &str) -> Result<&'a Tape, Diagnostic> {
        let names: Vec<_> = plan.tapes.iter().map(|tape| tape.name.as_str()).collect();
        plan.tapes.iter().find(|tape| tape.name == name).ok_or_else(|| unknown("tape", name, &names))
    }
}

/// The line that a stage reads, at another speed.
fn pace(plan: &Plan, name: &str, speed: Speed) -> Result<Pace, Diagnostic> {
    let loaders: Vec<_> = plan.starts.iter().flat_map(|start| start.loaders(plan)).collect();
    let names: Vec<_> = loaders.iter().map(|&(stage, _)| plan.stages[stage].name.as_str()).collect();
    let at = names.iter().position(|known| *known == name);
    let (stage, serial) = loaders[at.ok_or_else(|| unknown("stage that reads a tape", name, &names))?];
    let described = plan.machine.serial[serial].line.map_or(speed, |line| line.speed);
    Ok(Pace { stage, serial, parts: Pace::parts_of(speed, described) })
}

/// A bar for a stage that takes long.
struct Shown {
    bar: Option<ProgressBar>,
    hidden: bool,
}

impl Shown {
    fn new(hidden: bool) -> Shown {
        Shown { bar: None, hidden }
    }

    fn update(&mut self, at: Progress) {
        let bar = self.bar.get_or_insert_with(|| progress::bar(Counted::States, at.most.0, self.hidden));
        bar.set_length(at.most.0);
        bar.set_position(at.done.0);
    }
}

impl Drop for Shown {
    fn drop(&mut self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}

/// Every way to start a chain, rehearsed as it was built, recordings included.
pub(super) fn all(plan: &Plan, made: &Artefacts, sources: &SourceMap) -> Vec<Outcome> {
    let request = Request { sound: true, ..Request::default() };
    let rehearse = |start| {
        let mut shown = Shown::new(false);
        rehearsal::rehearse(plan, made, start, &request, sources, None, &mut |at| shown.update(at))
    };
    plan.starts.numbered().map(|(start, _)| rehearse(start)).collect()
}

/// Prints what came of rehearsals; one that failed fails the run.
pub(super) fn tell(plan: &Plan, rehearsed: Vec<(Outcome, Vec<Loader>)>, sources: &SourceMap, report: &mut Report) {
    let json = report.json();
    if json {
        report.print(format!("{}\n", json::to_json(plan, &rehearsed)));
    }
    for (outcome, loaders) in rehearsed {
        if !json {
            report.print(text::text(plan, &outcome, &loaders));
        }
        let agrees = outcome.agrees();
        report.problems(outcome.problems, sources);
        if !agrees {
            report.fail();
        }
    }
}

fn unrecorded() -> Diagnostic {
    Diagnostic::note(Code::SoundUnfit, "no tape of the chain is recorded: the bytes are played")
        .with_help("say how a tape sounds by `sound` under `[[tape]]` in the chain file")
}

/// Refuses an option that is given twice for one thing: only one of them could be done.
fn only_once(option: &str, things: impl Iterator<Item = String>) -> Result<(), Diagnostic> {
    let mut seen = BTreeSet::new();
    for thing in things {
        if !seen.insert(thing.clone()) {
            return Err(Diagnostic::error(Code::NameTwice, format!("`--{option}` is given twice for {thing}")));
        }
    }
    Ok(())
}

/// A chain with what is made of it, and those of its starts that are to be played.
pub(super) struct Wanted {
    /// The chain, and what it was read from.
    pub chain: LoadedChain,
    /// The starts.
    pub starts: Vec<Id<Start>>,
    /// What is made of it, without sound.
    pub made: Artefacts,
}

/// Reads a chain whose starts are played again and again: that of a name, or all of them without one. Nothing if that
/// cannot be; why has been reported.
pub(super) fn wanted_of(
    path: &Path,
    start: Option<&str>,
    sources: &mut SourceMap,
    report: &mut Report,
) -> Option<Wanted> {
    let chain = chain::load_with_inputs(path, sources, report)?;
    let starts = starts_named(&chain.plan, start).map_err(|problem| report.problem(problem)).ok()?;
    let made = Artefacts::make(&chain.plan, sources, Recordings::Left);
    let made = made.map_err(|problems| report.problems(problems, sources)).ok()?;
    Some(Wanted { chain, starts, made })
}

/// The starts of a name, or all of them without one.
///
/// # Errors
/// No start has it.
fn starts_named(plan: &Plan, wanted: Option<&str>) -> Result<Vec<Id<Start>>, Diagnostic> {
    let is_wanted = |start: &Start| wanted.is_none_or(|name| name == start.name);
    let starts: Vec<_> = plan.starts.numbered().filter(|(_, start)| is_wanted(start)).map(|(start, _)| start).collect();
    if starts.is_empty() {
        let names: Vec<_> = plan.starts.iter().map(|start| start.name.as_str()).collect();
        return Err(unknown("start", wanted.unwrap_or_default(), &names));
    }
    Ok(starts)
}

/// A name that the chain does not have.
pub(super) fn unknown(what: &str, name: &str, known: &[&str]) -> Diagnostic {
    let problem = Diagnostic::error(Code::HomeUnknown, format!("the chain has no {what} `{name}`"));
    match nearest(name, known.iter().copied()) {
        Some(near) => problem.with_help(format!("did you mean `{near}`?")),
        None if known.iter().all(|name| name.is_empty()) => {
            problem.with_help(format!("the chain has no {what} with a name"))
        }
        None => problem.with_help(format!("known: {}", known.join(", "))),
    }
}
