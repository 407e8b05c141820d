//! How far each thing of a start may go before it fails.
//!
//! Every figure is that of a play: of the furthest that starts, and of the nearest beyond it that does not. What lies
//! between the two was not played, and nothing is said of it. This floor has words for its own figures; how a start
//! fails it takes from the rehearsal.

mod bench;
mod limit;
mod search;
mod words;

pub use bench::Bench;
pub use limit::{AS_DESCRIBED, Failure, Limit, Limits, Side, Subject, Tightest};
pub use words::{LEFT_OUT, Row, not_played, rows};
