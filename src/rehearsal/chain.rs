//! The chain from power-on to the payload's first instructions, stage by stage.

use std::collections::BTreeMap;

use super::cast;
use super::diagnose::{self, Scene};
use super::hand::Hand;
use super::incident::What;
use super::machine::{Machine, Stop};
use super::outcome::{Event, LineMargin, Outcome, StageOutcome};
use super::recorder::{Recorder, Trace};
use super::serial::{Feed, Format, Frame};
use super::{gaps, setup::Setup};
use crate::isa::TStates;
use crate::notation::Address;
use crate::panel::sheet::Sheet;
use crate::project::{Chip, Home, Plan, Reel, Stage, Start, reels};
use crate::source::{Code, Diagnostic, Diagnostics, SourceMap};

/// What a rehearsal is to be made with, other than what the plan says.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// What the noise at power-on is drawn from.
    pub seed: u64,
    /// Bytes that the hand sets wrong.
    pub slips: Vec<(Address, u8)>,
    /// Bytes of real tapes, by the names of the tapes whose place they take.
    pub tapes: BTreeMap<String, Vec<u8>>,
}

/// Characters that are shown of what a stage sends.
const SHOWN: usize = 40;

/// How long the last stage is watched, in thousandths of a second.
const WATCHED_MS: u64 = 100;

/// Rehearses one way to start. `trace` gets a line for every instruction.
pub fn rehearse<'a>(
    plan: &'a Plan,
    start: &'a Start,
    request: &'a Request,
    sources: &'a SourceMap,
    trace: Option<&'a mut Trace<'a>>,
) -> Outcome {
    let mut outcome = Outcome {
        start: start.name.clone(),
        clock_hz: plan.machine.clock_hz.unwrap_or(cast::USUAL_CLOCK),
        events: Vec::new(),
        stages: Vec::new(),
        gaps: Vec::new(),
        problems: Diagnostics::default(),
        ended: TStates(0),
        instructions: 0,
    };
    let made = cast::setup(plan, start, request.seed)
        .and_then(|setup| Ok((machine(&setup)?, reels(plan, start, &request.tapes)?)));
    let (machine, reels) = match made {
        Ok(made) => made,
        Err(problems) => {
            outcome.problems = problems;
            return outcome;
        }
    };
    let programs = start.stages.iter().map(|&stage| plan.stages[stage].program(sources)).collect();
    let recorder = Recorder::new(plan.machine.panel.notation, programs, trace);
    let mut run = Run {
        plan,
        start,
        request,
        sources,
        machine,
        reels,
        played: BTreeMap::new(),
        recorder,
        compared: BTreeMap::new(),
        outcome,
    };
    run.whole();
    run.outcome.ended = run.machine.cpu.clock;
    run.outcome.instructions = run.machine.board.counts().instructions;
    run.outcome.gaps = gaps::gaps(plan, start, &run.outcome.stages);
    run.outcome
}

fn machine(setup: &Setup) -> Result<Machine, Diagnostics> {
    Machine::new(setup).map_err(|error| {
        let mut problems = Diagnostics::default();
        problems.push(Diagnostic::error(Code::MachineValue, error.to_string()));
        problems
    })
}

struct Run<'a> {
    plan: &'a Plan,
    start: &'a Start,
    request: &'a Request,
    sources: &'a SourceMap,
    machine: Machine,
    reels: Vec<Reel>,
    /// The number that the first character of each tape has on its line.
    played: BTreeMap<usize, usize>,
    recorder: Recorder<'a>,
    /// How the chips were set up when their formats were last compared.
    compared: BTreeMap<usize, Frame>,
    outcome: Outcome,
}

