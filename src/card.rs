//! `card`: the operator's run card.

use clap::{Args, ValueEnum};
use serde_json::json;

use super::panel_options::{self, PageArguments, PanelArguments};
use super::report::Report;
use super::values;
use coldwright::cautions::When;
use coldwright::notation::Address;
use coldwright::panel::card::{Card as RunCard, Holds, Home, Request, SocketUse, Tape};
use coldwright::panel::sheet::SheetError;
use coldwright::rehearsal::Lone;
use coldwright::source::Diagnostics;

/// Print the run card of a program: every action, and what the panel shows after it
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright card keyin.asm --tape \"belfry 1\"\n  \
    coldwright card monitor.asm --home socket -o monitor-card.pdf")]
pub struct Card {
    #[command(flatten)]
    panel: PanelArguments,
    #[command(flatten)]
    pages: PageArguments,
    /// Where the program starts; else as its source says, or at its lowest address
    #[arg(long, value_name = "ADDRESS", value_parser = values::address)]
    entry: Option<Address>,
    /// How the sense switches stand when it starts; else all down
    #[arg(long, value_name = "BYTE", value_parser = values::byte)]
    sense: Option<u8>,
    /// How the program comes into the machine
    #[arg(long, value_enum, default_value = "panel")]
    home: HomeArgument,
    /// The label of the tape that is started after it
    #[arg(long, value_name = "LABEL")]
    tape: Option<String>,
}

/// Homes by the words that select them.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum HomeArgument {
    /// It is deposited at the panel
    Panel,
    /// It is in ROM
    Socket,
}

impl Card {
    pub(super) fn run(self, report: &mut Report) {
        let Some(bench) = self.panel.load(report) else { return };
        bench.check_entry(self.entry, report);
        if self.sense.is_some() && !bench.machine.panel.senses {
            return report.problem(panel_options::no_sense_port(true));
        }
        let sense = self.sense.unwrap_or_default();
        let home = match self.home {
            HomeArgument::Panel => Home::Panel,
            HomeArgument::Socket => Home::Socket,
        };
        let machine = &bench.machine;
        let image = &bench.program.image;
        let outside = match home {
            Home::Panel => machine.unwritable(image),
            Home::Socket if self.panel.names_machine() => machine.unseated(image),
            Home::Socket => Diagnostics::default(),
        };
        if outside.has_errors() {
            return report.problems(outside, &bench.sources);
        }
        let entry = self.entry.or(image.entry).or(image.extents().next().map(|first| first.base));
        if let Some(address) = entry.filter(|entry| !machine.panel.reaches(*entry)) {
            let error = SheetError::Unreachable { address, switches: machine.panel.switches };
            return report.problem(error.diagnostic(machine.panel.notation));
        }
        let seen = entry.and_then(|entry| {
            let (name, in_rom) = (bench.program.name.as_str(), home == Home::Socket);
            Lone { name, image, entry, in_rom, sense }.left_alone(machine)
        });
        let request = Request {
            entry: self.entry,
            sense,
            home,
            sockets: match home {
                Home::Panel => machine.covering(image).map(|socket| left_empty(&socket.name)).collect(),
                Home::Socket => Vec::new(),
            },
            doubts: Vec::new(),
            deposits: Vec::new(),
            seen,
            disks: Vec::new(),
            tapes: self
                .tape
                .iter()
                .map(|label| Tape { label: label.clone(), lettered: false, after: 0.0, read: None })
                .collect(),
            driven: machine.driven(),
            done: self.done(),
        };
        let Some(card) = RunCard::new(&bench.program, &machine.panel, &machine.ports, &request) else {
            return report.problem(SheetError::Empty.diagnostic(machine.panel.notation));
        };
        self.pages.write(|| card.text(), |paper| card.draw(paper), || to_json(&card), report);
    }
}

impl Card {
    /// What is done besides switching on. A tape may be a cassette.
    fn done(&self) -> Vec<When> {
        let seated = matches!(self.home, HomeArgument::Socket).then_some(When::Seat);
        seated.into_iter().chain(self.tape.as_ref().map(|_| When::Sound)).collect()
    }
}

/// A socket where a program is deposited.
fn left_empty(name: &str) -> SocketUse {
    SocketUse { name: name.to_owned(), holds: Holds::Nothing }
}

fn to_json(card: &RunCard) -> serde_json::Value {
    let act = |act: &coldwright::panel::card::Act| {
        json!({
            "action": act.action,
            "levers": act.levers.map(|levers| levers.value),
            "shows": act.shows,
            "otherwise": act.otherwise,
        })
    };
    let acts: Vec<_> = card.acts.iter().map(act).collect();
    let cautions: Vec<_> = card.cautions.iter().map(|(_, caution)| caution).collect();
    json!({ "name": card.name, "facts": card.facts, "cautions": cautions, "acts": acts })
}
