//! `receive` keeps what comes: as it comes, and whatever ends it.

use std::process::{Child, Command};
use std::time::Duration;

use crate::bench::{Bench, EARLIER, ended, signal, until};
use crate::far_end::FarEnd;

/// Begins a capture and sends it bytes, which are kept when this returns. `None` where no line can be made.
fn begun(bench: &Bench, output: &str, kept: &str) -> Option<(Child, FarEnd)> {
    let mut far = FarEnd::new()?;
    let near = far.near.clone();
    let child = bench.start(&[
        "receive",
        "--port",
        &near,
        "--line",
        "9600 8N1",
        "--start-reader",
        "--quiet",
        "60",
        "-o",
        output,
    ]);
    assert_eq!(far.take(1, Duration::from_secs(20)), [0o021]);
    far.put(COMES);
    until("what came is kept", || bench.path(kept).exists() && bench.bytes(kept) == COMES);
    Some((child, far))
}

const COMES: &[u8] = b"\0\0PEAL\r\n\x11\x13\xFE";

#[test]
fn what_has_come_survives_a_kill() {
    let bench = Bench::new();
    bench.put("heard.tape", EARLIER);
    for kept in ["heard.tape.part", "heard.tape.part-2"] {
        let Some((mut child, _far)) = begun(&bench, "heard.tape", kept) else { return };
        child.kill().unwrap();
        let ended = ended(child.wait_with_output().unwrap());
        // It was said at the beginning where it would be.
        assert!(ended.err.contains(&format!("what comes is kept in `{kept}`")), "{}", ended.err);
        assert_eq!(bench.bytes(kept), COMES);
        assert_eq!(bench.text("heard.tape"), EARLIER);
        // No run takes it for something that was left.
        bench.run(&["convert", "bell.asm", "-o", "bell.hex"]).assert_done();
    }
    assert_eq!(bench.bytes("heard.tape.part"), COMES);
}

#[test]
fn a_stop_puts_what_has_come_in_its_place() {
    for name in ["INT", "TERM", "HUP"] {
        let bench = Bench::new();
        bench.put("heard.tape", EARLIER);
        let Some((child, far)) = begun(&bench, "heard.tape", "heard.tape.part") else { return };
        assert_eq!(bench.text("heard.tape"), EARLIER);
        signal(&child, name);
        let ended = ended(child.wait_with_output().unwrap());
        assert_eq!(ended.code, Some(0), "{name}: {}", ended.err);
        assert!(String::from_utf8(ended.out).unwrap().ends_with(", then stopped\n"));
        assert_eq!(bench.bytes("heard.tape"), COMES, "{name}");
        assert_eq!(bench.names(), ["bell.asm", "heard.tape"]);
        assert_eq!(far.take(1, Duration::from_secs(5)), [0o023], "the reader is stopped");
    }
}

/// There is no such port either: what is wrong with the output is found first.
#[test]
fn an_output_that_cannot_be_is_found_before_the_line_is_opened() {
    let bench = Bench::new();
    std::fs::create_dir(bench.path("shelf")).unwrap();
    for (output, why) in [("nowhere/heard.tape", "its folder does not exist"), ("shelf", "it is a directory")] {
        let ended = bench.run(&["receive", "--port", "/dev/no-such-port", "--line", "300 8N2", "-o", output]);
        ended.assert_fails("file-unwritable", &[&format!("cannot write `{output}`: {why}")]);
    }
    let ended = bench.run(&["receive", "--port", "/dev/no-such-port", "--line", "300 8N2", "-o", "heard.tape"]);
    ended.assert_fails("port-unavailable", &[]);
    assert_eq!(bench.names(), ["bell.asm", "shelf"], "nothing came, and nothing stays");
}

#[test]
fn a_silent_line_leaves_nothing() {
    let bench = Bench::new();
    let Some(far) = FarEnd::new() else { return };
    bench.put("heard.tape", EARLIER);
    let receive = ["receive", "--port", &far.near, "--line", "9600 8N1", "--patience", "0.2", "-o", "heard.tape"];
    bench.run(&receive).assert_fails("line-answer", &["is silent", "nothing had come"]);
    assert_eq!(bench.names(), ["bell.asm", "heard.tape"]);
    assert_eq!(bench.text("heard.tape"), EARLIER);
}

/// The limit on the size of files stands for a full disk.
#[test]
fn a_full_disk_ends_a_capture_and_keeps_what_fits() {
    let bench = Bench::new();
    let Some(mut far) = FarEnd::new() else { return };
    bench.put("heard.tape", EARLIER);
    let receive = "receive --start-reader --line 9600,8N1 -o heard.tape --port";
    let line = format!("trap '' XFSZ; ulimit -f 8; exec \"$0\" {receive} {}", far.near);
    let arguments = ["-c", &line, env!("CARGO_BIN_EXE_coldwright")];
    let child = bench.command_of(std::path::Path::new("sh"), &arguments).spawn().unwrap();
    assert_eq!(far.take(1, Duration::from_secs(20)), [0o021]);
    let comes: Vec<u8> = (0..10_000u32).map(|at| (at.wrapping_mul(0x9E37_79B1) >> 24) as u8).collect();
    for piece in comes.chunks(500) {
        far.put(piece);
        std::thread::sleep(Duration::from_millis(20));
    }
    let ended = ended(child.wait_with_output().unwrap());
    let kept = bench.bytes("heard.tape.part");
    assert!(kept.len() >= 4096 && comes.starts_with(&kept), "{} bytes", kept.len());
    let told = format!("{} bytes had come, and are in `heard.tape.part`", kept.len());
    ended.assert_fails("file-unwritable", &["cannot write `heard.tape`", &told]);
    assert_eq!(bench.text("heard.tape"), EARLIER);
}

/// What goes on to somebody else goes at once.
#[test]
fn a_stream_gets_what_comes_as_it_comes() {
    let bench = Bench::new();
    assert!(Command::new("mkfifo").arg(bench.path("pipe")).status().unwrap().success());
    let path = bench.path("pipe");
    let (sender, heard) = std::sync::mpsc::channel();
    std::thread::spawn(move || {
        use std::io::Read;
        let file = std::io::BufReader::new(std::fs::File::open(path).unwrap());
        file.bytes().map_while(Result::ok).take_while(|byte| sender.send(*byte).is_ok()).for_each(drop);
    });
    let Some(mut far) = FarEnd::new() else { return };
    let child = bench.start(&[
        "receive",
        "--port",
        &far.near,
        "--line",
        "9600 8N1",
        "--start-reader",
        "--quiet",
        "60",
        "-o",
        "pipe",
    ]);
    assert_eq!(far.take(1, Duration::from_secs(20)), [0o021]);
    far.put(COMES);
    let came: Vec<_> = COMES.iter().map_while(|_| heard.recv_timeout(Duration::from_secs(20)).ok()).collect();
    assert_eq!(came, COMES, "while the line is open");
    signal(&child, "TERM");
    assert_eq!(ended(child.wait_with_output().unwrap()).code, Some(0));
    assert_eq!(bench.names(), ["bell.asm", "pipe"]);
}
