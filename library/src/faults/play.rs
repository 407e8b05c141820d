//! Every fault, played to its end.

use rayon::prelude::*;

use super::catalogue;
use super::fault::{Fault, RomWrong, Slip, TapeWrong, Wrong};
use super::good::Good;
use super::judge::Case;
use super::outcome::{Checks, End, Ending, Outcome, Pair, Played, Plays};
use super::player::{Going, MOST_INSTRUCTIONS, Pause, Watcher};
use super::scene::{Props, Scene};
use crate::isa::TStates;
use crate::project::{Artefacts, Id, Plan, Start};
use crate::rehearsal::Stop;
use crate::source::{Code, Diagnostic, Diagnostics};

/// A start that goes as it should, ready to be played with faults.
pub struct Theatre {
    scene: Scene,
    /// The good start, with one noise and with the other.
    goods: [Good; 2],
}

impl Theatre {
    /// A start of a chain. It is taken for granted that it agrees in its rehearsal.
    ///
    /// # Errors
    /// As for a rehearsal; and a start that takes too many instructions.
    pub fn new(plan: &Plan, made: &Artefacts, start: Id<Start>) -> Result<Theatre, Diagnostics> {
        Theatre::with_noise_of(plan, made, start, 0)
    }

    /// The same, with what memory and registers hold at power-on drawn from another number.
    ///
    /// # Errors
    /// As for [`Theatre::new`].
    pub fn with_noise_of(plan: &Plan, made: &Artefacts, start: Id<Start>, noise: u64) -> Result<Theatre, Diagnostics> {
        let mut scene = Scene::new(plan, made, start, noise)?;
        let too_long = |_| {
            let name = &plan.starts[start].name;
            let headline = format!("the start `{name}` takes too long to be played with every fault");
            Diagnostics::from_iter([Diagnostic::error(Code::TakesTooLong, headline)])
        };
        let first = Good::new(&scene, 0).map_err(too_long)?;
        scene.patience = first.patience(&scene);
        let second = Good::new(&scene, 1).map_err(too_long)?;
        Ok(Theatre { scene, goods: [first, second] })
    }

    /// How the start ends without a fault.
    pub fn good(&self) -> Outcome {
        let [one, other] = self.goods.each_ref().map(|good| good.ending.clone());
        let (ending, otherwise) = one.meet(other);
        Outcome { checks: Checks::default(), ending, otherwise, strays: false }
    }

    /// All of it: the start without a fault, and with every single one. `tick` is told of each that is done, and says whether
    /// to go on; nothing comes of it if it does not.
    pub fn plays(&self, tick: &(dyn Fn() -> bool + Sync)) -> Option<Plays> {
        let memory = &self.goods[0].entry().machine.board.memory;
        let memory = self.goods[0].chain.iter().map(|&at| (at, memory.byte(at))).collect();
        Some(Plays { good: self.good(), memory, faults: self.play_all(self.catalogue(), tick)? })
    }

    /// Every single fault, in a fixed order.
    pub fn catalogue(&self) -> Vec<Fault> {
        catalogue::all(&self.scene, &self.goods[0])
    }

    /// What becomes of a fault.
    pub fn play(&self, fault: &Fault) -> Outcome {
        self.outcome(fault, true)
    }

    /// The same, played from power-on by itself.
    pub fn play_alone(&self, fault: &Fault) -> Outcome {
        self.outcome(fault, false)
    }

    /// What becomes of each of some faults, in their order, on all cores. `tick` is told of each that is done, and says whether
    /// to go on; nothing comes of it if it does not.
    pub fn play_all(&self, faults: Vec<Fault>, tick: &(dyn Fn() -> bool + Sync)) -> Option<Vec<Played>> {
        let play = |fault: Fault| {
            let outcome = self.play(&fault);
            tick().then_some(Played { fault, outcome })
        };
        faults.into_par_iter().with_max_len(16).map(play).collect()
    }

    /// What becomes of each of some pairs of faults, in their order, on all cores. One of which the other keeps it from
    /// coming about is left out. `tick` as for [`Theatre::play_all`].
    pub fn play_pairs(&self, pairs: Vec<[Fault; 2]>, tick: &(dyn Fn() -> bool + Sync)) -> Option<Vec<Pair>> {
        let play = |faults: [Fault; 2]| {
            let outcome = self.play_together(&faults);
            tick().then(|| outcome.map(|outcome| Pair { faults, outcome }))
        };
        let pairs: Option<Vec<_>> = pairs.into_par_iter().with_max_len(4).map(play).collect();
        pairs.map(|pairs| pairs.into_iter().flatten().collect())
    }

