//! `rehearse`: the examples agree with their descriptions, and what is printed can be relied upon.

use super::chain::{Chain, example, run};

#[test]
fn every_example_agrees() {
    for name in ["belfry", "rooster", "lineboot", "probe"] {
        run(&example(name), &["rehearse"]).assert_done();
    }
}

/// What a rehearsal gives has one name wherever it is spoken of, and what it rests on stands beside it.
#[test]
fn a_rehearsal_says_that_the_start_agrees_and_on_what_that_rests() {
    let chain = Chain::copy("belfry");
    let built = chain.run(&["build", "--rehearse"]);
    let read = |name: &str| std::fs::read_to_string(chain.path(name)).unwrap();
    let index = read("out/index.html");
    for (what, text) in [("text", &built.out), ("page", &index)] {
        for said in [
            "he start agrees with the description",
            "machine.toml, keyin.asm, courier.asm, chimes.asm, the recording of tape one",
            "t does not show",
            "wiring, levels, the timing of mechanics, anything that the machine file does not say",
        ] {
            assert!(text.contains(said), "{what} does not say {said}:\n{text}");
        }
    }
    let json = chain.run(&["rehearse", "--json"]).out;
    let report: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(report["starts"][0]["rests_on"]["machine"], "machine.toml");
    assert_eq!(report["starts"][0]["does_not_show"][0], "wiring");
    let guide = |page: &str| std::fs::read_to_string(example("..").join(page)).unwrap();
    let pages = ["README.md", "docs/README.md", "docs/chains.md", "docs/rehearsal.md", "docs/chain-file.md"].map(guide);
    let help = ["rehearse", "build", "card", "sheet", "check", "new"].map(|command| chain.run(&["help", command]).out);
    for text in [&built.out, &index, &json, &read("out/card.txt")].into_iter().chain(&pages).chain(&help) {
        let word = text.split(|letter: char| !letter.is_alphabetic()).map(str::to_lowercase);
        let other = word.into_iter().find(|word| ["prove", "proves", "proven", "proof"].contains(&word.as_str()));
        assert_eq!(other, None, "in\n{text}");
    }
}

/// What the machine file leaves open is taken for granted, and named.
#[test]
fn what_the_machine_file_leaves_open_is_named() {
    let ran = run(&example("probe"), &["rehearse"]);
    assert!(ran.out.contains("taken for granted: port "), "{}", ran.out);
    let chain = Chain::copy("belfry").spoil("machine.toml", "clock_hz", "# clock_hz");
    assert!(chain.run(&["rehearse"]).out.contains("taken for granted: a clock of 2 MHz"));
    let ran = chain.run(&["rehearse", "--sense", "0o14", "--after", "one=2"]);
    assert!(
        ran.out.contains("otherwise than described: the sense switches stood at 014 instead of 004"),
        "{}",
        ran.out
    );
}

/// Common practice: a stage of about 256 bytes behind a short leader at 300 baud takes about ten seconds.
#[test]
fn a_page_takes_about_ten_seconds() {
    let ran = run(&example("belfry"), &["rehearse", "--json"]);
    let report: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let start = &report["starts"][0];
    let clock = start["clock_hz"].as_f64().unwrap();
    let seconds = start["stages"][1]["entered"].as_f64().unwrap() / clock - 1.0;
    assert!((10.0..15.0).contains(&seconds), "{seconds}, of which 4.4 are leader");
    assert_eq!(start["agrees"], true);
    assert_eq!(start["stages"].as_array().unwrap().len(), 3);
}

