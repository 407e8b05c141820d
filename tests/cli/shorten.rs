//! `shorten` for chains: each source as all its stages have it, applied only if the chain starts with it.

use std::fs;

use crate::chain::Chain;

fn text(chain: &Chain, file: &str) -> String {
    fs::read_to_string(chain.path(file)).unwrap()
}

#[test]
fn a_chain_is_made_shorter_and_starts() {
    let chain = Chain::copy("lineboot");
    let before = text(&chain, "monitor.asm");
    let found = chain.run(&["shorten", "."]);
    assert!(found.out.contains("monitor.asm  (monitor)") && found.out.contains("saves 3 bytes"), "{}", found.out);
    assert_eq!(text(&chain, "monitor.asm"), before, "nothing is written without being asked for");
    let applied = chain.run(&["shorten", ".", "--apply"]);
    assert_eq!(applied.code, 0, "{}{}", applied.out, applied.err);
    let after = text(&chain, "monitor.asm");
    assert!(applied.out.contains("3 of 342 bytes saved\nthe start agrees"), "{}", applied.out);
    assert_ne!(after, before);
    let new: Vec<_> = after.lines().filter(|line| !before.lines().any(|it| it == *line)).collect();
    assert!(new.len() == 2 && new.iter().all(|line| line.contains("SHARE1")), "{new:?}");
    assert_eq!(after.lines().count() + 1, before.lines().count());
    assert_eq!(chain.run(&["rehearse", "."]).code, 0);
    let again = chain.run(&["shorten", ".", "--apply"]);
    assert_eq!((again.code, text(&chain, "monitor.asm")), (0, after));
}

#[test]
fn one_source_in_two_homes_must_be_right_in_both() {
    // In one home the register holds 0 and in the other 1: what only one of them allows is not suggested.
    let waste = "        MVI     A,1             ; awake\n";
    let two = "        IF      BASE EQ 14000Q\n        MVI     B,1\n        ELSE\n        MVI     B,0\n        ENDIF\n\
               \u{20}       MVI     A,1             ; awake\n        MVI     C,0\n        MOV     D,C\n        MVI     E,0\n\
               \u{20}       MOV     A,E\n        ADD     C\n        ADD     D\n        OUT     LAMPS\n        MOV     A,C\n\
               \u{20}       ADD     B\n        MVI     H,0\n        ADD     H\n        MVI     A,1             ; awake\n";
    let chain = Chain::copy("rooster").spoil("rooster.asm", waste, two);
    let found = chain.run(&["shorten", ".", "--stage", "trial"]);
    assert!(found.out.starts_with("rooster.asm  (rooster, trial)\n"), "{}", found.out);
    let each = chain.run(&["shorten", "rooster.asm", "-D", "BASE=0o14000"]);
    let other = chain.run(&["shorten", "rooster.asm", "-D", "BASE=0o177000"]);
    for changed in found.out.lines().filter(|line| line.starts_with("  + ")) {
        assert!(each.out.contains(changed) && other.out.contains(changed), "{changed}");
    }
    let applied = chain.run(&["shorten", ".", "--apply"]);
    assert_eq!(applied.code, 0, "{}{}", applied.out, applied.err);
    assert!(applied.out.contains("start `from the EPROM` agrees") && applied.out.contains("start `on trial` agrees"));
    assert_eq!(chain.run(&["rehearse", "."]).code, 0);
}

#[test]
fn what_another_stage_names_stays() {
    // `HEXOUT` lies behind both tails that could be shared.
    let called = |number: &str| {
        Chain::copy("lineboot").spoil(
            "table.asm",
            "        HLT",
            &format!("        MVI     A,17Q\n        CALL    {number}\n        HLT"),
        )
    };
    let free = Chain::copy("lineboot");
    let list = free.run(&["assemble", "monitor.asm", "-o", "-"]);
    let line = list.out.lines().find(|line| line.contains("HEXOUT:")).unwrap_or_else(|| panic!("{}", list.out));
    let address = line.split_whitespace().find(|word| word.starts_with("176")).unwrap();
    let found = called(&format!("{address}Q")).run(&["shorten", ".", "--stage", "monitor"]);
    assert!(found.out.contains("nothing was found"), "{}", found.out);
}

#[test]
fn what_the_rehearsal_shows_to_be_wrong_is_not_kept() {
    // The address of `SEROUT` in two halves: nobody can see that it is one.
    let free = Chain::copy("lineboot");
    let list = free.run(&["assemble", "monitor.asm", "-o", "-"]);
    let line = list.out.lines().find(|line| line.contains("SEROUT:")).unwrap_or_else(|| panic!("{}", list.out));
    let address = line.split_whitespace().find(|word| word.starts_with("176")).unwrap();
    let address = u16::from_str_radix(address, 8).unwrap();
    let call = format!(
        "        LXI     H,NEXT\n        PUSH    H\n        MVI     A,'!'\n        MVI     H,{}\n        ORA     A\n        MVI     L,{}\n        PCHL\nNEXT:",
        address >> 8,
        address & 0xFF
    );
    let chain = Chain::copy("lineboot").spoil("table.asm", "NEXT:", &call);
    let before = text(&chain, "monitor.asm");
    let well = chain.run(&["rehearse", "."]);
    assert_eq!(well.code, 0, "{}{}", well.out, well.err);
    let applied = chain.run(&["shorten", ".", "--apply"]);
    assert!(
        applied.code == 1 && applied.err.contains("[shorten-unapplied] error: nothing was changed"),
        "{}",
        applied.err
    );
    assert_eq!(text(&chain, "monitor.asm"), before);
}

