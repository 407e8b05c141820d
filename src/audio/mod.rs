//! Bytes to sound and back; knows nothing of framings.