/// What is run from a socket comes from its part files, by the way that the board is wired.
#[test]
fn parts_are_read_as_they_are_wired() {
    let plain = Chain::copy("rooster");
    let wired = Chain::copy("rooster").spoil(
        "machine.toml",
        "base = 0o177000",
        "base = 0o177000\ninverted = true\ndata = [7, 6, 5, 4, 3, 2, 1, 0]\naddress = [8, 7, 6, 5, 4, 3, 2, 1, 0]",
    );
    let agreed = |chain: &Chain| {
        let ran = chain.run(&["rehearse"]);
        ran.assert_done();
        assert_eq!(chain.run(&["build"]).code, 0);
        (ran.out, std::fs::read(chain.path("out/part-U7.hex")).unwrap())
    };
    let (plain, wired) = (agreed(&plain), agreed(&wired));
    assert_eq!(plain.0, wired.0);
    assert_ne!(plain.1, wired.1);
}

/// The card says what the rehearsal finds: when each tape may be stopped, and in which order they are read.
#[test]
fn the_card_stops_tapes_when_the_rehearsal_does() {
    let chain = Chain::copy("belfry");
    assert_eq!(chain.run(&["build"]).code, 0);
    let report: serde_json::Value = serde_json::from_str(&chain.run(&["rehearse", "--sound", "--json"]).out).unwrap();
    let start = &report["starts"][0];
    let tape = &start["tapes"][0];
    let states = |key: &str| tape[key].as_f64().unwrap();
    let seconds = (states("may_be_stopped") - states("started")) / start["clock_hz"].as_f64().unwrap();
    let card = std::fs::read_to_string(chain.path("out/card.txt")).unwrap();
    let says = format!("Stop the tape \"one\": it is read after about {} s.", seconds.ceil());
    assert!(card.contains(&says), "{says}\n{card}");
    let chain = Chain::copy("rooster");
    assert_eq!(chain.run(&["build"]).code, 0);
    let card = std::fs::read_to_string(chain.path("out/card-on-trial.txt")).unwrap();
    let acts =
        ["Start the tape \"trial\"", "Stop the tape \"trial\"", "Place the tape \"crow\"", "Stop the tape \"crow\""];
    let places: Vec<_> = acts.iter().map(|act| card.find(act)).collect();
    assert!(places.iter().all(Option::is_some) && places.is_sorted(), "{places:?}\n{card}");
}

#[test]
fn the_same_rehearsal_twice_says_the_same() {
    for arguments in [&["rehearse"][..], &["rehearse", "--json"], &["rehearse", "--seed", "7"]] {
        let first = run(&example("rooster"), arguments);
        assert_eq!(first.out, run(&example("rooster"), arguments).out);
    }
}

/// Whatever noise memory holds at power-on.
#[test]
fn noise_does_not_matter() {
    for seed in 0..20 {
        run(&example("belfry"), &["rehearse", "--seed", &seed.to_string()]).assert_done();
    }
}

#[test]
fn a_trace_has_time_address_bytes_and_source() {
    let ran = run(&example("probe"), &["rehearse", "--trace"]);
    let first: Vec<_> = ran.out.lines().next().unwrap().split_whitespace().collect();
    assert_eq!(first[..4], ["0", "000000", "061", "000"]);
    assert!(ran.out.contains("000003  333 101      probe.asm:8 "), "{}", ran.out);
    assert!(ran.out.contains("AGAIN: IN GAUGE"), "{}", ran.out);
}

/// What a program has changed is shown as it is, not as it was built.
#[test]
fn a_trace_shows_what_runs() {
    let ran = run(&example("belfry"), &["rehearse", "--trace"]);
    let step = |line: &&str| line.contains("keyin-mc6850.asm:26");
    let steps: Vec<_> = ran.out.lines().filter(step).collect();
    assert!(steps[0].ends_with("000013  000          keyin-mc6850.asm:26     KISTEP: NOP ; the tape makes this DCR L"));
    assert!(
        steps
            .iter()
            .any(|line| line.ends_with("000013  055          keyin-mc6850.asm:26     DCR L ; no longer KISTEP: NOP"))
    );
}

