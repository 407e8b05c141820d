//! An output appears whole or not at all, and a good one that stands there survives a failed run.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

use tempfile::TempDir;

use crate::bench::{Bench, ended, skip};

/// An image of all 64 KiB as raw bytes, and outputs of an earlier run.
fn folder() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let bytes: Vec<u8> = (0..0x1_0000u32).map(|at| (at.wrapping_mul(0x9E37_79B1) >> 24) as u8).collect();
    fs::write(folder.path().join("tower.bin"), bytes).unwrap();
    for name in ["tower.hex", "tower.s37"] {
        fs::write(folder.path().join(name), EARLIER).unwrap();
    }
    folder
}

const EARLIER: &str = "the good file of an earlier run\n";
const CONVERT: [&str; 8] = ["convert", "tower.bin", "--origin", "0", "-o", "tower.hex", "-o", "tower.s37"];

fn coldwright(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_coldwright"));
    command.args(arguments).current_dir(folder).env("NO_COLOR", "1");
    command
}

/// Runs the program from a shell that has done `before`.
#[cfg(unix)]
fn from_shell(folder: &Path, before: &str, after: &str) -> Output {
    let script = format!("{before}; exec \"$0\" \"$@\" {after}");
    let mut command = Command::new("sh");
    command.args(["-c", &script, env!("CARGO_BIN_EXE_coldwright")]).args(CONVERT).current_dir(folder);
    command.output().unwrap()
}

fn contents(folder: &Path, name: &str) -> String {
    fs::read_to_string(folder.join(name)).unwrap()
}

fn assert_untouched(folder: &Path) {
    for name in ["tower.hex", "tower.s37"] {
        assert!(contents(folder, name) == EARLIER, "{name} was touched");
    }
}

#[test]
fn outputs_are_put_in_place() {
    let folder = folder();
    let output = coldwright(folder.path(), &CONVERT).output().unwrap();
    assert!(output.status.success(), "{output:?}");
    assert!(contents(folder.path(), "tower.hex").ends_with(":00000001FF\n"));
    assert!(contents(folder.path(), "tower.s37").ends_with("S70500000000FA\n"));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 3, "nothing else is left");
}

/// The limit on the size of files stands for a full disk: the write fails half-way with an error.
#[test]
#[cfg(unix)]
fn a_full_disk_leaves_the_earlier_files() {
    let folder = folder();
    let output = from_shell(folder.path(), "trap '' XFSZ; ulimit -f 100", "");
    let problems = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{problems}");
    assert!(problems.contains("[file-unwritable]") && problems.contains("`tower.hex`"), "{problems}");
    assert_untouched(folder.path());
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 3, "nothing is left behind");
}

/// A file system of 48 KiB.
#[test]
#[cfg(target_os = "linux")]
fn a_disk_that_is_full_leaves_the_earlier_files() {
    let folder = folder();
    let disk = folder.path().join("disk");
    fs::create_dir(&disk).unwrap();
    let mut mount = Command::new("mount");
    mount.args(["-t", "tmpfs", "-o", "size=48k", "none"]).arg(&disk).stderr(Stdio::null());
    if !mount.status().is_ok_and(|status| status.success()) {
        return println!(
            "skipped: only the superuser makes file systems; the limit on the size of files stands for it"
        );
    }
    for name in ["tower.hex", "tower.s37"] {
        fs::write(disk.join(name), EARLIER).unwrap();
    }
    let convert = ["convert", "../tower.bin", "--origin", "0", "-o", "tower.hex", "-o", "tower.s37"];
    let record = ["audio", "write", "../tower.bin", "-o", "tower.wav"];
    let runs = [coldwright(&disk, &convert).output().unwrap(), coldwright(&disk, &record).output().unwrap()];
    let found = (contents(&disk, "tower.hex"), contents(&disk, "tower.s37"), fs::read_dir(&disk).unwrap().count());
    assert!(Command::new("umount").arg(&disk).status().unwrap().success());
    for run in runs {
        ended(run).assert_fails("file-unwritable", &["No space left on device"]);
    }
    assert_eq!(found, (EARLIER.to_owned(), EARLIER.to_owned(), 2));
}

/// The same limit kills a process that does not ignore it, in the middle of a write.
#[test]
#[cfg(unix)]
fn a_process_killed_in_the_middle_of_a_write_leaves_the_earlier_files() {
    let folder = folder();
    let output = from_shell(folder.path(), "ulimit -f 100", "");
    assert_eq!(output.status.code(), None, "the process must have been killed");
    assert_untouched(folder.path());
}

