//! `build`: everything is there, and only what changed is written again.

use super::chain::{Chain, example, run};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// Every file of a folder with its bytes.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.is_file());
    entries.map(|path| (path.file_name().unwrap().to_string_lossy().into_owned(), fs::read(path).unwrap())).collect()
}

/// The files whose bytes differ, or that only one has.
fn differing(first: &BTreeMap<String, Vec<u8>>, second: &BTreeMap<String, Vec<u8>>) -> Vec<String> {
    let names: std::collections::BTreeSet<_> = first.keys().chain(second.keys()).collect();
    names.into_iter().filter(|name| first.get(*name) != second.get(*name)).cloned().collect()
}

#[test]
fn every_example_builds_and_its_page_links_all_of_it() {
    for name in ["belfry", "rooster", "lineboot", "probe", "headland"] {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("out");
        run(&example(name), &["build", "-o", out.to_str().unwrap()]).assert_done();
        let files = files(&out);
        let index = String::from_utf8(files["index.html"].clone()).unwrap();
        for file in files.keys().filter(|file| !matches!(file.as_str(), "index.html" | ".built.json")) {
            assert!(index.contains(&format!("<a href=\"{file}\">")), "{name}: {file} is not linked");
        }
        for link in index.split("href=\"").skip(1).map(|rest| rest.split('"').next().unwrap()) {
            let there =
                link.strip_prefix('#').map_or(files.contains_key(link), |id| index.contains(&format!("id=\"{id}\"")));
            assert!(there, "{name}: {link} is not there");
        }
    }
}

/// The guide of a build asks questions once the faults were played, without that anything of the chain has changed.
#[test]
fn kept_faults_are_an_input() {
    let chain = Chain::copy("probe");
    let guide = || fs::read_to_string(chain.path("out/guide.html")).unwrap();
    chain.run(&["build"]).assert_done();
    assert!(!guide().contains("\"questions\""));
    chain.run(&["faults"]).assert_done();
    chain.run(&["build"]).assert_done();
    assert!(guide().contains("\"questions\""));
    assert_eq!(build(&chain), "nothing has changed; see out/index.html\n");
    fs::remove_file(chain.path("out/.faults.json")).unwrap();
    chain.run(&["build"]).assert_done();
    assert!(!guide().contains("\"questions\""));
}

#[test]
fn cautions_stand_where_the_hands_are_and_only_those_that_apply() {
    let mut rows = [0; 2];
    // Chains of which every start has the same homes.
    for name in ["belfry", "rooster", "lineboot", "probe"] {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("out");
        run(&example(name), &["build", "-o", out.to_str().unwrap()]).assert_done();
        let chain = fs::read_to_string(example(name).join("coldwright.toml")).unwrap();
        let files = files(&out);
        let text = |file: &str| String::from_utf8(files[file].clone()).unwrap();
        for file in files.keys().filter(|file| file.starts_with("card") && file.ends_with(".txt")) {
            let card = text(file);
            let topics = card.lines().take_while(|line| !line.starts_with("Levers"));
            let has = |topic: &str| topics.clone().any(|line| line.starts_with(topic));
            assert!(has("CAUTION: local electrical codes") && has("outputs ") && has("power ") && has("cabinet "));
            assert_eq!(has("parts "), chain.contains("socket = "), "{name}: {file}");
            assert_eq!(has("sound "), chain.contains("\nsound = "), "{name}: {file}");
            assert_eq!(has("line "), chain.contains("tape = ") && !chain.contains("\nsound = "), "{name}: {file}");
            assert!(card.find("1  Disconnect or block").unwrap() < card.find("Power on.").unwrap());
            rows = [rows[0] + usize::from(has("parts ")), rows[1] + usize::from(has("sound "))];
        }
        for (kind, caution) in [("-sheet", "CAUTION: Before RUN"), ("-lights", "CAUTION: Stepping executes")] {
            for file in files.keys().filter(|file| file.ends_with(&format!("{kind}.txt"))) {
                assert!(text(file).split('\u{c}').all(|page| page.contains(caution)), "{name}: {file}");
                let drawn = text(&file.replace(".txt", ".html"));
                assert_eq!(drawn.matches(caution).count(), drawn.matches("<svg").count(), "{name}: {file}");
            }
        }
    }
    assert!(rows.iter().all(|&row| row > 0), "no example has both: {rows:?}");
}

