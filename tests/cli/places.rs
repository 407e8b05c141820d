//! What stands where an output goes: a link, a device, a pipe, a file that may not be written, standard output by one of
//! its names. Devices are made in the test's own folder: a program that replaced them would take the machine's along.

use std::fs;
use std::io::Read;
use std::os::unix::fs::{FileTypeExt, MetadataExt, PermissionsExt, symlink};
use std::path::Path;
use std::process::Command;

use crate::bench::{Bench, EARLIER, Ended, HEX, ended, is_root, signal, skip, until};

fn convert(output: &str) -> [&str; 6] {
    ["convert", "bell.asm", "--to", "hex", "-o", output]
}

/// Makes a device in the folder. Whoever may not takes the machine's own, which only the superuser could replace.
fn device(bench: &Bench, kind: &str, major: u32, minor: u32, own: &str) -> Option<String> {
    if !is_root() {
        return Path::new(own).exists().then(|| own.to_owned());
    }
    let numbers = [major.to_string(), minor.to_string()];
    let made = Command::new("mknod").arg(bench.path("device")).arg(kind).args(numbers).status();
    if made.is_ok_and(|status| status.success()) {
        return Some("device".into());
    }
    skip("no device can be made here");
    None
}

fn is_device(bench: &Bench, name: &str) -> bool {
    fs::symlink_metadata(bench.path(name)).unwrap().file_type().is_char_device()
}

fn pipe(bench: &Bench) -> String {
    assert!(Command::new("mkfifo").arg(bench.path("pipe")).status().unwrap().success());
    "pipe".into()
}

#[test]
fn a_link_stays_and_its_target_is_written() {
    let bench = Bench::new();
    fs::create_dir(bench.path("shelf")).unwrap();
    bench.put("shelf/real.hex", EARLIER);
    symlink("shelf/real.hex", bench.path("near.hex")).unwrap();
    symlink("near.hex", bench.path("far.hex")).unwrap();
    bench.run(&convert("far.hex")).assert_done();
    assert_eq!(bench.text("shelf/real.hex"), HEX);
    for name in ["near.hex", "far.hex"] {
        assert!(fs::symlink_metadata(bench.path(name)).unwrap().is_symlink(), "{name} is no link any more");
    }
    assert_eq!(fs::read_dir(bench.path("shelf")).unwrap().count(), 1, "something is left behind");
}

#[test]
fn a_link_to_a_file_that_is_not_there_makes_it() {
    let bench = Bench::new();
    fs::create_dir(bench.path("shelf")).unwrap();
    symlink("shelf/new.hex", bench.path("link.hex")).unwrap();
    bench.run(&convert("link.hex")).assert_done();
    assert_eq!(bench.text("shelf/new.hex"), HEX);
    assert!(fs::symlink_metadata(bench.path("link.hex")).unwrap().is_symlink());
    symlink("ring.hex", bench.path("ring.hex")).unwrap();
    bench.run(&convert("ring.hex")).assert_fails("file-unwritable", &["`ring.hex`"]);
}

/// A copy of a folder that was made with hard links keeps what it holds.
#[test]
fn a_file_with_two_names_is_replaced_under_one_of_them() {
    let bench = Bench::new();
    bench.put("bell.hex", EARLIER);
    fs::hard_link(bench.path("bell.hex"), bench.path("kept.hex")).unwrap();
    bench.run(&convert("bell.hex")).assert_done();
    assert_eq!((bench.text("bell.hex"), bench.text("kept.hex")), (HEX.to_owned(), EARLIER.to_owned()));
}

#[test]
fn a_device_is_written_to_and_stays() {
    let bench = Bench::new();
    let Some(null) = device(&bench, "c", 1, 3, "/dev/null") else { return };
    for arguments in [&convert(&null)[..], &["audio", "write", "bell.asm", "-o", &null]] {
        bench.run(arguments).assert_done();
        assert!(is_device(&bench, &null), "{arguments:?}");
    }
    assert_eq!(bench.temporary(), [""; 0]);
}