#[test]
fn every_mistake_of_a_chain_file_is_told_at_its_place() {
    let chain = Chain::copy("belfry")
        .spoil("coldwright.toml", "name = \"belfry\"", "name = 7")
        .spoil("coldwright.toml", "limit = 25", "limt = 25")
        .spoil("coldwright.toml", "framing = \"bare\"", "framing = \"\"")
        .spoil("coldwright.toml", "sense = 0o4", "sense = 0o400");
    let ran = chain.run(&["rehearse"]);
    assert_eq!(ran.code, 1);
    for place in ["coldwright.toml:4:8", "coldwright.toml:11:20", "coldwright.toml:17:34", "coldwright.toml:24:9"] {
        assert!(ran.err.contains(place), "{place}:\n{}", ran.err);
    }
    assert_eq!(ran.err.matches("] error:").count(), 4, "{}", ran.err);
    assert!(ran.err.contains("did you mean `limit`?"), "{}", ran.err);
}

#[test]
fn names_that_do_not_exist_are_told_with_the_nearest() {
    for (file, from, to, code, says) in [
        ("coldwright.toml", "framing = \"bare\"", "framing = \"bares\"", "framing-unknown", "did you mean `bare`?"),
        ("coldwright.toml", "machine.toml", "machin.toml", "file-unreadable", "named here"),
        ("coldwright.toml", "source = \"keyin.asm\"", "source = \"keyim.asm\"", "file-unreadable", "named here"),
        ("machine.toml", "chip = \"mc6850\"", "chip = \"mc6580\"", "toml-malformed", "did you mean `mc6850`?"),
        ("machine.toml", "line = \"300 8N2\"", "line = \"300 8N3\"", "machine-value", "the stop bits are 1, 1.5 or 2"),
        ("machine.toml", "line = \"300 8N2\"", "", "line-unknown", "needs a `[[serial]]` with a `line`"),
    ] {
        Chain::copy("belfry").spoil(file, from, to).run(&["rehearse"]).assert_fails(code, &[says]);
    }
    let rooster = |from, to| Chain::copy("rooster").spoil("coldwright.toml", from, to).run(&["rehearse"]);
    rooster("socket = \"U7\"", "socket = \"U8\"").assert_fails("home-unknown", &["there is no socket `U8`"]);
    rooster("stages = [\"rooster\",", "stages = [\"roster\",")
        .assert_fails("home-unknown", &["did you mean `rooster`?"]);
    let twice = Chain::copy("belfry").spoil("coldwright.toml", "name = \"chimes\"", "name = \"keyin\"");
    twice.run(&["rehearse"]).assert_fails("name-twice", &["two stages have the name `keyin`"]);
    let long = Chain::copy("belfry").spoil("coldwright.toml", "limit = 25", "limit = 24");
    long.run(&["rehearse"]).assert_fails("panel-limit", &["`keyin` has `25` bytes to toggle", "limit of `24`"]);
    let entry = Chain::copy("belfry").spoil("chimes.asm", "END     CHIMES", "END");
    entry.run(&["rehearse"]).assert_fails("entry-missing", &["where the stage `chimes` starts"]);
}

/// A tape recorded with the tones and pauses of the machine's own interface.
#[test]
fn a_recording_with_the_tones_of_the_machine() {
    let deck = "[[sound]]\nname = \"deck\"\nmark = 2100\nspace = 1300\nleader = 2\n\n[[serial]]";
    let chain = Chain::copy("belfry").spoil("machine.toml", "[[serial]]", deck);
    let chain = chain.spoil("coldwright.toml", "sound = \"byte-300\"", "sound = \"deck\"");
    let ran = chain.run(&["build", "--rehearse"]);
    ran.assert_done();
    assert!(ran.out.contains("745 characters, the first after 2 s"), "{}", ran.out);
    let read = ["audio", "read", "out/tape-one.wav", "--machine", "machine.toml", "-o", "again.tape"];
    chain.run(&read).assert_done();
    assert_eq!(
        std::fs::read(chain.path("again.tape")).unwrap(),
        std::fs::read(chain.path("out/tape-one.bin")).unwrap()
    );
}