/// A stage that has no source is written as the machine file says, on its sheet and its lights.
#[test]
fn an_image_is_written_in_the_notation_of_the_machine() {
    let chain = Chain::copy("probe").spoil("machine.toml", "\"straight\"", "\"hex\"");
    assert_eq!(chain.run(&["convert", "probe.asm", "-o", "probe.hex"]).code, 0);
    let chain = chain.spoil("coldwright.toml", "source = \"probe.asm\"", "image = \"probe.hex\"\nentry = 0");
    chain.run(&["build"]).assert_done();
    let files = files(&chain.path("out"));
    for kind in ["sheet", "lights"] {
        let text = String::from_utf8(files[&format!("probe-{kind}.txt")].clone()).unwrap();
        assert!(text.contains("LXI SP,0100"), "{kind}: {text}");
    }
}

#[test]
fn the_same_chain_gives_the_same_bytes() {
    let [first, second] = [Chain::copy("rooster"), Chain::copy("rooster")].map(|chain| {
        chain.run(&["build"]).assert_done();
        let mut made = files(&chain.path("out"));
        made.remove(".built.json");
        made
    });
    assert_eq!(differing(&first, &second), [""; 0]);
}

#[test]
fn only_what_changed_is_written_again() {
    let chain = Chain::copy("rooster");
    chain.run(&["build"]).assert_done();
    assert!(chain.run(&["build"]).out.starts_with("nothing has changed"));
    let chain = chain.spoil("crow.asm", "MVI     D,3", "MVI     D,4");
    let ran = chain.run(&["build"]);
    let what = "listing, image, index page, guide, frames, three of its tape's picture, two of the map, the booklet, and the cards of both starts";
    assert!(ran.out.starts_with("17 files written"), "{what}: {}", ran.out);
    fs::remove_file(chain.path("out/crow.lst")).unwrap();
    assert!(chain.run(&["build"]).out.starts_with("1 file written"));
}

#[test]
fn a_failed_build_leaves_the_last_good_one() {
    let chain = Chain::copy("belfry");
    chain.run(&["build"]).assert_done();
    let before = files(&chain.path("out"));
    let chain = chain.spoil("chimes.asm", "ORG     400Q", "ORG     100Q");
    chain.run(&["build"]).assert_fails("stages-overlap", &["both lie at"]);
    assert_eq!(differing(&files(&chain.path("out")), &before), [""; 0]);
}

/// What is said of a tape that is played from its frames although it is recorded.
const NOT_PLAYED: &str = "the recording of the tape one was not played: `--sound` plays it\n";

/// What is said of faster lines where nothing was given from outside.
const FASTER: &str = "lines 100 % faster: the start agrees\n";

/// The rehearsal plays the very bytes that are built.
#[test]
fn the_built_tape_is_the_rehearsed_one() {
    let chain = Chain::copy("belfry");
    chain.run(&["build"]).assert_done();
    let tape = format!("one={}", chain.path("out/tape-one.bin").display());
    let (own, built) = (chain.run(&["rehearse"]), chain.run(&["rehearse", "--tape", &tape]));
    built.assert_done();
    let plain = |out: &str| {
        out.replace(" that was given", "")
            .replace("the given frames", "the frames")
            .replace(NOT_PLAYED, "")
            .replace(FASTER, "")
    };
    assert_eq!(plain(&own.out), plain(&built.out));
}

/// Builds, and says what was reported.
fn build(chain: &Chain) -> String {
    let ran = chain.run(&["build"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    ran.out
}

#[test]
fn a_build_is_made_again_when_any_of_its_inputs_changes() {
    let chain = Chain::copy("belfry");
    let framing = fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("framings/blocks.toml")).unwrap();
    let chain = chain.put("own.toml", &framing).spoil("coldwright.toml", "\"blocks\"", "\"own.toml\"");
    build(&chain);
    let changes = [
        ("ports.asm", "EQU", "EQU "),
        ("machine.toml", "address = \"straight\"", "address = \"hex\""),
        ("own.toml", "count = 120", "count = 121"),
        ("coldwright.toml", "sense = 0o4", "sense = 0o75"),
    ];
    changes.into_iter().fold(chain, |chain, (file, from, to)| {
        let chain = chain.spoil(file, from, to);
        assert!(build(&chain).contains("written"), "{file}");
        assert!(build(&chain).starts_with("nothing"), "{file}");
        chain
    });
}

/// The chain includes `mc6850.asm` of the library; one of its own takes its place.
#[test]
fn a_file_that_hides_one_of_the_library_is_noticed() {
    let chain = Chain::copy("belfry");
    build(&chain);
    let library = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("stdlib/mc6850.asm")).unwrap();
    let chain = chain.put("mc6850.asm", format!("{library}\n        NOSUCH\n").as_bytes());
    chain.run(&["build"]).assert_fails("operation-unknown", &["mc6850.asm"]);
}

