//! Whole random programs against an evaluator of their own: macros, repetitions, conditionals, names from further on and
//! every operator. The evaluator works on the program as it was made up and never sees its text.

mod meaning;
pub(super) mod program;
pub(super) mod random;

use proptest::prelude::*;

use super::assembled;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]

    #[test]
    fn a_program_has_the_bytes_that_its_statements_mean(seed in any::<u64>(), size in 1usize..30) {
        let program = random::program(seed, size);
        let text = program::text(&program, seed);
        let wanted = meaning::bytes(&program);
        let (_, assembly) = assembled(text.clone());
        let told: Vec<_> = assembly.diagnostics.iter().map(|problem| problem.headline.clone()).collect();
        prop_assert!(!assembly.diagnostics.has_errors(), "{told:#?}\n{text}");
        let found = assembly.image.extents().flat_map(|extent| (extent.base.0..).zip(extent.bytes.iter().copied()));
        for (found, wanted) in found.zip(&wanted) {
            prop_assert_eq!(found, (*wanted.0, *wanted.1), "(address, byte) of\n{}", text);
        }
        prop_assert_eq!(assembly.image.len(), wanted.len(), "{}", text);
    }
}

/// What the property is made of occurs: without it, the comparison would say little.
#[test]
fn random_programs_hold_every_kind_of_statement() {
    let programs = (0..300u64).map(|seed| program::text(&random::program(seed, 25), seed).to_uppercase());
    let all: String = programs.collect();
    for word in [
        "MACRO", "LOCAL", "REPT", "IRP", "IRPC", "EXITM", "IF", "ELSE", "NUL", "SET", "EQU", "DB", "DW", "DS", "ORG",
        "HIGH", "LOW", "NOT", "MOD", "SHL", "SHR", "EQ", "NE", "LT", "LE", "GT", "GE", "AND", "OR", "XOR", "$", "&",
        "%", "<", ";;", "*", "/", "+", "-", "LXI", "JMP", "MVI",
    ] {
        assert!(all.contains(word), "no program holds {word}");
    }
}
