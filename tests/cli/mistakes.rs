//! Mistakes that people make, one a test, each seeded into an example chain that is otherwise proven.

use super::chain::Chain;
use coldwright::image::Image;
use coldwright::source::{Origin, Position, SourceMap};
use coldwright::tape::framing::{Program, bundled, encode};

fn belfry() -> Chain {
    Chain::copy("belfry")
}

/// The tower's tape as the chain makes it: courier and chimes, the latter moved by `shift`.
fn tape(chain: &Chain, shift: u16) -> Vec<u8> {
    let mut bytes = program(chain, "courier.asm", "bare", 0);
    bytes.extend(program(chain, "chimes.asm", "blocks", shift));
    bytes
}

fn program(chain: &Chain, file: &str, framing: &str, shift: u16) -> Vec<u8> {
    let mut sources = SourceMap::default();
    let text = std::fs::read(chain.path(file)).unwrap();
    let ports = std::fs::read_to_string(chain.path("ports.asm")).unwrap();
    let text = String::from_utf8(text).unwrap().replace("        INCLUDE 'ports.asm'", &ports);
    let root = sources.add(file, text, Origin::Given);
    let assembly = coldwright::assembler::assemble(
        &mut sources,
        root,
        &Default::default(),
        &mut coldwright::assembler::StdlibOnly,
    );
    let mut image = Image::default();
    for extent in assembly.image.extents() {
        let place = Position { source: root, offset: 0 };
        image.insert(extent.base.wrapping_add(shift), extent.bytes, place).unwrap();
    }
    image.entry = assembly.image.entry.map(|entry| entry.wrapping_add(shift));
    let program = Program { name: file, image: &image, lettering: "" };
    encode(&bundled(framing).unwrap(), &[program]).unwrap().bytes
}

/// Rehearses the tower with a tape of one's own.
fn with_tape(bytes: &[u8]) -> super::chain::Ran {
    belfry().put("mine.tape", bytes).run(&["rehearse", "--tape", "one=mine.tape"])
}

/// What the tests below change is right before.
#[test]
fn the_chain_is_proven_with_its_own_tape() {
    belfry().run(&["rehearse"]).assert_done();
    with_tape(&tape(&belfry(), 0)).assert_done();
}

#[test]
fn a_wrong_port() {
    let ran = belfry().spoil("ports.asm", "SERST   EQU     60Q", "SERST   EQU     62Q").run(&["rehearse"]);
    ran.assert_fails("port-unwired", &["gets nowhere: it reads port `062`, where nothing is wired", "IN SERST"]);
    assert!(ran.err.contains("[port-unwired] warning"), "{}", ran.err);
}

/// The tower with a hard-wired UART instead of its chip: what the sources believe, and what is wired.
fn uart(believed: &str, wired: &str) -> Chain {
    belfry()
        .spoil("machine.toml", "chip = \"mc6850\"", "chip = \"uart\"")
        .spoil("machine.toml", "[[port]]", &format!("[serial.bits]\n{wired}\n\n[[port]]"))
        .spoil("keyin.asm", "keyin-mc6850", "keyin-uart")
        .spoil("courier.asm", "mc6850", "uart")
        .spoil(
            "ports.asm",
            "SERFMT  EQU     21Q",
            &format!("SERRX EQU 1\nSERTX EQU 200Q\nSERLOW EQU {believed}\nSERFMT EQU 0"),
        )
}

const HIGH: &str = "\"character received\" = { bit = 0 }\n\"ready to send\" = { bit = 7 }";
const LOW: &str =
    "\"character received\" = { bit = 0, active = \"low\" }\n\"ready to send\" = { bit = 7, active = \"low\" }";

