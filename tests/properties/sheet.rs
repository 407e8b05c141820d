//! Any image can be read back from its sheet, and played into a panel.

use crate::panel::Machine;
use coldwright::drawing::html;
use coldwright::image::Image;
use coldwright::notation::{Address, Notation};
use coldwright::panel::sheet::{Action, Sheet, SheetError};
use coldwright::panel::{DataLevers, Panel, Paper, Program, SenseLevers};
use coldwright::source::{Origin, Position, SourceMap};
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn a_panel_that_is_played_the_sheet_holds_the_image(
        image in any_image(), panel in any_panel(), entry in any::<u16>(), sense in any::<u8>(),
    ) {
        let program = Program::from_bytes("any", image.clone(), panel.notation);
        let sheet = match Sheet::new(&program, &panel, Some(Address(entry)), sense) {
            Ok(sheet) => sheet,
            Err(SheetError::Unreachable { address, switches }) => {
                prop_assert!(u32::from(address.0) >> switches != 0);
                return Ok(());
            }
            Err(SheetError::Empty) => {
                prop_assert!(image.is_empty());
                return Ok(());
            }
        };
        let mut machine = Machine::new(&panel);
        let noise = machine.memory.clone();
        for row in sheet.rows() {
            machine.play(row);
        }
        for (at, byte) in machine.memory.iter().enumerate() {
            let wanted = image.byte(Address(at as u16)).unwrap_or(noise[at]);
            prop_assert_eq!(*byte, wanted, "at {:06o}", at);
        }
        prop_assert_eq!(machine.started, Some((entry, sense)));
    }

    #[test]
    fn the_image_is_read_back_from_text_and_html(image in any_image(), panel in any_panel()) {
        let program = Program::from_bytes("any", image.clone(), panel.notation);
        let Ok(sheet) = Sheet::new(&program, &panel, None, 0) else { return Ok(()) };
        let expected = bytes(&image);
        prop_assert_eq!(from_text(&sheet.text(), panel.notation), expected.clone());
        let html = html::write(&sheet.draw(Paper::A4));
        prop_assert_eq!(from_html(&html, panel.notation), expected);
    }

    #[test]
    fn every_byte_is_deposited_and_compared_once(image in any_image(), panel in any_panel()) {
        let program = Program::from_bytes("any", image.clone(), panel.notation);
        let Ok(sheet) = Sheet::new(&program, &panel, None, 0) else { return Ok(()) };
        let mut compared = Vec::new();
        for row in sheet.rows() {
            if let Action::Check { address, bytes } = &row.action {
                compared.extend(bytes.iter().enumerate().map(|(at, byte)| (address.0.wrapping_add(at as u16), *byte)));
            }
        }
        prop_assert_eq!(&compared, &bytes(&image));
        prop_assert_eq!(sheet.totals.check.bytes, compared.len() as u64);
        for line in sheet.text().lines() {
            prop_assert!(line.chars().count() <= 80, "{}", line);
        }
    }
}

fn any_image() -> impl Strategy<Value = Image> {
    let part = (any::<u16>(), proptest::collection::vec(any::<u8>(), 1..80));
    proptest::collection::vec(part, 0..5).prop_map(|parts| {
        let mut sources = SourceMap::default();
        let source = sources.add("any", "", Origin::Given);
        let mut image = Image::default();
        for (base, bytes) in parts {
            // A part that overlaps another or the top of memory is left out.
            let _ = image.insert(Address(base), &bytes, Position { source, offset: 0 });
        }
        image
    })
}

fn any_panel() -> impl Strategy<Value = Panel> {
    let switches = prop_oneof![4 => Just(16u8), 1 => 8u8..16];
    (switches, any::<[bool; 4]>(), 0..3usize).prop_map(
        |(switches, [own, sense, examine_next, deposit_next], notation)| Panel {
            switches,
            data: if own { DataLevers::Own } else { DataLevers::LowAddress },
            sense: if sense && switches == 16 { SenseLevers::HighAddress } else { SenseLevers::Own },
            examine_next,
            deposit_next,
            notation: Notation::ALL[notation].1,
            ..Panel::default()
        },
    )
}

fn bytes(image: &Image) -> Vec<(u16, u8)> {
    let every = |extent: coldwright::image::Extent| {
        let base = extent.base.0;
        extent.bytes.iter().enumerate().map(|(at, byte)| (base + at as u16, *byte)).collect::<Vec<_>>()
    };
    image.extents().flat_map(every).collect()
}

/// Rows that have both boxes are bytes; address and byte stand in their columns.
fn from_text(text: &str, notation: Notation) -> Vec<(u16, u8)> {
    let rows = text.lines().filter_map(|line| line.strip_prefix("[ ][ ] "));
    rows.map(|row| (number(&row[..7], notation), number(&row[24..27], notation) as u8)).collect()
}

/// A byte stands right-aligned in its column, its address a hair above it in the column of addresses.
fn from_html(html: &str, notation: Notation) -> Vec<(u16, u8)> {
    let mut found = Vec::new();
    for page in html.split("<section").skip(1) {
        let mut address = None;
        for (x, end, text) in page.split("<text ").skip(1).map(text_element) {
            if x == "25.6" && text.chars().all(|c| c.is_ascii_hexdigit() || c == ' ') {
                address = Some(number(text, notation));
            } else if x == "90" && end && text != "byte" {
                found.push((address.take().expect("an address before its byte"), number(text, notation) as u8));
            }
        }
    }
    found
}

/// The place, the anchor and the content of a text element.
fn text_element(element: &str) -> (&str, bool, &str) {
    let x = element.split('"').nth(1).unwrap_or_default();
    let content = element.split_once('>').map_or("", |(_, rest)| rest.split('<').next().unwrap_or_default());
    (x, element.contains("text-anchor=\"end\""), content)
}

fn number(text: &str, notation: Notation) -> u16 {
    let text = text.trim();
    let octal = |text: &str| u16::from_str_radix(text, 8).unwrap_or_else(|_| panic!("{text:?} is not octal"));
    match (notation, text.split_once(' ')) {
        (Notation::Octal, _) | (Notation::SplitOctal, None) => octal(text),
        (Notation::SplitOctal, Some((high, low))) => octal(high) << 8 | octal(low),
        (Notation::Hexadecimal, _) => u16::from_str_radix(text, 16).unwrap_or_else(|_| panic!("{text:?}")),
    }
}
