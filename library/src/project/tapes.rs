//! The tapes of a chain: through which interface each is read, how it sounds, what is lettered on it.

use super::chain_file::{self, ChainFile, HomeEntry, TapeEntry};
use super::entries::Placed;
use super::listed::Id;
use super::machine::MachineSound;
use super::machine::{Chip, Serial, UartBits};
use super::machine_file::MachineFile;
use super::plan::Tape;
use super::planner::{Planner, suggest};
use crate::audio::{Modulation, PRESETS};
use crate::line::{LineFormat, Parity};
use crate::source::{Code, Diagnostic, Span};
use crate::tape::lettering;

/// Bits between start and stop of a recorded character; a parity bit travels as one of them.
const RECORDED_BITS: u8 = 8;

impl Planner<'_> {
    /// Every tape that a stage names, with what the file says of it.
    pub(super) fn tapes(&mut self, file: &ChainFile, machine: Option<&MachineFile>) -> Vec<Tape> {
        let mut tapes: Vec<Tape> = Vec::new();
        for stage in &file.stages {
            let Some(HomeEntry::Tape { tape, .. }) = &stage.home else { continue };
            if tapes.iter().any(|known| known.name == tape.value) {
                continue;
            }
            let entry = file.tapes.iter().find(|entry| entry.name.value == tape.value);
            tapes.push(self.tape(tape, entry, machine));
        }
        let is_used = |entry: &&TapeEntry| tapes.iter().any(|tape| tape.name == entry.name.value);
        let all_known = file.stages.iter().all(|stage| stage.home.is_some());
        for entry in file.tapes.iter().filter(|entry| all_known && !is_used(entry)) {
            let headline = format!("no stage is on the tape `{}`", entry.name.value);
            let problem = Diagnostic::error(Code::HomeUnknown, headline).at(entry.name.span, "this tape");
            self.problems.push(suggest(problem, &entry.name.value, tapes.iter().map(|tape| tape.name.as_str())));
        }
        tapes
    }

    fn tape(&mut self, name: &Placed<String>, entry: Option<&TapeEntry>, machine: Option<&MachineFile>) -> Tape {
        let serial = machine.and_then(|machine| self.serial(entry, name.span, machine));
        let interface = serial.zip(machine).and_then(|(serial, file)| {
            let name = &file.serial.get(serial.place())?.0.value;
            file.machine.serial.iter().find(|serial| serial.name == *name)
        });
        self.problems.extend(interface.and_then(|interface| deaf(interface, name)));
        let line = interface.and_then(|interface| interface.line);
        let sound = entry.and_then(|entry| entry.sound.as_ref()).and_then(|name| self.sound(name, line, machine));
        let wanted = entry.and_then(|entry| entry.lettering.as_ref());
        let lettering = wanted.map(|text| {
            lettering::columns(&text.value)
                .map_err(|problem| self.problems.push(problem.at(text.span, "wanted here")))
                .unwrap_or_default()
        });
        Tape {
            name: name.value.clone(),
            serial: serial.unwrap_or(Id::new(0)),
            after: entry.map_or(chain_file::USUAL_DELAY, |entry| entry.after),
            sound,
            lettering: lettering.unwrap_or_default(),
        }
    }

    /// The sound of that name: one of the machine's own, or a preset.
    fn sound(
        &mut self,
        name: &Placed<String>,
        line: Option<LineFormat>,
        machine: Option<&MachineFile>,
    ) -> Option<MachineSound> {
        let own = machine.map_or(&[][..], |file| &file.machine.sounds);
        let sounds: Vec<_> = own.iter().cloned().chain(PRESETS.iter().map(MachineSound::from)).collect();
        let Some(sound) = sounds.iter().find(|sound| sound.name == name.value) else {
            // A machine file that could not be read may have had it.
            if machine.is_some() {
                let headline = format!("there is no sound `{}`", name.value);
                let problem = Diagnostic::error(Code::SoundUnfit, headline)
                    .at(name.span, "expected a `[[sound]]` of the machine file, or a preset");
                self.problems.push(suggest(problem, &name.value, sounds.iter().map(|sound| sound.name.as_str())));
            }
            return None;
        };
        self.problems.extend(line.and_then(|line| unfit(sound, name.span, line, &sounds)));
        Some(sound.clone())
    }

    /// The interface of a tape, by its number: the one named, or the only one with a line.
    fn serial(&mut self, entry: Option<&TapeEntry>, tape: Span, machine: &MachineFile) -> Option<Id<Serial>> {
        let lines = machine.serial.iter().enumerate().filter(|(_, (_, has_line))| *has_line);
        let lines: Vec<_> = lines.map(|(number, (name, _))| (Id::new(number), name.value.as_str())).collect();
        let names = || lines.iter().map(|(_, name)| *name);
        let Some(name) = entry.and_then(|entry| entry.line.as_ref()) else {
            if let [(only, _)] = lines.as_slice() {
                return Some(*only);
            }
            let headline = "it is not known through which interface this tape is read".to_owned();
            let help = match lines.is_empty() {
                true => "the machine file needs a `[[serial]]` with a `line`".into(),
                false => format!("add `[[tape]]` with `line`, one of: {}", names().collect::<Vec<_>>().join(", ")),
            };
            self.problems.push(Diagnostic::error(Code::LineUnknown, headline).at(tape, "this tape").with_help(help));
            return None;
        };
        let name = name.as_ref()?;
        let found = lines.iter().find(|(_, known)| *known == name.value).map(|(number, _)| *number);
        if found.is_none() {
            let headline = format!("the machine has no interface `{}` with a line", name.value);
            let problem = Diagnostic::error(Code::LineUnknown, headline).at(name.span, "named here");
            self.problems.push(suggest(problem, &name.value, names()));
        }
        found
    }
}