/// Where nothing is recorded, `--sound` says that it changes nothing.
#[test]
fn sound_without_a_recording_is_noted() {
    let ran = run(&example("lineboot"), &["rehearse", "--sound"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.err.contains("[sound-unfit] note: no tape of the chain is recorded"), "{}", ran.err);
}

/// What is asked for and changes nothing would look as if it had been tried.
#[test]
fn what_no_start_plays_is_refused() {
    let chain = Chain::copy("rooster");
    let from_the_rom = ["rehearse", "--start", "from the EPROM"];
    let says = ["the tape `trial` is played in no start that is rehearsed"];
    chain.run(&[&from_the_rom[..], &["--after", "trial=5"]].concat()).assert_fails("home-unknown", &says);
    let chain = chain.put("trial.bin", b"anything");
    chain.run(&[&from_the_rom[..], &["--tape", "trial=trial.bin"]].concat()).assert_fails("home-unknown", &says);
    chain.run(&["rehearse", "--after", "trial=5"]).assert_done();
    let machine = std::fs::read_to_string(chain.path("machine.toml")).unwrap();
    let (before, rest) = machine.split_once(", sense_port").unwrap();
    let without = format!("{before} {}", &rest[rest.find('}').unwrap()..]);
    let chain = chain.put("machine.toml", without.as_bytes()).spoil("coldwright.toml", "\nsense = 0\n", "\n");
    let ran = chain.run(&["rehearse", "--sense", "0o75"]);
    assert!(ran.code == 1 && ran.err.contains("no port is known that reads the sense switches"), "{}", ran.err);
}

/// A copy of a recording that broke off is told beside what it does to the start.
#[test]
fn a_given_recording_that_is_cut_short_is_told() {
    let chain = Chain::copy("belfry");
    chain.run(&["build"]).assert_done();
    let whole = std::fs::read(chain.path("out/tape-one.wav")).unwrap();
    std::fs::write(chain.path("cut.wav"), &whole[..whole.len() / 2]).unwrap();
    let tape = format!("one={}", chain.path("cut.wav").display());
    let played = chain.run(&["rehearse", "--tape", &tape]);
    assert_eq!(played.code, 1, "{}", played.err);
    assert!(played.err.contains("cut.wav` is cut short: its header tells of 0:"), "{}", played.err);
}

/// To a line that is so much faster, a machine with so much slower a clock is the same.
#[test]
fn how_much_faster_lines_may_be_is_what_a_slower_clock_shows() {
    let clock = |hertz: u64| {
        let chain = Chain::copy("belfry").spoil("machine.toml", "clock_hz = 2_000_000", &format!("clock_hz = {hertz}"));
        chain.run(&["rehearse"])
    };
    let slow = clock(8000);
    slow.assert_done();
    let said = "lines 30 % faster: the start agrees; 100 % faster: the start fails while `courier` runs";
    assert!(slow.out.contains(said), "{}", slow.out);
    clock(8000 * 100 / 130).assert_done();
    clock(8000 * 100 / 200).assert_fails("character-lost", &["`courier`"]);
}

/// What a start takes from noise at power-on is found, be it a flag or a bit of a register.
#[test]
fn a_start_that_hangs_on_noise_does_not_agree() {
    for taken in
        ["JC 300Q", "JNC 300Q", "JZ 300Q", "JM 300Q", "JPE 300Q", "MOV A,E! RRC! JC 300Q", "LDA 200Q! RAL! JC 300Q"]
    {
        let lines = taken.replace("! ", "\n\t");
        let chain = Chain::copy("probe");
        let probe = std::fs::read_to_string(chain.path("probe.asm")).unwrap();
        let first = probe.lines().find(|line| line.starts_with("PROBE:")).unwrap();
        let chain = chain.spoil("probe.asm", first, &format!("PROBE:\t{lines}\n{}", first.replacen("PROBE:", "\t", 1)));
        let ran = chain.run(&["rehearse"]);
        assert_eq!(ran.code, 1, "{taken}: {}{}", ran.out, ran.err);
    }
}
