//! Every single fault of the demo chain, against the play of its good start. Fails when a budget is missed.

mod chains;

use std::time::{Duration, Instant};

use coldwright::faults::{Class, Theatre};
use coldwright::project::{Artefacts, Recordings};
use coldwright::rehearsal::{Request, rehearse};

use self::chains::chain;

/// How many rehearsals of the good start a fault may take, at most, on one core. A rehearsal plays the start ten times over:
/// with other noise, and with faster lines.
const MOST: f64 = 0.25;

fn main() {
    let (plan, sources) = chain("belfry");
    let made = Artefacts::make(&plan, &sources, Recordings::Left).expect("the example can be made");
    let (start, _) = plan.starts.numbered().next().expect("it has a start");
    let rehearsal = (0..9).map(|_| {
        let began = Instant::now();
        assert!(rehearse(&plan, &made, start, &Request::default(), &sources, None, &mut |_| ()).agrees());
        began.elapsed()
    });
    let rehearsal = rehearsal.min().unwrap_or_default();
    let (mut best, mut played) = (Duration::MAX, Vec::new());
    for _ in 0..3 {
        let began = Instant::now();
        let theatre = Theatre::new(&plan, &made, start).expect("it can be played");
        played = theatre.play_all(theatre.catalogue(), &|| true).expect("nobody stops it");
        best = best.min(began.elapsed());
    }
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let each = best.as_secs_f64() * cores as f64 / played.len() as f64;
    let ratio = each / rehearsal.as_secs_f64();
    println!(
        "{} faults in {best:.2?} on {cores} cores; each takes {ratio:.3} of a rehearsal, {rehearsal:.2?} (at most {MOST})",
        played.len()
    );
    for class in Class::ALL {
        let count = played.iter().filter(|played| played.outcome.class() == class).count();
        println!("{count:>7}  {}", class.words());
    }
    if ratio > MOST {
        eprintln!("a budget is missed");
        std::process::exit(1);
    }
}
