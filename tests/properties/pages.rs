//! Nothing is printed off the page, whatever the program, the names and the panel.

use coldwright::drawing::{Anchor, Drawing, Item};
use coldwright::image::Image;
use coldwright::notation::{Address, Notation};
use coldwright::panel::card::{Card, Request as CardRequest, Tape, TapeRead};
use coldwright::panel::lights::{Lights, Request};
use coldwright::panel::sheet::Sheet;
use coldwright::panel::{Panel, Paper, Port, Ports, Program, Remark};
use coldwright::source::{Origin, Position, SourceMap};
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn all_text_is_on_the_paper(
        bytes in proptest::collection::vec(any::<u8>(), 1..100),
        words in "[a-zA-Z0-9 ,.]{0,90}",
        name in "[a-z]{1,70}",
        notation in 0..3usize,
        letter in any::<bool>(),
    ) {
        let notation = Notation::ALL[notation].1;
        let paper = if letter { Paper::Letter } else { Paper::A4 };
        let program = program(&bytes, &words, &name, notation);
        let panel = Panel { notation, ..Panel::default() };
        let ports = ports(&words);
        let sheet = Sheet::new(&program, &panel, None, 0).unwrap();
        let drawing = sheet.draw(paper);
        check(&drawing)?;
        prop_assert_eq!(sheet.text().split('\u{c}').count(), drawing.pages.len());
        let request = Request { cycles: 200, panel: panel.clone(), ..Request::default() };
        let lights = Lights::run(&program, &request);
        check(&lights.draw(&program, &ports, paper))?;
        let read = TapeRead { seconds: 84.1, name: program.name.clone(), entry: Address(0), seen: None };
        let tape = |read| Tape { label: words.clone(), lettered: letter, after: 0.0, read };
        let tapes = vec![tape(None), tape(Some(read))];
        let request = CardRequest { tapes, ..CardRequest::default() };
        let card = Card::new(&program, &panel, &ports, &request).unwrap();
        check(&card.draw(paper))?;
        for text in [sheet.text(), lights.text(&program, &ports), card.text()] {
            for line in text.lines() {
                prop_assert!(line.chars().count() <= 80, "{}", line);
            }
        }
    }
}

fn program(bytes: &[u8], words: &str, name: &str, notation: Notation) -> Program {
    let mut sources = SourceMap::default();
    let source = sources.add("any", "", Origin::Given);
    let mut image = Image::default();
    image.insert(Address(0), bytes, Position { source, offset: 0 }).unwrap();
    let mut program = Program::from_bytes(name, image, notation);
    for remark in program.remarks.values_mut() {
        *remark = Remark { statement: format!("{words}: {}", remark.statement), comment: words.to_owned() };
    }
    program
}

/// Every port is something, and every bit of it.
fn ports(words: &str) -> Ports {
    let port = Port { name: words.to_owned(), bits: std::array::from_fn(|_| words.to_owned()) };
    let all = || (0..=255).map(|number| (number, port.clone())).collect();
    Ports { inputs: all(), outputs: all() }
}

fn check(drawing: &Drawing) -> Result<(), TestCaseError> {
    for page in &drawing.pages {
        for item in &page.items {
            let Item::Text(text) = item else { continue };
            let left = match text.anchor {
                Anchor::Start => text.x,
                Anchor::Middle => text.x - text.width() / 2.0,
                Anchor::End => text.x - text.width(),
            };
            let (right, size) = (left + text.width(), page.size);
            prop_assert!(left >= 5.0 && right <= size.width - 5.0, "{} to {}: {}", left, right, text.text);
            prop_assert!(text.y >= 5.0 && text.y <= size.height - 5.0, "{}: {}", text.y, text.text);
        }
    }
    Ok(())
}
