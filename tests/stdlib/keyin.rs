//! keyin-uart.asm, keyin-mc6850.asm and keyin-i8251.asm, with tapes of the framing `bare`.

use super::bench::{Bench, CONSTANTS, Chip, assert_stated, header, image};
use coldwright::isa::{Flags, TStates};
use coldwright::notation::Address;
use coldwright::rehearsal::Stop;

const PAGE: u8 = 1;
const ENTRY: u8 = 0o31;

/// A tape that fills a page with `byte(offset)`.
fn tape(leader: usize, byte: impl Fn(u8) -> u8) -> Vec<u8> {
    let data: Vec<u8> = (0..=9).rev().chain((0o31..=0o377).rev()).map(&byte).collect();
    let sum = data.iter().fold(PAGE.wrapping_add(ENTRY), |sum, byte| sum.wrapping_add(*byte));
    let mut tape = vec![0; leader];
    tape.extend([0o055, sum.wrapping_neg()]);
    tape.extend(data);
    tape.extend([PAGE, ENTRY]);
    tape.extend([0; 20]);
    tape
}

fn file(chip: Chip) -> &'static str {
    match chip {
        Chip::Mc6850 => "keyin-mc6850",
        Chip::I8251 => "keyin-i8251",
        Chip::UartHigh | Chip::UartLow => "keyin-uart",
    }
}

/// A line of 300 baud, as from a cassette.
fn bench(chip: Chip) -> Bench {
    let source = format!("{}        INCLUDE '{}.asm'\n        END     KEYIN\n", chip.constants(), file(chip));
    let mut bench = Bench::on_line(chip, "300 8N2", &source);
    let entry = bench.image.entry.unwrap();
    bench.machine.examine(entry);
    bench
}

#[test]
fn as_many_bytes_as_stated() {
    for (chip, bytes) in [(Chip::Mc6850, 25), (Chip::I8251, 24), (Chip::UartHigh, 17), (Chip::UartLow, 17)] {
        assert_eq!(bench(chip).image.len(), bytes);
        assert_stated(file(chip), "KEYIN", bytes, 59);
    }
}

/// What is stated before the first character is what it takes from the entry to the loop.
#[test]
fn the_set_up_takes_as_long_as_stated() {
    for chip in Chip::ALL {
        let mut bench = bench(chip);
        let (step, before) = (bench.label("KISTEP"), bench.machine.cpu.clock.0);
        bench.machine.set_stop(step, true);
        assert_eq!(bench.run(1_000), Stop::Reached(step), "{chip:?}");
        let states = bench.machine.cpu.clock.0 - before;
        let row = header(file(chip)).lines().find(|line| line.starts_with("; KEYIN ")).unwrap();
        assert!(row.contains(&format!("  {states} and 59 a character")), "{chip:?}: {states} in {row}");
    }
}

/// The pages tell the sizes that the files assemble to.
#[test]
fn the_pages_tell_these_sizes() {
    let words = |page: &str| page.split_whitespace().filter(|&word| word != "#").collect::<Vec<_>>().join(" ");
    let guide = words(include_str!("../../docs/tapes.md"));
    let framing = words(include_str!("../../framings/bare.toml"));
    let [uart, mc6850, i8251] = [Chip::UartHigh, Chip::Mc6850, Chip::I8251].map(|chip| bench(chip).image.len());
    for (page, told) in [
        (&guide, format!("for a hard-wired UART: {uart} bytes at 010")),
        (&guide, format!("from 000 to 007 right before the loader, {mc6850} in all")),
        (&guide, format!("from 001 to 007, {i8251} in all")),
        (&framing, format!("{uart} bytes on a hard-wired UART")),
        (&framing, format!("{i8251} (Intel 8251) or {mc6850} (MC6850)")),
        (&framing, format!("for a key-in loader of {uart} bytes")),
    ] {
        assert!(page.contains(&told), "{told}");
    }
}