#[test]
fn a_chain_that_does_not_fit_is_told_what_could_be_saved_and_fits_then() {
    let chain = Chain::copy("lineboot").spoil("monitor.asm", "LIMIT   1024", "LIMIT   340");
    let misfit = chain.run(&["check", "."]);
    misfit.assert_fails("limit-exceeded", &["[could-be-shorter]", "3 bytes of `monitor.asm` could be saved"]);
    let applied = chain.run(&["shorten", ".", "--apply"]);
    assert_eq!(applied.code, 0, "{}{}", applied.out, applied.err);
    assert_eq!(chain.run(&["check", "."]).code, 0);
    let tight = Chain::copy("lineboot").spoil("monitor.asm", "LIMIT   1024", "LIMIT   330");
    let tight = tight.run(&["shorten", ".", "--apply"]);
    assert!(tight.code == 1 && tight.err.contains("over its limit"), "{}", tight.err);
    assert!(tight.err.contains("[shorten-unapplied] error"), "{}", tight.err);
}

/// What could be shorter in an example is applied, or its line says what it would be and why it is not so.
#[test]
fn nothing_unexplained_is_left_in_the_examples() {
    for example in ["belfry", "lineboot", "probe", "rooster"] {
        let found = Chain::copy(example).run(&["shorten", ".", "--json"]);
        assert_eq!(found.code, 0, "{example}: {}", found.err);
        for line in found.out.lines() {
            let said: serde_json::Value = serde_json::from_str(line).unwrap();
            let places = said["places"].as_array().unwrap();
            let mut before = places.iter().flat_map(|place| place["before"].as_array().unwrap());
            let explained = before.any(|line| line.as_str().unwrap().contains(" less"));
            assert!(explained, "{example}: apply it, or say in its line why not: {line}");
        }
    }
}

/// 518 bytes for a socket of 512, written without an eye on the length.
#[test]
fn a_boot_program_that_is_six_bytes_too_long_fits_and_starts() {
    let source = include_str!("../cases/shorten/too-long.asm");
    let machine = "clock_hz = 2_000_000\npanel = { address = \"split\", sense_port = 0o275 }\n\
                   memory = [{ base = 0, size = 0x2000 }]\n\
                   [[socket]]\nname = \"U7\"\npart = \"2704\"\nbase = 0o174000\n\
                   [[port]]\nnumber = 0o275\nout = \"lamps\"\n";
    let file = "[chain]\nname = \"light\"\nmachine = \"machine.toml\"\n\
                [[stage]]\nname = \"light\"\nsource = \"light.asm\"\nhome = { socket = \"U7\" }\n";
    let chain = Chain::empty()
        .put("light.asm", source.as_bytes())
        .put("machine.toml", machine.as_bytes())
        .put("coldwright.toml", file.as_bytes());
    let misfit = chain.run(&["check", "."]);
    misfit.assert_fails("socket-overflow", &["over by 6 bytes: it holds `512`, and `518` are wanted"]);
    assert!(misfit.err.contains("30 bytes of `light.asm` could be saved"), "{}", misfit.err);
    let applied = chain.run(&["shorten", ".", "--apply"]);
    assert_eq!(applied.code, 0, "{}{}", applied.out, applied.err);
    assert!(applied.out.contains("30 of 518 bytes saved\nthe start agrees"), "{}", applied.out);
    let checked = chain.run(&["check", "."]);
    assert!(checked.code == 0 && checked.out.contains("488 bytes"), "{}{}", checked.out, checked.err);
    let rehearsed = chain.run(&["rehearse", "."]);
    assert!(rehearsed.code == 0 && rehearsed.out.contains("the start agrees"), "{}{}", rehearsed.out, rehearsed.err);
}

#[test]
fn other_folders_and_wrong_names() {
    let chain = Chain::copy("lineboot");
    let before = text(&chain, "monitor.asm");
    assert_eq!(chain.run(&["shorten", ".", "--apply", "-o", "shorter"]).code, 0);
    assert_eq!(text(&chain, "monitor.asm"), before);
    assert!(text(&chain, "shorter/monitor.asm").contains("SHARE1"));
    chain.run(&["shorten", ".", "--stage", "moniter"]).assert_fails("home-unknown", &["did you mean `monitor`?"]);
    chain.run(&["shorten", ".", "-D", "A=1"]).assert_fails("shorten-unseen", &["its file says them"]);
    let json = chain.run(&["shorten", ".", "--json"]);
    let line = json.out.lines().next().unwrap();
    assert!(line.contains("\"source\":\"monitor.asm\"") && line.contains("\"saves\":3"), "{line}");
}
