//! mc6850.asm, i8251.asm and uart.asm.

use super::bench::{Bench, Chip, assert_stated};
use coldwright::isa::{Flags, Pair};
use coldwright::rehearsal::Stop;

fn calling(chip: Chip, routine: &str) -> Bench {
    let source = format!(
        "{}        ORG     0\n        LXI     SP,7000H\n        CALL    SERINI\nGO:     LXI     SP,7000H\n        CALL    {routine}\nDONE:   HLT\n        INCLUDE '{}.asm'\nEND0:   NOP\n        HLT\n",
        chip.constants(),
        chip.file()
    );
    Bench::new(chip, &source)
}

/// Runs SERINI, then the routine; T-states of the second.
fn call(bench: &mut Bench) -> u64 {
    let go = bench.label("GO");
    bench.machine.set_stop(go, true);
    assert_eq!(bench.run(1_000_000), Stop::Reached(go));
    bench.machine.set_stop(go, false);
    bench.machine.wait(coldwright::isa::TStates(20_000));
    let (before, done) = (bench.machine.cpu.clock.0, bench.label("DONE"));
    bench.machine.set_stop(done, true);
    assert_eq!(bench.run(1_000_000), Stop::Reached(done));
    bench.assert_quiet();
    bench.machine.cpu.clock.0 - before - 27
}

#[test]
fn a_waiting_character_is_read() {
    for chip in Chip::ALL {
        let mut bench = calling(chip, "SERIN");
        // The first is taken by SERINI where there is nothing to set up.
        bench.machine.wait(coldwright::isa::TStates(10));
        let go = bench.label("GO");
        bench.machine.set_stop(go, true);
        bench.run(1_000_000);
        bench.play(&[0o321]);
        let states = call(&mut bench);
        assert_eq!(bench.a(), 0o321, "{chip:?}");
        assert_stated(chip.file(), "SERIN", bench.size("SERIN", "SEROUT"), states);
    }
}

#[test]
fn waiting_takes_whole_turns() {
    for (chip, turn) in [(Chip::Mc6850, 24), (Chip::I8251, 27), (Chip::UartHigh, 27), (Chip::UartLow, 27)] {
        let mut bench = calling(chip, "SERIN");
        let go = bench.label("GO");
        bench.machine.set_stop(go, true);
        bench.run(1_000_000);
        let at_once = {
            let mut ready = calling(chip, "SERIN");
            let go = ready.label("GO");
            ready.machine.set_stop(go, true);
            ready.run(1_000_000);
            ready.play(&[1]);
            call(&mut ready)
        };
        bench.machine.board.play(0, &coldwright::rehearsal::Feed::new(&[1]), coldwright::isa::TStates(60_000));
        let waited = call(&mut bench);
        assert!(waited > 30_000 && (waited - at_once).is_multiple_of(turn), "{chip:?}: {waited}");
        assert_stated(chip.file(), "SERIN", bench.size("SERIN", "SEROUT"), turn);
    }
}

#[test]
fn testing_tells_by_the_zero_flag() {
    for chip in Chip::ALL {
        for waits in [false, true] {
            let mut bench = calling(chip, "SERTST");
            let go = bench.label("GO");
            bench.machine.set_stop(go, true);
            bench.run(1_000_000);
            if waits {
                bench.play(&[0]);
            }
            let states = call(&mut bench);
            assert_eq!(bench.machine.cpu.registers.flags().contains(Flags::Z), !waits, "{chip:?}");
            let bytes = bench.size("SERTST", "SERIN");
            match chip {
                Chip::UartLow => assert_eq!((bytes, states), (7, 34), "as the header says in brackets"),
                _ => assert_stated(chip.file(), "SERTST", bytes, states),
            }
        }
    }
}

#[test]
fn sending_keeps_the_registers() {
    for chip in Chip::ALL {
        let mut bench = calling(chip, "SEROUT");
        let go = bench.label("GO");
        bench.machine.set_stop(go, true);
        bench.run(1_000_000);
        for pair in [Pair::Psw, Pair::B, Pair::D, Pair::H] {
            bench.set(pair, 0o101 << 8 | 0o303);
        }
        let kept = bench.pair(Pair::Psw);
        let states = call(&mut bench);
        assert_eq!(bench.pair(Pair::Psw), kept);
        assert_eq!(bench.sent(), [0o101], "{chip:?}");
        assert_stated(chip.file(), "SEROUT", bench.size("SEROUT", "END0"), states);
    }
}

#[test]
fn setting_up_takes_what_is_stated() {
    for chip in Chip::ALL {
        let mut bench = Bench::calling(chip, "SERINI", &[chip.file()]);
        let states = bench.call();
        assert_stated(chip.file(), "SERINI", bench.size("SERINI", "SERTST"), states);
    }
}

#[test]
fn an_echo_loses_nothing() {
    for chip in Chip::ALL {
        let source = format!(
            "{}        LXI     SP,7000H\n        CALL    SERINI\nLOOP:   CALL    SERIN\n        CALL    SEROUT\n        JMP     LOOP\n        INCLUDE '{}.asm'\n",
            chip.constants(),
            chip.file()
        );
        let mut bench = Bench::new(chip, &source);
        bench.machine.wait(coldwright::isa::TStates(100));
        bench.run(1000);
        let text: Vec<u8> = (0..=255).collect();
        bench.play(&text);
        assert!(matches!(bench.run(5_000_000), Stop::Endless { .. }));
        assert_eq!(bench.sent(), text, "{chip:?}");
        bench.assert_quiet();
    }
}

/// The 8251's SERINI works in whatever state an earlier program left the chip.
#[test]
fn the_8251_is_set_up_from_any_state() {
    for before in
        ["", "MVI A,116Q\n OUT SERST\n", "XRA A\n OUT SERST\n", "MVI A,316Q\n OUT SERST\n MVI A,47Q\n OUT SERST\n"]
    {
        let source = format!(
            "{}        LXI     SP,7000H\n {before}        CALL    SERINI\n        CALL    SERIN\n        HLT\n        INCLUDE 'i8251.asm'\n",
            Chip::I8251.constants()
        );
        let mut bench = Bench::new(Chip::I8251, &source);
        bench.run(300);
        bench.play(&[0o252]);
        assert_eq!(bench.run(100_000), Stop::Halted);
        assert_eq!(bench.a(), 0o252);
    }
}
