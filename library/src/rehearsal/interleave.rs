//! The order of sectors in which a loader is quickest: found by running it, at every distance from one sector to the next.

use super::cast::USUAL_CLOCK;
use super::rehearse::Attempt;
use super::request::Request;
use super::slower::Slower;
use crate::disk::{Layout, Numbering, Sectoring};
use crate::isa::TStates;
use crate::project::{Artefacts, ChainDisk, Home, Id, Plan, Recordings, Stage, Start};
use crate::source::{Diagnostics, Severity, SourceMap};

/// A stage that is read from a disk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OnDisk {
    /// The start that reads it.
    pub start: Id<Start>,
    /// The stage.
    pub stage: Id<Stage>,
    /// The disk.
    pub disk: Id<ChainDisk>,
}

/// What is written otherwise on the disk for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Varied {
    /// The sectors of the area are read in another order: those by holes have the numbers of their holes.
    Order,
    /// The sectors pass in another order: those by marks carry their numbers.
    Passing,
}

/// What came of one distance.
#[derive(Clone, Debug, PartialEq)]
pub struct Spacing {
    /// How many sectors further on the next one stands.
    pub places: usize,
    /// The order of the area or of the track, by its number in the layout file.
    pub value: Vec<u8>,
    /// How it went.
    pub took: Took,
}

/// How reading a stage went.
#[derive(Clone, Debug, PartialEq)]
pub enum Took {
    /// From its first byte to its last.
    Time(TStates),
    /// It was not read, and why.
    Failed(String),
}

/// How much slower a program may be before it takes longer, or fails.
#[derive(Clone, Debug, PartialEq)]
pub struct Spare {
    /// With one T-state more.
    pub one: Took,
    /// So many more were tried and cost less than a sector's time.
    pub free: u32,
    /// So many more, the fewest that were found to cost more, and how it goes then; nothing if none was found.
    pub costly: Option<(u32, Took)>,
}

/// A loader at the order of the layout, and what a little more or less of it would do: what is quickly played.
#[derive(Clone, Debug, PartialEq)]
pub struct Near {
    /// How it goes as the layout says.
    pub declared: Took,
    /// The distances beside that of the layout; none if its order is a list of its own.
    pub beside: Vec<Beside>,
    /// With a program that takes one T-state more for each byte.
    pub byte: Took,
    /// The same for each sector.
    pub sector: Took,
    /// T-states in a second.
    pub clock_hz: u64,
}

/// A distance beside that of the layout.
#[derive(Clone, Debug, PartialEq)]
pub struct Beside {
    /// Whether each sector stands one place nearer to the one before it, or one further from it.
    pub nearer: bool,
    /// How it goes then.
    pub took: Took,
}

/// The stages of a chain that are read from disks.
pub fn on_disks(plan: &Plan) -> Vec<OnDisk> {
    let of_start = |(start, it): (Id<Start>, &Start)| {
        let on_disk = |&stage: &Id<Stage>| match plan.stages[stage].home {
            Home::Disk { disk, .. } => Some(OnDisk { start, stage, disk }),
            _ => None,
        };
        it.stages.iter().filter_map(on_disk).collect::<Vec<_>>()
    };
    plan.starts.numbered().flat_map(of_start).collect()
}

/// What is varied of a layout.
pub fn varied(layout: &Layout) -> Varied {
    match layout.sectoring {
        Sectoring::Holes(_) => Varied::Order,
        Sectoring::Marks { .. } => Varied::Passing,
    }
}

/// The order that the layout says, of the area or of the track.
pub fn declared_order(plan: &Plan, what: OnDisk) -> &[u8] {
    let layout = &plan.disks[what.disk].layout;
    let area = match &plan.stages[what.stage].home {
        Home::Disk { area, .. } => layout.area(area),
        _ => None,
    };
    match (varied(layout), area) {
        (Varied::Order, Some(area)) => area.order.numbers(),
        _ => layout.passing.numbers(),
    }
}

/// A stage on a disk with all that it takes to read it.
pub struct Bench<'a> {
    plan: &'a mut Plan,
    sources: &'a SourceMap,
    what: OnDisk,
    declared: Layout,
}

