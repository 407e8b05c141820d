//! The acts with tapes: place, start, stop.

use super::acts::Clerk;
use super::{Tape, TapeRead, Task};

/// Up to how many seconds count as at once.
const AT_ONCE: f64 = 1.0;

impl Clerk<'_> {
    /// The first tape is at hand before the program is started.
    pub(super) fn place(&mut self, tape: &Tape) {
        self.act(
            format!("Place the tape {:?} at {}. Do not start it.", tape.label, beginning(tape)),
            "No light changes.",
            "No leader to be seen or heard: it is wound past its beginning. Wind back.",
        );
    }

    /// A tape is read.
    pub(super) fn play(&mut self, tape: &Tape, first: bool) {
        let label = &tape.label;
        let action = match (first, tape.after > AT_ONCE) {
            (true, false) => format!("Start the tape {label:?}."),
            (true, true) => format!("Start the tape {label:?} {} after RUN, not before.", time(tape.after)),
            (false, false) => format!("Place the tape {label:?} at {} and start it.", beginning(tape)),
            (false, true) => format!(
                "Place the tape {label:?} at {}. Start it {} after the program before it has begun, not before.",
                beginning(tape),
                time(tape.after)
            ),
        };
        self.act(
            action,
            "While the leader passes nothing changes; when the data come the address lights move on.",
            format!(
                "Nothing changes after the leader: wrong speed, port or cable, or no signal. {}",
                self.once_more(false)
            ),
        )
        .task = Task::StartTape;
        match &tape.read {
            Some(read) => self.stop(&tape.label, read),
            None => {
                self.act(
                    format!("Stop the tape {:?} when the program that was on it runs.", tape.label),
                    "The address lights leave the loop in which the tape was read.",
                    format!("They stay in it: let the tape run out. {}", self.once_more(true)),
                )
                .task = Task::StopTape(None);
            }
        }
    }

    fn stop(&mut self, label: &str, read: &TapeRead) {
        let (shows, _, lights) = match &read.seen {
            Some(seen) => self.stays(seen),
            None => (self.unseen().to_owned(), String::new(), None),
        };
        let runs = match lights {
            Some(_) => shows,
            None => {
                let runs = format!("{} runs, from {} on. {shows}", read.name, self.panel.notation.address(read.entry));
                runs.trim_end().to_owned()
            }
        };
        let act = self.act(
            format!("Stop the tape {label:?}: it is read after about {}.", time(read.seconds)),
            runs,
            format!(
                "Lights flicker as before: let it run out. A halt elsewhere: the loader complained. {}",
                self.once_more(true)
            ),
        );
        act.task = Task::StopTape(Some(read.seconds));
        act.lights = lights;
    }
}

/// Where the reader stands at first.
const fn beginning(tape: &Tape) -> &'static str {
    match tape.lettered {
        true => "the beginning of its leader, behind the lettering",
        false => "the beginning of its leader",
    }
}

/// A time by the clock on the wall, rounded up.
fn time(seconds: f64) -> String {
    let seconds = seconds.ceil() as u64;
    match (seconds / 60, seconds % 60) {
        (0, seconds) => format!("{seconds} s"),
        (minutes, seconds) => format!("{minutes} min {seconds} s"),
    }
}

#[cfg(test)]
mod tests {
    use super::time;

    #[test]
    fn times_are_rounded_up() {
        assert_eq!([0.2, 59.9, 60.0, 84.1].map(time), ["1 s", "1 min 0 s", "1 min 0 s", "1 min 25 s"]);
    }
}
