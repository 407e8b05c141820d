//! `send` and `receive` through real pseudo-terminal pairs: the program has one end, the test plays whoever is at the
//! other: a loader, a tape reader, a cable that is torn off.

use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

use coldwright::tape::framing::{bundled, decode};

use crate::far_end::FarEnd;

const DC1: u8 = 0o021;
const DC3: u8 = 0o023;

fn start(arguments: &[&str], folder: &Path) -> Child {
    Command::new(env!("CARGO_BIN_EXE_coldwright"))
        .args(arguments)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
}

fn run(arguments: &[&str], folder: &Path) -> Output {
    start(arguments, folder).wait_with_output().unwrap()
}

fn ok(arguments: &[&str], folder: &Path) -> String {
    let output = run(arguments, folder);
    assert!(output.status.success(), "{arguments:?}: {}", told(&output));
    String::from_utf8(output.stdout).unwrap()
}

fn told(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

const LONG: Duration = Duration::from_secs(20);

fn wait(child: Child) -> Output {
    child.wait_with_output().unwrap()
}

fn interrupt(child: &Child) {
    let status = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(status.success());
}

/// A tape of two programs, made by the program itself.
fn two_programs(folder: &Path) -> Vec<u8> {
    std::fs::write(folder.join("chimes.bin"), (0..200u16).map(|step| (step * step % 251) as u8).collect::<Vec<_>>())
        .unwrap();
    std::fs::write(folder.join("peal.bin"), [0o021, 0o023, 0, 0o377, 0o201]).unwrap();
    for (name, origin) in [("chimes", "0o400"), ("peal", "0o2000")] {
        ok(&["convert", &format!("{name}.bin"), "--origin", origin, "-o", &format!("{name}.s19")], folder);
    }
    let write = ["tape", "write", "chimes.s19", "peal.s19", "--entry", "0o400", "--entry", "0o2000"];
    ok(&[&write[..], &["--letter", "CHIMES", "-o", "two.tape"]].concat(), folder);
    std::fs::read(folder.join("two.tape")).unwrap()
}

#[test]
fn a_two_program_tape_is_written_drawn_sent_received_and_read_back_equal() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let tape = two_programs(folder);
    ok(&["tape", "picture", "two.tape", "--framing", "blocks", "-o", "two.pdf", "-o", "two.svg"], folder);
    let (Some(mut far_of_sender), Some(mut far_of_receiver)) = (FarEnd::new(), FarEnd::new()) else { return };
    let (sender, receiver) = (far_of_sender.near.clone(), far_of_receiver.near.clone());
    let count = tape.len().to_string();
    let receive = ["receive", "--port", &receiver, "--line", "9600 8N1", "--start-reader", "--bytes", &count];
    let receive = start(&[&receive[..], &["-o", "heard.tape"]].concat(), folder);
    let send = start(&["send", "two.tape", "--port", &sender, "--line", "9600 8N1", "--wait", "control"], folder);
    // The cable. The receiver asks for the tape when it is ready; the sender may open its port later.
    let cable = std::thread::spawn(move || {
        let (mut carried, start) = (0, Instant::now());
        let mut asked = false;
        while carried < tape.len() && start.elapsed() < LONG {
            asked |= far_of_receiver.take(1, Duration::from_millis(5)).contains(&DC1);
            if asked && carried == 0 {
                far_of_sender.put(&[DC1]);
            }
            let bytes = far_of_sender.take(256, Duration::from_millis(30));
            carried += bytes.len();
            far_of_receiver.put(&bytes);
        }
        // The far end of the sender stays until the program is done with it.
        (far_of_receiver.take(1, LONG), far_of_sender)
    });
    let (sent, received) = (wait(send), wait(receive));
    assert!(sent.status.success(), "{}", told(&sent));
    assert!(received.status.success(), "{}", told(&received));
    assert_eq!(cable.join().unwrap().0, [DC3]);
    ok(&["tape", "read", "heard.tape", "-o", "back.s19"], folder);
    for (index, name) in [(1, "chimes"), (2, "peal")] {
        ok(&["convert", &format!("back-{index}.s19"), "-o", &format!("back-{index}.bin")], folder);
        let back = std::fs::read(folder.join(format!("back-{index}.bin"))).unwrap();
        assert_eq!(back, std::fs::read(folder.join(format!("{name}.bin"))).unwrap());
    }
}

