//! A run in which loops that wait were passed over, beside the same run played turn by turn.

use coldwright::notation::Address;
use coldwright::rehearsal::{Machine, Stop};
use proptest::prelude::*;

/// Whether nothing tells the two apart: clock, registers, counts, memory, incidents, and how they ended.
pub fn same((played, stop): (&Machine, Stop), (passed, other_stop): (&Machine, Stop)) -> Result<(), TestCaseError> {
    prop_assert_eq!(played.board.incidents(), passed.board.incidents());
    prop_assert_eq!(played.board.memory.bytes(Address(0), 0x400), passed.board.memory.bytes(Address(0), 0x400));
    // When it was noticed that nothing will ever happen may differ; what happened before may not.
    if !matches!((stop, other_stop), (Stop::Endless { .. }, Stop::Endless { .. })) {
        prop_assert_eq!(stop, other_stop);
        prop_assert_eq!(&played.cpu, &passed.cpu);
        prop_assert_eq!(played.board.counts(), passed.board.counts());
    }
    Ok(())
}
