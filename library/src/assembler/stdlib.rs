//! The library files of `stdlib/`, built into the binary so that a source can include them without a path.

use super::loader::{LoadError, Loaded, Loader};

/// A built-in file.
#[derive(Clone, Copy, Debug)]
pub struct StdlibFile {
    /// The name by which a source includes it.
    pub name: &'static str,
    /// Its text.
    pub text: &'static str,
}

macro_rules! files {
    ($($name:literal),* $(,)?) => {
        /// All built-in files.
        pub const STDLIB: &[StdlibFile] =
            &[$(StdlibFile { name: $name, text: include_str!(concat!("../../../stdlib/", $name)) }),*];
    };
}

files![
    "boot-fd1771.asm",
    "boot-wired.asm",
    "check-bare.asm",
    "crc16.asm",
    "drill-fd1771.asm",
    "drill-wired.asm",
    "exercise.asm",
    "fill.asm",
    "fletcher.asm",
    "hex.asm",
    "i8251-2.asm",
    "i8251.asm",
    "keyin-i8251.asm",
    "keyin-mc6850.asm",
    "keyin-uart.asm",
    "load-blocks.asm",
    "load-intel-hex.asm",
    "load-s-record.asm",
    "load-text.asm",
    "mc6850-2.asm",
    "mc6850.asm",
    "memtest.asm",
    "move.asm",
    "octal-in.asm",
    "octal.asm",
    "sense.asm",
    "split.asm",
    "sum8.asm",
    "uart-2.asm",
    "uart.asm",
    "xor8.asm",
];

/// The built-in file of a name, in either case, for a loader that has looked everywhere else.
pub fn built_in(name: &str) -> Option<Loaded> {
    let file = STDLIB.iter().find(|file| file.name.eq_ignore_ascii_case(name))?;
    let name = format!("stdlib/{}", file.name);
    Some(Loaded { name: name.clone(), identity: name, bytes: file.text.into() })
}

/// Finds nothing but the library files that are built in.
#[derive(Clone, Copy, Debug, Default)]
pub struct StdlibOnly;

impl Loader for StdlibOnly {
    fn load(&mut self, name: &str, _from: &str) -> Result<Loaded, LoadError> {
        built_in(name).ok_or_else(|| LoadError { reason: "no such file".into(), tried: Vec::new() })
    }
}