    /// What becomes of faults that are there at once, played from power-on; nothing if they do not go together.
    pub fn play_together(&self, faults: &[Fault]) -> Option<Outcome> {
        let mut pairs = faults.iter().enumerate();
        if !pairs.all(|(at, one)| faults[at + 1..].iter().all(|other| one.goes_with(other))) {
            return None;
        }
        Some(Theatre::meet(self.together(0, faults)?, self.together(1, faults)?))
    }

    fn together(&self, noise: usize, faults: &[Fault]) -> Option<One> {
        let (scene, good) = (&self.scene, &self.goods[noise]);
        let props = scene.with(noise, faults);
        let mut watcher = self.watcher(noise, &props);
        let again = faults.iter().find_map(|fault| match fault.wrong {
            Wrong::Again { after } => Some(after),
            _ => None,
        });
        let (mut going, checks) = match again {
            Some(after) => (self.again(noise, &props, (after, &slips(faults)), false)?, Checks::default()),
            None => Going::begin(scene, &props, &slips(faults))?,
        };
        let pause = going.go(scene, &props, TStates(u64::MAX), &mut watcher);
        Some(One::judged(&Case { scene, props: &props, good }, checks, going, pause, &mut watcher))
    }

    fn watcher(&self, noise: usize, props: &Props) -> Watcher {
        Watcher::new(props.wires, MOST_INSTRUCTIONS.max(3 * self.goods[noise].count))
    }

    fn outcome(&self, fault: &Fault, shares: bool) -> Outcome {
        Theatre::meet(self.with_noise(0, fault, shares), self.with_noise(1, fault, shares))
    }

    /// What becomes of it with one noise and with the other.
    fn meet(one: One, other: One) -> Outcome {
        let strays = one.stored != other.stored;
        let (ending, otherwise) = one.ending.meet(other.ending);
        let strays = strays && otherwise.is_none() && ending.end == End::Starts;
        Outcome { checks: one.checks, ending, otherwise, strays }
    }

    fn with_noise(&self, noise: usize, fault: &Fault, shares: bool) -> One {
        let (scene, good) = (&self.scene, &self.goods[noise]);
        let alone = std::slice::from_ref(fault);
        let props = scene.with(noise, alone);
        let mut watcher = self.watcher(noise, &props);
        let case = Case { scene, props: &props, good };
        let begun = match fault.wrong {
            Wrong::Again { after } => {
                self.again(noise, &props, (after, &[]), shares).map(|going| (going, Checks::default()))
            }
            _ => match self.shared(noise, &props, fault).filter(|_| shares) {
                Some(going) => Some((going, Checks::default())),
                None => Going::begin(scene, &props, &slips(alone)),
            },
        };
        // Only a machine whose ports clash cannot be built, and no fault makes them.
        let Some((mut going, checks)) = begun else { return One::good(good, Checks::default()) };
        if let Some(moment) = self.rejoins(noise, fault).filter(|_| shares) {
            let pause = going.go(scene, &props, moment.machine.cpu.clock, &mut watcher);
            if pause == Pause::Moment && going.is_like(moment) {
                return One::good(good, checks);
            }
            if pause != Pause::Moment {
                return One::judged(&case, checks, going, pause, &mut watcher);
            }
        }
        let pause = going.go(scene, &props, TStates(u64::MAX), &mut watcher);
        One::judged(&case, checks, going, pause, &mut watcher)
    }

    /// The good start shortly before a fault begins to matter, with the fault in it; nothing if it matters from the
    /// beginning.
    fn shared(&self, noise: usize, props: &Props, fault: &Fault) -> Option<Going> {
        let good = &self.goods[noise];
        match fault.wrong {
            Wrong::Tape { tape, .. } => {
                let frame = fault.frame()?;
                let at = self.begins(noise, tape, frame)?;
                // A tape that is started while this one's trailer passes comes down the line behind it.
                let serial = props.runs[tape].serial;
                let follows = |going: &Going| {
                    let mut others = going.played.iter().zip(&props.runs).skip(tape + 1);
                    others.any(|(played, run)| played.is_some() && run.serial == serial)
                };
                let mut moments = good.moments.iter().rev();
                let mut going = moments.find(|going| going.machine.cpu.clock < at && !follows(going))?.clone();
                if let Some(first) = going.played[tape] {
                    let run = &props.runs[tape];
                    going.machine.board.replace(run.serial, first + frame, &run.feed(frame));
                }
                Some(going)
            }
            // What is deposited there is changed before anything runs.
            Wrong::Cell(cell) if !self.scene.is_deposited(cell.address) => {
                Some(good.moment_before(good.way.first(cell.address)).clone())
            }
            Wrong::Rom(RomWrong::Bit { address, bit }) => {
                let mut going = good.moment_before(good.way.first(address)).clone();
                let byte = going.machine.board.memory.byte(address) ^ 1 << bit;
                going.machine.board.memory.program(address, byte);
                Some(going)
            }
            _ => None,
        }
    }

