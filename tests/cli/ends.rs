//! A run that is ended from outside: by a stop, by a terminal that closes, by a kill. It takes its temporary files along,
//! or the next one does, and what does not belong together any more is told.

use std::fs;
use std::process::Child;
use std::time::Duration;

use crate::bench::{Bench, EARLIER, HEX, ended, is_root, signal, until};

/// Begins a recording of hours, and waits until it is under way.
fn long_recording(bench: &Bench) -> Child {
    bench.put("long.tape", vec![0x55; 200_000]);
    let child = bench.start(&["audio", "write", "long.tape", "--rate", "96000", "-o", "long.wav"]);
    until("the recording is under way", || {
        bench.temporary().iter().any(|yard| bench.path(&format!("{yard}/0")).exists())
    });
    child
}

#[test]
fn a_recording_that_is_stopped_leaves_nothing_behind() {
    for name in ["INT", "TERM", "HUP"] {
        let bench = Bench::new();
        let child = long_recording(&bench);
        signal(&child, name);
        let ended = ended(child.wait_with_output().unwrap());
        ended.assert_fails("transfer-stopped", &["stopped before the end"]);
        assert_eq!(bench.names(), ["bell.asm", "long.tape"], "{name}");
    }
}

#[test]
fn what_a_killed_run_has_left_goes_with_the_next() {
    let bench = Bench::new();
    for next in [&["convert", "bell.asm", "-o", "bell.hex"][..], &["audio", "write", "bell.asm", "-o", "bell.wav"]] {
        let mut child = long_recording(&bench);
        child.kill().unwrap();
        child.wait().unwrap();
        assert_eq!(bench.temporary().len(), 1, "a kill leaves what was written");
        bench.run(next).assert_done();
        assert_eq!(bench.temporary(), [""; 0]);
    }
}

#[test]
fn what_a_run_under_way_is_making_stays() {
    let bench = Bench::new();
    let child = long_recording(&bench);
    bench.run(&["convert", "bell.asm", "-o", "bell.hex"]).assert_done();
    assert_eq!(bench.temporary().len(), 1);
    signal(&child, "INT");
    ended(child.wait_with_output().unwrap()).assert_fails("transfer-stopped", &[]);
}

#[test]
fn what_has_but_a_like_name_stays() {
    let bench = Bench::new();
    let names = [".coldwright-notes1", ".coldwright-a", ".coldwright-abcdefg"];
    for name in names {
        fs::create_dir(bench.path(name)).unwrap();
        bench.put(&format!("{name}/mine"), "mine");
    }
    bench.put(".coldwright-abcdef", "mine");
    bench.run(&["convert", "bell.asm", "-o", "bell.hex", "-o", "bell.s19"]).assert_done();
    assert_eq!(bench.temporary().len(), names.len() + 1);
}

/// `nohup` has a closed terminal ignored.
#[cfg(target_os = "linux")]
#[test]
fn a_closed_terminal_that_is_ignored_stops_nothing() {
    let bench = Bench::new();
    bench.put("long.tape", vec![0x55; 200_000]);
    let line = "trap '' HUP; exec \"$0\" audio write long.tape --rate 96000 -o long.wav";
    let arguments = ["-c", line, env!("CARGO_BIN_EXE_coldwright")];
    let mut child = bench.command_of(std::path::Path::new("sh"), &arguments).spawn().unwrap();
    until("the recording is under way", || !bench.temporary().is_empty());
    signal(&child, "HUP");
    std::thread::sleep(Duration::from_millis(300));
    assert!(child.try_wait().unwrap().is_none(), "it was stopped");
    signal(&child, "TERM");
    assert_eq!(child.wait().unwrap().code(), Some(1));
}

