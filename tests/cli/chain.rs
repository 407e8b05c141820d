//! A copy of an example chain that a test may spoil.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A chain in a folder of its own.
pub struct Chain {
    folder: tempfile::TempDir,
}

/// What a run of the program gave.
pub struct Ran {
    pub code: i32,
    pub out: String,
    pub err: String,
}

pub fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name)
}

impl Chain {
    /// A folder with nothing in it.
    pub fn empty() -> Chain {
        Chain { folder: tempfile::tempdir().unwrap() }
    }

    /// A copy of an example.
    pub fn copy(name: &str) -> Chain {
        let folder = tempfile::tempdir().unwrap();
        for entry in fs::read_dir(example(name)).unwrap() {
            let path = entry.unwrap().path();
            if path.is_file() {
                fs::copy(&path, folder.path().join(path.file_name().unwrap())).unwrap();
            }
        }
        Chain { folder }
    }

    pub fn path(&self, file: &str) -> PathBuf {
        self.folder.path().join(file)
    }

    /// Replaces a text that stands in a file.
    pub fn spoil(self, file: &str, from: &str, to: &str) -> Chain {
        let text = fs::read_to_string(self.path(file)).unwrap();
        assert!(text.contains(from), "{file} does not hold {from}");
        self.put(file, text.replacen(from, to, 1).as_bytes())
    }

    /// Writes a file.
    pub fn put(self, file: &str, bytes: &[u8]) -> Chain {
        fs::write(self.path(file), bytes).unwrap();
        self
    }

    /// Runs the program in the chain's folder.
    pub fn run(&self, arguments: &[&str]) -> Ran {
        run(self.folder.path(), arguments)
    }
}

pub fn run(folder: &Path, arguments: &[&str]) -> Ran {
    let command = Command::new(env!("CARGO_BIN_EXE_coldwright"))
        .args(arguments)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .output();
    let Output { status, stdout, stderr } = command.unwrap();
    let text = |bytes| plain(&String::from_utf8(bytes).unwrap());
    Ran { code: status.code().unwrap(), out: text(stdout), err: text(stderr) }
}

/// Text without what colours it.
fn plain(text: &str) -> String {
    let mut parts = text.split('\u{1b}');
    let first = parts.next().unwrap_or_default().to_owned();
    parts.fold(first, |text, part| text + part.split_once('m').map_or("", |(_, rest)| rest))
}

impl Ran {
    /// It failed, with a problem of this code whose text says all of these.
    pub fn assert_fails(&self, code: &str, says: &[&str]) {
        assert_eq!(self.code, 1, "{}{}", self.out, self.err);
        let errors = self.err.matches("] error:").count();
        assert_eq!(errors, 1, "one mistake, one error:\n{}", self.err);
        assert!(self.err.contains(&format!("[{code}] error")), "{}", self.err);
        let flat = self.err.split_whitespace().collect::<Vec<_>>().join(" ");
        for words in says {
            assert!(flat.contains(words), "`{words}` is not said:\n{}", self.err);
        }
    }

    pub fn assert_done(&self) {
        assert_eq!((self.code, self.err.as_str()), (0, ""), "{}", self.out);
    }
}
