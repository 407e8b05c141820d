//! Ports that the sources and the machine file do not agree on.

use crate::chain::Chain;

/// A hard-wired UART has no register that is written at the number of its status port.
#[test]
fn what_is_put_out_to_the_status_port_of_a_uart_is_told() {
    let chain = Chain::copy("rooster").spoil("ports.asm", "LAMPS   EQU     100Q", "LAMPS   EQU     271Q");
    let checked = chain.run(&["check"]);
    assert!(checked.err.contains("port `271` is written by"), "{}", checked.err);
    let rehearsed = chain.run(&["rehearse"]);
    assert!(rehearsed.out.contains("out to port 271"), "{}", rehearsed.out);
}

#[test]
fn status_and_data_ports_changed_over_are_seen_before_anything_is_played() {
    let chain = Chain::copy("rooster").spoil("ports.asm", "SERST   EQU     271Q", "SERST   EQU     270Q").spoil(
        "ports.asm",
        "SERDT   EQU     270Q",
        "SERDT   EQU     271Q",
    );
    let checked = chain.run(&["check"]);
    assert!(checked.err.contains("status and data ports may be changed over"), "{}", checked.err);
    // Bits that a program takes off a byte that was read are no sign of it.
    let told = Chain::copy("lineboot").run(&["check"]);
    assert!(!told.err.contains("changed over"), "{}", told.err);
}

/// Before anything comes a loader may wait elsewhere than behind it: what is told is where it stays.
#[test]
fn the_lights_of_a_start_that_stays_are_those_of_the_loop_in_which_it_does() {
    let chain = Chain::copy("rooster").spoil("ports.asm", "SERLOW  EQU     SERRX ", "SERLOW  EQU     0 ");
    let told = chain.run(&["rehearse", "--start", "on trial"]).out;
    let traced = chain.run(&["rehearse", "--start", "on trial", "--trace"]);
    let lights = told.lines().rfind(|line| line.contains("it goes round from")).unwrap_or_else(|| panic!("{told}"));
    let (_, places) = lights.split_once("from ").unwrap();
    let trace = format!("{}{}", traced.out, traced.err);
    let last: Vec<&str> = trace.lines().filter(|line| line.starts_with("  ") && line.contains(" SERST")).collect();
    let at = last.last().map(|line| line.split_whitespace().skip(1).take(2).collect::<Vec<_>>().join(" ")).unwrap();
    let (low, high) = places.split_once(" to ").unwrap();
    assert!((low.trim()..=high.trim()).contains(&at.as_str()), "{lights}: {at}");
}
