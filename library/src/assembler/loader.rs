//! Where included files come from. The library opens none itself.

/// A file that was found.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// Its name for messages.
    pub name: String,
    /// What tells it from every other file, for the detection of rings.
    pub identity: String,
    /// Its contents.
    pub bytes: Vec<u8>,
}

/// Why a file could not be had.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LoadError {
    /// The reason, in lower case: `no such file`.
    pub reason: String,
    /// Where it was looked for.
    pub tried: Vec<String>,
}

/// Finds the files that a source names.
pub trait Loader {
    /// Finds `name` as written in the text whose own name is `from`.
    ///
    /// # Errors
    /// The reason, and where the file was looked for.
    fn load(&mut self, name: &str, from: &str) -> Result<Loaded, LoadError>;

    /// What tells the source that the program begins with, given by its name, from the files that are loaded.
    fn identity(&self, name: &str) -> String {
        name.to_owned()
    }
}