#[test]
fn an_output_that_was_deleted_is_mended() {
    let chain = Chain::copy("rooster");
    build(&chain);
    let before = files(&chain.path("out"));
    fs::remove_file(chain.path("out/memory.svg")).unwrap();
    assert_eq!(build(&chain), "1 file written, memory.svg; see out/index.html\n");
    assert_eq!(differing(&files(&chain.path("out")), &before), [""; 0]);
}

/// What somebody wrote on a card is not lost to the next build, whatever else has changed.
#[test]
fn an_output_that_was_changed_by_hand_is_not_overwritten() {
    let chain = Chain::copy("rooster");
    build(&chain);
    fs::write(chain.path("out/card-from-the-EPROM.txt"), "scribbled").unwrap();
    let chain = chain.spoil("crow.asm", "MVI     D,3", "MVI     D,4");
    let before = files(&chain.path("out"));
    chain.run(&["build"]).assert_fails(
        "file-unwritable",
        &["`out/card-from-the-EPROM.txt`: it was changed since it was built", "delete what you do not", "with `-o`"],
    );
    assert_eq!(differing(&files(&chain.path("out")), &before), [""; 0]);
    fs::remove_file(chain.path("out/card-from-the-EPROM.txt")).unwrap();
    assert!(build(&chain).starts_with("17 files written"));
}

#[test]
fn a_file_that_no_build_made_is_not_overwritten() {
    let chain = Chain::copy("rooster");
    fs::create_dir(chain.path("out")).unwrap();
    let own = [("index.html", "my own page"), ("crow.hex", "my own image"), (".built.json", "my own notes")];
    let chain = own.iter().fold(chain, |chain, (name, text)| chain.put(&format!("out/{name}"), text.as_bytes()));
    chain.run(&["build", "--rehearse"]).assert_fails(
        "file-unwritable",
        &["`out/crow.hex`: no build has made what stands there", "`out/index.html`", "`out/.built.json`"],
    );
    assert_eq!(files(&chain.path("out")).len(), own.len());
    own.iter().for_each(|(name, text)| assert_eq!(fs::read(chain.path("out").join(name)).unwrap(), text.as_bytes()));
    chain.run(&["build", "-o", "elsewhere"]).assert_done();
}

/// A file that is already what the build would write is nobody's loss, whoever put it there.
#[test]
fn a_file_that_is_as_it_would_be_written_is_left() {
    let chain = Chain::copy("rooster");
    build(&chain);
    fs::remove_file(chain.path("out/.built.json")).unwrap();
    assert_eq!(build(&chain), "nothing has changed; see out/index.html\n");
    assert!(chain.path("out/.built.json").exists());
}

/// A build that was killed while it put its files in place had no time to say so in its record, and yet they are its own.
#[test]
fn what_a_killed_build_has_put_in_place_is_its_own() {
    let chain = Chain::copy("rooster");
    build(&chain);
    let made = b"what the killed one made";
    let sum = crc::Crc::<u64>::new(&crc::CRC_64_XZ).checksum(made);
    fs::create_dir(chain.path("out/.coldwright-Ab3Cd4")).unwrap();
    let record = format!("[[\"crow.hex\",{sum}],[\"crow.lst\",1]]");
    let chain = chain.put("out/crow.hex", made).put("out/.coldwright-Ab3Cd4/record.json", record.as_bytes());
    assert!(build(&chain).starts_with("1 file written, crow.hex;"));
    assert!(!chain.path("out/.coldwright-Ab3Cd4").exists());
}

#[test]
fn what_a_stage_left_behind_is_taken_away_but_not_what_was_changed_by_hand() {
    let chain = Chain::copy("belfry").put("out-of-it.asm", b"        ORG 10000Q\nGO:     HLT\n        END GO\n");
    let stage = "\n[[stage]]\nname = \"spare\"\nsource = \"out-of-it.asm\"\nhome = { panel = {} }\n";
    let text = fs::read_to_string(chain.path("coldwright.toml")).unwrap();
    let chain = chain.put("coldwright.toml", format!("{text}{stage}").as_bytes());
    build(&chain);
    assert!(chain.path("out/spare.hex").exists() && chain.path("out/spare-sheet.pdf").exists());
    fs::write(chain.path("out/spare.lst"), "notes of mine").unwrap();
    fs::write(chain.path("out/mine.txt"), "mine too").unwrap();
    let chain = chain.put("coldwright.toml", text.as_bytes());
    build(&chain);
    assert!(!chain.path("out/spare.hex").exists() && !chain.path("out/spare-sheet.pdf").exists());
    assert!(chain.path("out/spare.lst").exists() && chain.path("out/mine.txt").exists());
}

