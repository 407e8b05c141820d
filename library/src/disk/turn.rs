//! How a disk turns, and how many bytes pass in what time.

/// Speed of a disk and of its bytes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turn {
    /// Turns in a minute.
    pub rpm: f64,
    /// By how many per cent the speed may be off.
    pub tolerance: f64,
    /// Microseconds in which a byte passes.
    pub byte_us: f64,
}

impl Turn {
    /// Microseconds of a turn at the right speed.
    pub fn us(&self) -> f64 {
        60e6 / self.rpm
    }

    /// Bytes that pass in a turn at the right speed.
    pub fn bytes(&self) -> f64 {
        self.us() / self.byte_us
    }

    /// Bytes that pass in a turn of the fastest drive: what is written must fit into these.
    pub fn fewest_bytes(&self) -> f64 {
        self.bytes() / (1.0 + self.tolerance / 100.0)
    }
}
