//! The very bytes of a chain's tapes, for building and for rehearsing.

use std::io::Cursor;

use super::listed::Id;
use super::machine::MachineSound;
use super::plan::{Home, Plan, Stage, Start, Tape};
use crate::audio::{self, Sound, WriteError};
use crate::line::{LineFormat, Parity};
use crate::source::{Code, Diagnostic, Diagnostics};
use crate::tape::framing::{self, PieceKind};

/// A tape as it will be played.
#[derive(Clone, Debug)]
pub struct Reel {
    /// The tape.
    pub tape: Id<Tape>,
    /// The starts in which it is read, with its place among their tapes.
    pub places: Vec<(Id<Start>, usize)>,
    /// The name of its files, without what follows the point.
    pub stem: String,
    /// One byte a frame.
    pub bytes: Vec<u8>,
    /// The stages on it, in order.
    pub programs: Vec<Written>,
    /// Its recording, if it has a sound and recordings were made.
    pub recording: Option<Recording>,
    /// Whether the bytes are those of a given file rather than what the plan makes.
    pub given: bool,
}

/// The recording of a tape.
#[derive(Clone, Debug, PartialEq)]
pub struct Recording {
    /// A WAV file.
    pub wav: Vec<u8>,
    /// Its length.
    pub seconds: f64,
}

/// One stage on a tape as the plan makes it.
#[derive(Clone, Debug)]
pub struct Written {
    /// The stage.
    pub stage: Id<Stage>,
    /// Frames that carry something: heads, blocks and ends.
    pub blocks: Vec<std::ops::Range<usize>>,
}

impl Reel {
    fn new(tape: Id<Tape>) -> Reel {
        let (places, programs, bytes) = (Vec::new(), Vec::new(), Vec::new());
        Reel { tape, places, stem: String::new(), bytes, programs, recording: None, given: false }
    }

    /// Its place among the tapes of a start, if it is read there.
    pub fn place_in(&self, start: Id<Start>) -> Option<usize> {
        self.places.iter().find(|(other, _)| *other == start).map(|(_, place)| *place)
    }

    /// The same tape with the frames that were given in place of its own, if any were; without its recording.
    pub fn played(&self, given: Option<Vec<u8>>) -> Reel {
        Reel {
            tape: self.tape,
            places: self.places.clone(),
            stem: self.stem.clone(),
            given: given.is_some(),
            bytes: given.unwrap_or_else(|| self.bytes.clone()),
            programs: self.programs.clone(),
            recording: None,
        }
    }

    /// The stage to which a frame matters; none for leader, gap and trailer, and for the frames of a given tape.
    pub fn stage_of(&self, frame: usize) -> Option<Id<Stage>> {
        let holds = |program: &&Written| program.blocks.iter().any(|block| block.contains(&frame));
        self.programs.iter().find(holds).map(|program| program.stage)
    }

    /// Seconds from the start of the tape to the end of the last frame that carries something: as its recording lasts,
    /// or at the pace of its line. `None` if it carries nothing, or nothing says how fast it is.
    pub fn seconds_to_read(&self, plan: &Plan) -> Option<f64> {
        let frames = self.programs.iter().flat_map(|program| &program.blocks).map(|block| block.end).max()?;
        let tape = &plan.tapes[self.tape];
        match &tape.sound {
            Some(sound) => Some(sound.pauses.leader + frames as f64 * sound.modulation.character_seconds()),
            None => Some(plan.machine.serial[tape.serial].line?.time(frames as u64).as_secs_f64()),
        }
    }
}

impl Recording {
    /// The recording of a tape's frames.
    ///
    /// # Errors
    /// [`WriteError`] if it cannot be made.
    pub fn of(frames: &[u8], sound: &MachineSound) -> Result<Recording, WriteError> {
        let mut wav = Cursor::new(Vec::new());
        let usual = Sound::default();
        let written = audio::write(&mut wav, &[frames], &sound.modulation, &sound.pauses, &usual, |_| ())?;
        Ok(Recording { wav: wav.into_inner(), seconds: written.seconds })
    }
}