#[test]
fn a_file_in_the_way_of_the_folder_is_named() {
    let chain = Chain::copy("belfry").put("out", b"a file");
    chain.run(&["build"]).assert_fails("file-unwritable", &["cannot make the folder `out`", "with `-o`"]);
    assert_eq!(fs::read(chain.path("out")).unwrap(), b"a file");
}

/// A folder in the place of a file cannot be replaced, whoever asks: nothing else is put in place then.
#[test]
fn an_output_that_cannot_be_written_leaves_the_others() {
    let chain = Chain::copy("belfry");
    build(&chain);
    let before = files(&chain.path("out"));
    let chain = chain.spoil("machine.toml", "address = \"straight\"", "address = \"hex\"");
    fs::remove_file(chain.path("out/card.txt")).unwrap();
    fs::create_dir(chain.path("out/card.txt")).unwrap();
    chain.run(&["build"]).assert_fails("file-unwritable", &["card.txt", "it is a directory"]);
    fs::remove_dir(chain.path("out/card.txt")).unwrap();
    let after = files(&chain.path("out"));
    assert!(after.iter().all(|(name, bytes)| before[name] == *bytes));
}

#[test]
fn two_chains_in_one_folder_do_not_take_each_other_for_built() {
    let chain = Chain::copy("belfry");
    let text = fs::read_to_string(chain.path("coldwright.toml")).unwrap();
    let chain = chain.put("other.toml", text.replace("name = \"belfry\"", "name = \"spire\"").as_bytes());
    build(&chain);
    assert!(chain.run(&["build", "other.toml"]).out.contains("written"));
    assert!(fs::read_to_string(chain.path("out/index.html")).unwrap().contains("<h1>spire</h1>"));
}

fn start(chain: &Chain) -> std::process::Child {
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_coldwright"));
    command.arg("build").current_dir(chain.path("")).stdout(std::process::Stdio::null()).spawn().unwrap()
}

#[test]
fn two_builds_at_once_end_as_one_would() {
    let chain = Chain::copy("rooster");
    let builds = [start(&chain), start(&chain)];
    for mut build in builds {
        assert!(build.wait().unwrap().success());
    }
    assert!(build(&chain).starts_with("nothing has changed"));
    let alone = Chain::copy("rooster");
    build(&alone);
    assert_eq!(differing(&files(&chain.path("out")), &files(&alone.path("out"))), [""; 0]);
}

#[test]
fn a_killed_build_is_made_good_by_the_next() {
    let good = Chain::copy("rooster");
    build(&good);
    let good = files(&good.path("out"));
    let chain = Chain::copy("rooster");
    for pause in [0, 5, 15, 30, 60, 120] {
        let mut killed = start(&chain);
        std::thread::sleep(std::time::Duration::from_millis(pause));
        killed.kill().unwrap();
        killed.wait().unwrap();
        // Whole files or none: what stands under its own name is as it should be.
        if chain.path("out").exists() {
            let there = files(&chain.path("out"));
            there.iter().for_each(|(name, bytes)| assert!(good[name] == *bytes, "{name}"));
        }
    }
    build(&chain);
    assert_eq!(differing(&files(&chain.path("out")), &good), [""; 0]);
    let folders = fs::read_dir(chain.path("out")).unwrap().filter(|entry| entry.as_ref().unwrap().path().is_dir());
    assert_eq!(folders.count(), 0, "what the killed ones left is still there");
}

#[test]
fn the_page_says_what_the_last_rehearsal_said() {
    let chain = Chain::copy("belfry");
    let page = chain.path("out/index.html");
    let index = || fs::read_to_string(&page).unwrap();
    build(&chain);
    assert!(index().contains("Not rehearsed since it was built"));
    let ran = chain.run(&["build", "--rehearse"]);
    assert!(
        ran.out.starts_with("3 files written, booklet.pdf, guide.html, index.html")
            && ran.out.contains("the start agrees with the description: "),
        "{}",
        ran.out
    );
    assert!(index().contains("<strong>The start agrees with the description</strong>"));
    assert!(build(&chain).starts_with("nothing has changed"), "the verdict still holds");
    assert!(index().contains("<strong>The start agrees with the description</strong>"));
    let text = fs::read_to_string(chain.path("ports.asm")).unwrap();
    let chain = chain.put("ports.asm", text.replacen("EQU     20000Q", "EQU     40000Q", 1).as_bytes());
    let ran = chain.run(&["build", "--rehearse"]);
    assert_eq!(ran.code, 1, "a stack where there is no memory: {}", ran.out);
    assert!(
        index().contains("<strong>The start does not agree with the description</strong>")
            && index().contains("<li>error: "),
        "{}",
        index()
    );
}

