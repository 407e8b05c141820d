//! The reasons.

use super::change::Change;
use super::version::Edit;

/// A reason for differences.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reason {
    /// A fault of wiring or place.
    Change(Change),
    /// Bits that went from 0 to 1 only (`true`), or from 1 to 0 only.
    OneWay(bool),
    /// The addresses in the program are higher by this: it was made for another place.
    Moved(u16),
    /// Another version of the source.
    Version(Vec<Edit>),
}
