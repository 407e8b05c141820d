//! The tapes of a rehearsal: what stands on them, and how it comes down the line.

use std::collections::BTreeMap;

use super::serial::{Feed, HeardCharacter};
use crate::audio::{self, Reading};
use crate::notation::{Notation, counted};
use crate::project::{Artefacts, Id, MachineSound, Plan, Recording, Reel, Start};
use crate::source::{Code, Diagnostic, Diagnostics};

/// What is played in place of what the chain makes for a tape.
#[derive(Clone, Debug, PartialEq)]
pub enum Given {
    /// Frames, at the pace of the line.
    Frames(Vec<u8>),
    /// A recording: its characters when they were heard, as long as they were.
    Recording(Reading),
}

/// How a tape is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Played {
    /// The frames that `build` writes, at the pace of the line.
    Frames,
    /// The recording that `build` writes, read back.
    Recording,
    /// Frames that were given.
    GivenFrames,
    /// A recording that was given.
    GivenRecording,
}

/// A tape in the player.
#[derive(Clone, Debug)]
pub struct Roll {
    /// What stands on it.
    pub reel: Reel,
    /// What the chain makes for it.
    pub made: Vec<u8>,
    /// How it comes down the line.
    pub feed: Feed,
    /// How it is played.
    pub played: Played,
}

/// Bits of a heard character, from its start bit to its first stop bit.
const HEARD_BITS: f64 = 10.0;

/// The tapes of a start; with `sound`, those that were recorded are played from their recordings.
///
/// # Errors
/// A recording that does not fit its line, and one that reads back otherwise.
pub fn rolls(
    plan: &Plan,
    made: &Artefacts,
    start: Id<Start>,
    given: &BTreeMap<String, Given>,
    sound: bool,
) -> Result<Vec<Roll>, Diagnostics> {
    let (mut rolls, mut problems) = (Vec::new(), Diagnostics::default());
    for made in made.reels(start) {
        match roll(plan, made, given, sound) {
            Ok(roll) => rolls.push(roll),
            Err(problem) => problems.push(*problem),
        }
    }
    if problems.has_errors() { Err(problems) } else { Ok(rolls) }
}

fn roll(plan: &Plan, made: &Reel, given: &BTreeMap<String, Given>, sound: bool) -> Result<Roll, Box<Diagnostic>> {
    let tape = &plan.tapes[made.tape];
    let given = given.get(&tape.name);
    let reel = made.played(given.map(Given::frames));
    let placed = |problem: Diagnostic| match reel.programs.first() {
        Some(first) => Box::new(problem.at(plan.stages[first.stage].span, "this stage is read from it")),
        None => Box::new(problem),
    };
    let recorded = tape.sound.as_ref().zip(made.recording.as_ref()).filter(|_| sound);
    let (feed, played) = match (given, recorded) {
        (Some(Given::Recording(reading)), _) => (heard(reading), Played::GivenRecording),
        (Some(Given::Frames(frames)), _) => (Feed::new(frames), Played::GivenFrames),
        (None, Some((sound, recording))) => {
            let reading = read_back(&tape.name, &made.bytes, recording, sound, plan.machine.panel.notation)
                .map_err(|problem| placed(*problem))?;
            (heard(&reading), Played::Recording)
        }
        (None, None) => (Feed::new(&made.bytes), Played::Frames),
    };
    Ok(Roll { reel, made: made.bytes.clone(), feed, played })
}

impl Given {
    fn frames(&self) -> Vec<u8> {
        match self {
            Given::Frames(frames) => frames.clone(),
            Given::Recording(reading) => reading.values(),
        }
    }
}

fn heard(reading: &Reading) -> Feed {
    Feed::heard(reading.bytes.iter().map(|heard| HeardCharacter {
        from: heard.from,
        bit: (heard.to - heard.from) / HEARD_BITS,
        byte: heard.value,
    }))
}

/// The recording that `build` writes of a tape, read back; each frame must be there again.
fn read_back(
    name: &str,
    frames: &[u8],
    recording: &Recording,
    sound: &MachineSound,
    notation: Notation,
) -> Result<Reading, Box<Diagnostic>> {
    let refuse = |why: String| {
        let headline = format!("the tape `{name}` cannot be played as a recording: {why}");
        Box::new(Diagnostic::error(Code::TapeUnfit, headline))
    };
    let reading =
        audio::read(&recording.wav[..], &sound.modulation, |_| ()).map_err(|error| refuse(error.to_string()))?;
    let found = reading.values();
    if found == frames {
        return Ok(reading);
    }
    let headline = format!("the recording of the tape `{name}` does not read back as it was written");
    let note = difference(frames, &found, notation);
    let note = note.unwrap_or_else(|| format!("it has {} frames, {} were written", found.len(), frames.len()));
    Err(Box::new(Diagnostic::error(Code::ByteWrong, headline).with_note(note)))
}