#[test]
fn a_reader_that_is_stopped_sends_nothing_more_until_it_is_started() {
    let folder = tempfile::tempdir().unwrap();
    let bytes: Vec<u8> = (0..200u16).map(|step| step as u8).collect();
    std::fs::write(folder.path().join("all.tape"), &bytes).unwrap();
    let Some(mut far) = FarEnd::new() else { return };
    let near = far.near.clone();
    let child = start(&["send", "all.tape", "--port", &near, "--line", "1200 8N1", "--wait", "control"], folder.path());
    let mut heard = Vec::new();
    let started = Instant::now();
    while heard.is_empty() && started.elapsed() < LONG {
        far.put(&[DC1]);
        heard.extend(far.take(1, Duration::from_millis(100)));
    }
    heard.extend(far.take(60, LONG));
    far.put(&[DC3]);
    // What was under way still comes; then the line is quiet, long before the tape is through.
    let after_stop = far.take(400, Duration::from_millis(800));
    assert!(heard.len() + after_stop.len() < 180, "{} characters after the stop", after_stop.len());
    assert!(far.take(1, Duration::from_millis(500)).is_empty(), "the tape goes on");
    heard.extend(after_stop);
    far.put(&[DC1]);
    let left = bytes.len() - heard.len();
    heard.extend(far.take(left, LONG));
    let output = wait(child);
    assert!(output.status.success(), "{}", told(&output));
    assert_eq!(heard, bytes);
}

#[test]
fn an_echo_is_waited_for_and_a_wrong_one_is_told_with_its_byte() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("b.tape"), [7; 40]).unwrap();
    for wrong in [None, Some(25)] {
        let Some(mut far) = FarEnd::new() else { return };
        let near = far.near.clone();
        let child = start(&["send", "b.tape", "--port", &near, "--line", "9600 8N1", "--wait", "echo"], folder.path());
        for number in 0..40 {
            let heard = far.take(1, LONG);
            assert_eq!(heard, [7]);
            // Nothing more comes until this one is echoed.
            if number == 10 {
                assert!(far.take(1, Duration::from_millis(150)).is_empty());
            }
            let echo = if wrong == Some(number) { 3 } else { 7 };
            far.put(&[echo]);
            if wrong == Some(number) {
                break;
            }
        }
        let output = wait(child);
        assert_eq!(output.status.success(), wrong.is_none(), "{}", told(&output));
        if wrong.is_some() {
            assert!(
                told(&output).contains("[line-answer] error: byte 25 came back as `003 (03H)`, sent was `007 (07H)`"),
                "{}",
                told(&output)
            );
        }
    }
}

/// The byte has gone out, whatever came back: it is counted, and nothing says that it should be sent again.
#[test]
fn a_byte_that_came_back_wrong_was_sent() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("b.tape"), [7; 40]).unwrap();
    for (wrong, sent, on) in
        [(0, "1 of 40 bytes was sent", "`--from 1`"), (25, "26 of 40 bytes were sent", "`--from 26`")]
    {
        let Some(mut far) = FarEnd::new() else { return };
        let near = far.near.clone();
        let child = start(&["send", "b.tape", "--port", &near, "--line", "9600 8N1", "--wait", "echo"], folder.path());
        for number in 0..=wrong {
            assert_eq!(far.take(1, LONG), [7]);
            far.put(&[if number == wrong { 3 } else { 7 }]);
        }
        let told = told(&wait(child));
        assert!(told.contains(sent) && told.contains(&format!("to go on behind that byte: {on}\n")), "{told}");
        assert!(!told.contains("nothing was sent") && told.matches("--from").count() == 1, "{told}");
    }
}

/// Whether a byte arrived whose echo never came is not known here, and both ways to go on are named.
#[test]
fn a_byte_that_was_not_echoed_may_have_arrived() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("b.tape"), [7; 40]).unwrap();
    for echoed in [0, 12] {
        let Some(mut far) = FarEnd::new() else { return };
        let near = far.near.clone();
        let send = ["send", "b.tape", "--port", &near, "--line", "9600 8N1", "--wait", "echo", "--patience", "1"];
        let child = start(&send, folder.path());
        for number in 0..=echoed {
            assert_eq!(far.take(1, LONG), [7]);
            if number < echoed {
                far.put(&[7]);
            }
        }
        let (told, sent) = (told(&wait(child)), echoed + 1);
        let on = format!("to go on: `--from {sent}`, or `--from {echoed}` if byte {echoed} did not arrive");
        assert!(told.contains(&format!("did not echo byte {echoed}")) && told.contains(&on), "{told}");
        assert!(told.contains(&format!("{sent} of 40 bytes w")), "{told}");
    }
}

