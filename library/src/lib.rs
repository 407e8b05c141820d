//! `coldwright` turns 8080 boot loaders into everything a person needs to start a machine that knows nothing at
//! power-on: exact bytes, switch sheets, ROM images, tapes, sound, and a rehearsal of the whole cold start.
//!
//! The modules are declared in the order data flows. A module imports only from lower floors; from the ground up:
//!
//! 1. [`isa`], [`source`], [`notation`], [`audio`], [`mod@line`], [`drawing`], [`cautions`]
//! 2. [`image`], [`syntax`], [`cpu`], [`record`]
//! 3. [`assembler`], [`rom`], [`tape`], [`disk`], [`panel`]
//! 4. [`project`], then [`rehearsal`], [`disassembly`] and [`shortening`], then [`faults`], [`limits`], [`delivery`] and [`comparison`], then [`diagnosis`] and [`language`], then [`booklet`] and [`guide`]
//!
//! Everything takes and returns values: only the command line, a crate of its own, touches files, the environment, the
//! terminal and the exit code.

pub mod isa;
pub mod source;
pub mod notation;
pub mod syntax;
pub mod formatting;
pub mod assembler;
pub mod image;
pub mod record;
pub mod rom;
pub mod tape;
pub mod disk;
pub mod audio;
pub mod line;
pub mod drawing;
pub mod cautions;
pub mod cpu;
pub mod panel;
pub mod project;
pub mod shortening;
pub mod disassembly;
pub mod comparison;
pub mod rehearsal;
pub mod faults;
pub mod limits;
pub mod diagnosis;
pub mod delivery;
pub mod language;
pub mod booklet;
pub mod guide;
