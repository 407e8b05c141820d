//! The chain file and the machine file, read and checked into a plan.
