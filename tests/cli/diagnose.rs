//! `diagnose`: from what is seen back to faults that are known.

use std::io::Write;
use std::process::{Command, Stdio};

use serde_json::Value;

use crate::chain::Chain;

fn told(chain: &Chain, seen: &str) -> Value {
    let ran = chain.run(&["diagnose", ".", seen, "--json"]);
    assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
    serde_json::from_str(&ran.out).unwrap()
}

fn faults(suspects: &Value) -> Vec<String> {
    let suspects = suspects.as_array().unwrap().iter();
    suspects
        .map(|suspect| {
            format!(
                "{}: {}",
                suspect["faults"][0]["name"].as_str().unwrap(),
                suspect["faults"][0]["fault"].as_str().unwrap()
            )
        })
        .collect()
}

#[test]
fn a_byte_that_is_seen_leads_to_the_lever() {
    // 333 at 000003 is the IN, and its second lever from the right was left down.
    let told = told(&Chain::copy("probe"), "000003 holds 331");
    assert_eq!(faults(&told["suspects"])[0], "a data lever wrong: lever 1 of 333 at 000003 of `probe`");
    assert_eq!(told["looks_good"], false);
}

#[test]
fn what_a_good_start_shows_is_said_to_be_so() {
    let chain = Chain::copy("probe");
    assert_eq!(told(&chain, "running, address 000003 to 000012")["looks_good"], true);
    assert_eq!(told(&chain, "halted")["looks_good"], false);
}

/// What runs into noise may show anything: it is not ruled out, and is not said to explain.
#[test]
fn what_leaves_it_open_is_not_said_to_explain() {
    let chain = Chain::copy("probe");
    let answer = told(&chain, "running, address 000003 to 000013");
    let (all, explaining) = (answer["count"].as_u64().unwrap(), answer["explaining"].as_u64().unwrap());
    assert!(0 < explaining && explaining < all, "{explaining} of {all}");
    let suspects = answer["suspects"].as_array().unwrap();
    let noisy = |suspect: &&Value| suspect["why"].as_str().unwrap().contains("runs into noise");
    assert!(suspects.iter().filter(noisy).all(|suspect| suspect["explains"] == false));
    let ran = chain.run(&["diagnose", ".", "halted"]);
    assert!(ran.out.starts_with("No single fault that was played explains all that is seen; "), "{}", ran.out);
    assert!(ran.out.contains("cannot be ruled out"), "{}", ran.out);
}

#[test]
fn where_nothing_fits_the_odd_one_is_named() {
    let chain = Chain::copy("probe");
    let told = told(&chain, "halted, running");
    assert_eq!((&told["count"], told["suspects"].as_array().unwrap().len()), (&0.into(), 0));
    assert!(["halted", "running"].contains(&told["odd"]["observation"].as_str().unwrap()), "{}", told["odd"]);
    assert!(!faults(&told["odd"]["suspects"]).is_empty());
    let ran = chain.run(&["diagnose", ".", "halted, running"]);
    assert!(ran.out.starts_with("No single fault that was played explains all that is seen.\n"), "{}", ran.out);
}

/// What cannot be seen of one machine is nobody's, whatever runs into noise.
#[test]
fn what_contradicts_itself_is_said_to_be_odd() {
    let chain = Chain::copy("probe");
    for words in [
        "halted at 000003, halted at 000005",
        "INP lit, INP dark",
        "halted, data 001, data 002",
        "port 237 shows 001, lamp 0 of port 237 dark",
        "the sheet agrees, the sheet differs at 000003 with 331",
    ] {
        let answer = told(&chain, words);
        assert_eq!((&answer["count"], &answer["pairs_played"]), (&0.into(), &0.into()), "{words}");
        assert!(!answer["odd"].is_null(), "{words}");
    }
}

/// No single fault leaves two bytes wrong that lie apart and differ in other bits.
#[test]
fn where_no_single_fault_fits_two_at_once_are_played() {
    let chain = Chain::copy("probe");
    let words = "000003 holds 331, 000006 holds 056";
    let ran = chain.run(&["diagnose", ".", words]);
    assert!(ran.out.contains("a data lever wrong, twice: lever "), "{}", ran.out);
    let answer = told(&chain, words);
    assert!(answer["pairs_played"].as_u64().unwrap() > 100, "{answer}");
}

#[test]
fn a_sentence_that_cannot_be_read_is_shown_before_anything_is_played() {
    let chain = Chain::copy("probe");
    chain.run(&["diagnose", ".", "haltd at 14"]).assert_fails("seen-unclear", &["did you mean `halted`?"]);
    chain.run(&["diagnose", ".", ","]).assert_fails("seen-unclear", &["nothing is said"]);
    assert!(!chain.path("out").exists());
    Chain::copy("rooster").run(&["diagnose", ".", "halted"]).assert_fails("home-unknown", &["--start", "on trial"]);
}

/// The answers are those of a machine in which bit 1 of 000003 is wrong, whatever is asked.
#[test]
fn it_asks_until_no_look_tells_more() {
    let chain = Chain::copy("probe");
    let mut command = Command::new(env!("CARGO_BIN_EXE_coldwright"));
    command.arg("diagnose").arg(chain.path(".")).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    child.stdin.take().unwrap().write_all(b"running\nhalded\n000003 holds 331\n").unwrap();
    let output = child.wait_with_output().unwrap();
    let (out, err) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert!(output.status.success(), "{out}{err}");
    assert!(err.contains("seen-unclear"), "{err}");
    let words = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("1 single fault explains what is seen; 32 cannot be ruled out"), "{out}");
    assert!(out.contains("lever 1 of 333 at 000003"), "{out}");
}
