//! exercise.asm and sense.asm, and what all files have in common.

use super::bench::{Bench, Chip, KNOBS, LAMPS, assert_stated, header};
use coldwright::assembler::STDLIB;
use coldwright::isa::Pair;
use coldwright::rehearsal::Stop;

#[test]
fn every_file_has_a_whole_header() {
    for file in STDLIB {
        let name = file.name.strip_suffix(".asm").unwrap();
        let header = header(name);
        assert!(header.starts_with(&format!("; {}", file.name)), "{name}");
        for part in ["; Purpose ", "; routine ", "entry", "exit", "destroys", "bytes", "T-states"] {
            assert!(header.contains(part), "{name} lacks {part}");
        }
        for line in file.text.lines() {
            assert!(line.len() <= 132 && !line.contains('\t'), "{name}: {line}");
        }
    }
}

#[test]
fn an_input_is_echoed() {
    let source = format!("{}        INCLUDE 'exercise.asm'\n", Chip::Mc6850.constants());
    let mut bench = Bench::new(Chip::Mc6850, &source);
    bench.run(30 * 10);
    assert_eq!(bench.lamps(), [0o123; 10]);
    assert_eq!(bench.machine.cpu.clock.0, 300);
    assert_stated("exercise", "EXECHO", bench.size("EXECHO", "EXWALK"), 30);
    assert_eq!(KNOBS, 0o60);
}

#[test]
fn a_bit_walks() {
    let source = format!("{}        INCLUDE 'exercise.asm'\nBEHIND: HLT\n", Chip::Mc6850.constants());
    let mut bench = Bench::new(Chip::Mc6850, &source);
    let start = bench.label("EXWALK");
    bench.machine.examine(start);
    bench.run(7 + 24 * 9);
    assert_eq!(bench.lamps(), [1, 2, 4, 8, 16, 32, 64, 128, 1]);
    assert_stated("exercise", "EXWALK", bench.size("EXWALK", "BEHIND"), 24);
}

#[test]
fn the_sense_switches_choose() {
    for switches in 0..=255u8 {
        let source = format!(
            "{}        INCLUDE 'sense.asm'\nSNSTAB: DW      1000H,1001H,1002H,1003H,1004H,1005H,1006H,1007H\n",
            Chip::Mc6850.constants()
        );
        let mut bench = Bench::new(Chip::Mc6850, &source);
        bench.machine.board.sense = switches;
        bench.put(0x1000, &[0o166; 8]);
        let chosen = coldwright::notation::Address(0x1000 + u16::from(switches & 7));
        bench.machine.set_stop(chosen, true);
        assert_eq!(bench.run(1000), Stop::Reached(chosen));
        if switches == 0 {
            assert_stated("sense", "SENSE", bench.size("SENSE", "SNSTAB"), bench.machine.cpu.clock.0);
        }
    }
}

/// load-text.asm, over a SERIN that takes 17 T-states and always brings the same digit.
#[test]
fn two_digits_make_a_byte() {
    for (digit, byte) in [(b'0', 0u8), (b'9', 0x99), (b'A', 0xAA), (b'F' | 0x80, 0xFF)] {
        let source = format!(
            "LDPORT  EQU     {LAMPS}\n        LXI     SP,7000H\n        CALL    LDBYTE\nDONE:   HLT\n\
             SERIN:  MVI     A,{digit}\n        RET\n        INCLUDE 'load-text.asm'\nBEHIND: HLT\n"
        );
        let mut bench = Bench::new(Chip::Mc6850, &source);
        bench.set(Pair::D, 0x1000);
        let states = bench.call() - 2 * 17;
        assert_eq!((bench.a(), bench.pair(Pair::D) >> 8), (byte, u16::from(byte.wrapping_add(0x10))));
        if byte == 0xAA {
            assert_stated("load-text", "LDBYTE", bench.size("LDBYTE", "LDTEXT"), states);
            assert_stated("load-text", "LDTEXT", bench.size("LDTEXT", "BEHIND"), 17 + 7 + 10);
        }
    }
}
