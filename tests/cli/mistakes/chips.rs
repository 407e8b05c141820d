//! What goes wrong between a program, an FD1771 and its disk.

use crate::chain::{Chain, Ran};
use coldwright::assembler::built_in;

/// The lighthouse with another controller: the lamp program on a disk by marks.
fn marsh() -> Chain {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let own = |chain: Chain, file: &str| {
        let bytes = std::fs::read(folder.join("tests/cli/mistakes/chip").join(file)).unwrap();
        chain.put(file, &bytes)
    };
    let files = ["coldwright.toml", "machine.toml", "ports.asm", "boot.asm", "drill.asm"];
    let chain = files.into_iter().fold(Chain::copy("headland"), own);
    // The bundled layout, whose programs belong at zero, for a program that belongs elsewhere.
    let layout = std::fs::read_to_string(folder.join("layouts/marks-26.toml")).unwrap();
    chain.put("lamp.toml", layout.replace("load    = 0o0", "load    = 0o2000").as_bytes())
}

/// Rehearses the start by the ROM.
fn by_rom(chain: &Chain, more: &[&str]) -> Ran {
    chain.run(&[&["rehearse", "--start", "from the ROM"], more].concat())
}

/// The disk as the chain makes it.
fn built(chain: &Chain) -> Vec<u8> {
    let ran = chain.run(&["build", "-o", "out"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    std::fs::read(chain.path("out/disk-lamp.disk")).unwrap()
}

/// A byte of the data of a sector in the file: sector 1 of track 1 is the first, and all have 155 bytes.
fn data_of(sector: usize, byte: usize) -> usize {
    (26 + sector - 1) * 155 + 25 + byte
}

/// The chip is told numbers, so that it is the track on which they pass in another order.
#[test]
fn the_order_that_is_quickest_is_found() {
    let ran = marsh().run(&["disk", "interleave", "--json"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let found: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let spacings = found["spacings"].as_array().unwrap();
    assert_eq!((spacings.len(), &found["quickest"]), (25, &1.into()), "{found}");
    assert!(spacings[0]["declared"].as_bool().unwrap());
    // With every place between two sectors the reading takes as much longer, short of a whole track of them.
    let turns: Vec<_> = spacings.iter().map(|it| it["took"]["turns"].as_f64().unwrap()).collect();
    assert!(turns.windows(2).take(12).all(|pair| pair[0] < pair[1]), "{turns:?}");
}

#[test]
fn what_these_change_is_right_before() {
    let ran = marsh().run(&["rehearse"]);
    ran.assert_done();
    assert!(ran.out.contains("3 sectors read"), "{}", ran.out);
    // The port that holds the processor, and lines and bus of the other polarity.
    let holds = marsh().spoil("ports.asm", "FDHOLD  EQU     0", "FDHOLD  EQU     1");
    let holds = holds.spoil("machine.toml", "done = { bit = 4 } }", "done = { bit = 4 }, holds = true }");
    by_rom(&holds, &[]).assert_done();
    let low = marsh().spoil("ports.asm", "FDLOW   EQU     0", "FDLOW   EQU     FDDRQ OR FDINT");
    let low = low.spoil("ports.asm", "FDINV   EQU     0", "FDINV   EQU     377Q");
    let low = low.spoil("machine.toml", "bit = 0 }", "bit = 0, active = \"low\" }");
    let low = low.spoil("machine.toml", "bit = 4 }", "bit = 4, active = \"low\" }");
    let low = low.spoil("machine.toml", "registers = 0o164", "registers = 0o164\ninverted = true");
    by_rom(&low, &[]).assert_done();
}

#[test]
fn a_sector_that_is_on_no_track() {
    let chain = marsh().spoil("boot.asm", "FDSEC   EQU     1", "FDSEC   EQU     25");
    let chain = chain.spoil("boot.asm", "FDLAST  EQU     26", "FDLAST  EQU     30");
    let says =
        ["the sector that `boot` asks for did not come within two turns of `store`", "so `boot` stopped at `FDFAIL`"];
    by_rom(&chain, &[]).assert_fails("drive-misused", &says);
}

#[test]
fn one_wrong_bit() {
    let mut bytes = built(&marsh());
    bytes[data_of(2, 100)] ^= 0o10;
    let chain = marsh().put("worn.disk", &bytes);
    let says = [
        "a check does not agree in what `boot` reads from `store`",
        "sector 002 of track 001 on the disk is not as it was written",
        "so `boot` stopped at `FDFAIL`",
    ];
    by_rom(&chain, &["--disk", "lamp=worn.disk"]).assert_fails("drive-misused", &says);
}

#[test]
fn a_loop_that_is_too_slow() {
    let mine = String::from_utf8(built_in("boot-fd1771.asm").unwrap().bytes.to_vec()).unwrap();
    let slow = mine.replace(
        "        DCR     C\n        JNZ     FDBYTE",
        "        NOP\n        NOP\n        NOP\n        NOP\n        DCR     C\n        JNZ     FDBYTE",
    );
    assert_ne!(slow, mine);
    let chain = marsh().put("boot-fd1771.asm", slow.as_bytes());
    let says = ["`boot` lost byte", "of a sector of `store`: it fetched", "too late"];
    by_rom(&chain, &[]).assert_fails("drive-misused", &says);
}

#[test]
fn a_drive_that_is_not_ready() {
    let says = ["no disk turns in the drive `store` by now: its door is open", "it put 200 out to port 350 lamps"];
    by_rom(&marsh(), &["--door", "0"]).assert_fails("stopped-early", &says);
}

/// The chip ends no command for a door: it waits for bytes that do not come, at a line as at a port that holds.
#[test]
fn a_door_that_opens_in_mid_sector() {
    let chain = marsh();
    let opened = by_rom(&chain, &["--door", "0.54"]);
    let says = [
        "`boot` waits for ever at port `110`",
        "no disk turns in the drive `store` by now: its door is open",
        "2 sectors read, 0 of them again, the last sector 002 of track 001",
        "the door was opened 0.54 s after RUN",
    ];
    opened.assert_fails("never-ends", &says);
    let holds = chain.spoil("ports.asm", "FDHOLD  EQU     0", "FDHOLD  EQU     1");
    let holds = holds.spoil("machine.toml", "done = { bit = 4 } }", "done = { bit = 4 }, holds = true }");
    let says = ["port `110` holds `boot` for ever", "no disk turns in the drive `store` by now: its door is open"];
    by_rom(&holds, &["--door", "0.54"]).assert_fails("never-ends", &says);
}

/// Without a chain nobody knows which disk lies in the drive.
#[test]
fn the_lights_alone_say_which_disk_they_take_to_be_there() {
    let chain = marsh();
    let ran = chain.run(&["lights", "drill.asm", "--machine", "machine.toml"]);
    let flat = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let note = "In the drive `store` a formatted disk of the layout `marks-26` is taken to lie, its door closed.";
    assert_eq!((ran.code, flat.matches(note).count()), (0, 1), "{}{}", ran.out, ran.err);
    built(&chain);
    let text = std::fs::read_to_string(chain.path("out/drill-lights.txt")).unwrap();
    assert!(!text.contains("is taken to lie"), "the disk of the chain is known: {text}");
}

#[test]
fn steps_that_the_drive_cannot_follow() {
    let chain = marsh().spoil("ports.asm", "FDRATE  EQU     2", "FDRATE  EQU     0");
    let ran = by_rom(&chain, &[]);
    let says = ["`boot` steps `store`", "T-states too early: the head does not follow"];
    assert!(says.iter().all(|words| ran.err.contains(words)), "{}{}", ran.out, ran.err);
}

#[test]
fn a_port_that_holds_for_ever() {
    let chain = marsh().spoil("ports.asm", "FDHOLD  EQU     0", "FDHOLD  EQU     1");
    let chain = chain.spoil("machine.toml", "done = { bit = 4 } }", "done = { bit = 4 }, holds = true }");
    let mine = String::from_utf8(built_in("boot-fd1771.asm").unwrap().bytes.to_vec()).unwrap();
    // The status is read before it waits once more.
    let twice = mine.replace("FDMOVE: OUT     FDST\n", "FDMOVE: OUT     FDST\n        CALL    FDDONE\n");
    let chain = chain.put("boot-fd1771.asm", twice.as_bytes());
    by_rom(&chain, &[]).assert_fails("never-ends", &["port `110` holds `boot` for ever"]);
}

#[test]
fn what_a_machine_file_says_of_a_chip() {
    let chain = marsh().spoil("machine.toml", "registers = 0o164", "registers = [0o164, 0o165, 0o166]");
    chain.run(&["check"]).assert_fails("machine-value", &["the chip has 4 registers, and 3 ports are given"]);
    let chain = marsh().spoil("machine.toml", "done = { bit = 4 }", "done = { bit = 0 }");
    chain.run(&["check"]).assert_fails("machine-value", &["`data` and `done` are on one bit"]);
    let chain = marsh().spoil("coldwright.toml", "layout = \"lamp.toml\"", "layout = \"holes-32\"");
    let chain = chain.spoil("coldwright.toml", "area = \"program\"", "area = \"boot\"");
    chain.run(&["check"]).assert_fails("disk-unfit", &["an FD1771 finds sectors by marks"]);
}

/// The stepped exerciser: the status has the index pulse, lit for 1.7 of 166.7 ms, six times a second, and track 0 where the
/// restore brought the head.
#[test]
fn the_lights_of_the_exerciser_are_as_the_drives_arithmetic_says() {
    let chain = marsh();
    built(&chain);
    let text = std::fs::read_to_string(chain.path("out/drill-lights.txt")).unwrap();
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains(".. ... *1. .I....W. reads port 164"), "{text}");
    assert!(
        flat.contains("Port 164 as the machine stands here: bit 1 flashes 6.0 times a second, lit 1 % of the time.")
    );
    assert!(flat.contains(".. ... .1. .I....W. reads port 164"), "a step inward from track 0: {text}");
}
