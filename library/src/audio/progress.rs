//! How far reading or writing has come.

/// How far the work has come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// Seconds of the recording that are done.
    pub seconds: f64,
    /// Its length in seconds, where it is known: a reader knows what the file tells.
    pub of: Option<f64>,
}