/// What a run leaves that is killed between its moves: both outputs were ready, one was moved.
fn killed_between(bench: &Bench) {
    bench.put("bell.s19", EARLIER);
    bench.put("bell.hex", HEX);
    let sum = |text: &str| crc::Crc::<u64>::new(&crc::CRC_64_XZ).checksum(text.as_bytes());
    let made = "S1080000AAAAAAAAAA00\n";
    fs::create_dir(bench.path(".coldwright-Ab3Cd4")).unwrap();
    bench.put(".coldwright-Ab3Cd4/1", made);
    let record = format!("[[\"bell.hex\",{}],[\"bell.s19\",{}]]", sum(HEX), sum(made));
    bench.put(".coldwright-Ab3Cd4/record.json", record);
}

#[test]
fn outputs_that_a_kill_has_parted_are_told_once() {
    let bench = Bench::new();
    killed_between(&bench);
    let tell = || bench.run(&["convert", "bell.asm", "-o", "other.hex"]);
    let told = tell();
    told.assert_done();
    assert!(told.err.starts_with("[outputs-mixed] warning: "), "{}", told.err);
    assert!(told.err.contains("note: of that run: `bell.hex`\n  note: not of that run: `bell.s19`\n"), "{}", told.err);
    assert_eq!(bench.temporary(), [""; 0]);
    assert_eq!(tell().err, "");
    assert_eq!((bench.text("bell.hex"), bench.text("bell.s19")), (HEX.to_owned(), EARLIER.to_owned()));
}

/// In a folder for everybody, anybody can leave what looks like a record.
#[test]
fn what_another_user_has_left_is_not_believed() {
    let bench = Bench::new();
    if !is_root() {
        return println!("skipped: only the superuser gives files away");
    }
    killed_between(&bench);
    std::os::unix::fs::chown(bench.path(".coldwright-Ab3Cd4/record.json"), Some(4321), Some(1234)).unwrap();
    let ended = bench.run(&["convert", "bell.asm", "-o", "other.hex"]);
    ended.assert_done();
    assert_eq!((ended.err.as_str(), bench.temporary().len()), ("", 1));
}

#[test]
fn outputs_that_are_made_again_are_not_told_of() {
    for again in [&["-o", "bell.s19"][..], &["-o", "bell.hex", "-o", "bell.s19"]] {
        let bench = Bench::new();
        killed_between(&bench);
        let ended = bench.run(&[&["convert", "bell.asm"], again].concat());
        ended.assert_done();
        assert_eq!(ended.err, "");
        assert_eq!(bench.names(), ["bell.asm", "bell.hex", "bell.s19"]);
    }
}

/// Kills runs with many outputs while they are moved. Wherever old and new ones stand side by side, the next run says so.
#[test]
fn a_kill_parts_no_outputs_unseen() {
    let names: Vec<_> = (0..200).map(|number| format!("{number}.hex")).collect();
    let convert: Vec<_> =
        ["convert", "bell.asm"].into_iter().chain(names.iter().flat_map(|it| ["-o", &**it])).collect();
    let bench = Bench::new();
    let (tries, mut parted) = (20, 0);
    for attempt in 0..tries {
        names.iter().for_each(|name| bench.put(name, EARLIER));
        let mut child = bench.start(&convert);
        // Once there is a record, the moves have begun.
        let has_record = |yard: &String| {
            fs::metadata(bench.path(&format!("{yard}/record.json"))).is_ok_and(|record| record.len() > 0)
        };
        while child.try_wait().unwrap().is_none() && !bench.temporary().iter().any(has_record) {
            std::thread::yield_now();
        }
        std::thread::sleep(Duration::from_micros(200 * attempt));
        child.kill().unwrap();
        child.wait().unwrap();
        assert!(names.iter().all(|name| [HEX, EARLIER].contains(&&*bench.text(name))), "torn in attempt {attempt}");
        let made = names.iter().filter(|name| bench.text(name) == HEX).count();
        let next = bench.run(&["convert", "bell.asm", "-o", "other.hex"]);
        next.assert_done();
        let is_parted = made > 0 && made < names.len();
        assert_eq!(next.err.contains("[outputs-mixed]"), is_parted, "{made} moved in {attempt}: {}", next.err);
        assert_eq!(bench.temporary(), [""; 0], "attempt {attempt}");
        parted += u32::from(is_parted);
    }
    println!("{parted} of {tries} kills fell between the moves");
}