/// The last byte of a block came back wrong: the loader has not taken the block.
#[test]
fn a_block_whose_last_byte_came_back_wrong_is_sent_again() {
    let folder = tempfile::tempdir().unwrap();
    let tape = two_programs(folder.path());
    let reading = decode(&bundled("blocks").unwrap(), &tape);
    let block = reading.blocks().next().unwrap().range.clone();
    let Some(mut far) = FarEnd::new() else { return };
    let near = far.near.clone();
    let send = ["send", "two.tape", "--port", &near, "--line", "57600 8N1", "--wait", "echo", "--framing", "blocks"];
    let child = start(&send, folder.path());
    for (number, byte) in tape.iter().enumerate().take(block.end) {
        assert_eq!(far.take(1, LONG), [*byte], "byte {number}");
        far.put(&[if number == block.end - 1 { !byte } else { *byte }]);
    }
    let told = told(&wait(child));
    let on = format!("to go on at the start of the block that was cut: `--from {}`", block.start);
    assert!(told.contains(&on), "{told}");
}

/// What a port took before it took no more is counted.
#[test]
fn bytes_that_a_port_took_before_it_jammed_were_sent() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    std::fs::write(folder.join("long.bin"), [0o123; 30_000]).unwrap();
    ok(&["tape", "write", "long.bin", "--origin", "0", "--entry", "0", "-o", "long.tape"], folder);
    let Some(far) = FarEnd::new() else { return };
    let near = far.near.clone();
    // The far end reads nothing once its helper is stopped, and the line fills up.
    far.pause();
    let send = ["send", "long.tape", "--port", &near, "--line", "115200 8N1", "--patience", "1", "--framing", "blocks"];
    let told = told(&wait(start(&send, folder)));
    assert!(told.contains("takes no more bytes"), "{told}");
    far.resume();
    let sent = far.take(100_000, Duration::from_secs(1)).len();
    assert!(told.contains(&format!("note: {sent} of ")), "{sent} came: {told}");
}

/// What the cautions of a line speak of.
const CAUTIONED: [&str; 4] = ["RS-232", "current loop", "TTL", "may move"];

#[test]
fn cautions_are_told_once_to_people_and_not_to_programs() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("s.tape"), [0; 6]).unwrap();
    let Some(far) = FarEnd::new() else { return };
    let near = far.near.clone();
    let send = ["send", "s.tape", "--port", &near, "--line", "9600 8N1"];
    let output = run(&send, folder.path());
    assert!(output.status.success());
    let told = told(&output);
    assert_eq!(told.lines().count(), 2, "{told}");
    for word in CAUTIONED {
        assert_eq!(told.matches(word).count(), 1, "{word}: {told}");
    }
    assert!(!String::from_utf8(output.stdout).unwrap().contains("caution"));
    let output = run(&[&send[..], &["--json"]].concat(), folder.path());
    assert_eq!((output.status.code(), output.stderr), (Some(0), Vec::new()));
    assert_eq!(String::from_utf8(output.stdout).unwrap().lines().count(), 1);
    for command in ["send", "receive"] {
        let help = ok(&[command, "--help"], folder.path()).split_whitespace().collect::<Vec<_>>().join(" ");
        for word in CAUTIONED {
            assert!(help.contains(word), "`{command} --help` does not say {word}: {help}");
        }
    }
}

#[test]
fn a_torn_line_tells_how_far_it_got_and_how_to_go_on() {
    let folder = tempfile::tempdir().unwrap();
    two_programs(folder.path());
    let Some(far) = FarEnd::new() else { return };
    let near = far.near.clone();
    let send = ["send", "two.tape", "--port", &near, "--line", "2400 8N1", "--framing", "blocks"];
    let child = start(&send, folder.path());
    assert_eq!(far.take(175, LONG).len(), 175);
    far.tear();
    let output = wait(child);
    assert_eq!(output.status.code(), Some(1));
    let told = told(&output);
    assert!(told.contains("[port-unavailable]") && told.contains("is gone"), "{told}");
    // The first block of the first program stands from 168 to 303, behind lettering and leader.
    let tape = std::fs::read(folder.path().join("two.tape")).unwrap();
    let reading = decode(&bundled("blocks").unwrap(), &tape);
    let first = reading.blocks().next().unwrap().range.clone();
    assert!(first.contains(&175), "{first:?}");
    assert!(told.contains(&format!("`--from {}`", first.start)), "{told}");
}

