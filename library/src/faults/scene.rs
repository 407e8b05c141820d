//! What all plays of a start have in common, and how a fault changes it before anything moves.

use std::collections::BTreeSet;

use super::fault::{DiskWrong, Fault, RomWrong, TapeWrong, Wrong};
use super::hand::{StuckLever, Task, tasks};
use super::wires::Wires;
use crate::disk::{Disk, Form, Layout, write};
use crate::image::Image;
use crate::notation::Address;
use crate::panel::Panel;
use crate::project::{Artefacts, CodeMap, Home, Id, Plan, Reel, Stage, Start};
use crate::rehearsal::disk::Diskette;
use crate::rehearsal::{ChipSetup, Feed, Roll, Setup, Stand, station_of};
use crate::rom::{PartImage, Socket, join_as_read, split};
use crate::source::Diagnostics;

/// A start as it is played, with a copy of all that its plays need of the plan.
pub struct Scene {
    pub panel: Panel,
    pub sense_port: Option<u8>,
    /// Seconds after which a stage counts as endless.
    pub limit: u32,
    /// The stages in the order in which they run.
    pub stages: Vec<Runs>,
    /// What the hand does first.
    pub tasks: Vec<Task>,
    /// The start made ready, with one noise and with another in which every bit is turned over.
    pub stands: [Stand; 2],
    /// The tapes in the order in which they are read.
    pub tapes: Vec<Track>,
    /// The sockets that hold something, in the order of the set-up.
    pub sockets: Vec<Socket>,
    /// The disks that lie in drives.
    pub disks: Vec<Lies>,
    /// Seconds for which a stage may be at work after its tape has run out.
    pub patience: u64,
}

/// A stage of the start.
pub struct Runs {
    pub stage: Id<Stage>,
    pub name: String,
    pub image: Image,
    pub entry: Address,
    pub home: Home,
    /// Which of its bytes are instructions, if that is known.
    pub code: Option<CodeMap>,
}

/// A tape of the start.
pub struct Track {
    pub name: String,
    /// The serial chip that reads it, among those of the set-up.
    pub serial: usize,
    /// Seconds from the start of the stage that reads it.
    pub after: f64,
    /// Whether it is recorded as sound, and not punched.
    pub is_sound: bool,
}

/// A disk of the start.
pub struct Lies {
    /// The drive in which it lies.
    pub drive: usize,
    pub layout: Layout,
    pub file: Disk,
    pub protected: bool,
    /// The sectors that are read of it, by their numbers among all.
    pub sectors: Vec<usize>,
}

/// A tape as it comes down its line.
#[derive(Clone, Debug)]
pub struct Run {
    /// The serial chip that reads it.
    pub serial: usize,
    /// Its frames.
    pub frames: Vec<u8>,
    /// Seconds from the start of the stage that reads it; less than nought is before.
    pub after: f64,
}

/// What is played: the machine, its tapes and disks, with a fault in them or without.
pub struct Props {
    pub setup: Setup,
    pub wires: Wires,
    pub lever: Option<StuckLever>,
    pub runs: Vec<Run>,
    pub disks: Vec<(usize, Option<Diskette>)>,
    /// Thousandths of a second after RUN at which a drive's door is opened.
    pub doors: Vec<(usize, u32)>,
}

impl Scene {
    /// A start as the chain has it, with a noise at power-on, and with every bit of it turned over.
    ///
    /// # Errors
    /// As for a rehearsal.
    pub fn new(plan: &Plan, made: &Artefacts, number: Id<Start>, noise: u64) -> Result<Scene, Diagnostics> {
        let start = &plan.starts[number];
        let [one, other] = [noise << 1, noise << 1 | 1].map(|seed| Stand::new(plan, made, number, seed));
        let stands = [one?, other?];
        let tapes = stands[0].rolls.iter().map(|roll| track(plan, roll)).collect();
        let seated = made.sockets.iter().filter(|seated| !start.empty.contains(&seated.socket));
        Ok(Scene {
            panel: plan.machine.panel.clone(),
            sense_port: plan.machine.sense_port,
            limit: plan.limit,
            stages: start.stages.iter().map(|&stage| runs(plan, stage)).collect(),
            tasks: tasks(plan, made, start),
            sockets: seated.map(|seated| plan.machine.sockets[seated.socket].clone()).collect(),
            disks: stands[0].disks.iter().filter_map(|(drive, _)| lies(plan, made, start, *drive)).collect(),
            stands,
            tapes,
            patience: plan.limit.into(),
        })
    }

    /// The stage of a place.
    pub fn stage(&self, place: usize) -> Option<&Runs> {
        self.stages.get(place)
    }

    /// The name of a stage of the plan.
    pub fn stage_named(&self, stage: Id<Stage>) -> &str {
        self.stages.iter().find(|runs| runs.stage == stage).map_or("", |runs| &runs.name)
    }

    /// The place of the last stage.
    pub fn last(&self) -> usize {
        self.stages.len() - 1
    }

