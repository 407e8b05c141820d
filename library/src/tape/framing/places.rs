//! Where the parts of a framing stand in its file.

use super::part::Part;
use crate::record;
use crate::source::{Code, Span};

/// Where the parts of a framing stand in its file.
pub(super) struct Places {
    /// The whole file, for what is missing.
    pub file: Span,
    /// Leader, gap, trailer, each if given.
    pub leader: Option<Span>,
    /// As above.
    pub gap: Option<Span>,
    /// As above.
    pub trailer: Option<Span>,
    /// The fields of the head.
    pub head: Vec<Span>,
    /// The fields of the block.
    pub block: Vec<Span>,
    /// The fields of the end.
    pub end: Vec<Span>,
    /// The escape, if given.
    pub escape: Option<Span>,
    /// The ignored frames, if given.
    pub ignore: Option<Span>,
}

impl Places {
    /// Where the fields of a part stand.
    pub fn part(&self, part: Part) -> record::Places<'_> {
        let fields = match part {
            Part::Head => &self.head,
            Part::Block => &self.block,
            Part::End => &self.end,
        };
        record::Places { name: part.key(), fields, file: self.file, code: Code::FramingUndecodable }
    }

    /// Where a field of a part stands.
    pub fn field(&self, part: Part, index: usize) -> Span {
        self.part(part).field(index)
    }
}
