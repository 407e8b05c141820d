//! Parts and checks against what their makers and standards published.
//!
//! Organisation, erased level and pins are what is checked here. Marks: [V] read in the document named; [2] quoted by
//! another; [M] from memory of the document, which was not read again. Voltages are no facts of this tool.

use coldwright::notation::Address;
use coldwright::record::CheckKind;
use coldwright::rom::{Check, Level, Parts, Width, to_markdown};

use Level::{High, Low};
use Width::{Byte, Nibble};

/// A part with its words, outputs, erased level and pins.
type Row = (&'static str, usize, Width, Level, u8);

/// Intel data sheets 1702A, 2704/2708, 2758, 2716, 2732, 2732A, 2764, 2764A, 27128 and 27256, and Texas Instruments
/// TMS2716 [M]; organisation and pins of 2708, 2716 and 2732A in second sources' sheets [V]: NTE2708, ST M2716 (July 1994),
/// NTE2732A; the 1702A erased to 00 and 27xx to FF also as measured on working programmers [2].
const EPROMS: [Row; 13] = [
    ("1702A", 256, Byte, Low, 24),
    ("2704", 512, Byte, High, 24),
    ("2708", 1024, Byte, High, 24),
    ("8708", 1024, Byte, High, 24),
    ("2758", 1024, Byte, High, 24),
    ("2716", 2048, Byte, High, 24),
    ("TMS2716", 2048, Byte, High, 24),
    ("2732", 4096, Byte, High, 24),
    ("2732A", 4096, Byte, High, 24),
    ("2764", 8192, Byte, High, 28),
    ("27C64", 8192, Byte, High, 28),
    ("27128", 16384, Byte, High, 28),
    ("27256", 32768, Byte, High, 28),
];

/// Organisation of 82S23, 82S123, 8223 and 82S115: Signetics, Bipolar Memories, 1973, contents [V]; of 82S126 and
/// 82S129: Signetics Series 3000 book, contents [V]. Level of 82S23 and 82S123: the programming procedure verifies a
/// "programmed output high", Signetics 1975 book [2]. The rest of these rows, 82S130 and 82S131: data sheets [M].
const SIGNETICS: [Row; 8] = [
    ("82S23", 32, Byte, Low, 16),
    ("82S123", 32, Byte, Low, 16),
    ("8223", 32, Byte, Low, 16),
    ("82S126", 256, Nibble, Low, 16),
    ("82S129", 256, Nibble, Low, 16),
    ("82S130", 512, Nibble, Low, 16),
    ("82S131", 512, Nibble, Low, 16),
    ("82S115", 512, Byte, Low, 24),
];

/// National Semiconductor [M]; Texas Instruments TBP18S030 [M]; series 24 and 28: "supplied with a high logic level
/// stored at each bit location", Texas Instruments data sheet, September 1979, revised August 1984 [V]; Harris [M].
const OTHER_FUSES: [Row; 11] = [
    ("74S188", 32, Byte, Low, 16),
    ("74S288", 32, Byte, Low, 16),
    ("74S387", 256, Nibble, Low, 16),
    ("74S287", 256, Nibble, Low, 16),
    ("74S570", 512, Nibble, Low, 16),
    ("74S571", 512, Nibble, Low, 16),
    ("TBP18S030", 32, Byte, Low, 16),
    ("TBP24S10", 256, Nibble, High, 16),
    ("TBP28S42", 512, Byte, High, 20),
    ("HM-7603", 32, Byte, High, 16),
    ("HM-7611", 256, Nibble, High, 16),
];

#[test]
fn organisation_erased_level_and_pins_are_the_makers() {
    for (name, words, width, erased, pins) in EPROMS.into_iter().chain(SIGNETICS).chain(OTHER_FUSES) {
        let part = Parts::default().find(name).unwrap();
        let found = (part.words, part.width, part.erased, part.known.unwrap().pins);
        assert_eq!(found, (words, width, erased, pins), "{name}");
    }
}

/// The check values over the nine characters "123456789": sums and exclusive-or by common practice, Fletcher's by its
/// definition, the CRCs from the catalogue of parametrised CRC algorithms [M].
#[test]
fn checks_give_their_published_values_over_123456789() {
    for (name, expected) in [
        ("sum8", "23"),
        ("sum16", "01DD"),
        ("carry-sum8", "DE"),
        ("xor8", "31"),
        ("fletcher16", "1EDE"),
        ("crc-8/smbus", "F4"),
        ("crc-16/arc", "BB3D"),
        ("crc-16/xmodem", "31C3"),
        ("crc-16/ibm-3740", "29B1"),
        ("crc-16/kermit", "2189"),
        ("crc-16/ibm-sdlc", "906E"),
        ("crc-16/genibus", "D64E"),
        ("crc-32/iso-hdlc", "CBF43926"),
    ] {
        let check = Check::named(name, Address(0)).unwrap();
        // The place of the check itself is left out, wherever it lies.
        for at in [0, 4, 9] {
            let mut bytes = b"123456789".to_vec();
            bytes.splice(at..at, vec![0xA5; check.width()]);
            let stored: String = check.compute(&bytes, at).iter().rev().map(|byte| format!("{byte:02X}")).collect();
            assert_eq!(stored, expected, "{name} with the check at {at}");
        }
    }
    assert_eq!(CheckKind::all().count(), 13);
}

/// `COLDWRIGHT_BLESS=1` writes the table anew.
#[test]
fn the_table_in_the_guide_is_that_of_the_program() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/roms.md");
    let page = std::fs::read_to_string(path).unwrap();
    let (start, end) = ("<!-- parts: generated -->\n", "<!-- parts: end -->\n");
    let (before, rest) = page.split_once(start).unwrap();
    let (table, after) = rest.split_once(end).unwrap();
    if std::env::var_os("COLDWRIGHT_BLESS").is_some() {
        return std::fs::write(path, [before, start, &to_markdown(), end, after].concat()).unwrap();
    }
    assert_eq!(table, to_markdown(), "docs/roms.md is stale");
}
