//! The 8080 as an interpreter over a bus.