    /// T-states in a second.
    pub fn clock_hz(&self) -> u64 {
        self.stands[0].setup.clock_hz
    }

    /// All addresses of the start's stages, rising.
    pub fn chain(&self) -> Vec<Address> {
        let extents = self.stages.iter().flat_map(|stage| stage.image.extents());
        let cells =
            extents.flat_map(|extent| (0..extent.bytes.len()).map(move |at| extent.base.wrapping_add(at as u16)));
        cells.collect::<BTreeSet<_>>().into_iter().collect()
    }

    /// Whether the hand deposits a byte at an address.
    pub fn is_deposited(&self, address: Address) -> bool {
        let holds = |stage: &Runs| matches!(stage.home, Home::Panel(_)) && stage.image.byte(address).is_some();
        self.stages.iter().any(holds)
    }

    /// The tape from which the stage of a place is read, among those of the start.
    pub fn tape_of(&self, place: usize) -> Option<usize> {
        let Home::Tape { tape, .. } = self.stage(place)?.home else { return None };
        self.stands[0].rolls.iter().position(|roll| roll.reel.tape == tape)
    }

    /// The tape of that place.
    pub fn reel(&self, tape: usize) -> &Reel {
        &self.stands[0].rolls[tape].reel
    }

    /// What is played with a noise, without a fault.
    pub fn props(&self, noise: usize) -> Props {
        let stand = &self.stands[noise];
        let run = |(track, roll): (&Track, &Roll)| {
            let Track { serial, after, .. } = *track;
            Run { serial, frames: roll.reel.bytes.clone(), after }
        };
        Props {
            setup: stand.setup.clone(),
            wires: Wires::default(),
            lever: None,
            runs: self.tapes.iter().zip(&stand.rolls).map(run).collect(),
            disks: stand.disks.iter().map(|(drive, disk)| (*drive, Some(disk.clone()))).collect(),
            doors: Vec::new(),
        }
    }

    /// What is played with a noise and faults that go together. What the hand does wrong is not in it.
    pub fn with(&self, noise: usize, faults: &[Fault]) -> Props {
        let mut props = self.props(noise);
        let mut faults: Vec<_> = faults.iter().collect();
        // What lies further along a tape comes first, so that frames keep their numbers.
        faults.sort_by_key(|fault| std::cmp::Reverse(fault.frame()));
        faults.into_iter().for_each(|fault| self.spoil(fault, &mut props));
        props
    }

    fn spoil(&self, fault: &Fault, props: &mut Props) {
        match &fault.wrong {
            Wrong::Row { .. } | Wrong::Again { .. } => {}
            &Wrong::Lever { bank, lever, up } => props.lever = Some(StuckLever { bank, lever, up }),
            Wrong::Address(defect) => props.wires.address = Some(*defect),
            Wrong::Data(defect) => props.wires.data = Some(*defect),
            Wrong::Cell(cell) => props.wires.cell = Some(*cell),
            &Wrong::StatusTurned { serial, bit } => props.setup.serial[serial].wires.turned |= 1 << bit,
            &Wrong::StatusCrossed { serial, bits } => props.setup.serial[serial].wires.crossed = Some(bits),
            &Wrong::Ports { serial } => {
                let chip = &mut props.setup.serial[serial];
                (chip.control, chip.data_out) = (Some(chip.data_out), chip.control.unwrap_or(chip.status));
                std::mem::swap(&mut chip.status, &mut chip.data_in);
            }
            &Wrong::Absent { serial } => props.setup.serial[serial].chip = ChipSetup::Absent,
            Wrong::Rom(wrong) => self.spoil_rom(*wrong, &mut props.setup),
            &Wrong::Clock { per_mille } => {
                let hertz = props.setup.clock_hz as i64 * i64::from(1000 + per_mille) / 1000;
                props.setup.clock_hz = hertz.max(1) as u64;
            }
            &Wrong::Tape { tape, wrong } => self.spoil_tape(tape, wrong, &mut props.runs),
            &Wrong::Sender { serial, sender } => props.setup.serial[serial].sender = Some(sender),
            &Wrong::Disk { drive, wrong } => self.spoil_disk(drive, wrong, props),
        }
    }

    fn spoil_tape(&self, tape: usize, wrong: TapeWrong, runs: &mut [Run]) {
        if let TapeWrong::Other(other) = wrong {
            runs[tape].frames = self.reel(other).bytes.clone();
            return;
        }
        let Run { frames, after, .. } = &mut runs[tape];
        match wrong {
            TapeWrong::Bit { frame, bit } => frames[frame] ^= 1 << bit,
            TapeWrong::Lost(frame) => drop(frames.remove(frame)),
            TapeWrong::Twice(frame) => frames.insert(frame, frames[frame]),
            TapeWrong::Without { from, to } => drop(frames.drain(from..to)),
            TapeWrong::Early(seconds) => *after = -f64::from(seconds),
            TapeWrong::Late(seconds) => *after += f64::from(seconds),
            TapeWrong::Blank => {
                let leader = frames.first().copied().unwrap_or(0);
                frames.fill(leader);
            }
            TapeWrong::TurnedOver => frames.iter_mut().for_each(|frame| *frame = frame.reverse_bits()),
            TapeWrong::Backwards => frames.reverse(),
            TapeWrong::Other(_) => {}
        }
    }

