//! The `coldwright` binary: everything it does is in [`coldwright::cli`].

fn main() {}
