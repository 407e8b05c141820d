//! `[[sound]]` of a machine file: what cassette and modem interfaces sound like.

use super::entries::{Placed, needed};
use super::machine::MachineSound;
use super::machine_file::Reader;
use crate::audio::{Modulation, PRESETS, Pauses, Preset};
use crate::source::{Code, Diagnostic, Span, Table};

/// The preset from which a sound starts where the file names none.
const USUAL_PRESET: &str = "byte-300";

impl Reader<'_> {
    /// Every `[[sound]]`.
    pub(super) fn sounds(&mut self, list: &[Table]) {
        let mut names: Vec<Placed<String>> = Vec::new();
        for table in list {
            let Some(name) = self.sound(*table) else { continue };
            if let Some(first) = names.iter().find(|first| first.value == name.value) {
                let headline = format!("two sounds have the name `{}`", name.value);
                let problem = Diagnostic::error(Code::NameTwice, headline).at(name.span, "the second");
                self.problems.push(problem.and_at(first.span, "the first"));
            }
            names.push(name);
        }
    }

    /// One sound, put into the machine if it can be; its name.
    fn sound(&mut self, table: Table) -> Option<Placed<String>> {
        let what = "`[[sound]]`";
        let keys = ["name", "preset", "mark", "space", "baud", "stop_bits", "leader", "gap", "trailer"];
        table.allow(&keys, what, self.problems);
        let name = needed(table, "name", what, self.problems);
        let presets = PRESETS.each_ref().map(|preset| (preset.name, preset.name));
        let preset = match table.get("preset") {
            Some(value) => value.choice(&presets, self.problems),
            None => Some(USUAL_PRESET),
        };
        let preset = preset.and_then(Preset::named);
        let usual = preset.unwrap_or(&PRESETS[0]);
        let pauses = self.pauses(table, usual.pauses);
        let spot = name.as_ref().map_or(table.span(), |name| name.span);
        let modulation = self.modulation(table, usual.modulation, spot);
        if let (Some(_), Some(modulation), Some(pauses), Some(name)) = (preset, modulation, pauses, &name) {
            self.machine.sounds.push(MachineSound { name: name.value.clone(), modulation, pauses });
        }
        name
    }

    fn pauses(&mut self, table: Table, usual: Pauses) -> Option<Pauses> {
        let [leader, gap, trailer] = [("leader", usual.leader), ("gap", usual.gap), ("trailer", usual.trailer)]
            .map(|(key, usual)| self.number(table, key, usual, 0.0, Pauses::LONGEST));
        Some(Pauses { leader: leader?, gap: gap?, trailer: trailer? })
    }

    fn modulation(&mut self, table: Table, usual: Modulation, spot: Span) -> Option<Modulation> {
        let tones = [("mark", usual.mark_hz()), ("space", usual.space_hz())];
        let [mark, space] = tones.map(|(key, usual)| self.number(table, key, usual, 100.0, 20_000.0));
        let baud = self.number(table, "baud", usual.baud(), 20.0, 4800.0);
        let stop_bits = match table.get("stop_bits") {
            Some(value) => value.integer(1..=8, self.problems).map(|count| count as u8),
            None => Some(usual.stop_bits()),
        };
        Modulation::new(mark?, space?, baud?, stop_bits?)
            .map_err(|fault| self.refuse(fault.to_string(), spot, "in this `[[sound]]`"))
            .ok()
    }

    fn number(&mut self, table: Table, key: &str, usual: f64, low: f64, high: f64) -> Option<f64> {
        table.get(key).map_or(Some(usual), |value| value.number(low..=high, self.problems))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::Machine;
    use crate::source::{Origin, SourceMap};

    fn sounds(text: &str) -> Result<Vec<MachineSound>, Vec<String>> {
        let mut sources = SourceMap::default();
        let id = sources.add("machine.toml", text, Origin::Given);
        let machine = Machine::read(&sources, id);
        machine
            .map(|machine| machine.sounds)
            .map_err(|problems| problems.iter().map(|problem| problem.headline.clone()).collect())
    }

    #[test]
    fn a_sound_differs_from_its_preset_where_it_says_so() {
        let text = "[[sound]]\nname = 'deck'\n[[sound]]\nname = 'line'\npreset = 'v21-answer'\nmark = 1660\ngap = 0.5";
        let found = sounds(text);
        let [deck, line] = &found.unwrap()[..] else { panic!("two sounds") };
        let byte = Preset::named("byte-300").unwrap();
        assert_eq!((deck.modulation, deck.pauses), (byte.modulation, byte.pauses));
        assert_eq!((line.modulation.mark_hz(), line.modulation.space_hz()), (1660.0, 1850.0));
        assert_eq!(line.pauses, Pauses { leader: 2.0, gap: 0.5, trailer: 1.0 });
    }

    #[test]
    fn what_cannot_sound_is_told_with_all_else_that_is_wrong() {
        let text = "[[sound]]\nname = 'a'\npreset = 'byte-30'\n[[sound]]\nname = 'b'\nmark = 1270\nspace = 1200\nleader = -1\n\
                    [[sound]]\nname = 'c'\n[[sound]]\nname = 'c'";
        let problems = sounds(text).unwrap_err();
        for part in ["`byte-30`", "`-1`", "tones `1270` and `1200` Hz are too close", "two sounds have the name `c`"] {
            assert!(problems.iter().any(|problem| problem.contains(part)), "{part}: {problems:?}");
        }
        assert_eq!(problems.len(), 4);
    }
}