#[test]
fn a_device_that_is_full_is_an_error() {
    let bench = Bench::new();
    let Some(full) = device(&bench, "c", 1, 7, "/dev/full") else { return };
    bench.put("bell.s19", EARLIER);
    let both = ["convert", "bell.asm", "--to", "hex", "-o", "bell.s19", "-o", &full];
    let told = format!("cannot write `{full}`: ");
    bench.run(&both).assert_fails("file-unwritable", &[&told, "no output of this run was put in place"]);
    assert!(is_device(&bench, &full));
    assert_eq!(bench.text("bell.s19"), EARLIER);
    assert_eq!(bench.temporary(), [""; 0]);
}

/// The numbers are of those for local use, behind which there is no disk.
#[test]
fn a_disk_is_refused() {
    let bench = Bench::new();
    if !is_root() {
        return println!("skipped: only the superuser makes devices");
    }
    let Some(disk) = device(&bench, "b", 240, 200, "") else { return };
    bench.run(&convert(&disk)).assert_fails("file-unwritable", &["`device`: it is a disk"]);
    assert!(fs::symlink_metadata(bench.path(&disk)).unwrap().file_type().is_block_device());
}

#[test]
fn a_pipe_is_written_to_and_stays() {
    let bench = Bench::new();
    let pipe = pipe(&bench);
    let path = bench.path(&pipe);
    let reader = std::thread::spawn(move || {
        let mut text = String::new();
        fs::File::open(path).unwrap().read_to_string(&mut text).unwrap();
        text
    });
    bench.run(&["convert", "bell.asm", "--to", "hex", "-o", &pipe, "-o", "bell.s19"]).assert_done();
    assert!(fs::symlink_metadata(bench.path(&pipe)).unwrap().file_type().is_fifo());
    assert_eq!(reader.join().unwrap(), HEX);
    assert_eq!(bench.names(), ["bell.asm", "bell.s19", "pipe"]);
}

/// What is staged meanwhile is gone when the run is stopped.
#[test]
fn a_pipe_that_nobody_reads_is_waited_for_until_a_stop() {
    let bench = Bench::new();
    let pipe = pipe(&bench);
    bench.put("bell.s19", EARLIER);
    let mut child = bench.start(&["convert", "bell.asm", "--to", "hex", "-o", &pipe, "-o", "bell.s19"]);
    until("the other output is staged", || !bench.temporary().is_empty());
    std::thread::sleep(std::time::Duration::from_millis(100));
    assert!(child.try_wait().unwrap().is_none(), "it does not wait");
    signal(&child, "TERM");
    assert_eq!(child.wait().unwrap().code(), None, "a signal ends it");
    assert_eq!(bench.names(), ["bell.asm", "bell.s19", "pipe"]);
    assert_eq!(bench.text("bell.s19"), EARLIER);
}

#[test]
fn a_recording_goes_through_a_pipe() {
    let bench = Bench::new();
    let made: Vec<u8> = (0..40u32).map(|at| (at.wrapping_mul(0x9E37_79B1) >> 24) as u8).collect();
    bench.put("forty.tape", &made);
    bench.shell("\"$0\" audio write forty.tape -o - | \"$0\" audio read - -o back.tape").assert_done();
    assert_eq!(bench.bytes("back.tape"), made);
}

#[test]
fn a_file_that_may_only_be_read_is_refused() {
    let bench = Bench::new();
    bench.put("bell.hex", EARLIER);
    bench.put("bell.s19", EARLIER);
    fs::set_permissions(bench.path("bell.hex"), fs::Permissions::from_mode(0o444)).unwrap();
    symlink("bell.hex", bench.path("link.hex")).unwrap();
    for output in ["bell.hex", "link.hex"] {
        let both = ["convert", "bell.asm", "-o", "bell.s19", "-o", output];
        bench.run(&both).assert_fails("file-unwritable", &[&format!("`{output}`: it may only be read")]);
    }
    assert_eq!((bench.text("bell.hex"), bench.text("bell.s19")), (EARLIER.to_owned(), EARLIER.to_owned()));
}