/// A hard-wired UART of which nobody knows how it shows that a character waits.
fn deaf(interface: &Serial, tape: &Placed<String>) -> Option<Diagnostic> {
    let Chip::Uart(UartBits { received: None, .. }) = interface.chip else { return None };
    let headline = format!("it is not known on which bit `{}` shows that a character was received", interface.name);
    let problem = Diagnostic::error(Code::MachineValue, headline).at(tape.span, "this tape is read through it");
    let bit = "`\"character received\" = { bit = 0, active = \"high\" }`";
    Some(
        problem.with_help(format!("in the machine file, say {bit} under `[serial.bits]`, with the bit of your wiring")),
    )
}

/// Why the characters of a line cannot be recorded so, if they cannot.
fn unfit(sound: &MachineSound, span: Span, line: LineFormat, known: &[MachineSound]) -> Option<Diagnostic> {
    let why = misfit(&sound.modulation, line)?;
    let headline = format!("`{}` cannot carry the line `{line}`: {why}", sound.name);
    let problem = Diagnostic::error(Code::SoundUnfit, headline).at(span, "recorded so");
    let fit = known.iter().filter(|sound| misfit(&sound.modulation, line).is_none());
    let fit: Vec<_> = fit.map(|sound| format!("`{}`", sound.name)).collect();
    Some(match fit.is_empty() {
        true => problem.with_help(
            "no sound that is known carries this line: give the line another format, describe a `[[sound]]` of its speed in the \
             machine file, or leave `sound` out",
        ),
        false => problem.with_help(format!("these carry it: {}", fit.join(", "))),
    })
}

fn misfit(modulation: &Modulation, line: LineFormat) -> Option<String> {
    if modulation.baud() * 100.0 != f64::from(line.speed.hundredths()) {
        return Some(format!("it has {} bits a second", modulation.baud()));
    }
    let bits = line.data_bits + u8::from(line.parity != Parity::None);
    if bits != RECORDED_BITS {
        return Some(format!("its characters have {RECORDED_BITS} bits, parity among them, those of the line {bits}"));
    }
    let stop_half_bits = 2 * u64::from(modulation.stop_bits());
    (stop_half_bits < line.stop_bits.half_bits())
        .then(|| format!("it has {} stop bit, so its characters would come too fast", modulation.stop_bits()))
}
