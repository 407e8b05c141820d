//! What a run reads: no output destroys it, a pipe is as good as a file, and nothing without an end is read for ever.

use std::fs;

use crate::bench::{Bench, SOURCE};
use crate::chain::Chain;

const MACHINE: &str = "memory = [{ base = 0, size = 0x2000 }]\n";

/// A folder with one of everything that a command reads.
fn bench() -> Bench {
    let bench = Bench::new();
    bench.put("all.asm", "\tINCLUDE 'part.asm'\n\tEMBED 'raw.bin'\n\tEND\n");
    bench.put("part.asm", "\tORG 0\n\tHLT\n");
    bench.put("raw.bin", [7, 5, 3]);
    bench.put("machine.toml", MACHINE);
    bench.put("mine.toml", coldwright_framing());
    bench.run(&["convert", "bell.asm", "-o", "bell.hex"]).assert_done();
    bench.run(&["tape", "write", "bell.asm", "--entry", "0", "-o", "bell.tape"]).assert_done();
    bench.run(&["audio", "write", "bell.tape", "-o", "bell.wav"]).assert_done();
    bench.run(&["fit", "bell.hex", "--socket", "U7=2704@0", "-o", "fit.json"]).assert_done();
    bench.run(&["parts", "write", "bell.hex", "--socket", "U7=2704@0", "-o", "."]).assert_done();
    bench
}

fn coldwright_framing() -> String {
    fs::read_to_string(std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("framings/blocks.toml")).unwrap()
}

/// Every command that writes, with an input and the extension that its output must have.
const COMMANDS: &[(&str, &str, &str)] = &[
    ("assemble bell.asm -o", "bell.asm", "hex"),
    ("assemble bell.asm -o", "bell.asm", "lst"),
    ("assemble all.asm -o", "part.asm", "hex"),
    ("assemble all.asm -o", "raw.bin", "bin"),
    ("convert bell.asm -o", "bell.asm", "hex"),
    ("convert bell.hex -o", "bell.hex", "hex"),
    ("fit bell.hex --socket U7=2704@0 -o", "bell.hex", "json"),
    ("fit bell.hex --socket U7=2704@0 --against fit.json -o", "fit.json", "json"),
    ("parts read . --socket U7=2704@0 -o", "U7.bin", "hex"),
    ("sheet bell.asm --machine machine.toml -o", "machine.toml", "txt"),
    ("lights bell.asm -o", "bell.asm", "pdf"),
    ("card bell.asm -o", "bell.asm", "svg"),
    ("tape write bell.hex --entry 0 --framing mine.toml -o", "mine.toml", "tape"),
    ("tape write bell.hex --entry 0 -o", "bell.hex", "tape"),
    ("tape read bell.tape -o", "bell.tape", "hex"),
    ("tape picture bell.tape -o", "bell.tape", "pdf"),
    ("audio write bell.tape -o", "bell.tape", "wav"),
    ("audio read bell.wav -o", "bell.wav", "tape"),
    ("audio picture bell.wav --at 1 -o", "bell.wav", "pdf"),
];

/// A hard link is the same file, and its name says nothing of that.
#[test]
fn no_command_writes_over_its_input() {
    let bench = bench();
    for (number, (command, input, extension)) in COMMANDS.iter().enumerate() {
        let before = bench.bytes(input);
        let output = format!("other-{number}.{extension}");
        fs::hard_link(bench.path(input), bench.path(&output)).unwrap();
        let arguments: Vec<_> = command.split_whitespace().chain([&*output]).collect();
        let told = format!("cannot write `{output}`: it is the same file as `{input}`, an input of this run");
        bench.run(&arguments).assert_fails("file-unwritable", &[&told.replace("`U7.bin`", "`./U7.bin`")]);
        assert!(bench.bytes(input) == before, "{arguments:?} changed {input}");
        fs::remove_file(bench.path(&output)).unwrap();
        bench.run(&arguments).assert_done();
        assert!(bench.bytes(input) == before, "{arguments:?} changed {input}");
    }
}

#[test]
fn an_input_is_known_by_whatever_name() {
    let bench = Bench::new();
    fs::create_dir(bench.path("shelf")).unwrap();
    let whole = bench.path("bell.asm").display().to_string();
    for output in ["bell.asm", "./bell.asm", "shelf/../bell.asm", &whole] {
        let ended = bench.run(&["convert", "bell.asm", "--to", "hex", "-o", "bell.s19", "-o", output]);
        ended.assert_fails("file-unwritable", &["input of this run"]);
        assert_eq!(bench.text("bell.asm"), SOURCE);
        assert_eq!(bench.names(), ["bell.asm", "shelf"]);
    }
}

