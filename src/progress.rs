//! Progress bars: on a terminal only, never beside JSON, and gone when the work is done.

use indicatif::{ProgressBar, ProgressStyle};

/// What a bar counts.
#[derive(Clone, Copy, Debug)]
pub enum Counted {
    /// Bytes of a transfer.
    Bytes,
    /// Seconds of sound.
    Sound,
    /// T-states of a simulated machine.
    States,
    /// Times that a loader is run.
    Plays,
    /// Faults that are played.
    Faults,
    /// Things of a start that are tried.
    Things,
}

/// A bar up to `length`; it draws nothing if nobody is there to see it.
pub fn bar(counted: Counted, length: u64, json: bool) -> ProgressBar {
    if json {
        return ProgressBar::hidden();
    }
    let template = match counted {
        Counted::Bytes => "{bar:32.white} {bytes} of {total_bytes}, {eta} left",
        Counted::Sound => "{bar:32.white} {pos} of {len} s of sound, {eta} left",
        Counted::Plays => "{bar:32.white} {pos} of {len} runs, {eta} left",
        Counted::States => "{bar:32.white} {percent} % of the time that a stage may take, at most {eta} left",
        Counted::Things => "{bar:32.white} {pos} of {len} things, {eta} left",
        Counted::Faults => "{bar:32.white} {pos} of {len} faults, {eta} left",
    };
    let bar = ProgressBar::new(length);
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style.progress_chars("=> "));
    }
    bar
}
