//! The front panel of a machine file: its levers, keys and lights, and what they do.

use super::machine_file::{Reader, Way};
use crate::notation::Notation;
use crate::panel::{DataLevers, Port, Reach, Reset, SenseLevers, StatusLamps, Stop};
use crate::source::{Span, Table, Value};

impl Reader<'_> {
    /// `panel`
    pub(super) fn panel(&mut self, table: Table) {
        let keys = [
            "address",
            "switches",
            "data",
            "sense",
            "sense_port",
            "keys",
            "stop",
            "reset",
            "step",
            "lamps",
            "examined",
        ];
        table.allow(&keys, "`panel`", self.problems);
        let notations =
            [("straight", Notation::Octal), ("split", Notation::SplitOctal), ("hex", Notation::Hexadecimal)];
        let notation = table.get("address").and_then(|value| value.choice(&notations, self.problems));
        let levers = [("address", false), ("own", true)];
        let data = table.get("data").and_then(|value| value.choice(&levers, self.problems));
        let switches = table.get("switches").and_then(|value| value.integer(8..=16, self.problems));
        let panel = &mut self.machine.panel;
        panel.notation = notation.unwrap_or(Notation::Octal);
        if data == Some(true) {
            panel.data = DataLevers::Own;
        }
        if let Some(switches) = switches {
            panel.set_switches(switches as u8);
        }
        self.sense(table);
        if let Some(keys) = table.get("keys") {
            self.keys(keys);
        }
        self.habits(table);
        self.lamps(table);
    }

    /// How the panel is stopped, reset and stepped.
    fn habits(&mut self, table: Table) {
        let stops = [("key", Stop::Key), ("lever", Stop::Lever), ("none", Stop::Nothing)];
        let resets = [("runs", Reset::Runs), ("stopped", Reset::Stopped), ("none", Reset::Missing)];
        let reaches = [("cycle", Reach::Cycle), ("instruction", Reach::Instruction)];
        let stop = table.get("stop").and_then(|value| Some((value.choice(&stops, self.problems)?, value.span())));
        let reset = table.get("reset").and_then(|value| value.choice(&resets, self.problems));
        let step = table.get("step").and_then(|value| value.choice(&reaches, self.problems));
        let panel = &mut self.machine.panel;
        panel.stop = stop.map_or(panel.stop, |(stop, _)| stop);
        panel.reset = reset.unwrap_or(panel.reset);
        panel.step = step.unwrap_or(panel.step);
        if let Some((Stop::Nothing, spot)) = stop
            && panel.reset != Reset::Stopped
        {
            let headline = "nothing on this panel stops the processor".to_owned();
            self.refuse(headline, spot, "expected `\"key\"` or `\"lever\"`, or `reset = \"stopped\"` beside it");
        }
    }

    /// The status lights, and those of them that are lit after EXAMINE.
    fn lamps(&mut self, table: Table) {
        if let Some(lamps) = table.get("lamps") {
            self.machine.panel.lamps =
                self.lamp_names(lamps).into_iter().fold(StatusLamps::NONE, |all, (lamp, _)| all.with(lamp));
        }
        let panel = &mut self.machine.panel;
        panel.examined = panel.examined.within(panel.lamps);
        let Some(examined) = table.get("examined") else { return };
        self.machine.panel.examined = StatusLamps::NONE;
        for (lamp, spot) in self.lamp_names(examined) {
            let panel = &mut self.machine.panel;
            panel.examined = panel.examined.with(lamp);
            if !panel.has(lamp) {
                let headline = format!("the panel has no status light `{}`", lamp.names().collect::<String>());
                self.refuse(headline, spot, "expected one of its `lamps`");
            }
        }
    }

    fn lamp_names(&mut self, value: Value) -> Vec<(StatusLamps, Span)> {
        let values = value.array(self.problems).unwrap_or_default();
        let lamp = |value: Value| Some((value.choice(&StatusLamps::NAMES, self.problems)?, value.span()));
        values.into_iter().filter_map(lamp).collect()
    }

    fn sense(&mut self, table: Table) {
        let levers = [("address", SenseLevers::HighAddress), ("own", SenseLevers::Own)];
        if let Some(value) = table.get("sense")
            && let Some(sense) = value.choice(&levers, self.problems)
        {
            let switches = self.machine.panel.switches;
            if sense == SenseLevers::HighAddress && switches < 16 {
                let headline = format!("`{switches}` address switches have no high eight for the sense byte");
                self.refuse(headline, value.span(), "expected `own`, or 16 switches");
            }
            self.machine.panel.sense = sense;
        }
        if let Some(value) = table.get("sense_port")
            && let Some(number) = value.byte(self.problems)
        {
            self.machine.sense_port = Some(number);
            self.wire(Way::In, number, Port { name: "sense switches".into(), ..Port::default() }, value.span());
        }
    }

    /// The keys that the panel has besides those that every panel has.
    fn keys(&mut self, value: Value) {
        let words = ["examine", "examine-next", "deposit", "deposit-next"].map(|word| (word, word));
        let values = value.array(self.problems).unwrap_or_default();
        let keys: Vec<_> = values.into_iter().filter_map(|value| value.choice(&words, self.problems)).collect();
        self.machine.panel.examine_next = keys.contains(&"examine-next");
        self.machine.panel.deposit_next = keys.contains(&"deposit-next");
    }
}
