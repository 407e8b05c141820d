//! The serial line: character times and pacing; the port itself is opened by the command.
