//! Running an outside tool. One that is not installed is skipped with a printed line, but fails where `CI` is `true`.

use std::path::Path;
use std::process::Command;

/// Runs `name` with `arguments` in `directory` and gives back what it printed, or `None` if it is not installed.
pub fn run(name: &str, arguments: &[&str], directory: &Path) -> Option<String> {
    let output = match Command::new(name).args(arguments).current_dir(directory).output() {
        Ok(output) => output,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            skip(name);
            return None;
        }
        Err(error) => panic!("`{name}`: {error}"),
    };
    assert!(output.status.success(), "`{name}` failed: {}", String::from_utf8_lossy(&output.stderr));
    Some(String::from_utf8_lossy(&output.stdout).into_owned())
}

/// Says that a test is skipped for want of a tool; fails where `CI` is `true`.
pub fn skip(name: &str) {
    assert!(std::env::var("CI").as_deref() != Ok("true"), "`{name}` is not installed");
    println!("skipped: `{name}` is not installed");
}
