//! Text tapes against tools that know the formats: the characters of a tape, without parity and blank frames, are a
//! file that `objcopy` and `srec_cat` read, and what they write is read back as a tape.

use coldwright::image::Image;
use coldwright::notation::{Address, Notation};
use coldwright::source::{Origin, Position, SourceMap};
use coldwright::tape::framing::{Program, bundled, decode, encode};

use crate::tool;

fn image() -> Image {
    let made_by = Position { source: SourceMap::default().add("made up", "", Origin::Given), offset: 0 };
    let mut image = Image::default();
    let bytes: Vec<u8> = (0..300u16).map(|step| (step * 7) as u8).collect();
    image.insert(Address(0x0100), &bytes, made_by).unwrap();
    image.insert(Address(0xFFF0), &bytes[..16], made_by).unwrap();
    image.entry = Some(Address(0x0103));
    image
}

/// The text of a tape: parity off, blank frames out.
fn text(framing: &str) -> Vec<u8> {
    let image = image();
    let program = Program { name: "BELFRY", image: &image, lettering: "" };
    let tape = encode(&bundled(framing).unwrap(), &[program], Notation::default()).unwrap();
    tape.bytes.iter().map(|frame| frame & 0o177).filter(|&character| character != 0).collect()
}

/// A file of text as a tape: even parity, a leader before it.
fn tape(text: &[u8]) -> Vec<u8> {
    let parity = |character: u8| character | (character.count_ones() as u8 & 1) << 7;
    [vec![0; 40], text.iter().map(|&character| parity(character)).collect(), vec![0; 40]].concat()
}

const FORMATS: [(&str, &str, &str); 2] = [("intel-hex", "ihex", "-Intel"), ("s-record", "srec", "-Motorola")];

#[test]
fn objcopy_and_srec_cat_read_the_text_of_a_tape() {
    for (framing, objcopy, srec_cat) in FORMATS {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("tape.txt"), text(framing)).unwrap();
        let arguments = ["tape.txt", srec_cat, "-offset", "-0x100", "-o", "low.bin", "-Binary"];
        if tool::run("srec_cat", &arguments, folder.path()).is_none() {
            return;
        }
        let low = std::fs::read(folder.path().join("low.bin")).unwrap();
        let image = image();
        for extent in image.extents() {
            let at = extent.base.index() - 0x100;
            assert_eq!(&low[at..at + extent.bytes.len()], extent.bytes, "{framing}");
        }
        let arguments = ["-I", objcopy, "-O", "binary", "tape.txt", "all.bin"];
        if tool::run("objcopy", &arguments, folder.path()).is_none() {
            return;
        }
        assert_eq!(std::fs::read(folder.path().join("all.bin")).unwrap().len(), 0xFF00, "{framing}");
    }
}

#[test]
fn a_tape_is_read_from_what_srec_cat_writes() {
    for (framing, _, srec_cat) in FORMATS {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("ours.txt"), text(framing)).unwrap();
        let width = if framing == "s-record" { "-address-length=2" } else { "-address-length=4" };
        let mut arguments = vec!["ours.txt", srec_cat, "-o", "theirs.txt", srec_cat, "-line-length=44"];
        if framing == "s-record" {
            arguments.push(width);
        }
        if tool::run("srec_cat", &arguments, folder.path()).is_none() {
            return;
        }
        let theirs = std::fs::read(folder.path().join("theirs.txt")).unwrap();
        let reading = decode(&bundled(framing).unwrap(), &tape(&theirs));
        let made_by = Position { source: SourceMap::default().add("tape", "", Origin::Given), offset: 0 };
        let (found, contested) = reading.programs[0].image(made_by);
        assert!(contested.is_empty() && reading.blocks().all(|block| block.is_good()), "{framing}: {reading:?}");
        assert!(found.extents().eq(image().extents()), "{framing}: {found:?}");
    }
}