#[test]
fn lettering_is_punched_and_not_read() {
    let chain = Chain::copy("belfry");
    build(&chain);
    let frames = fs::read(chain.path("out/tape-one.bin")).unwrap();
    let chain = chain.spoil("coldwright.toml", "sound = \"byte-300\"", "lettering = \"BELFRY 1\"");
    chain.run(&["build", "--rehearse"]).assert_done();
    assert!(fs::read(chain.path("out/tape-one.bin")).unwrap() == frames);
    let punched = fs::read(chain.path("out/tape-one-punch.bin")).unwrap();
    let (lettering, rest) = punched.split_at(punched.len() - frames.len());
    assert!(rest == frames);
    assert_eq!(coldwright::tape::lettering::read(lettering.trim_ascii()).as_deref(), Some("BELFRY 1"));
    let card = fs::read_to_string(chain.path("out/card.txt")).unwrap();
    assert!(
        card.split_whitespace().collect::<Vec<_>>().join(" ").contains("leader, behind the lettering. Do not start")
    );
}

/// Two stages in one socket make one part, and the labels of it lie beside.
#[test]
fn stages_of_one_socket_are_seated_together() {
    let two = "\n[[stage]]\nname = \"second\"\nsource = \"second.asm\"\nhome = { socket = \"U7\" }\n\n[[start]]\nname = \"from the EPROM\"";
    let chain = Chain::copy("rooster")
        .put("second.asm", b"        ORG     177700Q\nSECOND: DB      1,2,3\n        END     SECOND\n")
        .spoil("coldwright.toml", "\n[[start]]\nname = \"from the EPROM\"", two);
    let alone = Chain::copy("rooster");
    build(&alone);
    build(&chain);
    let part = |chain: &Chain| fs::read_to_string(chain.path("out/part-U7.hex")).unwrap();
    let (alone, both) = (part(&alone), part(&chain));
    assert_ne!(alone, both);
    let first = alone.lines().next().unwrap();
    assert!(both.contains(first), "the first stage is still there: {both}");
    let labels = fs::read_to_string(chain.path("out/labels-U7.txt")).unwrap();
    assert!(
        labels.starts_with("rooster, second\nU7  2704\n") && labels.contains("Cautions for 2704 in U7"),
        "{labels}"
    );
}

/// A sheet ends with the sense switches, so starts that want others have sheets of their own.
#[test]
fn each_setting_of_the_sense_switches_has_its_sheet() {
    let chain = Chain::copy("belfry");
    let text = fs::read_to_string(chain.path("coldwright.toml")).unwrap();
    let starts = "\n[[start]]\nname = \"all\"\nstages = [\"keyin\", \"courier\", \"chimes\"]\n\n[[start]]\nname = \"half\"\nstages = [\"keyin\", \"courier\"]\n";
    let chain = chain.put("coldwright.toml", (text + starts).as_bytes());
    build(&chain);
    let sheet = |sense: &str| fs::read_to_string(chain.path(&format!("out/keyin-sheet-sense-{sense}.txt"))).unwrap();
    for sense in ["000", "004"] {
        assert!(sheet(sense).contains(&format!("sense switches {sense}, RUN.")), "{}", sheet(sense));
    }
    assert!(!chain.path("out/keyin-sheet.txt").exists());
}

/// What was played for the cards and went wrong is told at once, and again as long as nothing is mended.
#[test]
fn a_build_of_a_start_that_fails_says_so() {
    let chain = Chain::copy("belfry").spoil("ports.asm", "EQU     20000Q", "EQU     40000Q");
    for told in ["written", "nothing has changed"] {
        let ran = chain.run(&["build"]);
        assert!(ran.out.contains(told), "{}", ran.out);
        assert!(ran.err.contains("this start fails in its rehearsal, and its run card says so"), "{}", ran.err);
    }
    let index = std::fs::read_to_string(chain.path("out/index.html")).unwrap();
    assert!(!index.contains("Not rehearsed since it was built"), "it was, as far as its cards need");
    let told: serde_json::Value = serde_json::from_str(&chain.run(&["build", "--json"]).out).unwrap();
    assert_eq!(told["doubts"].as_array().unwrap().len(), 1, "{told}");
}
