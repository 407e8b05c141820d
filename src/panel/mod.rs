//! The deposit sheet, the lights and the run card.
