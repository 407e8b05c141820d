//! What a person holds at the panel: the deposit sheet, the lights sheet and the run card.
//!
//! Each of them is first plain data (rows that know their steps), then one page layout that both the text and the
//! [`drawing`](crate::drawing) follow, so that every output says the same on the same page. Nothing here knows a file,
//! a machine file or an assembler: an [`Image`](crate::image::Image) and a [`Panel`] go in, pages come out.

pub mod card;
mod glyph;
mod lamps;
mod levers;
pub mod lights;
mod live;
mod model;
mod page;
pub mod pieces;
mod ports;
mod program;
pub mod sheet;
mod steps;
mod text;

pub use lamps::Lamp;
pub use levers::{Bank, Lever, Levers};
pub use live::{LiveByte, LiveLamp};
pub use model::{DataLevers, Pace, Panel, Reach, Reset, SenseLevers, StatusLamps, Stop};
pub use page::Paper;
pub(crate) use page::{LEFT, RIGHT};
pub use ports::{Port, Ports};
pub use program::{Check, Program, Remark, statement};
pub use steps::{Key, Step};
pub(crate) use text::wrap;