    fn spoil_rom(&self, wrong: RomWrong, setup: &mut Setup) {
        let sockets = &self.sockets;
        let parts = |setup: &Setup, socket: usize| split(&sockets[socket], &setup.rom[socket].1);
        let seat = |setup: &mut Setup, socket: usize, parts: &[PartImage]| {
            if let Ok(bytes) = join_as_read(&sockets[socket], parts) {
                setup.rom[socket].1 = bytes;
            }
        };
        match wrong {
            RomWrong::Bit { address, bit } => {
                let holds = |(base, bytes): &&mut (Address, Vec<u8>)| {
                    (base.index()..base.index() + bytes.len()).contains(&address.index())
                };
                if let Some((base, bytes)) = setup.rom.iter_mut().find(holds) {
                    bytes[address.index() - base.index()] ^= 1 << bit;
                }
            }
            RomWrong::Halves { socket, seat: place } => {
                let mut images = parts(setup, socket);
                let half = images[place].words.len() / 2;
                images[place].words.rotate_left(half);
                seat(setup, socket, &images);
            }
            RomWrong::Exchanged { one, other } if one.0 == other.0 => {
                let mut images = parts(setup, one.0);
                images.swap(one.1, other.1);
                seat(setup, one.0, &images);
            }
            RomWrong::Exchanged { one, other } => {
                let (mut ones, mut others) = (parts(setup, one.0), parts(setup, other.0));
                std::mem::swap(&mut ones[one.1].words, &mut others[other.1].words);
                seat(setup, one.0, &ones);
                seat(setup, other.0, &others);
            }
            RomWrong::Absent { socket } => setup.rom[socket].1.fill(0xFF),
        }
    }

    fn spoil_disk(&self, drive: usize, wrong: DiskWrong, props: &mut Props) {
        let setup = props.setup.disks.get_mut(drive).map(|disk| &mut disk.drive);
        let disk = props.disks.iter_mut().find(|(place, _)| *place == drive).map(|(_, disk)| disk);
        let (Some(setup), Some(disk)) = (setup, disk) else { return };
        match wrong {
            DiskWrong::Sector { sector, byte, bit } => {
                let Some(Lies { layout, file, protected, .. }) = self.disks.iter().find(|lies| lies.drive == drive)
                else {
                    return;
                };
                let mut bytes = file.clone().into_bytes();
                bytes[sector * layout.record_bytes() + byte] ^= 1 << bit;
                let spoilt = Disk::from_bytes(layout, bytes).ok();
                *disk = spoilt.and_then(|file| Diskette::new(layout, &file, *protected));
            }
            DiskWrong::Blank => {
                let layout = &setup.layout;
                *disk = Diskette::new(layout, &write::formatted(layout, Form::Whole), false);
            }
            DiskWrong::Empty => *disk = None,
            DiskWrong::Door(after) => props.doors.push((drive, after)),
            DiskWrong::Unsettled(hundredths) => {
                let more = f64::from(hundredths) / 100.0;
                setup.times.settle_ms *= more;
                setup.times.load_ms *= more;
            }
            DiskWrong::Turns(off) => setup.off = off,
        }
    }
}

impl Run {
    /// The tape from a frame on.
    pub fn feed(&self, from: usize) -> Feed {
        Feed::new(&self.frames[from.min(self.frames.len())..])
    }
}

fn runs(plan: &Plan, number: Id<Stage>) -> Runs {
    let stage = &plan.stages[number];
    Runs {
        stage: number,
        name: stage.name.clone(),
        image: stage.image.clone(),
        entry: stage.entry,
        home: stage.home.clone(),
        code: stage.code.clone(),
    }
}

fn track(plan: &Plan, roll: &Roll) -> Track {
    let tape = &plan.tapes[roll.reel.tape];
    let serial = station_of(&plan.machine, tape.serial);
    Track { name: tape.name.clone(), serial, after: tape.after, is_sound: tape.sound.is_some() }
}

/// The disk of a start in a drive.
fn lies(plan: &Plan, made: &Artefacts, start: &Start, drive: usize) -> Option<Lies> {
    let made = made.disks.iter().find(|made| plan.disks[made.disk].drive.place() == drive)?;
    let disk = &plan.disks[made.disk];
    let here = made.programs.iter().filter(|(stage, _)| start.stages.contains(stage));
    let spots = here.flat_map(|(_, written)| &written.sectors);
    let sectors = spots.filter_map(|(spot, ..)| disk.layout.index(*spot)).collect();
    let (layout, file) = (disk.layout.clone(), made.file.clone());
    Some(Lies { drive, layout, file, protected: disk.protected, sectors })
}
