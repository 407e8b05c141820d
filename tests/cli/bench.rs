//! A folder for one test, and the program run in it.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

use tempfile::TempDir;

/// What stands in a file before a run.
pub const EARLIER: &str = "the good file of an earlier run\n";

/// A program of four bytes, and the Intel HEX that it makes.
pub const SOURCE: &str = "\tORG 0\n\tLXI H,0\n\tHLT\n\tEND\n";
pub const HEX: &str = ":040000002100007665\n:00000001FF\n";

/// A folder with the source `bell.asm`.
pub struct Bench(TempDir);

/// A run that has ended.
pub struct Ended {
    /// The exit code; none if a signal ended it.
    pub code: Option<i32>,
    pub out: Vec<u8>,
    pub err: String,
}

impl Bench {
    pub fn new() -> Bench {
        let bench = Bench(tempfile::tempdir().unwrap());
        bench.put("bell.asm", SOURCE);
        bench
    }

    pub fn folder(&self) -> &Path {
        self.0.path()
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder().join(name)
    }

    pub fn put(&self, name: &str, bytes: impl AsRef<[u8]>) {
        fs::write(self.path(name), bytes).unwrap();
    }

    pub fn bytes(&self, name: &str) -> Vec<u8> {
        fs::read(self.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    pub fn text(&self, name: &str) -> String {
        String::from_utf8(self.bytes(name)).unwrap()
    }

    /// What stands in the folder, in order.
    pub fn names(&self) -> Vec<String> {
        let names = fs::read_dir(self.folder()).unwrap().map(|entry| entry.unwrap().file_name());
        let mut names: Vec<_> = names.map(|name| name.into_string().unwrap()).collect();
        names.sort();
        names
    }

    /// Temporary names in the folder.
    pub fn temporary(&self) -> Vec<String> {
        self.names().into_iter().filter(|name| name.starts_with(".coldwright-")).collect()
    }

    pub fn command(&self, arguments: &[&str]) -> Command {
        self.command_of(Path::new(env!("CARGO_BIN_EXE_coldwright")), arguments)
    }

    pub fn command_of(&self, program: &Path, arguments: &[&str]) -> Command {
        let mut command = Command::new(program);
        command.args(arguments).current_dir(self.folder()).env("NO_COLOR", "1");
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
        command
    }

    pub fn run(&self, arguments: &[&str]) -> Ended {
        ended(self.command(arguments).output().unwrap())
    }

    pub fn start(&self, arguments: &[&str]) -> Child {
        self.command(arguments).spawn().unwrap()
    }

    /// Runs a line of the shell, in which `$0` is the program.
    #[cfg(unix)]
    pub fn shell(&self, line: &str) -> Ended {
        let arguments = ["-c", line, env!("CARGO_BIN_EXE_coldwright")];
        ended(self.command_of(Path::new("sh"), &arguments).output().unwrap())
    }
}

pub fn ended(output: Output) -> Ended {
    let err = String::from_utf8_lossy(&output.stderr).into_owned();
    Ended { code: output.status.code(), out: output.stdout, err }
}

impl Ended {
    #[track_caller]
    pub fn assert_done(&self) {
        assert_eq!(self.code, Some(0), "{}", self.err);
    }

    /// It failed, with one error whose text says all of these.
    #[track_caller]
    pub fn assert_fails(&self, code: &str, says: &[&str]) {
        assert_eq!(self.code, Some(1), "{}{}", String::from_utf8_lossy(&self.out), self.err);
        assert_eq!(self.err.matches("] error:").count(), 1, "one mistake, one error:\n{}", self.err);
        assert!(self.err.contains(&format!("[{code}] error")), "{}", self.err);
        for words in says {
            assert!(self.err.contains(words), "`{words}` is not said:\n{}", self.err);
        }
    }
}

/// Waits until something is so; fails if it does not come to be.
#[track_caller]
pub fn until(what: &str, mut is_so: impl FnMut() -> bool) {
    let start = Instant::now();
    while !is_so() {
        assert!(start.elapsed() < Duration::from_secs(60), "waited in vain: {what}");
        std::thread::sleep(Duration::from_millis(5));
    }
}

/// Sends a signal to a child.
#[cfg(unix)]
pub fn signal(child: &Child, name: &str) {
    assert!(Command::new("kill").args([&format!("-{name}"), &child.id().to_string()]).status().unwrap().success());
}

/// Whether the tests run as the superuser, who may make devices and write where nobody else may.
#[cfg(unix)]
pub fn is_root() -> bool {
    use std::os::unix::fs::MetadataExt;
    tempfile::tempfile().unwrap().metadata().unwrap().uid() == 0
}

/// Says that a test was not made. Where `CI` is `true` that is a failure.
pub fn skip(why: &str) {
    assert!(std::env::var("CI").as_deref() != Ok("true"), "{why}");
    println!("skipped: {why}");
}
