//! Mistakes that people make, one a test, each seeded into an example chain that otherwise agrees. Each must fail, and
//! what is said must name the mistake.

mod chips;
mod disks;
mod hand;
mod lines;
mod places;
mod ports;
mod tapes;

use super::chain::{Chain, Ran};
use coldwright::image::Image;
use coldwright::notation::Notation;
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
    encode(&bundled(framing).unwrap(), &[program], Notation::default()).unwrap().bytes
}

/// Rehearses the tower with a tape of one's own.
fn with_tape(bytes: &[u8]) -> Ran {
    belfry().put("mine.tape", bytes).run(&["rehearse", "--tape", "one=mine.tape"])
}

/// What the tests below change is right before.
#[test]
fn the_chain_agrees_with_its_own_tape() {
    belfry().run(&["rehearse"]).assert_done();
    with_tape(&tape(&belfry(), 0)).assert_done();
}
