//! What nobody set: which bits of registers, flags and memory still hang on what they held at power-on, followed from
//! instruction to instruction.
//!
//! A bit counts as set if no noise can change it as far as one instruction shows: `ANI 0` sets all bits, `XRA A` too. What two
//! bits have in common is not followed, so a bit may count as unset that is always the same; never the other way round.

mod bits;
mod follow;
#[cfg(test)]
mod tests;

pub(super) use bits::{Misuse, Unset};
