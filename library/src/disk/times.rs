//! How long a drive takes for what it does.

/// Times of a drive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Times {
    /// Milliseconds from one step to the next.
    pub step_ms: f64,
    /// Milliseconds from a step to one the other way.
    pub reverse_ms: f64,
    /// Milliseconds from the last step to data that can be read and written.
    pub settle_ms: f64,
    /// Milliseconds from loading the head to data that can be read and written.
    pub load_ms: f64,
    /// How long the index pulse is, in microseconds at the right speed.
    pub index_us: f64,
    /// How long the pulse of a sector's hole is, in microseconds at the right speed.
    pub hole_us: f64,
}

impl Default for Times {
    /// Where makers differ, the drive that asks more of a program.
    ///
    /// Sources: direction: Shugart SA810/860 manual, 2.2.5. Sector pulse: the same, sec. 2.2. Index pulse: MPI 40 Series
    /// manual, 3.5.2 (1.7 ms; the SA810 manual, 2.2.14, has 0.2 to 2.4 ms). Step 8 ms, 18 ms from the last step and 35 ms from
    /// loading the head to data: common practice of 8-inch drives, from memory, the 18 ms of low confidence (the SA810/860
    /// manual has 3 ms a step, and 16 ms from the last step to writing).
    fn default() -> Times {
        Times { step_ms: 8.0, reverse_ms: 16.0, settle_ms: 18.0, load_ms: 35.0, index_us: 1700.0, hole_us: 400.0 }
    }
}