#[test]
fn mode_and_owner_stay() {
    let bench = Bench::new();
    for mode in [0o600, 0o640, 0o775] {
        bench.put("bell.hex", EARLIER);
        fs::set_permissions(bench.path("bell.hex"), fs::Permissions::from_mode(mode)).unwrap();
        if is_root() {
            std::os::unix::fs::chown(bench.path("bell.hex"), Some(4321), Some(1234)).unwrap();
        }
        let before = fs::metadata(bench.path("bell.hex")).unwrap();
        bench.run(&convert("bell.hex")).assert_done();
        let after = fs::metadata(bench.path("bell.hex")).unwrap();
        assert_eq!((after.mode(), after.uid(), after.gid()), (before.mode(), before.uid(), before.gid()), "{mode:o}");
        assert_eq!(bench.text("bell.hex"), HEX);
    }
}

/// Runs the program as somebody who is not the superuser.
fn as_anybody(bench: &Bench, line: &str) -> Option<Ended> {
    if !is_root() {
        return Some(bench.shell(line));
    }
    // The program lies where nobody else may look.
    let program = bench.path("coldwright");
    // Not copied by this process: what another test starts at that moment would hold the copy open for writing, and a
    // program that is open for writing cannot be run.
    let copied = Command::new("cp").arg(env!("CARGO_BIN_EXE_coldwright")).arg(&program).status();
    assert!(copied.unwrap().success());
    fs::set_permissions(&program, fs::Permissions::from_mode(0o755)).unwrap();
    fs::set_permissions(bench.folder(), fs::Permissions::from_mode(0o777)).unwrap();
    let user = ["--reuid=4321", "--regid=1234", "--clear-groups", "sh", "-c", line, "./coldwright"];
    match bench.command_of(Path::new("setpriv"), &user).output() {
        Ok(output) => Some(ended(output)),
        Err(_) => {
            skip("there is no `setpriv` to become another user");
            None
        }
    }
}

#[test]
fn devices_are_written_to_by_whoever_may() {
    let bench = Bench::new();
    let Some(null) = as_anybody(&bench, "\"$0\" convert bell.asm --to hex -o /dev/null") else { return };
    null.assert_done();
    let Some(out) = as_anybody(&bench, "\"$0\" convert bell.asm --to hex -o /dev/stdout | cat") else { return };
    assert_eq!((out.out, out.err), (HEX.into(), String::new()));
}

#[test]
fn a_file_of_another_user_is_refused() {
    let bench = Bench::new();
    if !is_root() {
        return println!("skipped: only the superuser gives files away");
    }
    bench.put("bell.hex", EARLIER);
    fs::set_permissions(bench.path("bell.hex"), fs::Permissions::from_mode(0o666)).unwrap();
    let Some(ended) = as_anybody(&bench, "\"$0\" convert bell.asm -o bell.hex") else { return };
    ended.assert_fails("file-unwritable", &["`bell.hex`: it belongs to another user or group"]);
    assert_eq!(bench.text("bell.hex"), EARLIER);
    assert_eq!(bench.temporary(), [""; 0]);
}

/// As somebody who could not replace these names.
#[test]
fn standard_output_has_several_names() {
    let bench = Bench::new();
    let log = |text: &str| {
        bench.put("log", text);
        fs::set_permissions(bench.path("log"), fs::Permissions::from_mode(0o666)).unwrap();
    };
    for name in ["-", "/dev/stdout", "/dev/fd/1"] {
        let convert = format!("\"$0\" convert bell.asm --to hex -o {name}");
        let Some(ended) = as_anybody(&bench, &convert) else { return };
        assert_eq!((ended.out, ended.err), (HEX.into(), String::new()), "{name}");
        log(EARLIER);
        as_anybody(&bench, &format!("{convert} >>log")).unwrap().assert_done();
        assert_eq!(bench.text("log"), format!("{EARLIER}{HEX}"), "{name}");
    }
    // What is told of a tape does not go among its frames.
    let write = "\"$0\" tape write bell.asm --entry 0 -o";
    let tapes = ["-", "/dev/stdout"].map(|name| as_anybody(&bench, &format!("{write} {name}")).unwrap().out);
    assert!(tapes[0] == tapes[1] && tapes[0].len() > 100, "{} and {} frames", tapes[0].len(), tapes[1].len());
    // The file that the shell has opened is not moved away below it.
    let line = "{ \"$0\" convert bell.asm --to hex -o log; echo more; } >log";
    as_anybody(&bench, line).unwrap().assert_done();
    assert_eq!(bench.text("log"), format!("{HEX}more\n"));
}

