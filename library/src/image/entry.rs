//! Whether a program begins within itself.

use super::bytes::Image;
use crate::notation::{Address, Both};
use crate::source::{Code, Diagnostic};

/// A warning if no byte of a program lies at the address at which it is to be started. Of a program without bytes there is
/// nothing to say.
pub fn entry_outside(image: &Image, entry: Address) -> Option<Diagnostic> {
    let first = image.extents().next()?;
    if image.byte(entry).is_some() {
        return None;
    }
    let last = image.extents().last().map_or(first.last(), |extent| extent.last());
    let headline = format!("the program is to start at {}, where it has no byte", Both(entry));
    let problem = Diagnostic::warning(Code::EntryOutside, headline).with_note(format!(
        "its bytes lie between {} and {}",
        Both(first.base),
        Both(last)
    ));
    Some(problem.with_help("start it at its first instruction; right only if a ROM or another program lies there"))
}