impl Run<'_> {
    fn whole(&mut self) {
        self.power_on();
        for place in 0..self.start.stages.len() {
            self.enter(place);
            let sent = self.sent_so_far();
            let next = self.start.stages.get(place + 1).copied();
            let done = match next {
                Some(next) => self.load(place, next),
                None => self.watch(place),
            };
            self.measure();
            self.compare_formats(place);
            self.tell_sent(place, &sent);
            if let Err(problem) = done {
                self.outcome.problems.push(self.with_slips(*problem));
                return;
            }
        }
    }

    fn stage(&self, number: usize) -> &'_ Stage {
        &self.plan.stages[number]
    }

    fn event(&mut self, at: TStates, what: String, lights: String) {
        self.outcome.events.push(Event { at, by_hand: None, what, lights });
    }

    /// Memory holds noise; the hand deposits what has its home at the panel.
    fn power_on(&mut self) {
        let plan = self.plan;
        self.event(TStates(0), "power on and reset; memory holds noise".into(), "anything".into());
        for (number, stage) in plan.stages.iter().enumerate() {
            let in_socket = matches!(stage.home, Home::Socket(socket) if !self.start.empty.contains(&socket));
            if in_socket {
                self.announce(number);
            }
        }
        for (place, &number) in self.start.stages.iter().enumerate() {
            let stage = &plan.stages[number];
            if !matches!(stage.home, Home::Panel(_)) {
                continue;
            }
            self.deposit(number);
            if place > 0 {
                for extent in stage.image.extents() {
                    self.machine.board.set_needed(extent.base, extent.bytes.len(), true);
                }
            }
        }
        self.machine.board.sense = self.start.sense;
        self.machine.board.run_only_programs();
    }

    /// Plays the steps of the stage's deposit sheet.
    fn deposit(&mut self, number: usize) {
        let stage = &self.plan.stages[number];
        let program = stage.program(self.sources);
        let sheet = match Sheet::new(&program, &self.plan.machine.panel, Some(stage.entry), self.start.sense) {
            Ok(sheet) => sheet,
            Err(error) => {
                let problem = error.diagnostic(self.plan.machine.panel.notation);
                return self.outcome.problems.push(problem.at(stage.span, "this stage"));
            }
        };
        let mut hand = Hand::default();
        for step in sheet.rows().flat_map(|row| row.steps()) {
            if let Err(differs) = hand.act(step, &mut self.machine) {
                self.outcome.problems.push(diagnose::differs(stage, &self.plan.machine, differs));
                break;
            }
        }
        for &(address, byte) in &self.request.slips {
            if stage.image.byte(address).is_some() {
                self.machine.deposit(address, byte);
            }
        }
        let what = format!("deposit and verify {} bytes of `{}`", stage.image.len(), stage.name);
        let lights = "what the sheet says, row by row".into();
        self.outcome.events.push(Event { at: TStates(0), by_hand: Some(sheet.seconds()), what, lights });
    }

    /// Says which bytes of a stage are instructions.
    fn announce(&mut self, number: usize) {
        let stage = &self.plan.stages[number];
        let board = &mut self.machine.board;
        for extent in stage.image.extents() {
            for at in 0..extent.bytes.len() {
                let address = extent.base.wrapping_add(at as u16);
                board.set_program(address);
                board.set_data(address, stage.code.as_ref().is_some_and(|code| !code.is_opcode(address)));
            }
        }
        for &opcode in stage.code.iter().flat_map(|code| &code.opcodes) {
            board.set_program(Address(opcode));
            board.set_data(Address(opcode), false);
        }
    }

    /// A stage is about to run its first instruction.
    fn enter(&mut self, place: usize) {
        let number = self.start.stages[place];
        let plan = self.plan;
        let stage = &plan.stages[number];
        let now = self.machine.cpu.clock;
        let arrived = self.machine.board.arrival().map(|arrival| (arrival.first, arrival.last));
        self.announce(number);
        let board = &mut self.machine.board;
        board.set_running(&stage.image);
        board.clear_stack();
        for extent in stage.image.extents() {
            board.set_needed(extent.base, extent.bytes.len(), false);
        }
        for serial in 0..plan.machine.serial.iter().filter(|serial| serial.line.is_some()).count() {
            board.clear_margin(serial);
        }
        let entry = plan.machine.panel.notation.address(stage.entry).to_string();
        if place == 0 {
            self.machine.examine(stage.entry);
            self.event(now, format!("EXAMINE {entry}, RUN: `{}` starts", stage.name), String::new());
        } else {
            self.event(now, format!("`{}` starts at {entry}", stage.name), String::new());
        }
        self.machine.set_stop(stage.entry, false);
        let (name, bytes, entry) = (stage.name.clone(), stage.image.len(), stage.entry);
        let arrived = arrived.filter(|_| matches!(stage.home, Home::Tape { .. }));
        self.outcome.stages.push(StageOutcome {
            name,
            bytes,
            entry,
            entered: now,
            arrived,
            margin: None,
            stack: None,
            other_stop_bits: None,
        });
    }

    /// Runs a stage until the next one is reached, and proves that it is all there.
    fn load(&mut self, place: usize, next: usize) -> Result<(), Box<Diagnostic>> {
        let plan = self.plan;
        let (number, loaded) = (self.start.stages[place], &plan.stages[next]);
        let mut reel = None;
        if let Home::Tape { tape, .. } = loaded.home {
            self.machine.board.expect(&loaded.image);
            reel = self.reels.iter().position(|reel| reel.tape == tape);
            if let Some(reel) = reel {
                self.play(reel);
            }
        }
        self.machine.set_stop(loaded.entry, true);
        let began = self.machine.cpu.clock;
        let first = reel.and_then(|reel| self.played.get(&reel)).copied().unwrap_or_default();
        let from = reel.map_or(0, |reel| self.heard(reel).saturating_sub(first));
        let seen = self.machine.board.incidents().len();
        let limit = u64::from(plan.limit) * self.outcome.clock_hz;
        let stop = self.run_to_entry(&plan.stages[number], loaded, TStates(began.0 + limit));
        self.tell(loaded);
        let scene = Scene {
            plan,
            machine: &self.machine,
            runs: &plan.stages[number],
            loaded: Some(loaded),
            reel: reel.map(|reel| &self.reels[reel]),
            first,
            from,
            seen,
        };
        diagnose::loading(&scene, stop)
    }

    /// Runs until the loaded stage is about to start. Where both lie at one place, the loader passes the entry as a part
    /// of itself.
    fn run_to_entry(&mut self, runs: &Stage, loaded: &Stage, deadline: TStates) -> Stop {
        let shares = runs.image.byte(loaded.entry).is_some();
        loop {
            let stop = self.machine.run(deadline, &mut self.recorder);
            let arrived = self.machine.board.arrival().map_or(0, |arrival| arrival.count);
            if !(shares && matches!(stop, Stop::Reached(_)) && arrived < loaded.image.len()) {
                return stop;
            }
            if let Some(stop) = self.machine.step(&mut self.recorder) {
                return stop;
            }
        }
    }

    /// Starts a tape, unless it runs already.
    fn play(&mut self, reel: usize) {
        if self.played.contains_key(&reel) {
            return;
        }
        let tape = &self.plan.tapes[self.reels[reel].tape];
        let serial = cast::station(&self.plan.machine, tape.serial);
        let after = (tape.after * self.outcome.clock_hz as f64) as u64;
        let at = TStates(self.machine.cpu.clock.0 + after);
        let first = self.machine.board.play(serial, &Feed::new(&self.reels[reel].bytes), at);
        self.played.insert(reel, first);
        let what = format!("start the tape `{}`: {} frames", tape.name, self.reels[reel].bytes.len());
        self.event(at, what, String::new());
    }

    /// The number of the next character on the line of a tape.
    fn heard(&self, reel: usize) -> usize {
        let serial = self.plan.tapes[self.reels[reel].tape].serial;
        self.machine.board.line_use(cast::station(&self.plan.machine, serial)).heard
    }

    /// What a person could see while a stage was loaded.
    fn tell(&mut self, loaded: &Stage) {
        let notation = self.plan.machine.panel.notation;
        let lights = self.recorder.waits().map(|(low, high)| {
            format!("address lights flicker between {} and {}", notation.address(low), notation.address(high))
        });
        let Some(arrival) = self.machine.board.arrival() else {
            if let (Some(event), Some(lights)) = (self.outcome.events.last_mut(), lights) {
                event.lights = lights;
            }
            return;
        };
        let lights = lights.unwrap_or_default();
        self.event(arrival.first, format!("the first byte of `{}` is stored", loaded.name), lights);
        let whole = if arrival.count == loaded.image.len() { "the last of" } else { "no more than" };
        self.event(arrival.last, format!("{whole} {} bytes of `{}`", arrival.count, loaded.name), String::new());
    }

    /// Runs the last stage for a while.
    fn watch(&mut self, place: usize) -> Result<(), Box<Diagnostic>> {
        let plan = self.plan;
        let stage = &plan.stages[self.start.stages[place]];
        let (outputs, seen) = (self.machine.board.outputs().len(), self.machine.board.incidents().len());
        self.machine.board.expect(&crate::image::Image::default());
        let deadline = TStates(self.machine.cpu.clock.0 + self.outcome.clock_hz * WATCHED_MS / 1000);
        let stop = self.machine.run(deadline, &mut self.recorder);
        for output in self.machine.board.outputs()[outputs..].iter().take(8) {
            let name = plan.machine.ports.outputs.get(&output.port).map_or("", |port| port.name.as_str());
            let notation = plan.machine.panel.notation;
            let what = format!(
                "`{}` puts {} out to port {} {name}",
                stage.name,
                notation.byte(output.byte),
                notation.byte(output.port)
            );
            self.outcome.events.push(Event {
                at: output.at,
                by_hand: None,
                what: what.trim_end().into(),
                lights: String::new(),
            });
        }
        self.tell_end(stage, stop);
        let scene =
            Scene { plan, machine: &self.machine, runs: stage, loaded: None, reel: None, first: 0, from: 0, seen };
        diagnose::watching(&scene, stop)
    }

    fn tell_end(&mut self, stage: &Stage, stop: Stop) {
        let notation = self.plan.machine.panel.notation;
        let what = match stop {
            Stop::Halted => format!("`{}` halts", stage.name),
            Stop::Endless { port: Some(port), .. } => format!("`{}` waits at port {}", stage.name, notation.byte(port)),
            Stop::Endless { port: None, .. } => format!("`{}` goes round without end", stage.name),
            _ => format!("`{}` runs", stage.name),
        };
        self.event(self.machine.cpu.clock, what, String::new());
    }

    /// Keeps the margins of the stage that ran.
    fn measure(&mut self) {
        let stack = self.machine.board.deepest_stack();
        let board = &self.machine.board;
        let lines = self.plan.machine.serial.iter().filter_map(|serial| Some((serial, serial.line?))).enumerate();
        let margins = lines.filter_map(|(number, (serial, line))| {
            let character_states = board.character_states(number);
            let margin = board.margin(number)?;
            Some(LineMargin { line: serial.name.clone(), format: line.to_string(), character_states, margin })
        });
        let tightest = margins.min_by(|first, second| first.margin.per_cent.total_cmp(&second.margin.per_cent));
        if let Some(stage) = self.outcome.stages.last_mut() {
            stage.stack = stack;
            stage.margin = tightest;
        }
    }

    /// What a stage sent down the lines.
    fn tell_sent(&mut self, place: usize, before: &[usize]) {
        let plan = self.plan;
        let name = &plan.stages[self.start.stages[place]].name;
        let lines = plan.machine.serial.iter().filter(|serial| serial.line.is_some()).enumerate();
        for (number, serial) in lines {
            let sent = &self.machine.board.sent(number)[before[number]..];
            let Some(first) = sent.first() else { continue };
            let text: String = sent.iter().take(SHOWN).map(|sent| char::from(sent.byte & 0x7F)).collect();
            let more = if sent.len() > SHOWN { " ..." } else { "" };
            let what = format!("`{name}` sends {} characters to {}: {:?}{more}", sent.len(), serial.name, text);
            self.outcome.events.push(Event { at: first.at, by_hand: None, what, lights: String::new() });
        }
        self.outcome.events.sort_by_key(|event| event.at);
    }

    /// How many characters each line has carried from the machine.
    fn sent_so_far(&self) -> Vec<usize> {
        let lines = self.plan.machine.serial.iter().filter(|serial| serial.line.is_some());
        (0..lines.count()).map(|number| self.machine.board.sent(number).len()).collect()
    }

    /// A chip that a stage set up for another format than its line has may hear wrong, or be heard wrong.
    fn compare_formats(&mut self, place: usize) {
        let plan = self.plan;
        let stage = &plan.stages[self.start.stages[place]];
        let lines = plan.machine.serial.iter().filter_map(|serial| Some((serial, serial.line?))).enumerate();
        for (number, (serial, line)) in lines {
            let Some(frame) = self.machine.board.line_use(number).frame else { continue };
            if self.compared.insert(number, frame) == Some(frame) {
                continue;
            }
            let (set, wanted) = (frame.format, Format::from(line));
            let is_clocked = frame.divisor == serial.clock || matches!(serial.chip, Chip::Uart(_));
            if set == wanted && is_clocked {
                continue;
            }
            let headline = match is_clocked {
                true => format!("`{}` leaves `{}` set to `{set}`, and the line is `{line}`", stage.name, serial.name),
                false => format!(
                    "`{}` makes `{}` divide by `{}` a clock of `{}` times the speed",
                    stage.name, serial.name, frame.divisor, serial.clock
                ),
            };
            let problem = Diagnostic::warning(Code::FormatDiffers, headline).at(stage.span, "this stage");
            let hears = set.data == wanted.data && set.parity == wanted.parity && is_clocked;
            let is_mute = self.machine.board.sent(number).is_empty();
            if hears && is_mute {
                // A receiver looks at the first stop bit only.
                if let Some(stage) = self.outcome.stages.last_mut() {
                    stage.other_stop_bits = Some((set.to_string(), line.to_string()));
                }
                continue;
            }
            self.outcome.problems.push(match hears {
                true => {
                    problem.with_note("it hears all the same, but what it sends has other stop bits than are expected")
                }
                false => problem.with_help("give the chip the format and the divisor of the line"),
            });
        }
    }

    /// A failure after a slip says what the slip was.
    fn with_slips(&self, problem: Diagnostic) -> Diagnostic {
        let notation = self.plan.machine.panel.notation;
        self.request.slips.iter().fold(problem, |problem, &(address, byte)| {
            let right = self.start.stages.iter().find_map(|&stage| self.stage(stage).image.byte(address));
            let right = right.map_or("nothing".into(), |right| notation.byte(right).to_string());
            let place = notation.address(address);
            problem.with_note(format!("the slip: {place} was set to {} instead of {right}", notation.byte(byte)))
        })
    }
}

/// Whether an incident speaks of a lost character.
pub(super) fn lost(what: What) -> Option<(usize, usize)> {
    match what {
        What::Overrun { serial, character } => Some((serial, character)),
        _ => None,
    }
}
