//! octal.asm and hex.asm.

use super::bench::{Bench, Chip, assert_stated};
use coldwright::isa::Pair;

fn shown(file: &str, routine: &str, value: u16) -> (String, u64) {
    let source = format!(
        "{}        LXI     SP,7000H\n        CALL    SERINI\nGO:     CALL    {routine}\nDONE:   HLT\n        INCLUDE 'mc6850.asm'\nPART:   NOP\n        INCLUDE '{file}.asm'\n",
        Chip::Mc6850.constants(),
    );
    // So fast that nothing has to be waited for.
    let mut bench = Bench::on_line(Chip::Mc6850, "1000000 8N2", &source);
    let (go, done) = (bench.label("GO"), bench.label("DONE"));
    bench.machine.set_stop(go, true);
    bench.run(10_000);
    bench.machine.set_stop(go, false);
    bench.machine.set_stop(done, true);
    bench.set(Pair::H, value).set(Pair::Psw, value << 8);
    let before = bench.machine.cpu.clock.0;
    bench.run(1_000_000);
    assert_eq!(bench.pair(Pair::H), value);
    let states = bench.machine.cpu.clock.0 - before - 17;
    (String::from_utf8(bench.sent()).unwrap(), states)
}

#[test]
fn octal() {
    for value in [0, 1, 0o76, 0o177, 0o200, 0o377] {
        assert_eq!(shown("octal", "OCTOUT", value).0, format!("{value:03o}"));
    }
    for value in [0, 0o177000, 0o012345, 0o100000, 0o177777] {
        assert_eq!(shown("octal", "OCTWRD", value).0, format!("{value:06o}"));
    }
}

#[test]
fn hexadecimal() {
    for value in [0, 0x09, 0x0A, 0x9F, 0xA0, 0xFF] {
        assert_eq!(shown("hex", "HEXOUT", value).0, format!("{value:02X}"));
    }
    for value in [0, 0xFE00, 0x1234, 0xABCD] {
        assert_eq!(shown("hex", "HEXWRD", value).0, format!("{value:04X}"));
    }
}

/// The bytes that the headers state.
#[test]
fn sizes() {
    let size = |file: &str, labels: (&str, &str)| {
        let source = format!(
            "{}        INCLUDE 'mc6850.asm'\n        INCLUDE '{file}.asm'\nBEHIND: HLT\n",
            Chip::Mc6850.constants()
        );
        Bench::new(Chip::Mc6850, &source).size(labels.0, labels.1)
    };
    assert_stated("octal", "OCTOUT", size("octal", ("OCTOUT", "OCTWRD")), shown("octal", "OCTOUT", 0o377).1);
    assert_stated("octal", "OCTWRD", size("octal", ("OCTWRD", "BEHIND")), shown("octal", "OCTWRD", 0).1);
    assert_stated("hex", "HEXWRD", size("hex", ("HEXWRD", "HEXOUT")), shown("hex", "HEXWRD", 0xAAAA).1);
    assert_stated("hex", "HEXOUT", size("hex", ("HEXOUT", "BEHIND")), shown("hex", "HEXOUT", 0xAA).1);
}
