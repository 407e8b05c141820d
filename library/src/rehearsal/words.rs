//! Times in words.

/// A length of time with as many digits as matter: `3 s`, `0.5 s`.
pub fn seconds(seconds: f64) -> String {
    let text = format!("{seconds:.3}");
    format!("{} s", text.trim_end_matches('0').trim_end_matches('.'))
}
