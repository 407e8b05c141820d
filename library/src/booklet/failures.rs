//! What failures look like and what mends them, the likeliest first.

use super::flow::{BODY, BOLD, Flow};
use crate::diagnosis::Failure;
use crate::drawing::Page;
use crate::notation::counted;
use crate::panel::Paper;

/// The most pages of a start.
const MOST_PAGES: usize = 2;
/// What the words behind the last failure take, millimetres.
const LAST: f64 = 14.0;

/// The pages of a start.
pub fn draw(start: &str, failures: &[Failure], paper: Paper) -> Vec<Page> {
    let title = if start.is_empty() { "When it does not start".into() } else { format!("When {start} does not start") };
    let mut flow = Flow::new(paper, &title);
    flow.paragraph(
        "On the left what is seen where the machine stays, the likeliest first; beside it the single faults that come to it when \
         they are played. How common a fault is, is common practice and no measurement. Where a sheet was deposited, compare every CHECK row first.",
    );
    let mut told = 0;
    for failure in failures {
        let mut with = flow.clone();
        rows(failure, &mut with);
        if with.pages() > flow.pages() {
            with = flow.clone();
            with.turn();
            rows(failure, &mut with);
        }
        if with.pages() > MOST_PAGES || with.pages() == MOST_PAGES && with.left() < LAST {
            break;
        }
        flow = with;
        told += 1;
    }
    let left: usize = failures[told..].iter().map(|failure| failure.faults).sum();
    if left > 0 {
        flow.paragraph(&format!(
            "{} more come to something else: coldwright diagnose goes from what is seen back to them.",
            counted(left as u64, "fault")
        ));
    }
    flow.finish()
}

/// A failure beside its causes.
fn rows(failure: &Failure, flow: &mut Flow) {
    let columns = [(0.0, 58.0), (61.0, flow.width() - 61.0)];
    for (at, cause) in failure.causes.iter().enumerate() {
        let seen = if at == 0 { failure.seen.as_str() } else { "" };
        let which = match cause.count {
            1 => format!(": {}", cause.fault),
            count => format!(", {count} of them, such as {}", cause.fault),
        };
        let told = format!("{}{which}. Mend: {}.", cause.kind, cause.mend).replace('`', "");
        flow.cells(&[(columns[0], BOLD, seen), (columns[1], BODY, &told)]);
    }
    flow.line();
}
