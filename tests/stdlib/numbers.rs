//! octal-in.asm and split.asm.

use super::bench::{Bench, Chip, assert_stated};
use coldwright::isa::{Flags, Pair};
use coldwright::rehearsal::Stop;

/// A program that calls a routine once the chip is set up.
fn bench(line: &str, routine: &str, files: &str) -> Bench {
    let source = format!(
        "{}        LXI     SP,7000H\n        CALL    SERINI\nGO:     CALL    {routine}\nDONE:   HLT\n        INCLUDE 'mc6850.asm'\nPART:   NOP\n{files}BEHIND: HLT\n",
        Chip::Mc6850.constants(),
    );
    let mut bench = Bench::on_line(Chip::Mc6850, line, &source);
    let (go, done) = (bench.label("GO"), bench.label("DONE"));
    bench.machine.set_stop(go, true);
    assert_eq!(bench.run(10_000), Stop::Reached(go));
    bench.machine.set_stop(go, false);
    bench.machine.set_stop(done, true);
    bench
}

/// What is typed, and then the value, the character behind it, and whether there was no digit; every character is echoed.
fn typed(text: &[u8]) -> (u16, u8, bool) {
    let mut bench = bench("9600 8N2", "OCTIN", "        INCLUDE 'octal-in.asm'\n");
    bench.play(text);
    assert!(matches!(bench.run(1_000_000), Stop::Reached(_)));
    let none = bench.machine.cpu.registers.flags().contains(Flags::C);
    let result = (bench.pair(Pair::H), bench.a(), none);
    let plain: Vec<u8> = text.iter().map(|byte| byte & 0o177).collect();
    assert_eq!(bench.sent(), plain);
    bench.assert_quiet();
    result
}

#[test]
fn octal_digits_are_read() {
    for value in [0u16, 7, 0o76, 0o377, 0o012345, 0o177000, 0o177777] {
        assert_eq!(typed(format!("{value:o}\r").as_bytes()), (value, b'\r', false));
    }
    // Parity does no harm; the characters beside the digits end a number; of too many digits the top bits fall off.
    assert_eq!(typed(&[b'1' | 0x80, b'2', b'8' | 0x80]), (0o12, b'8', false));
    assert_eq!(typed(b"12/"), (0o12, b'/', false));
    assert_eq!(typed(b"1234567 "), ((0o1234567u32 & 0xFFFF) as u16, b' ', false));
    assert_eq!(typed(b"X"), (0, b'X', true), "no digit");
}

/// What the header states, over a SERIN of 22 T-states that takes its characters from memory and a SEROUT of 10.
#[test]
fn reading_takes_what_is_stated() {
    let states = |text: &[u8]| {
        let source = "        LXI     SP,7000H\n        CALL    OCTIN\nDONE:   HLT\nSERIN:  LDAX    D\n        INX     D\n\
                      SEROUT: RET\n        INCLUDE 'octal-in.asm'\nBEHIND: HLT\n";
        let mut bench = Bench::new(Chip::Mc6850, source);
        bench.set(Pair::D, 0x1000).put(0x1000, text);
        let states = bench.call() - 32 * text.len() as u64;
        (states, bench.size("OCTIN", "BEHIND"))
    };
    let ((none, size), (three, _)) = (states(b" "), states(b"377 "));
    assert_stated("octal-in", "OCTIN", size, (three - none) / 3);
    assert_stated("octal-in", "OCTIN", size, none);
}

#[test]
fn a_word_in_split_octal() {
    for value in [0u16, 0o377, 0o400, 0o177000, 0o176123, 0xFFFF] {
        // So fast that nothing has to be waited for.
        let mut bench = bench("1000000 8N2", "SPLWRD", "        INCLUDE 'octal.asm'\n        INCLUDE 'split.asm'\n");
        bench.set(Pair::H, value);
        let before = bench.machine.cpu.clock.0;
        assert!(matches!(bench.run(1_000_000), Stop::Reached(_)));
        let states = bench.machine.cpu.clock.0 - before - 17;
        assert_eq!(bench.pair(Pair::H), value);
        assert_eq!(String::from_utf8(bench.sent()).unwrap(), format!("{:03o} {:03o}", value >> 8, value & 0xFF));
        assert_stated("split", "SPLWRD", bench.size("SPLWRD", "BEHIND"), states);
    }
}
