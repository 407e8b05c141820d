//! The FD1771 against its data sheet, row by row.
//!
//! Sources: *FD1771-01* data sheet, Western Digital, by a retyped digest [2]; *FD179X-02* data sheet, Western Digital, May 1980
//! [V], where it is named. The drive is an ideal one: 5208 cells of 32 microseconds a turn, 64 T-states each at 2 MHz, and
//! the index pulse begins with cell 0.

#[path = "../support/fd1771_bench.rs"]
mod bench;
mod behaviour;
mod commands;
mod format;
mod sectors;
mod status;
