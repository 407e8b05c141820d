//! `disk interleave`: the quickest order is the one that the rehearsal shows to be.

use serde_json::Value;

use super::chain::{Chain, example};

fn found(chain: &Chain, more: &[&str]) -> Value {
    let ran = chain.run(&[&["disk", "interleave", "--json"], more].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    serde_json::from_str(&ran.out).unwrap()
}

fn turns(found: &Value, places: usize) -> f64 {
    let spacing = &found["spacings"][places - 1];
    assert_eq!(spacing["places"], places);
    spacing["took"]["turns"].as_f64().unwrap()
}

#[test]
fn the_loader_of_the_lighthouse_needs_three_holes() {
    let chain = Chain::copy("headland");
    let as_it_is = found(&chain, &[]);
    assert_eq!((&as_it_is["quickest"], &as_it_is["start"]), (&3.into(), &"from the ROM".into()));
    // A sector that is missed comes again a turn later; one hole more is one thirty-second of a turn for each sector but one.
    assert!(turns(&as_it_is, 1) > 2.0 && turns(&as_it_is, 2) > 2.0, "{as_it_is}");
    let (three, four) = (turns(&as_it_is, 3), turns(&as_it_is, 4));
    assert!((four - three - 2.0 / 32.0).abs() < 0.001, "{three} {four}");
    assert!(as_it_is["spacings"][2]["declared"].as_bool().unwrap());
    // What is slower by one T-state than the most that costs nothing loses a byte, or a turn for a sector.
    let slower = &as_it_is["slower"][0];
    let (byte, sector) = (&slower["byte"], &slower["sector"]);
    assert_eq!(byte["costly"]["states"].as_u64(), byte["free"].as_u64().map(|free| free + 1));
    assert!(byte["costly"]["took"]["fails"].as_str().unwrap().contains("lost byte"), "{byte}");
    let missed = sector["costly"]["took"]["turns"].as_f64().unwrap();
    assert!(missed > three + 0.9, "{sector}");
    // The clock that is taken for granted where the machine file says none is this one.
    assert_eq!(found(&chain.spoil("machine.toml", "clock_hz", "# clock_hz"), &[]), as_it_is);
}

/// The order that is said to be the quickest is what the layout file has to say; written there, it is as quick.
#[test]
fn what_is_said_of_an_order_is_so_when_it_is_written() {
    let chain = Chain::copy("headland").spoil("lamp.toml", "order   = 11", "order   = 1");
    let slow = found(&chain, &[]);
    assert_eq!((&slow["quickest"], &slow["spacings"][0]["declared"]), (&3.into(), &true.into()));
    let order: Vec<_> = slow["spacings"][2]["order"].as_array().unwrap().iter().map(Value::to_string).collect();
    let listed = chain.spoil("lamp.toml", "order   = 1", &format!("order   = [{}]", order.join(", ")));
    let quick = found(&listed, &[]);
    assert_eq!(quick["declared"], slow["spacings"][2]["took"]);
    assert_eq!(quick["spacings"], {
        let mut spacings = slow["spacings"].clone();
        spacings[0]["declared"] = false.into();
        spacings[2]["declared"] = true.into();
        spacings
    });
}

#[test]
fn the_guide_shows_what_is_printed() {
    let chain = Chain::copy("headland");
    let printed = chain.run(&["disk", "interleave"]);
    let guide = std::fs::read_to_string(example("..").join("docs/disks.md")).unwrap();
    let rehearsed = chain.run(&["rehearse", "--start", "from the ROM"]);
    for (shown, printed) in guide.split("```text\n`lantern`").skip(1).zip([printed.out, rehearsed.out]) {
        let shown = shown.split("```").next().unwrap();
        for line in format!("`lantern`{shown}").lines().filter(|line| *line != "...") {
            assert!(printed.lines().any(|it| it == line), "not printed: {line}\n{printed}");
        }
    }
}

#[test]
fn a_chain_without_a_disk_is_told_so() {
    Chain::copy("belfry").run(&["disk", "interleave"]).assert_fails("home-unknown", &["no stage is read from a disk"]);
    let chain = Chain::copy("headland");
    chain.run(&["disk", "interleave", "--start", "from the tape"]).assert_fails("home-unknown", &["from the cassette"]);
}

/// The report plays a few of them, and they come to the same; a loader whose neighbour is quicker is told so.
#[test]
fn a_rehearsal_tells_the_orders_beside_that_of_the_layout() {
    let rehearsed = |chain: &Chain| {
        let ran = chain.run(&["rehearse", "--start", "from the ROM", "--json"]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        let json: Value = serde_json::from_str(&ran.out).unwrap();
        json["starts"][0]["loaders"][0].clone()
    };
    let chain = Chain::copy("headland");
    let (near, all) = (rehearsed(&chain), found(&chain, &[]));
    let states = |places: usize| &all["spacings"][places - 1]["took"]["states"];
    let near = &near["played_otherwise"];
    assert_eq!(near["as_described"]["t_states"], *states(3));
    assert_eq!(near["one_place_nearer"]["t_states"], *states(2));
    assert_eq!(near["one_place_further"]["t_states"], *states(4));
    let one = |of: &str| &all["slower"][0][of]["one"]["states"];
    assert_eq!(near["one_t_state_a_byte"]["t_states"], *one("byte"));
    assert_eq!(near["one_t_state_a_sector"]["t_states"], *one("sector"));

    // Seventeen holes apart: each one less is quicker.
    let chain = chain.spoil("lamp.toml", "order   = 11", "order   = 17");
    let ran = chain.run(&["rehearse", "--start", "from the ROM"]);
    assert!(ran.out.contains("the order of the layout is not the quickest"), "{}", ran.out);
    let given = chain.run(&["rehearse", "--start", "from the ROM", "--rpm", "361"]);
    assert!(!given.out.contains("played otherwise"), "not what the chain describes: {}", given.out);
}
