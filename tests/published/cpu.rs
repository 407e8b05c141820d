//! What the processor does, against published documents: "the User's Manual" is Intel 8080 Microcomputer Systems User's
//! Manual, September 1975 (98-153B); "the Programming Manual" is the 8080/8085 Assembly Language Programming Manual
//! (9800301). [M] marks what is from memory of the document named, [C] common practice, [D] what two independent
//! processor libraries agree on.

mod arithmetic;
mod board;
mod cycles;
mod interrupts;
