//! What goes wrong between a program, its drive and its disk.

use crate::chain::{Chain, Ran};
use coldwright::assembler::built_in;

fn headland() -> Chain {
    Chain::copy("headland")
}

/// Rehearses the start by the ROM.
fn by_rom(chain: &Chain, more: &[&str]) -> Ran {
    chain.run(&[&["rehearse", "--start", "from the ROM"], more].concat())
}

/// The lighthouse with a copy of the boot loader of its own, to be spoilt.
fn with_own_loader() -> Chain {
    headland().put("boot-wired.asm", &built_in("boot-wired.asm").unwrap().bytes)
}

/// The disk as the chain makes it.
fn built(chain: &Chain) -> Vec<u8> {
    let ran = chain.run(&["build", "-o", "out"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    std::fs::read(chain.path("out/disk-lamp.disk")).unwrap()
}

/// Where the first sector of the program stands in the file: sector 0 of track 1, of 138 bytes.
const FIRST: usize = 32 * 138;

#[test]
fn what_these_change_is_right_before() {
    headland().run(&["rehearse"]).assert_done();
    by_rom(&with_own_loader(), &[]).assert_done();
}

#[test]
fn the_head_is_not_loaded() {
    let chain = headland().spoil("ports.asm", "BWSEL   EQU     76Q", "BWSEL   EQU     74Q");
    let chain = chain.spoil("ports.asm", "56Q", "54Q").spoil("ports.asm", "66Q", "64Q");
    by_rom(&chain, &[]).assert_fails("never-ends", &["the head of the drive `store` is not loaded"]);
}

#[test]
fn a_step_comes_too_early() {
    // It looks whether the drive is ready, which is always so by then.
    let chain = headland().spoil("ports.asm", "BWMAY   EQU     10Q", "BWMAY   EQU     20Q");
    let says = ["`boot` steps `store`", "T-states too early: the head does not follow", "so `"];
    by_rom(&chain, &[]).assert_fails("drive-misused", &says);
}

#[test]
fn nobody_waits_for_the_head_to_settle() {
    // A head that takes longer than ten tries, so that none of them saves it.
    let slow = |chain: Chain| chain.spoil("machine.toml", "settle_ms = 18", "settle_ms = 2500");
    by_rom(&slow(headland()), &[]).assert_done();
    let waits = "BWHERE: CALL    BWSET\n";
    let chain = slow(with_own_loader()).spoil("boot-wired.asm", waits, "BWHERE:\n");
    let says = ["`boot` reads from `store`", "T-states before its head has come to rest"];
    by_rom(&chain, &[]).assert_fails("drive-misused", &says);
}

#[test]
fn a_status_bit_of_the_other_polarity() {
    let right = "\"byte waits\" = { port = 0o271, bit = 0 }";
    let chain = headland().spoil("machine.toml", right, "\"byte waits\" = { port = 0o271, bit = 0, active = \"low\" }");
    let says = ["although no byte waits", "whether a one or a zero means yes"];
    by_rom(&chain, &[]).assert_fails("drive-misused", &says);
}

/// Two bytes come every 128 T-states: a loop of 128 keeps up, one of 129 loses a byte before the sector is over.
#[test]
fn a_loop_that_is_too_slow_by_one_t_state() {
    // 113, and three moves of 5 each; 113, and four of 4.
    let pad = |with: &str| {
        let loops = "        DCR     C\n        JNZ     BWEVEN";
        with_own_loader().spoil("boot.asm", "LIMIT   256", "LIMIT   300").spoil(
            "boot-wired.asm",
            loops,
            &format!("{with}{loops}"),
        )
    };
    let twin = |chain: &Chain| chain.run(&["rehearse", "--start", "from the cassette"]);
    let socketless = |chain: Chain| {
        let chain = chain.spoil(
            "coldwright.toml",
            "[[start]]\nname = \"from the ROM\"\nstages = [\"boot\", \"lantern\"]\n",
            "",
        );
        let socket = "home = { socket = \"U2\" }";
        chain
            .spoil("coldwright.toml", socket, "home = { panel = {} }")
            .spoil("coldwright.toml", "0o177400", "0o10000")
            .spoil("coldwright.toml", "empty = [\"U2\"]", "")
    };
    twin(&socketless(pad(&"        MOV     A,A\n".repeat(3)))).assert_done();
    let slow = twin(&socketless(pad(&"        NOP\n".repeat(4))));
    slow.assert_fails("drive-misused", &["`twin` lost byte", "of a sector of `store`: it fetched", "too late"]);
}

#[test]
fn the_wrong_track() {
    let chain = headland().spoil("boot.asm", "BWTRK   EQU     1", "BWTRK   EQU     2");
    let chain = chain.spoil("coldwright.toml", "machine = \"machine.toml\"", "machine = \"machine.toml\"\nlimit = 5");
    let says =
        ["`lantern` has 3 sectors on the disk, from track 001 on", "no byte was read; the head stands on track 002"];
    by_rom(&chain, &[]).assert_fails("takes-too-long", &says);
}

/// The loader takes every second sector, whatever the one before says.
#[test]
fn the_wrong_interleave_in_the_loader() {
    let next = "        LHLD    BWBUF + 134\n        XCHG\n        POP     B\n";
    let mine = "        LHLD    BWBUF + 1\n        INR     H\n        INR     H\n        MOV     D,L\n        MOV     E,H\n        POP     B\n";
    let chain = with_own_loader().spoil("boot-wired.asm", next, mine);
    let says =
        ["`lantern` has 3 sectors on the disk, from track 001 on: 000, 003, 006", "it put 004 out to port 022 lamps"];
    by_rom(&chain, &[]).assert_fails("stopped-early", &says);
}

/// Sectors have other numbers than their holes, and the loader goes by what the controller shows.
#[test]
fn numbers_that_are_not_those_of_the_holes() {
    let chain = headland().spoil("lamp.toml", "fill      = 0o000", "fill      = 0o000\nskew      = 3");
    let says = [
        "sector 000 of track 001 begins at hole 003: the controller shows the numbers of holes, and `lamp` gives sectors others",
        "it put 004 out to port 022 lamps",
    ];
    by_rom(&chain, &[]).assert_fails("stopped-early", &says);
}

#[test]
fn a_sector_with_one_wrong_bit() {
    let chain = headland();
    let mut bytes = built(&chain);
    bytes[FIRST + 3 * 138 + 20] ^= 0o40;
    let chain = chain.put("worn.disk", &bytes);
    let says = ["sector 003 of track 001 on the disk is not as it was written", "it put 003 out to port 022 lamps"];
    by_rom(&chain, &["--disk", "lamp=worn.disk"]).assert_fails("stopped-early", &says);
    let chain = chain.put("same.disk", &built(&headland()));
    by_rom(&chain, &["--disk", "lamp=same.disk"]).assert_done();
}

#[test]
fn a_door_that_opens() {
    let ran = by_rom(&headland(), &["--door", "0.7"]);
    let says = ["no disk turns in the drive `store` by now: its door is open", "the door was opened 0.7 s after RUN"];
    ran.assert_fails("stopped-early", &says);
}

#[test]
fn a_protected_disk_is_written_to() {
    let chain = headland().spoil("coldwright.toml", "drive = \"store\"", "drive = \"store\"\nprotected = true");
    let writes = "LANTERN: LXI    SP,TOP\n        MVI     A,36Q\n        OUT     BWCMD";
    let chain = chain.spoil("lantern.asm", "LANTERN: LXI    SP,TOP", writes);
    let says = ["`lantern` writes on `store`, whose disk is protected: nothing is written"];
    by_rom(&chain, &[]).assert_fails("drive-misused", &says);
}

#[test]
fn a_drive_that_is_too_slow() {
    let says = ["the drive `store` turns 3.0 % too slowly: `lamp` allows 2 %"];
    by_rom(&headland(), &["--rpm", "349.2"]).assert_fails("drive-misused", &says);
    for rpm in ["353", "367"] {
        by_rom(&headland(), &["--rpm", rpm]).assert_done();
    }
}

#[test]
fn a_boot_sector_for_another_address() {
    let other = headland().spoil("lantern.asm", "ORG     2000Q", "ORG     3000Q");
    let bytes = built(&other);
    let chain = headland().put("other.disk", &bytes);
    let says = ["the disk is for 003000, `lantern` belongs at 002000"];
    by_rom(&chain, &["--disk", "lamp=other.disk"]).assert_fails("byte-wrong", &says);
}

#[test]
fn a_twin_that_overlaps_what_it_loads() {
    let chain = headland().spoil("coldwright.toml", "BASE = 0o14000", "BASE = 0o2000");
    let says = ["`lantern` and the loader that reads it, `twin`, both lie at"];
    chain.run(&["rehearse", "--start", "from the cassette"]).assert_fails("stages-overlap", &says);
}

#[test]
fn a_drive_that_nobody_describes() {
    let chain = headland().spoil("coldwright.toml", "drive = \"store\"", "drive = \"stove\"");
    chain.run(&["check"]).assert_fails("home-unknown", &["there is no drive `stove`", "did you mean `store`?"]);
    let chain = headland().spoil("coldwright.toml", "area = \"boot\"", "area = \"boat\"");
    chain
        .run(&["check"])
        .assert_fails("home-unknown", &["the layout `lamp` has no area `boat`", "did you mean `boot`?"]);
    let chain = headland().spoil("coldwright.toml", "layout = \"lamp.toml\"", "layout = \"marks-26\"");
    chain.run(&["check"]).assert_fails("disk-unfit", &["a controller without registers finds no marks"]);
}
