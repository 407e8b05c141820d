//! What an editor waits for in a long source, against lexing it, in one run: what is wrong after a keystroke, what a name
//! is, what could stand at a place. Ends with exit code 1 if a budget of the design is missed.

mod lexing;
mod sources;

use std::hint::black_box;
use std::process::ExitCode;
use std::time::{Duration, Instant};

use coldwright::assembler::StdlibOnly;
use coldwright::language::{self, View};
use coldwright::source::{Position, SourceId};
use lexing::lexed;

/// The design gives 20 ms from a keystroke to what is wrong, and 5 ms to a hover or a completion, for 30,000 lines, which are
/// lexed in 2 to 3.5 ms: times lexing.
const MOST_TO_PROBLEMS: f64 = 9.0;
const MOST_TO_ANSWER: f64 = 2.2;

fn main() -> ExitCode {
    let text = sources::program(30_000);
    let lexing = least(20, || lexed(&text));
    let seen = least(20, || seen(&text).problems.len());
    let view = self::seen(&text);
    let middle = Position { source: SourceId::FIRST, offset: name_in_the_middle(&text) };
    let hover = least(20, || usize::from(language::hover(&view, middle).is_some()));
    let completion = least(20, || language::completion(&view, middle).len());
    assert!(language::hover(&view, middle).is_some() && !language::completion(&view, middle).is_empty());
    let times = |time: Duration| time.as_secs_f64() / lexing.as_secs_f64();
    println!("lexing alone      {lexing:?}");
    println!("to the problems   {seen:?} = {:.1} times lexing (at most {MOST_TO_PROBLEMS})", times(seen));
    println!("hover             {hover:?} = {:.2} times lexing (at most {MOST_TO_ANSWER})", times(hover));
    println!("completion        {completion:?} = {:.2} times lexing (at most {MOST_TO_ANSWER})", times(completion));
    for (what, time) in [
        ("colours", least(5, || language::coloured(&view, SourceId::FIRST).len())),
        ("symbols", least(5, || language::outline(&view, SourceId::FIRST).len())),
        ("lenses", least(5, || language::lenses(&view, "bench.asm").len())),
        ("hints", least(5, || language::hints(&view, SourceId::FIRST).len())),
    ] {
        println!("{what:<17} {time:?} = {:.1} times lexing", times(time));
    }
    let missed = times(seen) > MOST_TO_PROBLEMS || times(hover.max(completion)) > MOST_TO_ANSWER;
    if missed { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

/// What an editor makes of a text after every keystroke.
fn seen(text: &str) -> View {
    let view = View::of_source("bench.asm", text, &mut StdlibOnly);
    assert!(view.problems.is_empty());
    view
}

/// A place inside a name that an instruction in the middle of the text takes.
fn name_in_the_middle(text: &str) -> u32 {
    let middle = text.len() / 2;
    let found = text[middle..].find("\tLXI\tH,T").expect("every block has one");
    (middle + found + "\tLXI\tH,T".len()) as u32
}

/// The least time of some runs: what else goes on at a machine only ever adds.
fn least(runs: usize, work: impl Fn() -> usize) -> Duration {
    let time = |_| {
        let start = Instant::now();
        black_box(work());
        start.elapsed()
    };
    (0..runs).map(time).min().unwrap_or_default()
}
