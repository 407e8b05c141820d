//! Places in texts.

use std::num::NonZeroU32;

/// Identifies one text of a [`SourceMap`](super::SourceMap).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SourceId(NonZeroU32);

impl SourceId {
    /// The id of the text that was added first.
    pub const FIRST: SourceId = SourceId(NonZeroU32::MIN);

    /// The id of the text at an index, from 0.
    pub(super) fn at(index: usize) -> SourceId {
        SourceId(NonZeroU32::MIN.saturating_add(index as u32))
    }

    /// The index of its text, from 0.
    pub(super) const fn index(self) -> usize {
        self.0.get() as usize - 1
    }
}

/// A place: an offset in bytes into a source.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Position {
    /// The text.
    pub source: SourceId,
    /// Bytes from its start.
    pub offset: u32,
}

/// A stretch of text: from `start` up to but without `end`, in bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Span {
    /// The text.
    pub source: SourceId,
    /// Offset of the first byte.
    pub start: u32,
    /// Offset behind the last byte.
    pub end: u32,
}

impl Span {
    /// Where the span begins.
    pub const fn position(self) -> Position {
        Position { source: self.source, offset: self.start }
    }

    /// The smallest span that covers both; `other` must lie in the same source.
    pub fn to(self, other: Span) -> Span {
        Span { source: self.source, start: self.start.min(other.start), end: self.end.max(other.end) }
    }
}

impl Position {
    /// The empty span at this place.
    pub const fn span(self) -> Span {
        Span { source: self.source, start: self.offset, end: self.offset }
    }
}
