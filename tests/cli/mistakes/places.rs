//! Where things lie in memory.

use super::belfry;
use crate::chain::Chain;

#[test]
fn a_loader_overlapping_its_payload() {
    let chain = belfry().spoil("chimes.asm", "ORG     400Q", "ORG     200Q");
    chain.run(&["rehearse"]).assert_fails(
        "stages-overlap",
        &["`chimes` and the loader that reads it, `courier`, both lie at `000200` to `000326`", "over = [\"courier\"]"],
    );
    let forced =
        chain.spoil("coldwright.toml", "framing = \"blocks\" }", "framing = \"blocks\" }\nover = [\"courier\"]");
    forced
        .run(&["rehearse"])
        .assert_fails("wrote-needed", &["`courier` was overwritten at", "by what it loads, `chimes`"]);
}

#[test]
fn a_rom_one_byte_over() {
    let seated = |base: &str| {
        let tail =
            "        STUFFTO 0FFFFH-(177000Q-BASE),0\n        DB      0\n        ENDLIMIT\n        END     ROOSTER";
        let tail = tail.replace("0FFFFH-(177000Q-BASE)", "BASE+LAST");
        let chain = Chain::copy("rooster").spoil("rooster.asm", "        ENDLIMIT\n        END     ROOSTER", &tail);
        let chain = chain.spoil("rooster.asm", "LIMIT   512", "LIMIT   600");
        let last = if base == "0o177000" { "LAST    EQU     511" } else { "LAST    EQU     512" };
        let chain = chain.spoil("ports.asm", "LAMPS   EQU", &format!("{last}\nLAMPS   EQU"));
        chain.spoil("coldwright.toml", "BASE = 0o177000", &format!("BASE = {base}")).run(&["rehearse"])
    };
    seated("0o177000").assert_done();
    seated("0o176777").assert_fails("socket-overflow", &["socket `U7` is over by 1 byte"]);
}

#[test]
fn a_stack_in_rom() {
    let chain = Chain::copy("rooster").spoil("rooster.asm", "LDSTK   EQU     TOP", "LDSTK   EQU     BASE+777Q");
    let ran = chain.run(&["rehearse", "--start", "from the EPROM"]);
    ran.assert_fails(
        "wrote-rom",
        &["`rooster` writes to ROM at", "the stack lies in ROM", "CALL SERINI", "LXI SP,LDSTK"],
    );
}

/// The tower with the stack of its second stage elsewhere.
fn stack_at(place: &str) -> Chain {
    belfry().spoil("courier.asm", "LDSTK   EQU     TOP", &format!("LDSTK   EQU     {place}"))
}

#[test]
fn a_stack_over_the_loader() {
    let says = ["the stack of `courier` grows into the program itself: it writes over `000177`", "LXI SP,LDSTK"];
    stack_at("200Q").run(&["rehearse"]).assert_fails("wrote-needed", &says);
}

#[test]
fn a_stack_in_the_payload() {
    let says = ["the stack of `courier` grows into `chimes`", "the stack pointer was loaded here", "below 020000"];
    stack_at("500Q").run(&["rehearse"]).assert_fails("wrote-needed", &says);
}

/// The payload comes to lie on what was pushed before, and the return finds it there.
#[test]
fn a_payload_over_the_stack() {
    let ran = stack_at("TOP").spoil("chimes.asm", "ORG     400Q", "ORG     17612Q").run(&["rehearse"]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(ran.err.contains("the stack of `courier` grows into `chimes`"), "{}", ran.err);
    // A loader that pushes once, before anything comes.
    let chain = stack_at("TOP").spoil("courier.asm", "        JMP     LOADBL\n", PUSHES_ONCE);
    let chain = chain.spoil("courier.asm", "        INCLUDE 'load-blocks.asm'\n", "");
    chain.run(&["rehearse"]).assert_fails("wrote-needed", &["`chimes` was loaded over the stack of `courier`", "RET"]);
}

/// Stores 118 bytes of what it hears from 400 up, with its stack there, and returns.
const PUSHES_ONCE: &str = "        LXI     SP,500Q
        LXI     H,TORN
        PUSH    H
        LXI     H,400Q
        MVI     B,118
FINDMK: IN      SERST
        RRC
        JNC     FINDMK
        IN      SERDT
        CPI     332Q
        JNZ     FINDMK
        MVI     C,4             ; number, length and address
HEAD:   IN      SERST
        RRC
        JNC     HEAD
        IN      SERDT
        DCR     C
        JNZ     HEAD
BODY:   IN      SERST
        RRC
        JNC     BODY
        IN      SERDT
        MOV     M,A
        INX     H
        DCR     B
        JNZ     BODY
        RET
";

#[test]
fn a_stack_where_there_is_no_memory() {
    let ran = stack_at("40000Q").run(&["rehearse"]);
    let says = [
        "the stack of `courier` lies where there is no memory: it reaches `037777`",
        "CALL BARECK",
        "the stack pointer was loaded here",
        "memory ends below 020000",
    ];
    ran.assert_fails("stack-nowhere", &says);
}

#[test]
fn a_stack_that_was_never_set() {
    let chain = belfry().spoil("courier.asm", "LXI    SP,LDSTK", "LXI    B,LDSTK");
    let says = ["`courier` uses the stack before it has one", "SP holds noise after power-on", "begin with `LXI SP`"];
    chain.run(&["rehearse"]).assert_fails("stack-unset", &says);
    let chain = belfry().spoil("courier.asm", "COURIER: LXI    SP,LDSTK", "COURIER: RET");
    let says = ["`courier` uses the stack before it has one", "this takes what it finds where SP happens to point"];
    chain.run(&["rehearse"]).assert_fails("stack-unset", &says);
}

#[test]
fn memory_that_is_missing_under_the_payload() {
    let ran = belfry().spoil("machine.toml", "size = 0x2000", "size = 0x120").run(&["rehearse"]);
    let says = ["bytes for `000440` to `000565` lie in no memory", "the machine has memory at `000000` to `000437`"];
    ran.assert_fails("outside-memory", &says);
}

#[test]
fn a_halt_that_waits_for_an_interrupt() {
    let chain = belfry().spoil("courier.asm", "        JMP     LOADBL", "        EI\n        HLT");
    let says = ["`courier` halts for ever at", "no device makes an interrupt", "waits for an interrupt here"];
    chain.run(&["rehearse"]).assert_fails("stopped-early", &says);
    // The last stage may end so; what an interrupt would do is not played.
    let ran = Chain::copy("rooster").spoil("crow.asm", "        HLT", "        EI\n        HLT").run(&["rehearse"]);
    ran.assert_done();
    assert!(ran.out.contains("`crow` halts until an interrupt; none is played"), "{}", ran.out);
}

#[test]
fn a_restart_where_nothing_lies() {
    let chain = belfry().spoil("courier.asm", "        JMP     LOADBL", "        RST     7\n        JMP     LOADBL");
    // Page zero is the loader's own, so the machine that starts elsewhere has nothing at 070.
    let chain =
        chain.spoil("ports.asm", "KIPAGE  EQU     0 ", "KIPAGE  EQU     2 ").spoil("chimes.asm", "400Q", "2000Q");
    let says = ["`courier` calls `000070` by `RST 7`, where nothing was ever loaded", "RST 7"];
    chain.run(&["rehearse"]).assert_fails("ran-unloaded", &says);
}
