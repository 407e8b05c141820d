//! Faults drawn from the whole catalogue, played in memory that holds other noise, told of in sentences as a person would who
//! stands before the panel, and looked for. Fails when too few are found.
//!
//! A fault counts as found first if the first line of the answer is its own, or one that no look at the panel could tell from it.
//! Faults in spite of which the start looks good are not drawn: nobody asks about them. `COLDWRIGHT_DIAGNOSIS=N` draws N.

#[path = "../chains/mod.rs"]
mod chains;
mod draws;
mod sentences;
mod stage;

use self::draws::Draws;
use self::stage::Stage;

/// The chains, with the start of each that is played.
const STARTS: [(&str, usize); 5] = [("belfry", 0), ("rooster", 0), ("rooster", 1), ("lineboot", 0), ("probe", 0)];

/// How many single faults and pairs are drawn of all chains together.
const SINGLES: usize = 500;
const PAIRS: usize = 60;

/// Looks that may be had, and places of an answer that count for a pair.
const LOOKS: usize = 4;
const FIRST: usize = 5;

/// What must be found: of single faults at once, of single faults after looks, and of pairs. What is found today, less what a
/// few draws more or less make of it.
const LEAST: [f64; 3] = [0.4, 0.75, 0.15];

/// What is to be found.
const AIM: [f64; 3] = [0.9, 0.95, 0.7];

/// What was found of one start, or of all.
#[derive(Clone, Copy, Default)]
struct Found {
    singles: usize,
    first: usize,
    after_looks: usize,
    looks: usize,
    pairs: usize,
    pairs_found: usize,
}

impl Found {
    fn add(&mut self, other: Found) {
        self.singles += other.singles;
        self.first += other.first;
        self.after_looks += other.after_looks;
        self.looks += other.looks;
        self.pairs += other.pairs;
        self.pairs_found += other.pairs_found;
    }

    fn shares(&self) -> [f64; 3] {
        let share = |part: usize, all: usize| part as f64 / all.max(1) as f64;
        [share(self.first, self.singles), share(self.after_looks, self.singles), share(self.pairs_found, self.pairs)]
    }

    fn line(&self, name: &str) {
        let [first, looks, pairs] = self.shares().map(|share| share * 100.0);
        println!(
            "| {name} | {} | {first:.1} % | {looks:.1} % | {:.1} | {} | {pairs:.1} % |",
            self.singles,
            self.looks as f64 / self.singles.max(1) as f64,
            self.pairs
        );
    }
}

fn main() {
    let wanted = std::env::var("COLDWRIGHT_DIAGNOSIS").ok().and_then(|count| count.parse().ok());
    let singles = wanted.unwrap_or(SINGLES).div_ceil(STARTS.len());
    let pairs = (singles * PAIRS).div_ceil(SINGLES);
    let mut draws = Draws::new(0x5EED);
    let mut all = Found::default();
    println!("| start | faults | found first | within {LOOKS} looks | looks | pairs | among the first {FIRST} |");
    println!("| --- | --- | --- | --- | --- | --- | --- |");
    for (name, start) in STARTS {
        let stage = Stage::new(name, start);
        let mut found = Found::default();
        for _ in 0..singles {
            single(&stage, &mut draws, &mut found);
        }
        for _ in 0..pairs {
            pair(&stage, &mut draws, &mut found);
        }
        found.line(&stage.name);
        all.add(found);
    }
    all.line("all");
    println!("at least {LEAST:?} of all must be found; the aim is {AIM:?}");
    if all.shares().iter().zip(LEAST).any(|(share, least)| *share < least) {
        eprintln!("too few are found: at least {LEAST:?} of all");
        std::process::exit(1);
    }
}

/// A fault is drawn and looked for.
fn single(stage: &Stage, draws: &mut Draws, found: &mut Found) {
    let fault = stage.draw(draws);
    found.singles += 1;
    let (first, looks) = stage.look_for(&fault, LOOKS);
    found.first += usize::from(first);
    found.after_looks += usize::from(looks.is_some());
    found.looks += looks.unwrap_or(LOOKS);
    if looks.is_none() && std::env::var_os("COLDWRIGHT_MISSED").is_some() {
        println!("missed: {} {}", stage.name, stage.tell(&fault.faults));
    }
}

/// Two are drawn.
fn pair(stage: &Stage, draws: &mut Draws, found: &mut Found) {
    let pair = stage.draw_pair(draws);
    found.pairs += 1;
    let is_found = stage.is_among(&pair, FIRST);
    found.pairs_found += usize::from(is_found);
    if !is_found && std::env::var_os("COLDWRIGHT_MISSED").is_some() {
        println!("missed: {} {}", stage.name, stage.tell(&pair.faults));
    }
}