impl<'a> Bench<'a> {
    /// The plan is as it was when the bench is dropped.
    pub fn new(plan: &'a mut Plan, sources: &'a SourceMap, what: OnDisk) -> Bench<'a> {
        let declared = plan.disks[what.disk].layout.clone();
        Bench { plan, sources, what, declared }
    }

    /// The stage read from a disk on which each sector stands so many places behind the one before it.
    pub fn spaced(&mut self, places: usize) -> Spacing {
        let (layout, value) = self.layout(places);
        self.plan.disks.get_mut(self.what.disk).layout = layout;
        Spacing { places, value, took: self.read(Slower::default()) }
    }

    /// The stage read as the layout says.
    pub fn declared(&mut self) -> Took {
        self.plan.disks.get_mut(self.what.disk).layout = self.declared.clone();
        self.read(Slower::default())
    }

    /// What it costs if the program takes so many T-states longer as `by` says, up to `most` of them.
    pub fn spare(&mut self, places: Option<usize>, most: u32, by: impl Fn(u32) -> Slower) -> Spare {
        self.plan.disks.get_mut(self.what.disk).layout = match places {
            Some(places) => self.layout(places).0,
            None => self.declared.clone(),
        };
        let sector = self.sector_states();
        let plain = self.read(Slower::default());
        let is_free = |took: &Took| match (took, &plain) {
            (Took::Time(time), Took::Time(plain)) => time.0 < plain.0 + sector,
            _ => false,
        };
        let one = self.read(by(1));
        if !is_free(&one) {
            return Spare { costly: Some((1, one.clone())), one, free: 0 };
        }
        let (mut free, mut costly) = (1, None);
        while costly.is_none() && free < most {
            match self.read(by(free * 2)) {
                took if is_free(&took) => free *= 2,
                took => costly = Some((free * 2, took)),
            }
        }
        while let Some((most, _)) = costly.as_ref().filter(|(most, _)| *most > free + 1) {
            let middle = free + (most - free) / 2;
            match self.read(by(middle)) {
                took if is_free(&took) => free = middle,
                took => costly = Some((middle, took)),
            }
        }
        Spare { one, free, costly }
    }

    /// The stage read as the layout says, from the distances beside it, and by a program that is slower by one T-state.
    pub fn near(&mut self) -> Near {
        let declared = self.declared();
        let byte = self.read(Slower { byte: 1, sector: 0 });
        let sector = self.read(Slower { byte: 0, sector: 1 });
        let (own, distances) = (declared_order(self.plan, self.what).to_vec(), 1..self.declared.sectors());
        let here = distances.clone().find(|&places| self.layout(places).1 == own);
        let beside = here.into_iter().flat_map(|here| [(true, here - 1), (false, here + 1)]);
        let beside = beside.filter(|(_, places)| distances.contains(places));
        let beside = beside.map(|(nearer, places)| Beside { nearer, took: self.spaced(places).took }).collect();
        Near { declared, beside, byte, sector, clock_hz: self.clock_hz() }
    }

    /// T-states in a second.
    pub fn clock_hz(&self) -> u64 {
        self.plan.machine.clock_hz.unwrap_or(USUAL_CLOCK)
    }

    /// T-states of a turn.
    pub fn turn_states(&self) -> f64 {
        self.clock_hz() as f64 * 60.0 / self.declared.turn.rpm
    }

    /// T-states in which a byte passes.
    pub fn byte_states(&self) -> u32 {
        (self.clock_hz() as f64 * self.declared.turn.byte_us / 1e6) as u32
    }

    fn sector_states(&self) -> u64 {
        (self.turn_states() / self.declared.sectors() as f64) as u64
    }

    /// The layout with another distance, and the order that says so.
    fn layout(&self, places: usize) -> (Layout, Vec<u8>) {
        let mut layout = self.declared.clone();
        let (first, count) = (layout.first, layout.sectors());
        let numbers = match varied(&layout) {
            Varied::Order => Numbering::read_every(places, first, count),
            Varied::Passing => Numbering::every(places, first, count),
        };
        let value = numbers.numbers().to_vec();
        match (varied(&layout), &self.plan.stages[self.what.stage].home) {
            (Varied::Order, Home::Disk { area, .. }) => {
                layout.areas.iter_mut().filter(|it| it.name == *area).for_each(|it| it.order = numbers.clone());
            }
            _ => layout.passing = numbers,
        }
        (layout, value)
    }

    /// Reads the stage from the disk as it is now.
    fn read(&self, slower: Slower) -> Took {
        let failed = |why: Option<String>| Took::Failed(why.unwrap_or_else(|| "it was not read".into()));
        let headline = |problems: &Diagnostics| {
            problems.iter().find(|it| it.severity == Severity::Error).map(|it| it.headline.clone())
        };
        let (plan, sources) = (&*self.plan, self.sources);
        let made = match Artefacts::make(plan, sources, Recordings::Left) {
            Ok(made) => made,
            Err(problems) => return failed(headline(&problems)),
        };
        let request = Request { slower, ..Request::default() };
        let attempt = Attempt { plan, made: &made, start: self.what.start, request: &request, sources };
        let outcome = attempt.once();
        let name = &plan.stages[self.what.stage].name;
        let arrived = outcome.stages.iter().find(|stage| stage.name == *name).and_then(|stage| stage.arrived);
        match arrived {
            Some((first, last)) if outcome.agrees() => Took::Time(TStates(last.0 - first.0)),
            _ => failed(headline(&outcome.problems)),
        }
    }
}

impl Drop for Bench<'_> {
    fn drop(&mut self) {
        self.plan.disks.get_mut(self.what.disk).layout = self.declared.clone();
    }
}
