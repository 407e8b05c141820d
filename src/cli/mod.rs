//! One file per command; the only floor that touches files and the terminal.
