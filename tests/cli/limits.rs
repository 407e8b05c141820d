//! `limits`: what it says, what it keeps, and that a keeper finds the same.

use std::fs;

use serde_json::Value;

use crate::chain::Chain;

/// All limits of a chain with one start, for programs.
fn told(chain: &Chain) -> Value {
    let ran = chain.run(&["limits", ".", "--json"]);
    assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
    serde_json::from_str(&ran.out).unwrap()
}

/// In hundredths of a baud, as the command line takes it.
fn baud(described: u64, parts: &Value) -> String {
    (described as f64 * parts.as_f64().unwrap() / 1e6).to_string()
}

#[test]
fn a_keeper_who_plays_a_figure_finds_the_same() {
    let chain = Chain::copy("lineboot");
    let told = told(&chain);
    let (mut lines, mut senders) = (0, 0);
    for limit in told["limits"].as_array().unwrap() {
        let limit = &limit["limit"];
        let described = limit["described"].as_u64().unwrap();
        let (option, name) = if let Some(line) = limit["subject"].get("line") {
            lines += 1;
            ("--line", line["stage"].as_str().unwrap())
        } else if let Some(sender) = limit["subject"].get("sender") {
            senders += 1;
            ("--sender", sender["line"].as_str().unwrap())
        } else {
            continue;
        };
        let side = &limit["more"];
        let holds = format!("{name}={}", baud(described, &side["holds"]));
        let ran = chain.run(&["rehearse", ".", option, &holds]);
        assert_eq!(ran.code, 0, "{option} {holds}: {}", ran.err);
        let fails = format!("{name}={}", baud(described, &side["fails"]["at"]));
        let ran = chain.run(&["rehearse", ".", option, &fails]);
        assert_eq!(ran.code, 1, "{option} {fails}");
        assert!(ran.err.contains(side["fails"]["how"].as_str().unwrap()), "{option} {fails}: {}", ran.err);
    }
    assert_eq!((lines, senders), (1, 1));
}

#[test]
fn what_was_played_is_kept_until_something_changes() {
    let chain = Chain::copy("probe");
    let all = told(&chain);
    let kept = chain.path("out/.limits.json");
    let mut spoilt: Value = serde_json::from_slice(&fs::read(&kept).unwrap()).unwrap();
    spoilt["plays"]["limits"][0]["described"] = 7.into();
    fs::write(&kept, spoilt.to_string()).unwrap();
    assert_ne!(told(&chain), all, "what was kept is read");
    let source = fs::read_to_string(chain.path("probe.asm")).unwrap();
    let chain = chain.put("probe.asm", format!("{source}; another line\n").as_bytes());
    assert_eq!(told(&chain), all, "a source has changed");
    fs::write(&kept, "{").unwrap();
    assert_eq!(told(&chain), all, "it cannot be read");
    assert!(chain.run(&["limits", ".", "--anew"]).out.starts_with("probe: how far each thing may go\n"));
}

#[test]
fn a_start_that_does_not_agree_is_not_played() {
    let chain = Chain::copy("probe").spoil("probe.asm", "LXI     SP,TOP", "NOP");
    chain.run(&["limits", "."]).assert_fails("stack-unset", &[]);
    assert!(!chain.path("out").exists());
    Chain::copy("probe").run(&["limits", ".", "--start", "noon"]).assert_fails("home-unknown", &["noon"]);
}

#[test]
fn a_speed_of_what_is_not_there_is_refused() {
    let chain = Chain::copy("lineboot");
    chain.run(&["rehearse", ".", "--sender", "termnal=300"]).assert_fails("home-unknown", &["`terminal`"]);
    chain.run(&["rehearse", ".", "--line", "table=300"]).assert_fails("home-unknown", &["`table`", "monitor"]);
    let twice = ["rehearse", ".", "--sender", "terminal=300", "--sender", "terminal=600"];
    chain.run(&twice).assert_fails("name-twice", &["terminal"]);
    for wrong in ["terminal", "terminal=0", "terminal=fast", "terminal=2000000", "terminal=NaN"] {
        assert_eq!(chain.run(&["rehearse", ".", "--sender", wrong]).code, 2, "{wrong}");
    }
}
