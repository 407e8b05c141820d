//! `minimodem`, a general software modem, as a second reader of the same recordings.

use std::io::ErrorKind;
use std::path::Path;
use std::process::{Command, Stdio};

use coldwright::audio::Modulation;

/// The tones and rate of a modulation as arguments, on a recording of that name.
pub fn arguments(modulation: &Modulation, file: &str) -> Vec<String> {
    vec![
        "--quiet".into(),
        "-8".into(),
        format!("--mark={}", modulation.mark_hz()),
        format!("--space={}", modulation.space_hz()),
        format!("--stopbits={}", modulation.stop_bits()),
        "--file".into(),
        file.into(),
        format!("{}", modulation.baud()),
    ]
}

/// Runs it with `input` on its standard input; gives what it printed, or `None` where it is not installed.
pub fn run(direction: &str, modulation: &Modulation, input: &[u8], file: &str, directory: &Path) -> Option<Vec<u8>> {
    let started = Command::new("minimodem")
        .arg(direction)
        .args(arguments(modulation, file))
        .current_dir(directory)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn();
    let mut child = match started {
        Ok(child) => child,
        Err(error) if error.kind() == ErrorKind::NotFound => return None,
        Err(error) => panic!("`minimodem`: {error}"),
    };
    std::io::Write::write_all(&mut child.stdin.take().expect("piped"), input).expect("it reads all that it is given");
    let output = child.wait_with_output().expect("it ends");
    assert!(output.status.success(), "`minimodem` failed: {}", String::from_utf8_lossy(&output.stderr));
    Some(output.stdout)
}
