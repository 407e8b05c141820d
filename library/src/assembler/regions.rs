//! Regions of the program: assembled for another run address, or held to a size.

use crate::source::Span;

/// An open region.
#[derive(Clone, Debug)]
pub(super) enum Region {
    /// RUNAT: what to add to the location to get the address of deposit outside, and where the region began.
    Run { outer_shift: i32, span: Span },
    /// LIMIT: most bytes, first location, the region's name.
    Limit { most: u16, start: u32, name: String, span: Span },
}

impl Region {
    /// The directive that opened it.
    pub const fn span(&self) -> Span {
        match self {
            Region::Run { span, .. } | Region::Limit { span, .. } => *span,
        }
    }

    /// The directive that closes it.
    pub const fn closer(&self) -> &'static str {
        match self {
            Region::Run { .. } => "ENDRUN",
            Region::Limit { .. } => "ENDLIMIT",
        }
    }
}

/// A label in a region with the bytes up to the next one.
pub(super) type Contributor<'a> = (&'a str, u32);

/// The three largest stretches between labels in `start..end`; `labels` are names with locations, in any order.
pub(super) fn largest<'a>(labels: impl Iterator<Item = (&'a str, u32)>, start: u32, end: u32) -> Vec<Contributor<'a>> {
    let mut labels: Vec<_> = labels.filter(|(_, at)| (start..end).contains(at)).collect();
    labels.sort_by_key(|&(_, at)| at);
    let ends = labels.iter().skip(1).map(|&(_, at)| at).chain([end]);
    let mut sizes: Vec<_> = labels.iter().zip(ends).map(|(&(name, at), end)| (name, end - at)).collect();
    sizes.sort_by_key(|&(_, size)| std::cmp::Reverse(size));
    sizes.truncate(3);
    sizes
}