/// The recording of a tape, if it has a sound.
///
/// # Errors
/// Why it cannot be made.
pub(super) fn record(plan: &Plan, reel: &Reel) -> Result<Option<Recording>, Box<Diagnostic>> {
    let tape = &plan.tapes[reel.tape];
    let Some(sound) = &tape.sound else { return Ok(None) };
    Recording::of(&reel.bytes, sound).map(Some).map_err(|error| {
        let headline = format!("the tape `{}` cannot be recorded: {error}", tape.name);
        Box::new(Diagnostic::error(Code::TapeUnfit, headline))
    })
}

/// The tapes of a start, in the order in which they are read.
///
/// # Errors
/// What cannot be put on a tape.
pub(super) fn reels(plan: &Plan, start: &Start) -> Result<Vec<Reel>, Diagnostics> {
    let (mut reels, mut problems): (Vec<Reel>, _) = (Vec::new(), Diagnostics::default());
    for &number in &start.stages {
        let stage = &plan.stages[number];
        let Home::Tape { tape, framing } = &stage.home else { continue };
        let program = framing::Program { name: &stage.name, image: &stage.image, lettering: "" };
        let written = match framing::encode(framing, &[program], plan.machine.panel.notation) {
            Ok(written) => written,
            Err(problem) => {
                problems.push(if problem.primary.is_some() { problem } else { problem.at(stage.span, "this stage") });
                continue;
            }
        };
        let known = reels.iter().position(|reel| reel.tape == *tape);
        let at = known.unwrap_or_else(|| {
            reels.push(Reel::new(*tape));
            reels.len() - 1
        });
        let reel = &mut reels[at];
        let offset = reel.bytes.len();
        let carries = |kind: &PieceKind| matches!(kind, PieceKind::Block { .. });
        let blocks = written.pieces.iter().filter(|piece| carries(&piece.kind));
        let blocks = blocks.map(|piece| piece.range.start + offset..piece.range.end + offset).collect();
        reel.programs.push(Written { stage: number, blocks });
        reel.bytes.extend(written.bytes);
    }
    problems.extend(reels.iter().filter_map(|reel| uncarried(plan, reel)));
    if problems.has_errors() { Err(problems) } else { Ok(reels) }
}

/// What else lets a line carry a tape, to be put behind the wish for 8 data bits. A framing of text may punch another track 8
/// than the line makes.
fn other_way(line: LineFormat, is_text: bool) -> &'static str {
    match (line.data_bits, line.parity, is_text) {
        (7, _, true) => ", or the parity that the framing punches; a framing with `characters = \"7N\"` punches none",
        (7, Parity::Even, false) => ", or the stage a framing of text with even parity, such as `intel-hex`",
        (7, Parity::Odd, false) => ", or the stage a framing of text with `characters = \"7O\"` and digits",
        (7, Parity::None, false) => ", or the stage a framing of text with `characters = \"7N\"` and digits",
        _ => "",
    }
}

/// The first frame of a tape that its line has not the bits for. A line of seven bits with parity makes the eighth itself.
fn uncarried(plan: &Plan, reel: &Reel) -> Option<Diagnostic> {
    let (tape, machine) = (&plan.tapes[reel.tape], &plan.machine);
    let line = machine.serial.get(tape.serial.place())?.line?;
    let (frame, byte) = reel.bytes.iter().enumerate().find(|(_, byte)| !line.carries(**byte))?;
    let stage = reel.stage_of(frame).or(reel.programs.first().map(|program| program.stage))?;
    let is_text = matches!(&plan.stages[stage].home, Home::Tape { framing, .. } if framing.characters.is_seven_bit());
    let help = format!("give the line 8 data bits in the machine file{}", other_way(line, is_text));
    let byte = machine.panel.notation.byte(*byte);
    let headline = format!("the line `{line}` cannot carry frame {frame} of the tape `{}`, `{byte}`", tape.name);
    let bits = line.data_bits;
    Some(
        Diagnostic::error(Code::TapeUnfit, headline)
            .at(plan.stages[stage].span, "this stage is read from it")
            .with_note(format!("its characters have {bits} data bits, and the framing makes bytes of more"))
            .with_help(help),
    )
}
