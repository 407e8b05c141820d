//! How much of the instructions is found, and how much of the data is taken for some.

use coldwright::disassembly::{Bytes, Hints, Known, Mark, find};

use crate::corpus;

#[test]
fn instructions_are_found_and_data_is_left() {
    let hints = Hints::default();
    let (mut code, mut found, mut data, mut wrong) = (0, 0, 0, 0);
    let mut told = String::new();
    for program in corpus::all() {
        let bytes = Bytes::new(&program.image);
        let known = Known { hints: &hints, entries: &[], ports: &[] };
        let result = find(&bytes, &known);
        let (mut missed, mut taken) = (Vec::new(), Vec::new());
        for extent in program.image.extents() {
            for at in extent.base.index()..extent.base.index() + extent.bytes.len() {
                let is_code = matches!(result.marks.at(at), Mark::Start | Mark::Inside);
                match program.code[at] {
                    true => (code, found) = (code + 1, found + usize::from(is_code)),
                    false => (data, wrong) = (data + 1, wrong + usize::from(is_code)),
                }
                if program.code[at] && !is_code {
                    missed.push(format!("{at:X}"));
                }
                if !program.code[at] && is_code {
                    taken.push(format!("{at:X}"));
                }
            }
        }
        if !missed.is_empty() || !taken.is_empty() {
            told += &format!("{}: missed {} {missed:?}, taken {} {taken:?}\n", program.name, missed.len(), taken.len());
        }
    }
    println!("{told}{found} of {code} bytes of code, {wrong} of {data} bytes of data taken");
    assert!(found * 100 >= code * 98, "{found} of {code} bytes of instructions were found\n{told}");
    assert!(wrong * 100 <= data, "{wrong} of {data} bytes of data were taken for code\n{told}");
}