#[cfg(unix)]
#[test]
fn standard_streams_are_inputs_and_outputs_like_others() {
    let bench = Bench::new();
    let ended = bench.shell("\"$0\" convert - --to hex -o bell.asm <bell.asm");
    ended.assert_fails("file-unwritable", &["`bell.asm`: it is the same file as standard input, an input of this run"]);
    let ended = bench.shell("\"$0\" convert bell.asm --to hex -o - >>bell.asm");
    ended.assert_fails("file-unwritable", &["standard output: it is the same file as `bell.asm`"]);
    assert_eq!(bench.text("bell.asm"), SOURCE);
}

/// What a stage says of the image that it takes from where it is built.
const IMAGE: &str = "entry = 0o400\nimage = \"chimes.hex\"";

/// The image of a stage has the name that the build gives to its own image of it, and lies in the folder of what is built.
#[test]
fn a_build_writes_over_none_of_its_inputs() {
    let chain = Chain::copy("belfry");
    let ran = chain.run(&["convert", "chimes.asm", "-o", "chimes.hex"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let chain = chain.spoil("coldwright.toml", "source = \"chimes.asm\"", IMAGE);
    let before = fs::read(chain.path("chimes.hex")).unwrap();
    let ran = chain.run(&["build", "-o", "."]);
    ran.assert_fails("file-unwritable", &["chimes.hex`", "input of this run"]);
    assert!(fs::read(chain.path("chimes.hex")).unwrap() == before);
    assert!(!chain.path("index.html").exists() && !chain.path(".built.json").exists());
    chain.run(&["build"]).assert_done();
}

/// What an earlier build has made is an input now, and none of this build's outputs.
#[test]
fn a_build_takes_none_of_its_inputs_away() {
    let chain = Chain::copy("belfry");
    chain.run(&["build"]).assert_done();
    let before = fs::read(chain.path("out/chimes.hex")).unwrap();
    let text = fs::read_to_string(chain.path("coldwright.toml")).unwrap();
    let text = text
        .replace("source = \"chimes.asm\"", &IMAGE.replace("chimes", "out/chimes"))
        .replace("\"chimes\"", "\"peal\"");
    let chain = chain.put("coldwright.toml", text.as_bytes());
    chain.run(&["build"]).assert_done();
    assert!(chain.path("out/peal.hex").exists() && !chain.path("out/chimes.lst").exists());
    assert!(fs::read(chain.path("out/chimes.hex")).unwrap() == before);
}

#[cfg(unix)]
mod pipes {
    use std::process::Command;

    use super::*;
    use crate::bench::{HEX, until};

    /// A pipe that gives bytes to whoever reads it.
    fn pipe(bench: &Bench, name: &str, bytes: Vec<u8>) -> std::thread::JoinHandle<()> {
        assert!(Command::new("mkfifo").arg(bench.path(name)).status().unwrap().success());
        let path = bench.path(name);
        std::thread::spawn(move || fs::write(path, bytes).unwrap())
    }

    #[test]
    fn a_pipe_that_ends_is_read_like_a_file() {
        let bench = bench();
        let writer = pipe(&bench, "pipe.asm", SOURCE.into());
        assert_eq!(bench.run(&["convert", "pipe.asm", "--to", "hex", "-o", "-"]).out, HEX.as_bytes());
        writer.join().unwrap();
        let writer = pipe(&bench, "included.asm", SOURCE.into());
        bench.put("includes.asm", "\tINCLUDE 'included.asm'\n");
        assert_eq!(bench.run(&["convert", "includes.asm", "--to", "hex", "-o", "-"]).out, HEX.as_bytes());
        writer.join().unwrap();
        // A recording is looked into from any place on.
        let wanted = bench.run(&["audio", "read", "bell.wav", "--framing", "blocks"]);
        let writer = pipe(&bench, "pipe.wav", bench.bytes("bell.wav"));
        let heard = bench.run(&["audio", "read", "pipe.wav", "--framing", "blocks"]);
        writer.join().unwrap();
        let text = |ended: crate::bench::Ended| String::from_utf8(ended.out).unwrap();
        assert_eq!(text(heard).replace("pipe.wav", "bell.wav"), text(wanted));
    }

    #[test]
    fn a_tape_for_the_rehearsal_may_come_through_a_pipe() {
        let bench = Bench::new();
        let chain = crate::chain::example("belfry");
        let build = ["build", chain.to_str().unwrap(), "-o", "out"];
        bench.run(&build).assert_done();
        let wanted = bench.run(&["rehearse", chain.to_str().unwrap(), "--tape", "one=out/tape-one.bin"]);
        wanted.assert_done();
        let writer = pipe(&bench, "pipe", bench.bytes("out/tape-one.bin"));
        let played = bench.run(&["rehearse", chain.to_str().unwrap(), "--tape", "one=pipe"]);
        assert_eq!(played.out, wanted.out, "{}", played.err);
        writer.join().unwrap();
    }

    /// The next build would wait for a pipe that nobody writes to any more.
    #[test]
    fn a_chain_that_was_read_from_a_pipe_is_never_taken_for_unchanged() {
        let chain = Chain::copy("belfry");
        let text = fs::read(chain.path("keyin.asm")).unwrap();
        fs::remove_file(chain.path("keyin.asm")).unwrap();
        assert!(Command::new("mkfifo").arg(chain.path("keyin.asm")).status().unwrap().success());
        for _ in 0..2 {
            let (path, text) = (chain.path("keyin.asm"), text.clone());
            let writer = std::thread::spawn(move || fs::write(path, text).unwrap());
            let mut build = Command::new(env!("CARGO_BIN_EXE_coldwright"));
            let mut build =
                build.arg("build").current_dir(chain.path("")).stdout(std::process::Stdio::null()).spawn().unwrap();
            let mut code = None;
            until("the build ends", || {
                code = build.try_wait().unwrap();
                code.is_some()
            });
            assert!(code.unwrap().success());
            writer.join().unwrap();
        }
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_device_without_an_end_is_left_at_a_bound() {
    let bench = Bench::new();
    let commands = [
        "assemble /dev/zero",
        "convert /dev/zero --origin 0 -o zero.hex",
        "tape read /dev/zero",
        "send /dev/zero --port none --line 300,8N2 --dry-run",
        "audio read /dev/zero -o zero.tape",
        "sheet bell.asm --machine /dev/zero",
        "check /dev/zero",
    ];
    for command in commands {
        let ended = bench.run(&command.split(' ').collect::<Vec<_>>());
        ended.assert_fails("file-unreadable", &["cannot read `/dev/zero`: it is larger than 256 MiB"]);
    }
    bench.put("zero.asm", "\tEMBED '/dev/zero'\n");
    bench.run(&["assemble", "zero.asm"]).assert_fails("include-missing", &["it is larger than 256 MiB"]);
    assert_eq!(bench.names(), ["bell.asm", "zero.asm"]);
}

/// What is told of a word of millions of letters fits a screen.
#[test]
fn a_long_word_is_told_by_its_ends() {
    let bench = Bench::new();
    let long = "Q".repeat(2_000_000);
    let sources = [
        ("operation.asm", format!("\t{long} 1\n")),
        ("symbol.asm", format!("\tLXI H,{long}\n")),
        ("number.asm", format!("\tLXI H,1{long}\n")),
        ("string.asm", format!("\tMVI A,'{long}'\n")),
        ("spoken.asm", format!("\tMVI A,'{}'\n", "Q ".repeat(1_000_000))),
        ("file.asm", format!("\tINCLUDE '{long}'\n")),
        ("twice.asm", format!("{long}: NOP\n{long}: NOP\n")),
        ("near.asm", format!("{long}A: NOP\n\tLXI H,{long}B\n")),
        ("key.toml", format!("{long} = 1\n")),
        ("value.toml", format!("panel = {{ address = '{long}' }}\n")),
    ];
    for (name, text) in sources {
        bench.put(name, text);
        for json in [&[][..], &["--json"]] {
            let command: &[&str] =
                if name.ends_with("toml") { &["sheet", "bell.asm", "--machine"] } else { &["assemble"] };
            let ended = bench.run(&[command, &[name], json].concat());
            assert_eq!(ended.code, Some(1), "{name}");
            assert!(ended.err.len() < 5000, "{name}: {} bytes", ended.err.len());
            assert!(ended.err.contains("..."), "{name}: {}", ended.err);
        }
    }
}
