//! How near a loader is to losing the sectors of its disk: it is played a few times more.

use serde_json::{Value, json};

use coldwright::project::{Id, Plan, Start};
use coldwright::rehearsal::interleave::{Bench, Near, OnDisk, Took, on_disks};
use coldwright::rehearsal::{Outcome, Request};
use coldwright::source::SourceMap;

/// A start of more instructions is not played again: `disk interleave` does that.
const MOST_INSTRUCTIONS: u64 = 1_000_000;

/// A stage that is read from a disk, and how near its loader is; nothing if that would take long to play.
pub struct Loader {
    /// The stage.
    stage: String,
    /// The disk.
    disk: String,
    near: Option<Near>,
}

/// The loaders of a start that agrees as it is described.
pub fn loaders(
    plan: &mut Plan,
    sources: &SourceMap,
    start: Id<Start>,
    request: &Request,
    outcome: &Outcome,
) -> Vec<Loader> {
    if !outcome.agrees() || !request.is_as_described() {
        return Vec::new();
    }
    let is_quick = outcome.instructions <= MOST_INSTRUCTIONS;
    let on_disks = on_disks(plan).into_iter().filter(|what| what.start == start);
    let loader = |what: OnDisk| Loader {
        stage: plan.stages[what.stage].name.clone(),
        disk: plan.disks[what.disk].name.clone(),
        near: is_quick.then(|| Bench::new(plan, sources, what).near()),
    };
    on_disks.map(loader).collect()
}

impl Loader {
    /// For people.
    pub fn text(&self) -> String {
        let Loader { stage, disk, near } = self;
        let Some(near) = near else {
            return format!(
                "how near `{stage}` is to missing a sector of the disk `{disk}`: `coldwright disk interleave` plays it\n"
            );
        };
        let took = |took: &Took| took_words(took, near.clock_hz);
        let mut out =
            format!("`{stage}` from the disk `{disk}`, played otherwise; as described: {}\n", took(&near.declared));
        for beside in &near.beside {
            let way = if beside.nearer { "nearer to" } else { "further from" };
            out += &format!("  each sector one place {way} the one before it: {}\n", took(&beside.took));
        }
        let (byte, sector) = (took(&near.byte), took(&near.sector));
        out += &format!("  one T-state more for each byte: {byte}; for each sector: {sector}\n");
        let time = |took: &Took| if let Took::Time(time) = took { Some(*time) } else { None };
        let best = near.beside.iter().filter_map(|beside| time(&beside.took)).min();
        let quicker = time(&near.declared).zip(best).is_some_and(|(declared, best)| best < declared);
        let verdict = match (near.beside.is_empty(), quicker) {
            (true, _) => "the order of the layout is a list of its own",
            (_, true) => "the order of the layout is not the quickest",
            (_, false) => "no order beside it is quicker",
        };
        out + &format!("  {verdict}: `coldwright disk interleave` plays them all\n")
    }

    /// For programs.
    pub fn json(&self) -> Value {
        let took = |took: &Took| match took {
            Took::Time(time) => json!({ "t_states": time.0 }),
            Took::Failed(why) => json!({ "fails": why }),
        };
        let near = self.near.as_ref().map(|near| {
            let beside = |nearer| near.beside.iter().find(|it| it.nearer == nearer).map(|it| took(&it.took));
            json!({
                "as_described": took(&near.declared), "one_place_nearer": beside(true), "one_place_further": beside(false),
                "one_t_state_a_byte": took(&near.byte), "one_t_state_a_sector": took(&near.sector),
            })
        });
        json!({ "stage": self.stage, "disk": self.disk, "played_otherwise": near })
    }
}

fn took_words(took: &Took, clock_hz: u64) -> String {
    match took {
        Took::Time(time) => format!("{:.3} s", time.0 as f64 / clock_hz as f64),
        Took::Failed(why) => format!("it fails: {why}"),
    }
}