/// Kills runs at moments spread over the time that one takes: every output is the earlier file or the whole new one.
#[test]
fn a_process_killed_at_any_moment_leaves_whole_files() {
    let whole = folder();
    let start = Instant::now();
    assert!(coldwright(whole.path(), &CONVERT).status().unwrap().success());
    let once = start.elapsed().max(Duration::from_millis(5));
    let steps = 24;
    for step in 0..=steps {
        let folder = folder();
        let mut child = coldwright(folder.path(), &CONVERT).stdin(Stdio::null()).spawn().unwrap();
        std::thread::sleep(once * step / steps);
        child.kill().unwrap();
        child.wait().unwrap();
        for name in ["tower.hex", "tower.s37"] {
            let found = contents(folder.path(), name);
            assert!(found == EARLIER || found == contents(whole.path(), name), "{name} is torn at step {step}");
        }
        for entry in fs::read_dir(folder.path()).unwrap() {
            let name = entry.unwrap().file_name().into_string().unwrap();
            assert!(name.starts_with("tower.") || name.starts_with(".coldwright-"), "{name} looks like an output");
        }
    }
}

#[test]
fn one_output_that_cannot_be_written_holds_back_the_others() {
    let folder = folder();
    let arguments = [&CONVERT[..], &["-o", "nowhere/tower.s19"]].concat();
    let output = coldwright(folder.path(), &arguments).output().unwrap();
    assert_eq!(output.status.code(), Some(1));
    let problems = String::from_utf8_lossy(&output.stderr);
    let expected = "[file-unwritable] error: cannot write `nowhere/tower.s19`: its folder does not exist";
    assert!(problems.starts_with(expected), "{problems}");
    assert_untouched(folder.path());
}

/// What is said of a tape that was written is not said of one that was not.
#[test]
fn nothing_is_told_of_an_output_that_is_not_there() {
    let bench = Bench::new();
    let write = ["tape", "write", "bell.asm", "--entry", "0", "-o", "nowhere/bell.tape"];
    let ended = bench.run(&write);
    ended.assert_fails("file-unwritable", &["`nowhere/bell.tape`: its folder does not exist"]);
    assert_eq!(String::from_utf8(ended.out).unwrap(), "");
}

#[test]
fn an_input_that_is_not_sound_leaves_the_earlier_files() {
    let folder = folder();
    fs::write(folder.path().join("cut.hex"), ":0300300002337A1E\n").unwrap();
    let output = coldwright(folder.path(), &["convert", "cut.hex", "-o", "tower.s37"]).output().unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert_untouched(folder.path());
}

/// A full device stands for whatever cannot be written any more.
#[test]
#[cfg(unix)]
fn a_full_stream_is_an_error() {
    let bench = Bench::new();
    let Some(full) = full_device(&bench) else { return };
    let full = fs::File::options().write(true).open(full).unwrap();
    let output = bench.command(&["convert", "bell.asm", "--to", "hex", "-o", "-"]).stdout(full).output().unwrap();
    ended(output).assert_fails("file-unwritable", &["cannot write standard output"]);
}

/// A device of the test's own: what runs as the superuser may take the machine's for a place of its outputs.
#[cfg(unix)]
fn full_device(bench: &Bench) -> Option<PathBuf> {
    use std::os::unix::fs::FileTypeExt;
    let own = bench.path("full");
    let made = Command::new("mknod").arg(&own).args(["c", "1", "7"]).stderr(Stdio::null()).status();
    if made.is_ok_and(|status| status.success()) {
        return Some(own);
    }
    let is_device = fs::metadata("/dev/full").is_ok_and(|kind| kind.file_type().is_char_device());
    if is_device {
        return Some("/dev/full".into());
    }
    skip("there is no device that is full");
    None
}

/// A recording is written piece by piece; where it fails half-way nothing of it is left.
#[cfg(unix)]
#[test]
fn a_recording_that_finds_the_disk_full_leaves_the_earlier_one() {
    let folder = folder();
    fs::write(folder.path().join("tower.wav"), EARLIER).unwrap();
    let script = "ulimit -f 64; trap '' XFSZ; exec \"$0\" audio write tower.bin -o tower.wav";
    let mut command = Command::new("sh");
    let output = command.args(["-c", script, env!("CARGO_BIN_EXE_coldwright")]).current_dir(folder.path());
    let output = output.output().unwrap();
    assert_eq!(output.status.code(), Some(1), "{output:?}");
    assert!(String::from_utf8_lossy(&output.stderr).contains("[file-unwritable] error: cannot write `tower.wav`"));
    assert_eq!(contents(folder.path(), "tower.wav"), EARLIER);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 4, "nothing else is left");
}
