//! Checks against outside judges: programs and libraries that do a part of this job independently.

mod cpu;
mod isa;
mod iz80_board;
