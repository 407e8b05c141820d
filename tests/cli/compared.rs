//! `compare` looks at what may be faulty: a check that does not hold is no reason to look no further.

use crate::chain::Chain;

#[test]
fn parts_whose_check_does_not_hold_are_compared() {
    let chain = Chain::copy("lineboot");
    assert_eq!(chain.run(&["parts", "write", "monitor.asm", "--machine", "machine.toml", "-o", "parts"]).code, 0);
    let machine = std::fs::read_to_string(chain.path("machine.toml")).unwrap();
    let checked = machine.replace("base = 0o176000", "base = 0o176000\ncheck = { kind = \"xor8\", at = 0o177777 }");
    assert_ne!(checked, machine);
    let chain = chain.put("checked.toml", checked.as_bytes());
    let compared = chain.run(&["compare", "monitor.asm", "parts", "--machine", "checked.toml"]);
    assert_eq!(compared.code, 0, "{}{}", compared.out, compared.err);
    assert!(compared.out.contains("no byte differs"), "{}", compared.out);
    assert!(compared.err.contains("[check-wrong] warning"), "{}", compared.err);
    // What is to become a source must be right.
    chain.run(&["disassemble", "parts", "--machine", "checked.toml"]).assert_fails("check-wrong", &["does not hold"]);
}

/// What `build` made of a socket is read back under the names that it gave.
#[test]
fn parts_are_read_as_a_build_names_them() {
    let chain = Chain::copy("lineboot");
    chain.run(&["build"]).assert_done();
    let compared = chain.run(&["compare", "monitor.asm", "out", "--machine", "machine.toml"]);
    assert!(compared.out.contains("no byte differs"), "{}{}", compared.out, compared.err);
    std::fs::copy(chain.path("out/part-U3.hex"), chain.path("out/U3.hex")).unwrap();
    let twice = chain.run(&["compare", "monitor.asm", "out", "--machine", "machine.toml"]);
    twice.assert_fails("part-file-wrong", &["has two files"]);
}

#[test]
fn nothing_is_compared_with_nothing() {
    let chain = Chain::copy("lineboot").put("none", b"");
    for sides in [["none", "monitor.asm"], ["monitor.asm", "none"]] {
        chain.run(&[&["compare"], &sides[..]].concat()).assert_fails("format-unknown", &["`none` holds no byte"]);
    }
}
