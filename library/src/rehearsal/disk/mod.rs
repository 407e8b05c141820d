//! Drives and their controllers.

pub mod fd1771;
