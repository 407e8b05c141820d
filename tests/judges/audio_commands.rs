//! The whole way as a user goes it: a tape written as sound, worn out by `sox`, and read back by the command.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use serde_json::Value;
use tempfile::TempDir;

use crate::tool;

fn coldwright(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_coldwright"));
    command.args(arguments).current_dir(folder).env("NO_COLOR", "1").output().unwrap()
}

/// Bytes of the program, of which no two blocks are alike.
const LENGTH: usize = 400;

/// A folder with `tower.wav`, a tape of four blocks and an end, and `tower.hex`, what is on it.
fn folder() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let bytes: Vec<u8> = (0..LENGTH as u32).map(|at| (at.wrapping_mul(0x9E37_79B1) >> 24) as u8).collect();
    fs::write(folder.path().join("tower.bin"), bytes).unwrap();
    for arguments in [
        &["tape", "write", "tower.bin", "--origin", "0o400", "--entry", "0o400", "-o", "tower.tape"][..],
        &["convert", "tower.bin", "--origin", "0o400", "-o", "tower.hex"],
        &["audio", "write", "tower.tape", "--framing", "blocks", "--gap", "0.5", "--leader", "2", "-o", "tower.wav"],
    ] {
        let output = coldwright(folder.path(), arguments);
        assert!(output.status.success(), "{output:?}");
    }
    folder
}

/// Wears `tower.wav` out; `None` without `sox`.
fn wear(folder: &Path, input: &str, output: &str, effects: &str) -> Option<()> {
    let mut arguments = vec!["-R", input, output];
    arguments.extend(effects.split_whitespace());
    tool::run("sox", &arguments, folder).map(drop)
}

fn assert_whole(folder: &Path, recordings: &[&str], what: &str) {
    let _ = fs::remove_file(folder.join("again.hex"));
    let mut arguments = vec!["audio", "read"];
    arguments.extend(recordings);
    arguments.extend(["--framing", "blocks", "-o", "again.hex"]);
    let output = coldwright(folder, &arguments);
    assert!(output.status.success(), "{what}: {output:?}");
    assert_eq!(content(folder, "again.hex"), content(folder, "tower.hex"), "{what}");
}

/// The records of data.
fn content(folder: &Path, name: &str) -> Vec<String> {
    let text = fs::read_to_string(folder.join(name)).unwrap();
    text.lines().filter(|line| line.get(7..9) == Some("00")).map(str::to_owned).collect()
}

#[test]
fn a_worn_tape_is_read_back_whole() {
    let folder = folder();
    for effects in [
        "speed 0.88",
        "speed 1.12",
        "rate 22050 remix 1v-1",
        "gain -20 dcshift 0.3",
        "gain 12 lowpass 3000",
        "trim 1.1",
    ] {
        let Some(()) = wear(folder.path(), "tower.wav", "worn.wav", effects) else { return };
        assert_whole(folder.path(), &["worn.wav"], effects);
    }
}

#[test]
fn a_tape_under_noise_and_hum_is_read_back_whole() {
    let folder = folder();
    for (name, added) in [("noise", "synth 40 whitenoise gain -10"), ("hum", "synth 40 sine 50 gain -2")] {
        let make = format!("-R -n -r 44100 -c 1 {name}.wav {added}");
        let Some(_) = tool::run("sox", &make.split_whitespace().collect::<Vec<_>>(), folder.path()) else { return };
        let mix = format!("-R -m -v 0.5 tower.wav -v 0.5 {name}.wav worn.wav speed 1.05");
        tool::run("sox", &mix.split_whitespace().collect::<Vec<_>>(), folder.path());
        assert_whole(folder.path(), &["worn.wav"], name);
    }
}

/// Silences a stretch of the recording.
fn drop_out(folder: &Path, output: &str, from: f64, seconds: f64) -> Option<()> {
    let effects = format!("pad {seconds}@{from}");
    wear(folder, "tower.wav", "padded.wav", &effects)?;
    // What was pushed behind the silence is moved back under it.
    let to = from + seconds;
    for (part, effects) in [("a.wav", format!("trim 0 {to}")), ("b.wav", format!("trim {}", to + seconds))] {
        wear(folder, "padded.wav", part, &effects)?;
    }
    tool::run("sox", &["a.wav", "b.wav", output], folder).map(drop)
}

/// Where a block of the sound recording begins, in seconds.
fn begins(folder: &Path, number: u64) -> f64 {
    let output = coldwright(folder, &["audio", "read", "tower.wav", "--framing", "blocks", "--json"]);
    let json: Value = serde_json::from_slice(&output.stdout).unwrap();
    let parts = json["recordings"][0]["parts"].as_array().unwrap();
    let part = parts.iter().find(|part| part["block"]["number"] == number).unwrap();
    part["heard"]["from"].as_f64().unwrap()
}

#[test]
fn exactly_the_block_under_a_drop_out_is_named_and_two_recordings_make_up_for_it() {
    let folder = folder();
    for (name, number) in [("first.wav", 1), ("second.wav", 2)] {
        let from = begins(folder.path(), number) + 1.5;
        let Some(()) = drop_out(folder.path(), name, from, 0.4) else { return };
        let output = coldwright(folder.path(), &["audio", "read", name, "--framing", "blocks", "-o", "lost.hex"]);
        assert_eq!(output.status.code(), Some(1), "{output:?}");
        let problems = String::from_utf8(output.stderr).unwrap();
        assert!(problems.contains(&format!("lost of program 1: block {number}\n")), "{problems}");
        assert!(!folder.path().join("lost.hex").exists());
    }
    assert_whole(folder.path(), &["first.wav", "second.wav"], "two recordings");
}

