//! The actions of a guide are those of the sheets and the card, in their order.

use coldwright::delivery;
use coldwright::guide::{Action, Bank};
use coldwright::panel::sheet;
use coldwright::panel::{Key, Step};

use super::chains::{ALL, Chain, PANELS};

/// The steps of a sheet that leads to a start, without the start.
fn deposits(sheet: &sheet::Sheet) -> Vec<Step> {
    let is_start =
        |row: &sheet::Row| matches!(row.action, sheet::Action::Entry(_) | sheet::Action::Sense(_) | sheet::Action::Run);
    sheet.rows().filter(|row| !is_start(row)).flat_map(sheet::Row::steps).collect()
}

/// An action as steps of a hand and of eyes.
fn steps(action: &Action) -> Vec<Step> {
    let mut steps = Vec::new();
    if let Some(setting) = action.levers {
        steps.push(match setting.bank {
            Bank::Address => Step::SetAddress(coldwright::notation::Address(setting.value)),
            Bank::Data => Step::SetData(setting.value as u8),
            Bank::Sense => Step::SetSense(setting.value as u8),
        });
    }
    let keys = [Key::Examine, Key::ExamineNext, Key::Deposit, Key::DepositNext, Key::Run];
    steps.extend(action.key.map(|name| Step::Press(*keys.iter().find(|key| key.name() == name).unwrap())));
    let place = action.address.map(coldwright::notation::Address);
    steps.extend(action.check.map(|byte| Step::Compare(place.unwrap(), byte)));
    steps
}

fn leads_through_the_sheets(chain: &Chain) -> usize {
    let mut checked = 0;
    for ((_, start), way) in chain.plan.starts.numbered().zip(&chain.guide.ways) {
        let (first, added) = (start.stages[0], &start.stages[1..]);
        let sheets = added.iter().filter_map(|&stage| chain.made.sheet(stage, None));
        let sheets: Vec<_> = sheets.chain(chain.made.sheet(first, Some(start.sense))).collect();
        let wanted: Vec<Step> = sheets.iter().flat_map(|sheet| deposits(sheet)).collect();
        let is_deposit = |action: &&Action| way.parts[action.part].starts_with("Deposit ");
        let found: Vec<Step> = way.actions.iter().filter(is_deposit).flat_map(steps).collect();
        assert_eq!(found, wanted, "{} {}", chain.plan.name, way.name);
        checked += found.len();
        // Only that of the program that is started by hand is its own; what is compared is what lies in the images.
        let bytes: u64 = sheets.iter().map(|sheet| sheet.totals.check.bytes).sum();
        assert_eq!(way.actions.iter().filter(|action| action.check.is_some()).count() as u64, bytes);
        for action in way.actions.iter().filter(|action| action.check.is_some()) {
            let address = coldwright::notation::Address(action.address.unwrap());
            let holds = start.stages.iter().any(|&stage| chain.plan.stages[stage].image.byte(address) == action.check);
            assert!(holds, "{} {}", chain.plan.name, action.at);
        }
    }
    checked
}

#[test]
fn every_step_of_every_sheet_is_led_through_in_order() {
    let mut checked = 0;
    for name in ALL {
        for alter in PANELS {
            checked += leads_through_the_sheets(&Chain::new(name, alter));
        }
    }
    checked += leads_through_the_sheets(&Chain::case("added.toml"));
    assert!(checked > 1000, "{checked}");
}

/// Beside the first, a program is deposited whose sheet begins with every lever down, wherever they stand by then.
#[test]
fn the_levers_of_a_second_sheet_are_all_set() {
    let chain = Chain::case("added.toml");
    let way = &chain.guide.ways[0];
    let anew: Vec<_> = way.actions.iter().filter(|action| action.anew).collect();
    assert_eq!(anew.len(), 1);
    assert_eq!((anew[0].key, way.parts[anew[0].part].as_str()), (Some("EXAMINE"), "Deposit asks-first"));
}

#[test]
fn every_act_of_the_card_is_there_in_order() {
    for name in ALL {
        let chain = Chain::new(name, |_| ());
        let built = delivery::files(&chain.plan, &chain.made, &chain.sources, None).unwrap();
        let cards: Vec<_> =
            built.artefacts.iter().filter(|it| it.file.starts_with("card") && it.file.ends_with(".txt")).collect();
        assert_eq!(cards.len(), chain.guide.ways.len());
        for (card, way) in cards.iter().zip(&chain.guide.ways) {
            let text = String::from_utf8(card.bytes.clone()).unwrap();
            let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
            let mut rest = text.as_str();
            for action in way.actions.iter().filter(|action| way.parts[action.part] == "Run card") {
                let at = rest.find(&action.words).unwrap_or_else(|| panic!("{name}: no {:?} in {rest}", action.words));
                rest = &rest[at + action.words.len()..];
            }
            let boxes = text.matches("[ ]").count();
            let sheets = way.parts.iter().filter(|part| part.starts_with("Deposit ")).count().min(1);
            let acts = way.actions.iter().filter(|action| way.parts[action.part] == "Run card").count();
            assert!(acts + sheets <= boxes, "{name}");
            for (_, caution) in &way.cautions {
                assert!(text.contains(caution), "{name}: {caution}");
            }
        }
    }
}
