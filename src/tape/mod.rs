//! Framings, tapes and their pictures.
