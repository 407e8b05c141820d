//! `sheet`: the printable listing for depositing a program at the panel.

use clap::Args;
use serde_json::json;

use super::panel_options::{self, PageArguments, PanelArguments, notation_word};
use super::report::Report;
use super::values;
use coldwright::notation::{Address, counted};
use coldwright::panel::Pace;
use coldwright::panel::sheet::{Action, Sheet as Deposits};
use coldwright::source::{Code, Diagnostic};

/// Bytes above which a sheet is only made when that is really wanted.
const MANY: u64 = 1024;

/// Print the deposit sheet of a program: every switch, key and check on its way in
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright sheet keyin.asm\n  \
    coldwright sheet keyin.asm --machine machine.toml --sense 0o217 -o keyin.pdf -o keyin.txt")]
pub struct Sheet {
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
    /// Seconds that the hand takes for a lever or a key, for the estimate
    #[arg(long, value_name = "SECONDS", value_parser = seconds, default_value = "1")]
    pace: f64,
    /// Make a sheet of more than 1024 bytes without asking
    #[arg(long)]
    yes: bool,
}

fn seconds(text: &str) -> Result<f64, String> {
    let seconds: f64 = text.parse().map_err(|_| "not a number".to_owned())?;
    if (0.05..=60.0).contains(&seconds) { Ok(seconds) } else { Err("expected 0.05 to 60 seconds".into()) }
}

impl Sheet {
    pub(super) fn run(self, report: &mut Report) {
        let Some(bench) = self.panel.load(report) else { return };
        bench.check_entry(self.entry, report);
        if self.sense.is_some() && !bench.machine.panel.senses {
            return report.problem(panel_options::no_sense_port(true));
        }
        let sense = self.sense.unwrap_or_default();
        let unwritable = bench.machine.unwritable(&bench.program.image);
        if unwritable.has_errors() {
            return report.problems(unwritable, &bench.sources);
        }
        report.problems(bench.machine.covered(&bench.program.image), &bench.sources);
        let panel = &bench.machine.panel;
        let mut sheet = match Deposits::new(&bench.program, panel, self.entry, sense) {
            Ok(sheet) => sheet,
            Err(error) => return report.problem(error.diagnostic(panel.notation)),
        };
        sheet.pace = Pace { movement: self.pace };
        if sheet.totals.check.bytes > MANY && !self.yes {
            let question =
                format!("{}, {}: make the sheet?", counted(sheet.totals.check.bytes, "byte"), sheet.effort());
            match panel_options::ask(&question) {
                Some(true) => {}
                Some(false) => return report.fail(),
                None => return report.problem(long(&sheet)),
            }
        }
        self.pages.write(|| sheet.text(), |paper| sheet.draw(paper), || to_json(&sheet), report);
    }
}

fn long(sheet: &Deposits) -> Diagnostic {
    Diagnostic::error(Code::SheetLong, format!("a sheet of `{}` bytes is long", sheet.totals.check.bytes))
        .with_note(sheet.effort())
        .with_help("say `--yes` to make it, or deposit a loader and let it read the rest from tape")
}

fn to_json(sheet: &Deposits) -> serde_json::Value {
    let rows: Vec<_> = sheet
        .rows()
        .filter_map(|row| match &row.action {
            Action::Byte { address, byte, .. } => Some(json!({
                "address": address.0,
                "byte": byte,
                "moved": row.levers.map(|levers| levers.moved),
                "keys": row.keys.iter().map(|key| key.name()).collect::<Vec<_>>(),
            })),
            _ => None,
        })
        .collect();
    let totals = &sheet.totals;
    json!({
        "name": sheet.name,
        "notation": notation_word(sheet.panel.notation),
        "entry": sheet.entry.0,
        "sense": sheet.sense,
        "bytes": totals.check.bytes,
        "lever_movements": totals.levers,
        "keys": totals.keys,
        "ticks": totals.ticks,
        "seconds": sheet.seconds(),
        "sum": totals.check.sum,
        "crc16": totals.check.crc,
        "rows": rows,
    })
}
