//! What is not played, so that nobody takes silence about it for an answer.

use crate::faults::scene::Scene;
use crate::panel::sheet::Action;

/// The single faults of a start of which nothing is said, each in a line.
pub fn left_out(scene: &Scene) -> Vec<&'static str> {
    let rows = |is: fn(&Action) -> bool| scene.tasks.iter().any(|task| is(&task.row.action));
    let is_sound = scene.tapes.iter().any(|tape| tape.is_sound);
    let lines = [
        (
            rows(|action| matches!(action, Action::Run)),
            "RUN left out: nothing runs, and the lights stand as EXAMINE left them",
        ),
        (
            rows(|action| matches!(action, Action::Check { .. })),
            "a lever wrong while the hand only compares: what is compared is another byte, and nothing is changed",
        ),
        (true, "memory outside the programs, but for the first 64 cells that they use"),
        (
            !scene.tapes.is_empty(),
            "two frames of a tape changed over, more than one bit of a frame, a tape started amid its blocks",
        ),
        (scene.tapes.len() > 1, "another tape than the first started before its loader runs"),
        (is_sound, "a recording that is worn, too low or too fast: `coldwright rehearse --sound` plays recordings"),
        (
            !scene.disks.is_empty(),
            "more than one bit of each byte of a sector; a disk that turns faster or slower than its layout allows",
        ),
        (true, "faults that come and go; two faults at a time, which `coldwright diagnose` plays where it needs them"),
    ];
    lines.into_iter().filter_map(|(is_here, line)| is_here.then_some(line)).collect()
}