/// Any byte at any place: data that look like leader, like the first byte, like the loader itself.
#[test]
fn a_page_is_loaded_and_started() {
    let pages: [&dyn Fn(u8) -> u8; 4] =
        [&|_| 0, &|_| 0o055, &|offset| offset.wrapping_mul(37) ^ 0o125, &|offset| 0o377 - offset];
    for chip in Chip::ALL {
        for page in pages {
            let mut bench = bench(chip);
            let entry = Address(u16::from_be_bytes([PAGE, ENTRY]));
            bench.machine.set_stop(entry, true);
            bench.play(&tape(5, page));
            assert_eq!(bench.run(100_000_000), Stop::Reached(entry), "{chip:?}");
            bench.assert_quiet();
            let memory = bench.machine.board.memory.bytes(Address(u16::from(PAGE) << 8), 256);
            for offset in (0..=9).chain(0o31..=0o377) {
                assert_eq!(memory[usize::from(offset)], page(offset), "{chip:?} at {offset:03o}");
            }
            let summed = (0..=0o12).chain(0o27..=0o377);
            assert_eq!(summed.fold(0u8, |sum, offset: usize| sum.wrapping_add(memory[offset])), 0);
        }
    }
}

/// Started at any moment of a leader of blank tape, even in the middle of a character.
#[test]
fn it_may_be_started_anywhere_in_the_leader() {
    for chip in Chip::ALL {
        for moment in 0..12 {
            let mut bench = bench(chip);
            let entry = Address(u16::from_be_bytes([PAGE, ENTRY]));
            bench.machine.set_stop(entry, true);
            bench.play(&tape(30, |offset| offset));
            bench.machine.wait(TStates(70_000 + moment * 27_919));
            assert_eq!(bench.run(100_000_000), Stop::Reached(entry), "{chip:?} at {moment}");
            let first = bench.machine.board.memory.byte(Address(u16::from(PAGE) << 8 | 0o31));
            assert_eq!(first, 0o31);
        }
    }
}

/// The loaders of all chips have their pointer, their waiting and their jump at the same places, so that one tape serves.
#[test]
fn one_tape_serves_all_chips() {
    for chip in Chip::ALL {
        let source = format!("{}        INCLUDE '{}.asm'\n", chip.constants(), file(chip));
        let image = image(&source);
        let at = |offset| image.byte(Address(u16::from(PAGE) << 8 | offset));
        assert_eq!((at(0o10), at(0o13), at(0o26)), (Some(0o041), Some(0), Some(0o303)), "{chip:?}");
        assert_eq!((at(0o30), at(0o31)), (Some(PAGE), None));
    }
}

/// check-bare.asm, run from elsewhere over a loaded page: whole, and with any single byte changed.
#[test]
fn a_page_checks_itself() {
    for slip in [None, Some(0), Some(9), Some(0o12), Some(0o27), Some(0o31), Some(0o377)] {
        let source =
            format!("{}        INCLUDE 'keyin-uart.asm'\n        END     KEYIN\n        ", Chip::UartHigh.constants());
        let mut loader = Bench::on_line(Chip::UartHigh, "9600 8N2", &source);
        let (start, entry) = (loader.image.entry.unwrap(), Address(u16::from_be_bytes([PAGE, ENTRY])));
        loader.machine.examine(start);
        loader.machine.set_stop(entry, true);
        loader.play(&tape(5, |offset| offset ^ 0o17));
        loader.run(10_000_000);
        let page = loader.machine.board.memory.bytes(Address(u16::from(PAGE) << 8), 256);
        let source = format!(
            "{}        ORG     0\n        LXI     SP,7000H\n        CALL    BARECK\nDONE:   HLT\n        INCLUDE 'check-bare.asm'\nBEHIND: HLT\n",
            CONSTANTS
        );
        let mut bench = Bench::new(Chip::UartHigh, &source);
        bench.put(u16::from(PAGE) << 8, &page);
        if let Some(offset) = slip {
            bench.put(u16::from(PAGE) << 8 | offset, &[page[usize::from(offset)] ^ 0o20]);
        }
        let states = bench.call();
        assert_eq!(bench.machine.cpu.registers.flags().contains(Flags::Z), slip.is_none(), "{slip:?}");
        assert_stated("check-bare", "BARECK", bench.size("BARECK", "BEHIND"), states);
    }
}
