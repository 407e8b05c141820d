//! A run card says what a rehearsal saw: where the start stays, what was lit and typed on the way there.

use super::chain::{Chain, example, run};
use std::fs;

fn card(name: &str, file: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    run(&example(name), &["build", "-o", folder.path().to_str().unwrap()]).assert_done();
    let text = fs::read_to_string(folder.path().join(file)).unwrap();
    unwrapped(&text)
}

/// A line ends where the page does.
fn unwrapped(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn holds(card: &str, words: &str) {
    assert!(card.contains(words), "no {words:?} in {card}");
}

/// While the table is sent, its program waits for the transmitter again and again; it stays where it halts.
#[test]
fn the_last_lights_are_those_of_what_stays_not_of_a_loop_that_is_passed() {
    let card = card("lineboot", "card.txt");
    holds(&card, "\"terminal\" gets \"\\r\\nLINEBOOT\\r\\n>\". monitor waits for port 225 \"terminal status\"");
    holds(&card, "\"terminal\" gets \"007 016 025");
    holds(&card, "table halts: HLTA lit, the lights as drawn.");
    holds(&card, "*MEMR .INP .M1 .OUT *HLTA .STACK *WO .INTA *WAIT");
}

#[test]
fn every_tape_is_placed_where_its_loader_was_seen_to_wait() {
    let card = card("rooster", "card-on-trial.txt");
    let waits = |name: &str| card.find(&format!("{name} waits for port 271")).unwrap();
    let tape = |act: &str, name: &str| card.find(&format!("{act} the tape \"{name}\"")).unwrap();
    assert!(waits("keyin") < tape("Start", "trial") && tape("Start", "trial") < waits("trial"));
    assert!(waits("trial") < card.find("Place the tape \"crow\"").unwrap());
    holds(&card, "001 goes out to port 100 \"lamps\". trial waits");
    holds(&card, "27 bytes go out to port 100 \"lamps\", 000 last. crow halts");
}

/// Each program that is toggled in has a sheet; only that of the first ends with RUN, and the card names them all.
#[test]
fn a_program_that_is_deposited_beside_the_first_is_not_started_by_its_sheet() {
    let cases = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases/chain");
    let mut chain = Chain::copy("probe");
    for file in ["asks-first.asm", "added.asm", "machine.toml"] {
        chain = chain.put(file, &fs::read(cases.join(file)).unwrap());
    }
    let chain = chain.put("coldwright.toml", &fs::read(cases.join("added.toml")).unwrap());
    chain.run(&["build"]).assert_done();
    let file = |name: &str| unwrapped(&fs::read_to_string(chain.path("out").join(name)).unwrap());
    let card = file("card.txt");
    let added = card.find("Deposit 5 bytes of added by its deposit sheet").unwrap();
    assert!(added < card.find("Deposit 5 bytes by the deposit sheet").unwrap(), "{card}");
    assert!(file("asks-first-sheet.txt").contains("sense switches 000, RUN."));
    assert!(file("added-sheet.txt").contains("This program is not started by hand."));
    assert!(!file("added-sheet.txt").contains("RUN."));
}

#[test]
fn parts_are_looked_at_and_sockets_left_empty_before_power_comes_on() {
    let before_power = |file: &str, words: &str| {
        let card = card("rooster", file);
        let place = |words: &str| card.find(words).unwrap_or_else(|| panic!("no {words:?} in {card}"));
        assert!(place(words) < place("Power on."), "{card}");
    };
    before_power("card-on-trial.txt", "Leave U7 empty.");
    before_power("card-from-the-EPROM.txt", "The right parts are seated, all the way, pin 1 where it belongs.");
}

/// The rooster with a second socket, of which no stage and no start says anything.
fn with_a_socket_more() -> Chain {
    let machine = fs::read_to_string(example("rooster").join("machine.toml")).unwrap();
    let socket = "\n[[socket]]\nname = \"U8\"\npart = \"2704\"\nbase = 0o176000\n";
    Chain::copy("rooster").put("machine.toml", (machine + socket).as_bytes())
}

/// What a start leaves open of a socket is said wherever something hangs on it.
#[test]
fn a_socket_of_which_nothing_is_said_is_told_by_check_rehearsal_and_card() {
    let chain = with_a_socket_more().spoil("coldwright.toml", "\nempty = [\"U7\"]", "");
    let u8_empty = "socket U8 is empty (no stage of the chain lies in it)";
    let u7_holds = "socket U7 holds `rooster` (the start does not say that it is empty)";
    let check = chain.run(&["check"]).out;
    assert!(check.contains(&format!("\ntaken for granted: {u8_empty}\n")), "{check}");
    assert!(check.contains(&format!("\ntaken for granted: start `on trial`: {u7_holds}\n")), "{check}");
    let rehearsed = chain.run(&["build", "--rehearse"]).out;
    assert!(rehearsed.contains(&format!("taken for granted: {u7_holds}, {u8_empty}\n")), "{rehearsed}");
    assert!(rehearsed.contains("memory holds noise; U7 holds `rooster`; U8 is empty\n"), "{rehearsed}");
    let out = |name: &str| unwrapped(&fs::read_to_string(chain.path("out").join(name)).unwrap());
    holds(&out("index.html"), u8_empty);
    let card = out("card-on-trial.txt");
    let power = card.find("Power on.").unwrap();
    let before_power = |words: &str| assert!(card[..power].contains(words), "no {words:?} in {card}");
    before_power("Look whether U8 is empty.");
    before_power("Look at the parts in U7: ROM with rooster. This start does not run it");
    assert!(!out("card-from-the-EPROM.txt").contains("does not run it"));
}

#[test]
fn a_socket_that_a_start_says_is_empty_is_no_assumption() {
    let chain = with_a_socket_more();
    let ran = chain.run(&["rehearse", "--start", "on trial"]).out;
    assert!(ran.contains("; U7 is empty; U8 is empty\n") && !ran.contains("socket U7"), "{ran}");
}

/// The rehearsal starts a tape when the chain file says; so does the person who goes by the card.
#[test]
fn a_tape_that_is_started_later_is_so_on_the_card() {
    let chain =
        Chain::copy("belfry").spoil("coldwright.toml", "sound = \"byte-300\"", "sound = \"byte-300\"\nafter = 39");
    chain.run(&["build"]).assert_done();
    let card = unwrapped(&fs::read_to_string(chain.path("out/card.txt")).unwrap());
    assert!(card.contains("Start the tape \"one\" 39 s after RUN, not before."), "{card}");
}

/// What a rehearsal says of a start stands on every page that leads a hand to it.
#[test]
fn a_start_that_fails_is_marked_on_every_page_of_its_card() {
    let chain = Chain::copy("belfry").spoil("ports.asm", "EQU     20000Q", "EQU     40000Q");
    let fails = |chain: &Chain, mark: &str, why: &str| {
        let file = |name: &str| fs::read_to_string(chain.path("out").join(name)).unwrap();
        let (card, drawn, index) = (file("card.txt"), file("card.html"), file("index.html"));
        assert_eq!(card.matches(&format!("*** {} ***", mark.to_uppercase())).count(), 2, "{card}");
        assert_eq!(unwrapped(&card).matches(why).count(), 2, "{card}");
        let pages = drawn.matches("<svg").count();
        assert!(pages > 1 && drawn.matches(&mark.to_uppercase()).count() == pages, "{pages} pages");
        assert!(index.contains("<p class=\"doubt\">") && index.contains(why), "{index}");
    };
    let ran = chain.run(&["build"]);
    assert!(ran.code == 0 && ran.err.contains("its run card says so: "), "{}", ran.err);
    fails(&chain, "this start fails in its rehearsal", "stack of courier lies where there is no memory");
    assert_eq!(chain.run(&["build", "--rehearse"]).code, 1);
    fails(&chain, "this start fails in its rehearsal", "stack of courier lies where there is no memory");
    let sound = Chain::copy("belfry");
    sound.run(&["build"]).assert_done();
    assert!(!fs::read_to_string(sound.path("out/card.txt")).unwrap().contains("*** THIS"));
    assert!(!fs::read_to_string(sound.path("out/index.html")).unwrap().contains("<p class=\"doubt\">"));
}

/// The timeline ends a tenth of a second after the last program was started; what comes behind it is looked at all the same.
#[test]
fn a_start_that_goes_wrong_later_fails_and_its_card_says_so() {
    let late =
        b"        ORG     0\nLATE:   LXI     B,0\nCOUNT:  DCX     B\n        MOV     A,B\n        ORA     C\n        \
                 JNZ     COUNT\n        JMP     4000Q\n        END     LATE\n";
    let chain = Chain::copy("probe").put("probe.asm", late);
    let built = chain.run(&["build", "--rehearse"]);
    assert_eq!(built.code, 1);
    holds(&built.err, "s after `probe` was started, later than a start is watched");
    let card = fs::read_to_string(chain.path("out/card.txt")).unwrap();
    assert_eq!(card.matches("*** THIS START FAILS IN ITS REHEARSAL ***").count(), 2, "{card}");
    holds(&unwrapped(&card), "probe went to 004000, where there is no memory");
}

/// What hangs on noise is drawn and said to be open: another power-on shows something else.
#[test]
fn what_hangs_on_noise_is_open_on_the_card() {
    let program = |body: &str| format!("        ORG     0\n        JMP     START\nSTART:  {body}\n        END     0\n");
    let card = |body: &str| {
        let chain = Chain::copy("probe").put("probe.asm", program(body).as_bytes());
        chain.run(&["build"]).assert_done();
        unwrapped(&fs::read_to_string(chain.path("out/card.txt")).unwrap())
    };
    // LDA 200Q, ANI 17Q, a loop that reads through it.
    let still = card(
        "LDA     200Q\n        ANI     17Q\n        MOV     L,A\n        MVI     H,2\nROUND:  MOV     A,M\n        JMP     ROUND",
    );
    holds(&still, "An open one, a dashed square or ?, is lit, dark or flickers by what was there at power-on.");
    // What the bytes of the loop itself light and leave dark flickers whatever the one that is read holds.
    holds(&still, "lights . ... ..+ ... ..? +++ data ++ +++ +++");
    // The same behind a delay of 0.4 seconds: it is followed for as long as it takes to come to rest.
    let late = card(
        "LDA     200Q\n        ANI     17Q\n        MOV     L,A\n        LXI     B,40000Q\nCOUNT:  DCX     B\n        MOV     A,B\n        ORA     C\n        JNZ     COUNT\n        MVI     H,2\nROUND:  MOV     A,M\n        JMP     ROUND",
    );
    holds(&late, "lights . ... ..+ ... .+? ?++ data ++ +++ +++");
    let other = card("MVI     A,3\nROUND:  JMP     ROUND");
    assert!(!other.contains("An open one") && !other.contains('?'), "{other}");
}
