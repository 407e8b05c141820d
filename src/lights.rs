//! `lights`: what the panel shows at every machine cycle of a single-stepped run.

use std::collections::{BTreeMap, VecDeque};

use clap::Args;
use serde_json::json;

use super::panel_options::{self, PageArguments, PanelArguments, notation_word};
use super::report::Report;
use super::values;
use coldwright::isa::CycleKind;
use coldwright::notation::Address;
use coldwright::panel::lights::{Lights as Run, Line, Passage, Request, World};
use coldwright::panel::sheet::SheetError;
use coldwright::panel::{Lamp, Panel};
use coldwright::rehearsal::{Stepping, live_ports, taken_for_granted};
use coldwright::source::{Code, Diagnostic};

/// Print the lights sheet of a program: what a stepped run shows at every machine cycle
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright lights probe.asm\n  \
    coldwright lights probe.asm --machine machine.toml --input 0o101=0,0o17 --until 0o13 -o probe.pdf")]
pub struct Lights {
    #[command(flatten)]
    panel: PanelArguments,
    #[command(flatten)]
    pages: PageArguments,
    /// Where the run starts; else at the entry, or at the lowest address
    #[arg(long, value_name = "ADDRESS", value_parser = values::address)]
    from: Option<Address>,
    /// End before the instruction at this address
    #[arg(long, value_name = "ADDRESS", value_parser = values::address)]
    until: Option<Address>,
    /// End after so many machine cycles
    #[arg(long, value_name = "COUNT", default_value = "1000", value_parser = clap::value_parser!(u64).range(1..=1_000_000))]
    cycles: u64,
    /// What a port gives, read after read; the last value stays. Other ports are open
    #[arg(long = "input", value_name = "PORT=VALUE,...", value_parser = input)]
    inputs: Vec<(u8, VecDeque<u8>)>,
    /// What the sense switches give, if the machine file says which port reads them
    #[arg(long, value_name = "BYTE", value_parser = values::byte)]
    sense: Option<u8>,
}

fn input(text: &str) -> Result<(u8, VecDeque<u8>), String> {
    let (port, values) = text.split_once('=').ok_or("expected PORT=VALUE,...")?;
    let values: Result<VecDeque<u8>, String> = values.split(',').map(values::byte).collect();
    Ok((values::byte(port)?, values?))
}

impl Lights {
    pub(super) fn run(self, report: &mut Report) {
        let Some(bench) = self.panel.load(report) else { return };
        bench.check_entry(self.from, report);
        let homeless = bench.machine.homeless(&bench.program.image);
        if homeless.has_errors() {
            return report.problems(homeless, &bench.sources);
        }
        let image = &bench.program.image;
        let Some(first) = image.extents().next().map(|extent| extent.base) else {
            return report.problem(
                Diagnostic::error(Code::NothingToDeposit, "the program has no byte")
                    .with_help("put an instruction into it: there is nothing to run"),
            );
        };
        if self.sense.is_some() && bench.machine.sense_port.is_none() {
            return report.problem(panel_options::no_sense_port(self.panel.names_machine()));
        }
        let notation = bench.machine.panel.notation;
        let mut inputs: BTreeMap<u8, VecDeque<u8>> = BTreeMap::new();
        for (port, values) in self.inputs {
            if inputs.insert(port, values).is_some() {
                let headline = format!("`--input` gives port `{}` twice", notation.byte(port));
                return report.problem(
                    Diagnostic::error(Code::PortUnwired, headline)
                        .with_help("give all values of a port at once, with commas between"),
                );
            }
        }
        let given: Vec<u8> = inputs.keys().copied().collect();
        if let (Some(port), Some(sense)) = (bench.machine.sense_port, self.sense) {
            inputs.entry(port).or_insert_with(|| [sense].into());
        }
        let start = self.from.or(image.entry).unwrap_or(first);
        let Panel { switches, .. } = bench.machine.panel;
        if !bench.machine.panel.reaches(start) {
            return report.problem(SheetError::Unreachable { address: start, switches }.diagnostic(notation));
        }
        let (until, cycles) = (self.until, self.cycles);
        let (panel, grounds) = (bench.machine.panel.clone(), bench.machine.grounds());
        let world = World::Open { idle: bench.machine.idle_inputs() };
        let (idle, given_inputs) = (bench.machine.idle_inputs(), inputs.clone());
        let stepping = Stepping { image, start, cycles, inputs: given_inputs, idle };
        let live = live_ports(&bench.machine, |_| None, &stepping);
        let taken = taken_for_granted(&bench.machine, |_| None);
        let request = Request { start, until, cycles, inputs, live, taken, world, panel, grounds };
        let lights = Run::run(&bench.program, &request);
        for port in given.into_iter().filter(|port| !is_read(*port, &lights)) {
            let headline = format!("`--input` gives port `{}`, and the run reads nothing from it", notation.byte(port));
            report.problem(Diagnostic::warning(Code::PortUnwired, headline).with_help(
                "is it the port that the program names? It may also be read only behind the end of the run",
            ));
        }
        let (program, ports) = (&bench.program, &bench.machine.ports);
        let json = || to_json(&lights, &lights.lines(program, ports));
        self.pages.write(|| lights.text(program, ports), |paper| lights.draw(program, ports, paper), json, report);
    }
}

/// Whether a run reads from a port, on its way or on another that is drawn.
fn is_read(port: u8, lights: &Run) -> bool {
    fn reads(port: u8, passages: &[Passage]) -> bool {
        passages.iter().any(|passage| match passage {
            Passage::Loop(repeated) => reads(port, &repeated.body),
            Passage::Instruction(instruction) => instruction.cycles.iter().any(|cycle| {
                cycle.kind == CycleKind::Input && cycle.address.is_some_and(|at| at.to_le_bytes()[0] == port)
            }),
        })
    }
    reads(port, &lights.passages) || lights.branches.iter().any(|branch| reads(port, &branch.passages))
}

fn to_json(lights: &Run, lines: &[Line]) -> serde_json::Value {
    let rows: Vec<_> = lines.iter().map(row_json).collect();
    json!({
        "name": lights.name,
        "notation": notation_word(lights.panel.notation),
        "start": lights.start.0,
        "machine_cycles": lights.cycles,
        "status_lights": lights.status().map(|(name, _)| name).collect::<Vec<_>>(),
        "rows": rows,
    })
}

fn row_json(line: &Line) -> serde_json::Value {
    let lamps = |lamps: &[Lamp]| lamps.iter().map(|lamp| lamp.sign()).collect::<String>();
    match line {
        Line::Statement { address, text } => json!({ "address": address, "statement": text }),
        Line::Note(note) => json!({ "note": note }),
        Line::Cycle { number, address, data, status, words } => json!({
            "step": number,
            "address": lamps(address),
            "data": lamps(data),
            "status": lamps(status),
            "bus": words,
        }),
    }
}