    /// The moment of the good start at which a play with a fault may be on its way again, if nothing has come of it.
    fn rejoins(&self, noise: usize, fault: &Fault) -> Option<&Going> {
        let Wrong::Tape { tape, wrong: TapeWrong::Bit { frame, .. } } = fault.wrong else { return None };
        let at = self.begins(noise, tape, frame + 2)?;
        self.goods[noise].moment_after(at)
    }

    /// When a frame of a tape begins in the good start.
    fn begins(&self, noise: usize, tape: usize, frame: usize) -> Option<TStates> {
        let last = &self.goods[noise].act.last;
        let first = last.played[tape]?;
        last.machine.board.begins(self.goods[noise].props.runs[tape].serial, first + frame)
    }

    /// The start, with what the hand does otherwise in it, stopped where a stage is entered or at its end, and begun anew.
    fn again(
        &self,
        noise: usize,
        props: &Props,
        (after, slips): (usize, &[(usize, Slip)]),
        shares: bool,
    ) -> Option<Going> {
        let (scene, good) = (&self.scene, &self.goods[noise]);
        let mut going = if shares {
            good.entries.get(after.checked_sub(1)?)?.clone()
        } else {
            let mut going = Going::begin(scene, props, slips)?.0;
            let mut watcher = self.watcher(noise, props);
            while going.place < after.min(scene.last()) {
                if going.go_to_next(scene, props, TStates(u64::MAX), &mut watcher).is_some() {
                    return None;
                }
            }
            if after > scene.last() {
                good.act_again(&mut going, &mut watcher);
            }
            going
        };
        going.again(scene, props);
        Some(going)
    }
}

/// A play with one noise.
struct One {
    checks: Checks,
    ending: Ending,
    /// Where something was stored until the last stage was entered, if it was.
    stored: Vec<u64>,
}

impl One {
    /// It is on the way of the good start again.
    fn good(good: &Good, checks: Checks) -> One {
        One { checks, ending: good.ending.clone(), stored: good.entry().machine.board.memory.known() }
    }

    fn judged(case: &Case, checks: Checks, going: Going, pause: Pause, watcher: &mut Watcher) -> One {
        let stored = match pause {
            Pause::Payload => going.machine.board.memory.known(),
            _ => Vec::new(),
        };
        One { checks, ending: case.judge(going, pause, watcher), stored }
    }
}

/// The rows that the hand does otherwise.
fn slips(faults: &[Fault]) -> Vec<(usize, Slip)> {
    let slip = |fault: &Fault| match fault.wrong {
        Wrong::Row { row, slip } => Some((row, slip)),
        _ => None,
    };
    faults.iter().filter_map(slip).collect()
}

impl Good {
    /// Seconds for which a stage may be at work after its tape has run out: twice as long as any of the good start is.
    fn patience(&self, scene: &Scene) -> u64 {
        let second = self.props.setup.clock_hz;
        let last = &self.act.last;
        let ends = |place: usize| {
            let run = &self.props.runs[scene.tape_of(place)?];
            Some(last.machine.board.line_ends(run.serial).0)
        };
        let entered: Vec<u64> = last.entered.iter().map(|at| at.0).collect();
        let works = |place: usize| {
            let (from, to) = (entered[place - 1], entered[place]);
            to.saturating_sub(from.max(ends(place).unwrap_or(0)))
        };
        let longest = (1..entered.len()).map(works).max().unwrap_or(0);
        LEAST_PATIENCE + 2 * longest.div_ceil(second)
    }

    /// Lets the last program do what it does in the good start while it is watched.
    fn act_again(&self, going: &mut Going, watcher: &mut Watcher) {
        let until = self.act.last.machine.cpu.clock;
        if self.act.stop.is_none_or(|stop| stop == Stop::Deadline) {
            going.stretch(until, watcher);
        } else {
            going.stretch(TStates(u64::MAX), watcher);
        }
    }
}

/// The least of a stage's patience, in seconds.
const LEAST_PATIENCE: u64 = 5;
