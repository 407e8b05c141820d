//! Raw binary: bytes and nothing else. Where they belong must be told: the origin.
//!
//! A raw binary has no redundancy: a damaged byte cannot be noticed. Compare its checks, or use another format.

use super::reading::{put, span};
use super::{Image, MEMORY, Reading};
use crate::notation::{Address, Both, counted};
use crate::source::{Code, Diagnostic, Origin, SourceMap};

/// What becomes of the addresses between extents, which a raw binary cannot leave out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gaps {
    /// An image with gaps is refused.
    Refuse,
    /// They get this byte.
    Fill(u8),
}

/// The bytes of an image from its first to its last address. Origin, entry and symbols are left out; the format has no
/// place for them.
///
/// # Errors
/// A diagnostic naming the first gap, if gaps are refused.
pub fn write(image: &Image, gaps: Gaps) -> Result<Vec<u8>, Diagnostic> {
    let mut out = Vec::with_capacity(image.len());
    let mut next = None;
    for extent in image.extents() {
        let gap = next.map_or(0, |next| extent.base.index() - next);
        match gaps {
            Gaps::Fill(byte) => out.resize(out.len() + gap, byte),
            Gaps::Refuse if gap > 0 => return Err(gap_refused(extent.base.index() - gap, gap)),
            Gaps::Refuse => {}
        }
        out.extend_from_slice(extent.bytes);
        next = Some(extent.base.index() + extent.bytes.len());
    }
    Ok(out)
}

fn gap_refused(first: usize, count: usize) -> Diagnostic {
    let [first, last] = [first, first + count - 1].map(|at| Both(Address(at as u16)));
    let headline = format!("a raw binary cannot leave out `{first}` to `{last}`, {}", counted(count, "byte"));
    Diagnostic::error(Code::RawGap, headline)
        .with_help("fill gaps with `--fill 0xFF`, or choose a format with addresses")
}

/// Reads bytes that begin at `origin`. The source that is added describes the file in one line; every byte goes back to
/// it.
pub fn read(bytes: &[u8], origin: Address, name: &str, sources: &mut SourceMap) -> Reading {
    let mut reading = Reading::default();
    let text = format!("raw binary of {} bytes, read from address {} up\n", bytes.len(), Both(origin));
    let source = sources.add(name, text.as_str(), Origin::Given);
    let all = span(source, 0, text.len() - 1);
    let room = MEMORY - origin.index();
    if bytes.len() > room {
        let over = bytes.len() - room;
        reading.problems.push(
            Diagnostic::error(Code::ImagePastTop, format!("the file is `{over}` bytes too long for its origin"))
                .at(all, format!("{} fit from {} to the top of memory", counted(room, "byte"), Both(origin))),
        );
    }
    put(&mut reading, origin.index() as u64, &bytes[..bytes.len().min(room)], all, &text);
    reading
}
