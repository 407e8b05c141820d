//! What can be wrong with tapes, lines and disks.

use super::list::List;
use crate::faults::fault::{DiskWrong, TapeWrong, Wrong};
use crate::faults::good::Good;
use crate::faults::kind::Kind;
use crate::faults::scene::{Lies, Scene};
use crate::line::{LineFormat, Parity, Speed, StopBits};
use crate::project::Home;

/// Seconds by which a tape runs already, and by which it is late.
const EARLY: [u32; 3] = [2, 5, 10];
const LATE: [u32; 2] = [10, 60];

/// The tapes.
pub fn tapes(scene: &Scene, list: &mut List) {
    let count = scene.stands[0].rolls.len();
    for tape in 0..count {
        let reel = scene.reel(tape);
        let mut add = |kind, wrong| list.add(kind, Wrong::Tape { tape, wrong });
        for frame in 0..reel.bytes.len() {
            (0..8).for_each(|bit| add(Kind::FrameBit, TapeWrong::Bit { frame, bit }));
            add(Kind::FrameLost, TapeWrong::Lost(frame));
            add(Kind::FrameTwice, TapeWrong::Twice(frame));
        }
        for block in reel.programs.iter().flat_map(|program| &program.blocks) {
            add(Kind::BlockMissing, TapeWrong::Without { from: block.start, to: block.end });
        }
        if scene.tape_of(1) == Some(tape) {
            EARLY.into_iter().for_each(|seconds| add(Kind::Early, TapeWrong::Early(seconds)));
        }
        LATE.into_iter().for_each(|seconds| add(Kind::Late, TapeWrong::Late(seconds)));
        (0..count).filter(|other| *other != tape).for_each(|other| add(Kind::OtherTape, TapeWrong::Other(other)));
        add(Kind::BlankTape, TapeWrong::Blank);
        if !scene.tapes[tape].is_sound {
            add(Kind::TurnedOver, TapeWrong::TurnedOver);
            add(Kind::Backwards, TapeWrong::Backwards);
        }
    }
}

/// Speeds to which a sender may be set, in baud.
const SPEEDS: [u32; 8] = [110, 150, 300, 600, 1200, 2400, 4800, 9600];

/// The lines down which a tape comes.
pub fn lines(scene: &Scene, list: &mut List) {
    let props = scene.props(0);
    for (serial, setup) in props.setup.serial.iter().enumerate() {
        if !props.runs.iter().any(|run| run.serial == serial) {
            continue;
        }
        let line = setup.line;
        let mut add = |kind, sender: LineFormat| {
            if sender != line {
                list.add(kind, Wrong::Sender { serial, sender });
            }
        };
        let speeds = SPEEDS.into_iter().filter_map(Speed::baud);
        speeds.for_each(|speed| add(Kind::Speed, LineFormat { speed, ..line }));
        let parities = [Parity::None, Parity::Even, Parity::Odd];
        parities.into_iter().for_each(|parity| add(Kind::LineParity, LineFormat { parity, ..line }));
        let stops = [StopBits::One, StopBits::Two];
        stops.into_iter().for_each(|stop_bits| add(Kind::StopBits, LineFormat { stop_bits, ..line }));
        [7, 8].into_iter().for_each(|data_bits| add(Kind::DataBits, LineFormat { data_bits, ..line }));
    }
}

/// By how many hundredths a head takes longer.
const UNSETTLED: [u32; 3] = [150, 200, 300];

/// The disks.
pub fn disks(scene: &Scene, good: &Good, list: &mut List) {
    for Lies { drive, layout, sectors, .. } in &scene.disks {
        let drive = *drive;
        let mut add = |kind, wrong| list.add(kind, Wrong::Disk { drive, wrong });
        for &sector in sectors {
            for byte in 0..layout.record_bytes() {
                add(Kind::SectorBad, DiskWrong::Sector { sector, byte, bit: (byte % 8) as u8 });
            }
        }
        for after in moments(scene, good) {
            add(Kind::DoorOpen, DiskWrong::Door(after));
        }
        add(Kind::OtherDisk, DiskWrong::Blank);
        add(Kind::OtherDisk, DiskWrong::Empty);
        UNSETTLED.into_iter().for_each(|more| add(Kind::HeadUnsettled, DiskWrong::Unsettled(more)));
        let off = (layout.turn.tolerance * 1000.0) as i64;
        [-off, off].into_iter().for_each(|off| add(Kind::TurnsOff, DiskWrong::Turns(off)));
    }
}

/// Thousandths of a second after RUN: at once, and while a stage is read from the drive.
fn moments(scene: &Scene, good: &Good) -> Vec<u32> {
    let mut moments = vec![0];
    let entered = &good.act.last.entered;
    for place in 1..entered.len() {
        if scene.stage(place).is_some_and(|stage| matches!(stage.home, Home::Disk { .. })) {
            let ms = |at: u64| at * 1000 / scene.clock_hz();
            let (from, to) = (ms(entered[place - 1].0), ms(entered[place].0));
            moments.extend([1, 2, 3].map(|quarter| (from + (to - from) * quarter / 4) as u32));
        }
    }
    moments.dedup();
    moments
}
