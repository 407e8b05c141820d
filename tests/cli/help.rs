//! The help: every command has one, it follows one form, and its examples run.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use tempfile::TempDir;

/// The longest summary that stays on one line in the list of commands.
const WIDEST: usize = 85;

/// Examples that need a serial port, and fail where none is.
const NEED_A_PORT: &str = "--port /dev/";

fn run(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_coldwright"));
    command.args(arguments).current_dir(folder).env("NO_COLOR", "1").output().unwrap()
}

fn help(words: &[&str]) -> String {
    let output = run(Path::new("."), &[words, &["--help"]].concat());
    assert_eq!(output.status.code(), Some(0), "{words:?}");
    String::from_utf8(output.stdout).unwrap()
}

/// Every command with its help, those of commands below it included.
fn all() -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    let mut open = vec![String::new()];
    while let Some(name) = open.pop() {
        let text = help(&name.split_whitespace().collect::<Vec<_>>());
        let list = text.split("\nCommands:\n").nth(1).and_then(|rest| rest.split("\n\n").next()).unwrap_or_default();
        // The names stand in the second column, the further lines of a summary in a later one.
        let below = list.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   "));
        let below = below.filter_map(|line| line.split_whitespace().next()).filter(|below| *below != "help");
        open.extend(below.map(|below| format!("{name} {below}").trim().to_owned()));
        found.insert(name, text);
    }
    assert!(found.len() > 20, "{:?}", found.keys());
    found
}

fn examples(text: &str) -> Vec<&str> {
    let section = text.split("\nExamples:\n").nth(1).unwrap_or_default();
    section.lines().take_while(|line| line.starts_with("  ")).map(str::trim).collect()
}

#[test]
fn every_summary_is_one_imperative_line_without_a_stop() {
    for (name, text) in all().iter().filter(|(name, _)| !name.is_empty()) {
        let (summary, rest) = text.split_once('\n').unwrap();
        let verb = summary.split_whitespace().next().unwrap();
        assert!(rest.starts_with('\n'), "`{name}` has a summary of several lines: {summary}");
        assert!(summary.len() <= WIDEST, "`{name}`: {} characters: {summary}", summary.len());
        assert!(!summary.ends_with('.'), "`{name}`: {summary}");
        assert!(verb.starts_with(char::is_uppercase), "`{name}`: {summary}");
        assert!(!verb.ends_with('s') && !verb.ends_with("ing"), "`{name}` is not in the imperative: {summary}");
    }
}

#[test]
fn every_help_has_two_examples_of_its_command() {
    for (name, text) in all() {
        let examples = examples(&text);
        assert!(examples.len() >= 2, "`{name}` has {} examples\n{text}", examples.len());
        for example in examples {
            assert!(example.starts_with(format!("coldwright {name}").trim()), "`{name}`: {example}");
        }
    }
}

#[test]
fn options_of_one_name_are_explained_alike() {
    // What an option is called, in every command that has it.
    let wanted = [
        ("-o, --output", &["<FILE>", "<DIR>"][..]),
        ("--notation", &["<NOTATION>"]),
        ("--machine", &["<FILE>"]),
        ("--framing", &["<FRAMING>"]),
        ("--origin", &["<ADDRESS>"]),
        ("--entry", &["<ADDRESS>"]),
        ("--sense", &["<BYTE>"]),
        ("--fill", &["<BYTE>"]),
    ];
    for (name, text) in all() {
        assert!(text.contains("--json"), "`{name}`");
        for (option, values) in wanted {
            for line in text.lines().filter(|line| line.trim_start().starts_with(&format!("{option} "))) {
                let value = line.trim_start()[option.len()..].split_whitespace().next().unwrap_or_default();
                assert!(values.contains(&value), "`{name}`: {line}");
            }
        }
        let words: Vec<_> = text.split_whitespace().collect();
        let text = words.join(" ");
        if text.contains("--notation <") {
            assert!(text.contains("How addresses and bytes are written: octal, split or hex"), "`{name}`");
        }
    }
}

#[test]
fn wrong_usage_is_exit_code_2() {
    for name in all().keys() {
        let words: Vec<_> = name.split_whitespace().chain(["--no-such-option"]).collect();
        let output = run(Path::new("."), &words);
        assert_eq!(output.status.code(), Some(2), "{words:?}");
        assert!(output.stdout.is_empty(), "{words:?}");
        assert!(String::from_utf8_lossy(&output.stderr).contains("--help"), "{words:?}");
    }
}