#[test]
fn a_standard_output_that_is_closed_is_an_error() {
    let bench = Bench::new();
    let convert = "\"$0\" convert bell.asm --to hex";
    for name in ["-", "/dev/stdout"] {
        let Some(ended) = as_anybody(&bench, &format!("{convert} -o {name} -o bell.s19 >&-")) else { return };
        ended.assert_fails("file-unwritable", &["it is closed"]);
        assert!(!bench.path("bell.s19").exists() && bench.temporary().is_empty());
    }
    for line in ["-o - >/dev/null", "-o /dev/null >&-", "-o bell.s19 >&-"] {
        as_anybody(&bench, &format!("{convert} {line}")).unwrap().assert_done();
    }
    bench.shell("\"$0\" assemble bell.asm >&-").assert_done();
}

/// Whoever asks for help and cannot have it is told so by the exit code.
#[test]
fn help_that_cannot_be_printed_is_an_error() {
    let bench = Bench::new();
    let Some(full) = device(&bench, "c", 1, 7, "/dev/full") else { return };
    for arguments in ["--help", "send --help", "--version"] {
        bench.shell(&format!("\"$0\" {arguments} >{full}")).assert_fails("file-unwritable", &["standard output"]);
    }
}

#[test]
fn a_place_in_no_folder_is_refused() {
    let bench = Bench::new();
    fs::create_dir(bench.path("shelf")).unwrap();
    let reasons = [
        ("nowhere/bell.hex", "its folder does not exist"),
        ("bell.asm/bell.hex", "its folder does not exist"),
        ("shelf", "it is a directory"),
        ("nowhere/", "it is named as a directory"),
        (".", "it is a directory"),
    ];
    for (output, why) in reasons {
        let both = ["convert", "bell.asm", "--to", "hex", "-o", "bell.hex", "-o", output];
        bench.run(&both).assert_fails("file-unwritable", &[&format!("cannot write `{output}`: {why}")]);
        assert_eq!(bench.names(), ["bell.asm", "shelf"], "{output}");
    }
}

#[test]
fn two_outputs_in_one_place_are_refused() {
    let bench = Bench::new();
    symlink("bell.hex", bench.path("link.s19")).unwrap();
    for other in ["bell.hex", "./bell.hex", "link.s19"] {
        let ended = bench.run(&["convert", "bell.asm", "-o", "bell.hex", "-o", other]);
        ended.assert_fails("file-unwritable", &["`bell.hex` of the same run goes to the same file"]);
    }
    assert_eq!(bench.names(), ["bell.asm", "link.s19"]);
}

#[test]
fn a_file_that_is_no_page_of_labels_is_not_taken_for_one() {
    let bench = Bench::new();
    let write = ["parts", "write", "bell.asm", "--socket", "U3=2704@0", "-o", "parts"];
    bench.run(&write).assert_done();
    // A page of its own is made anew.
    bench.run(&write).assert_done();
    bench.put("parts/labels.txt", EARLIER);
    fs::remove_file(bench.path("parts/U3.bin")).unwrap();
    bench.run(&write).assert_fails("file-unwritable", &["no page of labels"]);
    assert_eq!(bench.text("parts/labels.txt"), EARLIER);
    assert!(!bench.path("parts/U3.bin").exists());
}

#[test]
fn parts_with_nothing_in_them_are_not_written() {
    let bench = Bench::new();
    bench.put("none.asm", "\tEND\n");
    let write = ["parts", "write", "none.asm", "--socket", "U3=2704@0", "-o", "parts"];
    bench.run(&write).assert_fails("nothing-to-deposit", &["`none.asm` holds no byte"]);
    assert!(!bench.path("parts").exists());
}
