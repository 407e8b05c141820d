//! Sources for benchmarks, made by rule so that every run measures the same text.

use std::fmt::Write;

/// A source of about `lines` lines that fills nearly 64 KiB when there are 30,000 of them: instructions, labels, data,
/// comments and expressions in the proportions of a printed monitor.
pub fn program(lines: usize) -> String {
    let mut out = String::from("PORT\tEQU\t60Q\nSIZE\tEQU\t16\n\tORG\t0\n");
    let blocks = (lines - 4) / 15;
    for block in 0..blocks {
        let next = (block * 7 + 3) % blocks;
        let _ = write!(
            out,
            "; block {block} moves characters and counts them\n\
             B{block:04}:\tPUSH\tB\t\t; keep the count\n\
             \tLXI\tH,T{block:04}\t; where the text is\n\
             \tMVI\tB,SIZE-1\n\
             L{block:04}:\tMOV\tA,M\n\
             \tOUT\tPORT+1\n\
             \tINX\tH\n\
             \tDCR\tB\n\
             \tJNZ\tL{block:04}\n\
             \tPOP\tB\n\
             \tMOV\tA,B\t\t; and go on elsewhere\n\
             \tANI\t0FH\n\
             \tCNZ\tB{next:04}\n\
             \tRET\n\
             T{block:04}:\tDB\t'BELL',0DH,{},7\n",
            block % 200
        );
    }
    out.push_str("\tEND\n");
    out
}
