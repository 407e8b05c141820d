//! A bit of a recording at which a picture points.

/// A bit that a check proves wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WrongBit {
    /// Where it begins, in seconds.
    pub from: f64,
    /// Where it ends, in seconds.
    pub to: f64,
    /// Whether it should have been a 1.
    pub is_one: bool,
}

impl WrongBit {
    /// Its middle, in seconds.
    pub fn middle(&self) -> f64 {
        (self.from + self.to) / 2.0
    }
}