#[test]
fn a_stop_in_the_middle_is_clean_and_the_rest_can_be_sent_later() {
    let folder = tempfile::tempdir().unwrap();
    let bytes: Vec<u8> = (0..200u16).map(|step| (step * 3) as u8).collect();
    std::fs::write(folder.path().join("all.tape"), &bytes).unwrap();
    let Some(far) = FarEnd::new() else { return };
    let near = far.near.clone();
    let child = start(&["send", "all.tape", "--port", &near, "--line", "600 8N1"], folder.path());
    let mut heard = far.take(60, LONG);
    interrupt(&child);
    let output = wait(child);
    assert_eq!(output.status.code(), Some(1));
    let told = told(&output);
    assert!(told.contains("[transfer-stopped] error: stopped before the end"), "{told}");
    heard.extend(far.take(200, Duration::from_millis(200)));
    assert!(told.contains(&format!("{} of 200 bytes were sent", heard.len())), "{} came: {told}", heard.len());
    let from = heard.len().to_string();
    assert!(told.contains(&format!("`--from {from}`")), "{told}");
    let child = start(&["send", "all.tape", "--port", &near, "--line", "9600 8N1", "--from", &from], folder.path());
    heard.extend(far.take(bytes.len() - heard.len(), LONG));
    assert!(wait(child).status.success());
    assert_eq!(heard, bytes);
}

#[test]
fn the_pace_is_the_lines() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("s.tape"), [0; 60]).unwrap();
    let Some(far) = FarEnd::new() else { return };
    let near = far.near.clone();
    let child = start(&["send", "s.tape", "--port", &near, "--line", "600 8N1", "--gap", "0.005"], folder.path());
    far.take(1, LONG);
    let start = Instant::now();
    assert_eq!(far.take(59, LONG).len(), 59);
    let time = start.elapsed();
    // 59 characters of 16.67 ms with 5 ms behind each: 1.278 s. A busy machine may be later, but never early.
    assert!(time > Duration::from_millis(1200), "{time:?}");
    assert!(wait(child).status.success());
}

#[test]
fn ports_that_cannot_be_used_are_told() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("s.tape"), [0; 6]).unwrap();
    let send = |port: &str| {
        let output = run(&["send", "s.tape", "--port", port, "--line", "300 8N2"], folder.path());
        assert_eq!(output.status.code(), Some(1));
        told(&output)
    };
    let unknown = send("/dev/no-such-port");
    assert!(unknown.contains("[port-unavailable]") && unknown.contains("`/dev/no-such-port`"), "{unknown}");
    assert!(unknown.contains("coldwright ports"), "{unknown}");
    let Some(far) = FarEnd::new() else { return };
    let near = far.near.clone();
    let _held = serialport::new(&near, 9600).open().unwrap();
    let busy = send(&near);
    assert!(busy.contains("[port-unavailable]") && busy.contains("busy"), "{busy}");
}

#[test]
fn a_loader_that_never_asks_is_given_up() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("s.tape"), [0; 6]).unwrap();
    let Some(far) = FarEnd::new() else { return };
    let near = far.near.clone();
    for (wait, text) in [("control", "sent no DC1"), ("echo", "did not echo byte 0")] {
        let send = ["send", "s.tape", "--port", &near, "--line", "300 8N2", "--patience", "0.3", "--wait", wait];
        let output = run(&send, folder.path());
        assert_eq!(output.status.code(), Some(1));
        assert!(told(&output).contains("[line-answer]") && told(&output).contains(text), "{}", told(&output));
    }
}

#[test]
fn a_capture_ends_when_the_line_is_quiet_stopped_or_torn_and_keeps_what_came() {
    let folder = tempfile::tempdir().unwrap();
    for (how, code) in [("quiet", 0), ("stop", 0), ("torn", 1)] {
        let Some(mut far) = FarEnd::new() else { return };
        let near = far.near.clone();
        let quiet = if how == "quiet" { "0.3" } else { "30" };
        let receive = ["receive", "--port", &near, "--line", "9600 8N1", "--start-reader", "--quiet", quiet];
        let child = start(&[&receive[..], &["-o", "heard.tape"]].concat(), folder.path());
        assert_eq!(far.take(1, LONG), [DC1], "{how}");
        far.put(b"\0\0BELL\r\n\x11\x13\xFF");
        std::thread::sleep(Duration::from_millis(300));
        match how {
            "stop" => interrupt(&child),
            "torn" => far.tear(),
            _ => {}
        }
        let output = wait(child);
        assert_eq!(output.status.code(), Some(code), "{how}: {}", told(&output));
        assert_eq!(std::fs::read(folder.path().join("heard.tape")).unwrap(), b"\0\0BELL\r\n\x11\x13\xFF", "{how}");
        if how == "torn" {
            assert!(told(&output).contains("11 bytes had come, and are in `heard.tape`"), "{}", told(&output));
        }
    }
}