#[test]
fn a_wrong_polarity() {
    uart("0", HIGH).run(&["rehearse"]).assert_done();
    uart("201Q", LOW).run(&["rehearse"]).assert_done();
    let ran = uart("201Q", HIGH).run(&["rehearse"]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(ran.err.contains("when no character waited"), "{}", ran.err);
    assert!(ran.err.contains("whether a one or a zero means yes"), "{}", ran.err);
    let ran = uart("0", LOW).run(&["rehearse"]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(ran.err.contains("whether a one or a zero means yes"), "{}", ran.err);
}

/// Every single switch of every byte of the key-in loader, set wrong and not noticed.
#[test]
fn one_wrong_switch() {
    // The jump back goes to the wrong place.
    let ran = belfry().run(&["rehearse", "--slip", "0o027=0o113"]);
    ran.assert_fails("ran-unloaded", &["the slip: 000027 was set to 113 instead of 013"]);
    // The mask of the status bit is another.
    let ran = belfry().run(&["rehearse", "--slip", "0o017=0o011"]);
    assert_eq!(ran.code, 0, "carrier and parity stay zero, so this slip does no harm:\n{}", ran.err);
    let ran = belfry().run(&["rehearse", "--slip", "0o017=0o020"]);
    ran.assert_fails("never-ends", &["does not see that a character waits", "000017 was set to 020 instead of 001"]);
}

#[test]
fn a_tape_for_another_address() {
    let ran = with_tape(&tape(&belfry(), 0o2000));
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(ran.err.contains("the tape is for 002400, `chimes` belongs at 000400"), "{}", ran.err);
}

#[test]
fn a_byte_dropped() {
    let mut bytes = tape(&belfry(), 0);
    let mark = bytes.iter().rposition(|&byte| byte == 0o201).unwrap();
    bytes.remove(mark - 60);
    let ran = with_tape(&bytes);
    ran.assert_fails(
        "stopped-early",
        &["`courier` stopped at `LDBAD`", "it put 002 out to port 040", "the tape is damaged"],
    );
}

#[test]
fn a_loader_overlapping_its_payload() {
    let chain = belfry().spoil("chimes.asm", "ORG     400Q", "ORG     200Q");
    chain.run(&["rehearse"]).assert_fails(
        "stages-overlap",
        &["`chimes` and the loader that reads it, `courier`, both lie at `000200` to `000326`", "over = [\"courier\"]"],
    );
    let forced =
        chain.spoil("coldwright.toml", "framing = \"blocks\" }", "framing = \"blocks\" }\nover = [\"courier\"]");
    forced
        .run(&["rehearse"])
        .assert_fails("wrote-needed", &["`courier` was overwritten at", "by what it loads, `chimes`"]);
}

#[test]
fn a_line_too_fast() {
    let chain = belfry().spoil("coldwright.toml", "sound = \"byte-300\"\n", "");
    let ran = chain.spoil("machine.toml", "300 8N2", "230400 8N2").run(&["rehearse"]);
    ran.assert_fails("character-lost", &["lost character", "`230400 8N2` takes 95 T-states"]);
}

#[test]
fn a_rom_one_byte_over() {
    let seated = |base: &str| {
        let tail =
            "        STUFFTO 0FFFFH-(177000Q-BASE),0\n        DB      0\n        ENDLIMIT\n        END     ROOSTER";
        let tail = tail.replace("0FFFFH-(177000Q-BASE)", "BASE+LAST");
        let chain = Chain::copy("rooster").spoil("rooster.asm", "        ENDLIMIT\n        END     ROOSTER", &tail);
        let chain = chain.spoil("rooster.asm", "LIMIT   512", "LIMIT   600");
        let last = if base == "0o177000" { "LAST    EQU     511" } else { "LAST    EQU     512" };
        let chain = chain.spoil("ports.asm", "LAMPS   EQU", &format!("{last}\nLAMPS   EQU"));
        chain.spoil("coldwright.toml", "BASE = 0o177000", &format!("BASE = {base}")).run(&["rehearse"])
    };
    seated("0o177000").assert_done();
    seated("0o176777").assert_fails("socket-overflow", &["socket `U7` is over by 1 byte"]);
}

#[test]
fn sense_switches_that_contradict() {
    let ran = belfry()
        .spoil("coldwright.toml", "framing = \"bare\" }", "framing = \"bare\" }\nsense = 0o20")
        .run(&["rehearse"]);
    ran.assert_fails(
        "sense-contradiction",
        &["`courier` wants the sense switches at `020`, `chimes` wants them at `004`"],
    );
    let ran = belfry().spoil("machine.toml", ", sense_port = 0o76", "").run(&["rehearse"]);
    ran.assert_fails("sense-contradiction", &["the machine has no sense switches"]);
}

/// The receiver hears all the same, so it is no failure; the report says both.
#[test]
fn one_stop_bit_against_two() {
    let ran = belfry().spoil("machine.toml", "300 8N2", "300 8N1").run(&["rehearse"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("set to `8N2` on a line of `300 8N1`"), "{}", ran.out);
    assert!(ran.out.contains("% of a character of `300 8N1`"), "{}", ran.out);
    let ran = belfry().spoil("ports.asm", "SERFMT  EQU     21Q", "SERFMT  EQU     11Q").run(&["rehearse"]);
    assert_eq!(ran.code, 1, "seven bits cannot carry a page");
    assert!(ran.err.contains("set to `7E1`, and the line is `300 8N2`"), "{}", ran.err);
}

#[test]
fn a_missing_end_block() {
    let mut bytes = tape(&belfry(), 0);
    let mark = bytes.iter().rposition(|&byte| byte == 0o201).unwrap();
    bytes.truncate(mark);
    bytes.extend([0; 60]);
    let says = ["all of `chimes` was read, and `courier` waits for more", "the tape has no end block"];
    with_tape(&bytes).assert_fails("never-ends", &says);
}

#[test]
fn a_stack_in_rom() {
    let chain = Chain::copy("rooster").spoil("rooster.asm", "LDSTK   EQU     TOP", "LDSTK   EQU     BASE+777Q");
    let ran = chain.run(&["rehearse", "--start", "with the ROM"]);
    ran.assert_fails("wrote-rom", &["`rooster` writes to ROM at", "the stack lies in ROM", "CALL SERINI"]);
}

#[test]
fn a_stack_over_the_loader() {
    let ran = belfry().spoil("courier.asm", "LDSTK   EQU     TOP", "LDSTK   EQU     200Q").run(&["rehearse"]);
    ran.assert_fails("wrote-needed", &["`courier` writes over"]);
}
