//! A record: fields in order with checks, written and read back from one description.
//!
//! A [`Record`] says which fields stand behind one another, a [`Coding`] how their bytes become characters.
//! [`Record::write`] turns [`Values`] into characters, [`Record::parse`] turns characters back into fields, and
//! [`lint`] refuses what could not be read back. What stands before, between and behind records, and how characters
//! lie on a medium, is another module's.

pub mod lint;

mod check;
mod coding;
mod field;
mod fields;
mod load_coding;
mod load_fields;
mod parse;
mod possible;
mod said;
mod set;
mod write;

pub use check::{CheckKind, NamedCrc, Running, Stored};
pub use coding::{Coding, Digits, Escape};
pub use field::{Coordinate, Counts, Data, Field, Kind, Pointer, Spot, Word};
pub use fields::Record;
pub use lint::Places;
pub use load_coding::bytes;
pub use load_fields::Medium;
pub use parse::{Miss, Parsed};
pub use said::{Oddities, Said};
pub use set::ByteSet;
pub use write::{Unfit, Values};