#[test]
fn the_examples_run() {
    let mut failures = Vec::new();
    for (name, text) in all() {
        let folder = bench();
        for example in examples(&text) {
            let status = shell(folder.path(), example);
            let wanted = if example.contains(NEED_A_PORT) && !example.contains("--dry-run") { 1 } else { 0 };
            if status.status.code() != Some(wanted) {
                failures.push(format!("`{name}`: {example}\n{}", String::from_utf8_lossy(&status.stderr)));
            }
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

/// Runs a command line as a user types it.
fn shell(folder: &Path, line: &str) -> Output {
    let (line, into) = line.split_once(" > ").map_or((line, None), |(line, into)| (line, Some(into)));
    let mut words = Vec::new();
    for (at, piece) in line.split('"').enumerate() {
        match at % 2 {
            0 => words.extend(piece.split_whitespace()),
            _ => words.push(piece),
        }
    }
    assert_eq!(words[0], "coldwright", "{line}");
    let output = run(folder, &words[1..]);
    if let Some(into) = into {
        fs::write(folder.join(into), &output.stdout).unwrap();
    }
    output
}

/// A folder with the examples, and the files that the help speaks of.
fn bench() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for chain in ["belfry", "rooster", "lineboot", "probe", "headland"] {
        copy(&root.join("examples").join(chain), &folder.path().join("examples").join(chain));
    }
    copy(&root.join("examples/belfry"), folder.path());
    fs::copy(root.join("examples/probe/probe.asm"), folder.path().join("probe.asm")).unwrap();
    fs::copy(root.join("examples/lineboot/monitor.asm"), folder.path().join("monitor.asm")).unwrap();
    for line in PREPARE {
        let output = shell(folder.path(), line);
        assert!(output.status.success(), "{line}\n{}", String::from_utf8_lossy(&output.stderr));
    }
    fs::write(folder.path().join("rooster-hints.toml"), "[names]\n0o177000 = 'BOOT'\n").unwrap();
    for reading in ["first.tape", "second.tape", "third.tape"] {
        fs::copy(folder.path().join("chimes.tape"), folder.path().join(reading)).unwrap();
    }
    for recording in ["worn.wav", "again.wav"] {
        fs::copy(folder.path().join("chimes.wav"), folder.path().join(recording)).unwrap();
    }
    folder
}

/// What makes the other files that the help speaks of.
const PREPARE: [&str; 8] = [
    "coldwright assemble examples/rooster/rooster.asm -D BASE=0o177000 -o rooster.hex -o rooster.bin",
    "coldwright assemble chimes.asm -o chimes.hex",
    "coldwright fit rooster.hex --socket U7=2704@0o177000 -o last-week.json",
    "coldwright tape write chimes.asm --framing blocks -o chimes.tape",
    "coldwright disk write boot=chimes.asm --layout holes-32 -o chimes.disk",
    "coldwright audio write chimes.tape --framing blocks -o chimes.wav",
    "coldwright parts write rooster.hex --socket U7=82S131@0o177000 -o parts",
    "coldwright parts write rooster.hex --socket U7=2704@0o177000,check=sum8@0o177777 -o checked",
];

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            fs::copy(&path, to.join(path.file_name().unwrap())).unwrap();
        }
    }
}

#[test]
fn completions_of_every_shell_name_every_command() {
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let output = run(Path::new("."), &["completions", shell]);
        assert_eq!(output.status.code(), Some(0), "{shell}");
        let text = String::from_utf8(output.stdout).unwrap();
        for name in all().keys().filter(|name| !name.contains(' ')) {
            assert!(text.contains(name.as_str()), "{shell}: {name}");
        }
    }
}

#[test]
fn every_command_has_a_manual_page() {
    let folder = tempfile::tempdir().unwrap();
    assert!(run(folder.path(), &["manual", "-o", "man1"]).status.success());
    for (name, text) in all() {
        let file = format!("coldwright-{}", name.replace(' ', "-"));
        let page = folder.path().join("man1").join(format!("{}.1", file.trim_end_matches('-')));
        let page = fs::read_to_string(&page).unwrap_or_else(|error| panic!("{}: {error}", page.display()));
        // Troff writes a minus as `\-`.
        let page = page.replace('\\', "");
        let summary = text.lines().next().unwrap();
        assert!(page.contains(summary), "{name}: {summary}");
        for example in examples(&text) {
            assert!(page.contains(example), "{name}: {example}\n{page}");
        }
    }
}
