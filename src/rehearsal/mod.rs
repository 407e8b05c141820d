//! The cold start, simulated from power-on to the payload.