/// Where a tape first differs from what the chain makes, in words. How long the leaders are does not matter.
pub fn difference(made: &[u8], found: &[u8], notation: Notation) -> Option<String> {
    let leader = made.first().copied();
    let behind = |frames: &[u8]| frames.iter().take_while(|&&frame| Some(frame) == leader).count();
    let begins = behind(found);
    let (wanted, given) = (&made[behind(made)..], &found[begins..]);
    let counts = match (found.len(), made.len()) {
        (found, made) if found == made => String::new(),
        (found, made) => format!("; it has {}, the chain makes {made}", counted(found, "frame")),
    };
    if let Some(rest) = behind_slip(wanted, given, leader) {
        let (right, wrong) = (notation.byte(made[0]), notation.byte(given[0]));
        let first = format!("frame {begins} of the tape, in its leader, is {wrong} instead of {right}");
        let only = ", and nothing else differs from what the chain makes";
        return Some(first + if rest == wanted { only } else { &counts });
    }
    let same = common(wanted, given);
    let (at, wanted, given) = (begins + same, &wanted[same..], &given[same..]);
    let (right, wrong) = match (wanted.split_first(), given.split_first()) {
        (None, None) => return None,
        (None, Some(_)) => return Some(format!("the tape goes on behind frame {at}, where it should end{counts}")),
        (Some(_), None) => return Some(format!("the tape ends early, behind frame {at}{counts}")),
        (Some(right), Some(wrong)) => (right, wrong),
    };
    let (right_byte, wrong_byte) = (notation.byte(*right.0), notation.byte(*wrong.0));
    let only = if right.1 == wrong.1 {
        format!("frame {at} of the tape is {wrong_byte} instead of {right_byte}")
    } else if right.1 == given {
        format!("the tape lacks a {right_byte} at frame {at}")
    } else if wrong.1 == wanted {
        format!("frame {at} of the tape, {wrong_byte}, is one too many")
    } else {
        let first = format!("frame {at} of the tape is {wrong_byte}, and the chain makes {right_byte} there");
        return Some(first + &counts);
    };
    Some(format!("{only}, and nothing else differs from what the chain makes"))
}

/// How many frames two tapes have in common from the first on.
fn common(one: &[u8], other: &[u8]) -> usize {
    one.iter().zip(other).take_while(|(one, other)| one == other).count()
}

/// What stands behind a leader in which a frame is wrong, the first of `given`: more of the leader, and then more of what is
/// wanted than if that frame were the first behind the leader.
fn behind_slip<'a>(wanted: &[u8], given: &'a [u8], leader: Option<u8>) -> Option<&'a [u8]> {
    let more = given.get(1..)?;
    let rest = &more[more.iter().take_while(|&&frame| Some(frame) == leader).count()..];
    let is_in_leader = rest.len() < more.len() && given.first() != wanted.first();
    (is_in_leader && common(wanted, rest) > common(wanted.get(1..)?, more)).then_some(rest)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_recording_reads_back_frame_for_frame() {
        for preset in &audio::PRESETS {
            let frames: Vec<u8> = (0..=255).chain([0; 20]).collect();
            let sound = preset.into();
            let recording = Recording::of(&frames, &sound).unwrap();
            let reading = read_back("one", &frames, &recording, &sound, Notation::Octal).unwrap();
            assert_eq!(reading.values(), frames, "{}", preset.name);
        }
    }

    #[test]
    fn the_first_frame_that_differs_is_named() {
        let differs = |found: &[u8]| difference(&[0, 0, 0, 1, 2, 3], found, Notation::Octal);
        assert_eq!(differs(&[0, 0, 0, 1, 2, 3]), None);
        assert_eq!(differs(&[0, 1, 2, 3]), None, "a shorter leader is no damage");
        let says = |found: &[u8], words: &str| {
            let text = differs(found).unwrap();
            assert!(text.starts_with(words), "{text}");
        };
        says(&[0, 0, 0, 1, 7, 3], "frame 4 of the tape is 007 instead of 002, and nothing else differs");
        says(&[0, 0, 0, 1, 3], "the tape lacks a 002 at frame 4, and nothing else differs");
        says(&[0, 0, 0, 1, 2, 2, 3], "frame 5 of the tape, 002, is one too many, and nothing else differs");
        says(&[0, 0, 0, 1, 7, 7], "frame 4 of the tape is 007, and the chain makes 002 there");
        says(&[0, 0, 7, 1], "frame 2 of the tape is 007, and the chain makes 001 there; it has 4 frames");
        says(
            &[0, 7, 0, 1, 2, 3],
            "frame 1 of the tape, in its leader, is 007 instead of 000, and nothing else differs",
        );
        says(
            &[0, 7, 0, 0, 0, 0, 1, 2, 3],
            "frame 1 of the tape, in its leader, is 007 instead of 000, and nothing else",
        );
        says(&[0, 7, 0, 1, 2, 5], "frame 1 of the tape, in its leader, is 007 instead of 000");
        says(&[0, 0, 0, 1, 2], "the tape ends early, behind frame 5");
        says(&[0, 0, 0, 1, 2, 3, 4], "the tape goes on behind frame 6");
        says(&[], "the tape ends early, behind frame 0");
    }
}
