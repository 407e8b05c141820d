//! What went wrong at a disk drive: the first thing that the drive could not do, at the instruction that asked for it.

use super::Scene;
use crate::disk::Sectoring;
use crate::disk::read::{self, Verdict};
use crate::notation::counted;
use crate::project::{ChainDisk, Home};
use crate::record::Spot;
use crate::rehearsal::disk::fd1771::Trouble as ChipTrouble;
use crate::rehearsal::disk::{Mishap, Trouble};
use crate::rehearsal::incident::{Incident, What};
use crate::source::{Code, Diagnostic};

/// Sectors that are named.
const MOST_SHOWN: usize = 4;

impl Scene<'_> {
    /// A stage that was to be read from a disk did not come: if the drive could not do what it was told, that goes before
    /// what came of it.
    pub(super) fn with_drive(&self, problem: Diagnostic) -> Diagnostic {
        let Some(Home::Disk { disk, area }) = self.loaded.map(|stage| &stage.home) else { return problem };
        let disk = &self.plan.disks[*disk];
        let place = disk.drive.place();
        let turns = self.machine.board.drive(place).has_disk(self.machine.cpu.clock);
        // A disk that went away takes its bytes with it.
        let counts = |trouble: Trouble| turns || !matches!(trouble, Trouble::NothingWaits | Trouble::Lost { .. });
        let mut troubles: Vec<_> =
            self.troubles().filter(|(_, drive, trouble)| *drive == place && counts(*trouble)).collect();
        troubles.sort_by_key(|(.., trouble)| weight(*trouble));
        let problem = match troubles.first() {
            Some(&(incident, _, trouble)) => {
                self.trouble(incident, place, trouble).with_note(format!("so {}", problem.headline))
            }
            None => problem,
        };
        let problem = self.with_state(problem, place);
        self.with_disk(problem, disk, area)
    }

    /// What a stage made a drive do that it could not, whatever became of it.
    pub(super) fn drive_mishap(&self) -> Option<Diagnostic> {
        let is_mishap = |trouble: Trouble| matches!(trouble, Trouble::Drive(_) | Trouble::NotGiven { .. });
        let (incident, place, trouble) = self.troubles().find(|(.., trouble)| is_mishap(*trouble))?;
        Some(self.trouble(incident, place, trouble))
    }

    fn troubles(&self) -> impl Iterator<Item = (&Incident, usize, Trouble)> {
        self.incidents().filter_map(|incident| match incident.what {
            What::Disk { disk, trouble } => Some((incident, disk, trouble)),
            _ => None,
        })
    }

    fn trouble(&self, incident: &Incident, place: usize, trouble: Trouble) -> Diagnostic {
        let drive = self.plan.machine.drives.get(place).map_or("", |drive| drive.name.as_str());
        let (what, help) = self.words(trouble, drive);
        let cause = self.at(Diagnostic::error(Code::DriveMisused, what), incident.pc, "by this instruction");
        cause.with_note(self.when(incident)).with_help(help)
    }

    fn when(&self, incident: &Incident) -> String {
        let hertz = self.plan.machine.clock_hz.unwrap_or(crate::rehearsal::cast::USUAL_CLOCK) as f64;
        format!("{} after RUN", crate::rehearsal::words::seconds(incident.at.0 as f64 / hertz))
    }

    /// How the drive stood at the end, if that may be why.
    fn with_state(&self, problem: Diagnostic, place: usize) -> Diagnostic {
        let now = self.machine.cpu.clock;
        let drive = self.plan.machine.drives.get(place).map_or("", |drive| drive.name.as_str());
        let state = self.machine.board.drive(place);
        let notes = [
            (!state.is_selected(), format!("the drive `{drive}` is not selected")),
            (!state.has_disk(now), format!("no disk turns in the drive `{drive}` by now: its door is open")),
            (state.is_selected() && !state.is_loaded(), format!("the head of the drive `{drive}` is not loaded")),
        ];
        notes.into_iter().filter(|(is, _)| *is).fold(problem, |it, (_, note)| it.with_note(note))
    }

    /// What the disk has for the stage, and where the loader looked for it.
    fn with_disk(&self, mut problem: Diagnostic, disk: &ChainDisk, area: &str) -> Diagnostic {
        let (state, notation) = (self.machine.board.drive(disk.drive.place()), self.notation());
        let (Some(area), Some(diskette)) = (disk.layout.area(area), state.diskette()) else { return problem };
        let spot = |spot: Spot| format!("sector {} of track {}", notation.byte(spot.sector), notation.byte(spot.track));
        let head = notation.byte(state.track() as u8);
        problem = problem.with_note(match state.log().last() {
            Some((track, place)) => {
                let last = Spot { track: track as u8, sector: disk.layout.number_at(track, place) };
                let read = counted(state.log().count() as usize, "sector");
                let again = state.log().again();
                format!("{read} read, {again} of them again, the last {}; the head stands on track {head}", spot(last))
            }
            None => format!("no byte was read; the head stands on track {head}"),
        });
        let file = diskette.disk();
        let reading = read::read(&disk.layout, &file);
        let verdict = |spot: Spot| disk.layout.index(spot).map(|index| &reading.verdicts[index]);
        let spots = disk.layout.spots(area);
        let bad =
            spots.iter().filter(|&&spot| matches!(verdict(spot), Some(Verdict::Damaged(..) | Verdict::Elsewhere(_))));
        for &bad in bad.take(MOST_SHOWN) {
            problem = problem.with_note(format!("{} on the disk is not as it was written", spot(bad)));
        }
        let written: Vec<_> = spots.iter().filter(|&&spot| verdict(spot) != Some(&Verdict::Empty)).collect();
        let loaded = self.loaded.map_or("", |stage| stage.name.as_str());
        if let [first, ..] = written.as_slice() {
            let (count, order) = (counted(written.len(), "sector"), written.iter().take(MOST_SHOWN));
            let order: Vec<_> = order.map(|spot| notation.byte(spot.sector).to_string()).collect();
            let first = notation.byte(first.track);
            problem = problem.with_note(format!(
                "`{loaded}` has {count} on the disk, from track {first} on: {}{}",
                order.join(", "),
                if written.len() > MOST_SHOWN { " ..." } else { "" }
            ));
        }
        if let Some(note) = written.first().and_then(|first| self.at_another_hole(disk, **first)) {
            problem = problem.with_note(note);
        }
        let first = read::take(&disk.layout, &file, &reading, area).pieces.first().map(|(base, _)| *base);
        let wanted = self.loaded.and_then(|stage| stage.image.extents().next()).map(|extent| extent.base);
        if let (Some(first), Some(wanted)) = (first, wanted)
            && first != wanted
        {
            let (first, wanted) = (self.address(first), self.address(wanted));
            problem = problem.with_note(format!("the disk is for {first}, `{loaded}` belongs at {wanted}"));
        }
        problem
    }

    /// A controller without registers shows the numbers of holes: told where those of sectors are others.
    fn at_another_hole(&self, disk: &ChainDisk, first: Spot) -> Option<String> {
        let (layout, notation) = (&disk.layout, self.notation());
        let by_holes = matches!(layout.sectoring, Sectoring::Holes(_));
        let hole = layout.place_of(first).filter(|&hole| by_holes && hole != usize::from(first.sector))?;
        let (sector, track, hole) = (first.sector, first.track, hole as u8);
        let [sector, track, hole] = [sector, track, hole].map(|number| notation.byte(number));
        Some(format!(
            "sector {sector} of track {track} begins at hole {hole}: the controller shows the numbers of holes, and `{}` \
             gives sectors others",
            layout.name
        ))
    }

    fn words(&self, trouble: Trouble, drive: &str) -> (String, String) {
        let name = &self.runs.name;
        let states = |states: crate::isa::TStates| counted(states.0 as usize, "T-state");
        let pair = |what: String, help: &str| (what, help.to_owned());
        match trouble {
            Trouble::Drive(mishap) => self.mishap(mishap, drive),
            Trouble::Lost { byte, late } => pair(
                format!("`{name}` lost byte {byte} of a sector of `{drive}`: it fetched {} too late", states(late)),
                "make the loop shorter: a byte is gone when the next one has come",
            ),
            Trouble::NothingWaits => pair(
                format!("`{name}` fetches from `{drive}` although no byte waits"),
                "look whether the right status bit is tested, and whether a one or a zero means yes",
            ),
            Trouble::NotGiven { byte, late } if late.0 > 0 => pair(
                format!("`{name}` gave byte {byte} of a sector to `{drive}` {} too late", states(late)),
                "make the loop shorter: a byte must be there when its place passes",
            ),
            Trouble::NotGiven { byte, .. } => pair(
                format!("`{name}` did not give byte {byte} of a sector that it writes on `{drive}`"),
                "give as many bytes as a sector has",
            ),
            Trouble::Chip(trouble) => self.chip_words(trouble, drive),
        }
    }

    fn chip_words(&self, trouble: ChipTrouble, drive: &str) -> (String, String) {
        let name = &self.runs.name;
        let (what, help) = match trouble {
            ChipTrouble::Busy => (
                format!("`{name}` gives the controller of `{drive}` a command while it does another: it is not taken"),
                "wait until the command before it is done, or force it to end",
            ),
            ChipTrouble::NotReady => (
                format!("`{name}` gives the controller of `{drive}` a command, and no disk turns in the drive"),
                "select the drive, and wait until the status says that it is ready",
            ),
            ChipTrouble::Protected => (
                format!("`{name}` writes on `{drive}`, whose disk is protected: nothing is written"),
                "look at the status before writing, or take the protection off",
            ),
            ChipTrouble::WriteFault => {
                (format!("`{name}` writes on `{drive}`, which cannot write"), "look at the drive")
            }
            ChipTrouble::Lost { byte } => (
                format!("`{name}` lost byte {byte} of a sector of `{drive}`"),
                "make the loop shorter: a byte is gone when the next one has come",
            ),
            ChipTrouble::Check => (
                format!("a check does not agree in what `{name}` reads from `{drive}`"),
                "read it again; if it stays so, write the disk anew",
            ),
            ChipTrouble::WrongTrack => (
                format!("`{name}` does not bring `{drive}` to the track that it wants: the disk says another, or none"),
                "look whether the step rate of the command is one that the drive can follow",
            ),
            ChipTrouble::NotFound => (
                format!("the sector that `{name}` asks for did not come within two turns of `{drive}`"),
                "look at the track register and the sector register: is it on that track, under that number, with a loaded head?",
            ),
        };
        (what, help.to_owned())
    }

    fn mishap(&self, mishap: Mishap, drive: &str) -> (String, String) {
        let name = &self.runs.name;
        let states = |states: crate::isa::TStates| counted(states.0 as usize, "T-state");
        let (what, help) = match mishap {
            Mishap::StepEarly(by) => (
                format!("`{name}` steps `{drive}` {} too early: the head does not follow", states(by)),
                "wait until the drive shows that it may be stepped, or for its step time",
            ),
            Mishap::ReverseEarly(by) => (
                format!("`{name}` steps `{drive}` the other way {} too early: the head does not follow", states(by)),
                "wait longer before the direction changes",
            ),
            Mishap::StepPastLast => {
                (format!("`{name}` steps `{drive}` inward from its last track"), "count the steps from track 0 on")
            }
            Mishap::StepUnselected => {
                (format!("`{name}` steps `{drive}`, which is not selected"), "select the drive first")
            }
            Mishap::ReadUnloaded => {
                (format!("`{name}` reads from `{drive}`, whose head is not loaded"), "load the head, and wait for it")
            }
            Mishap::ReadUnsettled(by) => (
                format!("`{name}` reads from `{drive}` {} before its head has come to rest", states(by)),
                "wait until the drive shows that the head has settled, or for its time",
            ),
            Mishap::WriteProtected => (
                format!("`{name}` writes on `{drive}`, whose disk is protected: nothing is written"),
                "look at the status before writing, or take the protection off",
            ),
            Mishap::WriteUnloaded => {
                (format!("`{name}` writes on `{drive}`, whose head is not loaded"), "load the head, and wait for it")
            }
            Mishap::WriteUnsettled(by) => (
                format!("`{name}` writes on `{drive}` {} before its head has come to rest", states(by)),
                "wait until the drive shows that the head has settled, or for its time",
            ),
            Mishap::WriteNowhere => {
                (format!("`{name}` writes on `{drive}` while no disk turns in it"), "wait until the drive is ready")
            }
        };
        (what, help.to_owned())
    }
}

/// What rather explains the rest: a head that is elsewhere before what it finds there.
fn weight(trouble: Trouble) -> u8 {
    match trouble {
        Trouble::Drive(Mishap::StepEarly(_) | Mishap::ReverseEarly(_) | Mishap::StepUnselected) => 0,
        Trouble::Drive(Mishap::StepPastLast) => 1,
        Trouble::Drive(_) => 2,
        Trouble::NotGiven { .. } => 3,
        Trouble::Lost { .. } => 4,
        Trouble::Chip(_) => 5,
        Trouble::NothingWaits => 6,
    }
}
