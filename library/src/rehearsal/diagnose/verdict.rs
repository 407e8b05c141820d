//! What a given tape holds, read by its framing alone, beside what the chain wants on it.

use crate::notation::{Address, Notation};
use crate::project::Stage;
use crate::tape::framing::{self, Cause, End, Framing, Verdict};

/// What is wrong with a tape, in words. It is looked at from a frame on, given by its number and what follows; the first
/// program from there on is the one that is wanted.
pub fn notes(framing: &Framing, (from, frames): (usize, &[u8]), wanted: &Stage, notation: Notation) -> Vec<String> {
    let reading = framing::decode(framing, frames);
    let mut notes = Vec::new();
    if reading.programs.is_empty() {
        notes.push(format!("the tape holds nothing of the framing `{}`", framing.name));
    }
    for program in reading.programs.iter().take(1) {
        for block in &program.blocks {
            if let Verdict::Bad { cause, .. } = &block.verdict {
                notes.push(format!(
                    "the tape is damaged at frames {} to {}: {}",
                    from + block.range.start,
                    from + block.range.end - 1,
                    word(cause, notation)
                ));
            }
        }
        for stray in &program.strays {
            notes.push(format!(
                "frames {} to {} of the tape are of no block, perhaps what is left of one",
                from + stray.range.start,
                from + stray.range.end - 1
            ));
        }
        if let [first, ..] = program.missing.as_slice() {
            notes.push(format!("the tape lacks block {first} of `{}`", wanted.name));
        }
        if program.lacks_head {
            notes.push("the tape has no head".into());
        }
        match program.end {
            End::Absent => notes.push("the tape has no end block".into()),
            End::Damaged => notes.push("the end block of the tape is damaged".into()),
            End::NotDeclared | End::Found => {}
        }
    }
    let first = reading.programs.iter().flat_map(|program| &program.blocks).find_map(|block| block.base());
    let lowest = wanted.image.extents().next().map(|extent| extent.base);
    if let (Some(found), Some(lowest)) = (first, lowest)
        && !holds(wanted, found)
    {
        notes.push(format!(
            "the tape is for {}, `{}` belongs at {}",
            notation.address(found),
            wanted.name,
            notation.address(lowest)
        ));
    }
    notes
}

/// Whether a block may begin at an address.
fn holds(stage: &Stage, address: Address) -> bool {
    // A page begins with what the framing pads.
    stage.image.extents().any(|extent| (extent.base.0 & 0xFF00..=extent.last().0).contains(&address.0))
}

fn word(cause: &Cause, notation: Notation) -> String {
    match cause {
        Cause::Check { name, found, right } => {
            let [found, right] = notation.alike([*found, *right]);
            format!("its {name} is {found} and should be {right}")
        }
        Cause::Character => "a character cannot stand there".into(),
        Cause::Parity { .. } => "the parity of a frame is wrong".into(),
        Cause::Start => "its beginning is wrong".into(),
        Cause::Torn => "the tape ends there".into(),
        Cause::Doubt { bytes } => format!("{bytes} of its bytes were heard with doubt"),
    }
}
