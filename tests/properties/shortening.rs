//! Waste that is planted in routines is found.

use coldwright::assembler::{Assembly, Options, StdlibOnly, assemble};
use coldwright::shortening::{Depth, Outside, Search, shorten};
use coldwright::source::{Origin, SourceId, SourceMap};

use crate::damage::Random;

fn assembled(text: &str) -> Option<(SourceMap, SourceId, Assembly)> {
    let mut sources = SourceMap::default();
    let own = sources.add("planted.asm", text, Origin::Given);
    let options = Options { definitions: Vec::new(), warn_unused: false, keep_lines: false };
    let assembly = assemble(&mut sources, own, &options, &mut StdlibOnly);
    (!assembly.diagnostics.has_errors()).then_some((sources, own, assembly))
}

/// Bytes that all suggestions save, taken one after the other.
fn saved(text: &str) -> usize {
    let mut text = text.to_owned();
    let (mut saved, search) = (0, Search::new(Depth::Two));
    loop {
        let (sources, own, assembly) = assembled(&text).unwrap_or_else(|| panic!("{text}"));
        let mut found = shorten(&sources, own, &assembly, &Outside::default(), &search, &assembled).unwrap();
        if found.is_empty() {
            return saved;
        }
        let best = found.swap_remove(0);
        saved += best.saves;
        text = best.text;
    }
}

/// Waste in a few lines, and how many bytes it is too many. `@` stands for the number of the routine.
const WASTE: [(&str, usize); 40] = [
    (" MVI A,0\n ADD B", 1),
    (" MOV A,B\n CPI 0\n JZ OUT@", 1),
    (" MVI D,5\n MVI E,9\n DAD D", 1),
    (" JMP NEXT@\nNEXT@: ADD C", 3),
    (" ORA A\n JZ HERE@\n JMP OUT@\nHERE@: INR B", 3),
    (" CALL SUB\n RET", 1),
    (" MVI C,7\n MOV M,C\n MVI C,7\n MOV D,C\n ADD D", 2),
    (" LXI H,CELL\n MOV A,M\n LXI H,CELL+1\n ADD B", 1),
    (" MOV A,C\n ADI 1\n MOV C,A", 2),
    (" MVI H,2\n MVI L,100\n MOV A,M", 1),
    (" ADD B\n ANI 255\n JZ OUT@", 2),
    (" MOV A,B\n MOV B,A\n ADD C", 1),
    (" MOV A,B\n XRI 255\n MOV B,A\n XRA A", 1),
    (" XCHG\n XCHG\n ADD E", 2),
    (" MVI A,1\n SUI 1\n MOV E,A\n ADD B", 2),
    (" STC\n CMC\n MOV A,B\n RAR", 1),
    (" LXI B,0\n MVI B,3\n MVI C,4\n MOV A,B\n ADD C", 2),
    (" MOV A,M\n ANI 15\n ORA A\n JNZ OUT@", 1),
    (" MVI B,1\n MOV C,B\n MVI D,1\n ADD D", 1),
    // Apart from each other.
    (" MVI D,5\n ADD B\n OUT SWITCH\n MVI E,9\n DAD D", 1),
    (" MVI C,5\n STAX D\n INR A\n MVI B,9\n ADD B", 1),
    // Counted on from each other, and both halves at once.
    (" LXI H,CELL\n MOV A,M\n ADD B\n OUT SWITCH\n LXI H,CELL+1\n ADD M", 2),
    (" MOV A,L\n STA CELL\n MOV A,H\n STA CELL+1\n MOV A,B", 5),
    (" LDA CELL\n MOV L,A\n LDA CELL+1\n MOV H,A\n MOV A,B", 5),
    // Bytes that lie elsewhere: behind `|` stands the data.
    (" LDA ONE@\n ADD B\n|ONE@: DB 5\nTWO@: DB 7,5,7", 1),
    // What nobody reads, what is there already, and what undoes itself.
    (" MVI A,0\n STA CELL\n MVI A,0\n ADD B", 2),
    (" LXI D,0\n MVI D,0\n ADD E", 2),
    (" MOV A,B\n ANA A\n ORA A\n JZ OUT@", 1),
    (" MVI E,0\n MOV A,E\n ADD B", 1),
    (" INX H\n DCX H\n MOV A,M", 2),
    (" RLC\n RRC\n ADD B", 2),
    (" CMA\n CMA\n ADD B", 2),
    (" STC\n ORA B", 1),
    (" SUI 0\n ADD B", 2),
    (" CPI 5\n ADD B", 2),
    (" ORI 0\n JZ OUT@", 1),
    (" DAD D\n MOV A,H\n MOV A,L\n ADD B", 1),
    (" ADI 255\n MOV B,A\n ADD C", 1),
    // Jumps.
    (" JZ ELSE@\n SUB C\n MOV D,B\n INR C\n JMP OUT@\nELSE@: ADD B\n MOV D,B\n INR C\n JMP OUT@", 3),
    (" ADD B\n JMP OUT@", 3),
];

/// At least 36 of 40 routines, each with another waste, lose it, all of it.
#[test]
fn planted_waste_is_found() {
    let mut missed = Vec::new();
    for seed in 0..40 {
        let mut random = Random(seed);
        let (waste, bytes) = WASTE[seed as usize];
        let before = ["PUSH H", "PUSH D", "PUSH B"][(random.next() % 3) as usize];
        let after = before.replace("PUSH", "POP");
        let lead = [" LDAX B", " LDAX D", " MOV A,M", " IN SWITCH"][(random.next() % 4) as usize];
        // Nothing of the routine's own can be shorter: what it leaves is read by whoever called it.
        let routine = |waste: &str| {
            let (waste, data) = waste.split_once('|').unwrap_or((waste, ""));
            format!(
                "SWITCH EQU 1\n ORG 100H\nSTART: LXI SP,4000H\n CALL R0\n PUSH PSW\n PUSH B\n PUSH D\n PUSH H\n HLT\n\
                 R0: {before}\n{lead}\n{waste}\nOUT0: STA CELL\n {after}\n RET\nSUB: INR M\n RET\nCELL: DB 0,0\n{data}\n END START\n"
            )
        };
        // CALL and RET end a routine.
        let waste = waste.replace('@', "0").replace(" CALL SUB\n RET", &format!(" {after}\n CALL SUB\n RET"));
        let found = saved(&routine(&waste)) - saved(&routine(" NOP"));
        if found < bytes {
            missed.push(format!("{found} of {bytes} bytes of\n{waste}"));
        }
    }
    println!("{} of 40 routines lost their waste", 40 - missed.len());
    assert!(missed.len() <= 4, "{} of 40 missed:\n{}", missed.len(), missed.join("\n"));
}
