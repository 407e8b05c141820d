//! A framing: the declared layout of a tape, from which the encoder and the decoder are both derived.
//!
//! A framing is a TOML file (`docs/framing-file.md`). [`load`] reads it and refuses what could not be decoded;
//! [`encode`] turns programs into the bytes of a tape, [`decode`] turns the bytes of a tape, torn and damaged as they
//! may be, back into blocks with a verdict each. Both walk the same [`Record`](crate::record::Record)s, so that neither
//! can know a field which the other does not.

mod between;
mod bundled;
mod characters;
mod chunks;
mod cleaned;
mod content;
mod declared;
mod decode;
mod encode;
mod explain;
mod find;
mod gather;
mod lint;
mod load;
mod mend;
mod merge;
mod part;
mod places;
mod program;
mod reading;
mod same_tape;
mod short;
mod twice;
mod unseen;

pub use bundled::{BUNDLED, bundled, unknown};
pub use characters::Characters;
pub use content::unproved_frames;
pub use declared::{Filler, Framing, Placing};
pub use decode::decode;
pub use encode::{Piece, PieceKind, Tape, encode};
pub use load::load;
pub use mend::{Candidate, Mended, mend};
pub use merge::{Conflict, Contradiction, Merged, merge};
pub use part::Part;
pub use program::Program;
pub use reading::{
    Block, Cause, End, Noise, Order, ProgramRead, Reading, Slip, Slips, Stray, StrayPlace, Stretch, StretchKind,
    Verdict,
};
pub use same_tape::{Difference, Unlike};
pub use short::{Short, ShortKind, short};
pub use unseen::unseen_losses;
