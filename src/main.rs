//! The `coldwright` binary: everything it does is in [`coldwright::cli`].

use std::process::ExitCode;

fn main() -> ExitCode {
    coldwright::cli::main()
}
