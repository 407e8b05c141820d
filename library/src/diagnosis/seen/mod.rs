//! What is seen, as a person tells it: `halted at 000157, data 002`. A sentence is a list of observations, parted by
//! commas, semicolons or `and`; numbers without a radix are in the notation of the panel.
//!
//! ```
//! use coldwright::diagnosis::seen::{What, read};
//! use coldwright::notation::Notation;
//! use coldwright::source::{Diagnostics, Origin, SourceMap};
//!
//! let mut sources = SourceMap::default();
//! let text = sources.add("seen", "halted at 000157, data 002", Origin::Given);
//! let mut diagnostics = Diagnostics::default();
//! let seen = read(&sources, text, Notation::Octal, &mut diagnostics);
//! assert_eq!(seen.len(), 3);
//! assert_eq!(seen[2].what, What::Data(coldwright::diagnosis::seen::Shown::Steady(2)));
//! ```

mod grammar;
mod reader;
mod token;
#[cfg(test)]
mod tests;
mod what;

pub use reader::read;
pub use what::{Light, Observation, Shown, State, What};
