//! Programs of instructions: what is decoded assembles to the same bytes, and the listing shows them.

use coldwright::isa::{Operands, decode};
use coldwright::notation::Notation;
use proptest::prelude::*;

/// An instruction as a line of source.
fn line(opcode: u8, low: u8, high: u8) -> String {
    let instruction = decode(opcode);
    let word = u16::from_le_bytes([low, high]);
    let operands = match instruction.operands {
        Operands::None => String::new(),
        Operands::Registers(to, from) => format!("{},{}", to.name(), from.name()),
        Operands::Register(register) => register.name().into(),
        Operands::RegisterByte(register) => format!("{},{low}", register.name()),
        Operands::Pair(pair) => pair.name().into(),
        Operands::PairWord(pair) => format!("{},0{word:X}H", pair.name()),
        Operands::Byte | Operands::Port => format!("{low:o}Q"),
        Operands::Address => format!("{word:b}B"),
        Operands::Vector(vector) => vector.to_string(),
    };
    format!("\t{}\t{operands}\n", instruction.mnemonic.name())
}

fn encoded(opcode: u8, low: u8, high: u8) -> Vec<u8> {
    [opcode, low, high][..decode(opcode).length.into()].to_vec()
}

fn documented() -> impl Strategy<Value = u8> {
    any::<u8>().prop_filter("documented", |&opcode| decode(opcode).documented)
}

#[test]
fn every_documented_opcode_assembles_back() {
    for opcode in (0..=255).filter(|&opcode| decode(opcode).documented) {
        for (low, high) in [(0, 0), (0xFF, 0xFF), (0x12, 0x34)] {
            let text = line(opcode, low, high);
            assert_eq!(super::bytes(&text), Ok(encoded(opcode, low, high)), "{text}");
        }
    }
}

proptest! {
    #[test]
    fn a_program_assembles_back_and_its_listing_shows_its_bytes(
        start in 0u16..0xF000,
        program in prop::collection::vec((documented(), any::<u8>(), any::<u8>()), 1..60),
    ) {
        let lines: String = program.iter().map(|&(opcode, low, high)| line(opcode, low, high)).collect();
        let wanted: Vec<u8> = program.iter().flat_map(|&(opcode, low, high)| encoded(opcode, low, high)).collect();
        let text = format!("\tORG\t{start}\n{lines}");
        prop_assert_eq!(super::bytes(&text), Ok(wanted.clone()));
        let (sources, assembly) = super::assembled(text);
        let listing = coldwright::assembler::listing(&sources, &assembly, Notation::Hexadecimal);
        let (mut shown, mut at) = (Vec::new(), start);
        for row in listing.lines().skip(2).take(program.len()) {
            prop_assert_eq!(&row[..4], format!("{at:04X}"));
            let bytes: Vec<_> = row[6..17].split_whitespace().collect();
            at += bytes.len() as u16;
            shown.extend(bytes.iter().map(|byte| u8::from_str_radix(byte, 16).unwrap()));
        }
        prop_assert_eq!(shown, wanted);
    }

    /// Data, too: a `DB` of any values, in rows that go on below.
    #[test]
    fn data_of_any_length_is_listed_whole(data in prop::collection::vec(any::<u8>(), 1..40)) {
        let items: Vec<_> = data.iter().map(u8::to_string).collect();
        let (sources, assembly) = super::assembled(format!("\tDB\t{}\n", items.join(",")));
        let listing = coldwright::assembler::listing(&sources, &assembly, Notation::Octal);
        let rows = listing.lines().skip(1).take_while(|row| !row.is_empty());
        let bytes: Vec<_> = rows.flat_map(|row| row[8..row.len().min(23)].split_whitespace()).collect();
        let wanted: Vec<_> = data.iter().map(|byte| format!("{byte:03o}")).collect();
        prop_assert_eq!(bytes, wanted);
    }
}
