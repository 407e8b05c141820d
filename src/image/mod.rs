//! Bytes at addresses, each knowing where it came from; one file per format.