/// `tower.wav` again with one wrong bit in the third byte of its second block.
fn slipped(folder: &Path) {
    let mut tape = fs::read(folder.join("tower.tape")).unwrap();
    let output = coldwright(folder, &["tape", "read", "tower.tape", "--framing", "blocks", "--json"]);
    let json: Value = serde_json::from_slice(&output.stdout).unwrap();
    let start = json["programs"][0]["blocks"][1]["start"].as_u64().unwrap() as usize;
    tape[start + 8] ^= 0o10;
    fs::write(folder.join("slip.tape"), tape).unwrap();
    let output =
        coldwright(folder, &["audio", "write", "slip.tape", "--framing", "blocks", "--gap", "0.5", "-o", "slip.wav"]);
    assert!(output.status.success(), "{output:?}");
}

fn pages_and_size(folder: &Path, name: &str) -> Option<(usize, String)> {
    let text = tool::run("pdfinfo", &[name], folder)?;
    let value = |key: &str| text.lines().find_map(|line| line.strip_prefix(key)).unwrap().trim().to_owned();
    Some((value("Pages:").parse().unwrap(), value("Page size:")))
}

#[test]
fn the_picture_points_at_the_one_wrong_bit_of_the_first_damaged_block() {
    let folder = folder();
    let folder = folder.path();
    slipped(folder);
    let output = coldwright(folder, &["audio", "picture", "slip.wav", "--framing", "blocks", "-o", "look.pdf"]);
    assert!(output.status.success(), "{output:?}");
    let Some((pages, size)) = pages_and_size(folder, "look.pdf") else { return };
    assert_eq!((pages, size.contains("A4")), (1, true), "{size}");
    let Some(text) = tool::run("pdftotext", &["-layout", "look.pdf", "-"], folder) else { return };
    let said = text.lines().filter(|line| line.contains("the check asks for")).count();
    assert!(said == 1 && text.contains("the one wrong bit of block 1 "), "{text}");
    // The twelve characters around it, each with ten bits.
    let bits: usize = text
        .lines()
        .filter(|line| line.trim_start().starts_with("S  "))
        .map(|line| line.split_whitespace().count())
        .sum();
    assert!((110..=125).contains(&bits), "{bits} bits\n{text}");

    let Some(_) = tool::run("pdftoppm", &["-r", "50", "-gray", "-singlefile", "look.pdf", "look"], folder) else {
        return;
    };
    let image = fs::read(folder.join("look.pgm")).unwrap();
    let dark = image.iter().filter(|&&grey| grey < 128).count() as f64 / image.len() as f64;
    assert!((0.05..0.5).contains(&dark), "{dark} of the page is dark");
}

#[test]
fn a_long_stretch_goes_on_over_pages_at_one_scale() {
    let folder = folder();
    let folder = folder.path();
    slipped(folder);
    let arguments = ["audio", "picture", "slip.wav", "--framing", "blocks", "--damaged", "1", "--span", "2"];
    let output = coldwright(folder, &[&arguments[..], &["--paper", "letter", "-o", "long.pdf"]].concat());
    assert!(output.status.success(), "{output:?}");
    let Some((pages, size)) = pages_and_size(folder, "long.pdf") else { return };
    assert!(pages >= 3 && size.contains("letter"), "{pages} pages, {size}");
    let mut bytes = 0;
    for page in 1..=pages {
        let number = page.to_string();
        let Some(text) = tool::run("pdftotext", &["-layout", "-f", &number, "-l", &number, "long.pdf", "-"], folder)
        else {
            return;
        };
        assert!(text.contains(&format!("{page} of {pages}")), "{text}");
        bytes += text.split_whitespace().filter(|word| *word == "S").count();
    }
    // Two seconds of characters of eleven bits at 300 baud; one may stand half on either end.
    assert!((53..=56).contains(&bytes), "{bytes} characters");
}

/// The lines of the guide that wear the demo tape out, run as they stand. What a line must say when it fails stands behind
/// it as a comment.
#[test]
fn the_demo_tape_is_read_back_as_the_guide_says() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let page = fs::read_to_string(root.join("docs/audio.md")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(root.join("examples/belfry")).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            fs::copy(&path, folder.path().join(path.file_name().unwrap())).unwrap();
        }
    }
    let blocks = page.split("```sh\n").skip(1).filter_map(|rest| rest.split("```").next());
    let lines: Vec<&str> = blocks.flat_map(str::lines).collect();
    assert!(lines.len() > 10, "{lines:?}");
    for line in lines {
        let (command, fails) = line.split_once(" # ").unwrap_or((line, ""));
        let words: Vec<_> = command.split_whitespace().collect();
        if words[0] != "coldwright" {
            let Some(_) = tool::run(words[0], &words[1..], folder.path()) else { return };
            continue;
        }
        let output = coldwright(folder.path(), &words[1..]);
        let problems = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.success(), fails.is_empty(), "{line}: {problems}");
        assert!(fails.is_empty() || problems.contains(&format!("{fails}\n")), "{line}: {problems}");
    }
    assert!(folder.path().join("chimes.hex").exists());
}
