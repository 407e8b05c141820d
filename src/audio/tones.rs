//! The options that say what a tape sounds like, shared by the commands of sound.

use std::path::{Path, PathBuf};

use clap::Args;

use crate::report::Report;
use crate::sockets::read_machine;
use coldwright::audio::{Modulation, PRESETS, Pauses, Preset};
use coldwright::notation::Notation;
use coldwright::project::MachineSound;
use coldwright::source::{Code, Diagnostic, SourceMap, nearest};

/// The preset that is taken where neither an option nor a machine file says another.
const USUAL_PRESET: &str = "byte-300";

/// What a tape sounds like: a published pair of tones or a machine's own, and changes to it.
#[derive(Args, Debug)]
pub struct ToneOptions {
    /// The published pair of tones: byte-300 (as usual), byte-1200, bell-103-originate, bell-103-answer,
    /// v21-originate, v21-answer
    #[arg(long, value_name = "PRESET", value_parser = preset)]
    preset: Option<&'static Preset>,
    /// The machine file, whose sound is taken where no option says otherwise
    #[arg(long, value_name = "FILE")]
    machine: Option<PathBuf>,
    /// Which sound of the machine file, by its name; needed if there are several
    #[arg(long, value_name = "NAME", requires = "machine")]
    sound: Option<String>,
    /// Another tone for 1, in Hz
    #[arg(long, value_name = "HZ")]
    mark: Option<f64>,
    /// Another tone for 0, in Hz
    #[arg(long, value_name = "HZ")]
    space: Option<f64>,
    /// Another rate, in bits a second
    #[arg(long, value_name = "RATE")]
    baud: Option<f64>,
    /// Another number of stop bits
    #[arg(long, value_name = "COUNT")]
    stop_bits: Option<u8>,
}

/// Tones, and the pauses that go with them.
pub struct Tones {
    /// Tones, rate, stop bits.
    pub modulation: Modulation,
    /// Leader, gap and trailer.
    pub pauses: Pauses,
}

impl ToneOptions {
    /// The machine file, if one is named.
    pub fn machine(&self) -> Option<&Path> {
        self.machine.as_deref()
    }

    /// How the machine file writes addresses and bytes. Of its mistakes [`Self::resolve`] tells.
    pub fn notation(&self) -> Option<Notation> {
        let machine = read_machine(self.machine()?, &mut SourceMap::default()).ok()?;
        Some(machine.panel.notation)
    }

    /// As [`Self::resolve`], for a command that takes the machine for more than its sound.
    pub fn resolve_any(&self, report: &mut Report) -> Option<Tones> {
        if self.sound.is_some() || self.machine.is_none() {
            return self.resolve(report);
        }
        let sounds = self.machine.as_deref().map(|path| read_machine(path, &mut SourceMap::default()));
        match sounds {
            Some(Ok(machine)) if machine.sounds.is_empty() => {
                self.changed(None).map_err(|problem| report.problem(problem)).ok()
            }
            _ => self.resolve(report),
        }
    }

    /// What the options and the machine file make together. Problems are reported.
    pub fn resolve(&self, report: &mut Report) -> Option<Tones> {
        let machine = match &self.machine {
            Some(path) => Some(self.sound_of(path, report)?),
            None => None,
        };
        let own = self.changed(machine.as_ref());
        own.map_err(|problem| report.problem(problem)).ok()
    }

    /// `--preset` replaces the tones of a machine but not its pauses, which are what its loader needs.
    fn changed(&self, machine: Option<&MachineSound>) -> Result<Tones, Diagnostic> {
        let usual = self.preset.or_else(|| Preset::named(USUAL_PRESET)).unwrap_or(&PRESETS[0]);
        let pauses = machine.map_or(usual.pauses, |sound| sound.pauses);
        let base = match (self.preset, machine) {
            (None, Some(sound)) => sound.modulation,
            _ => usual.modulation,
        };
        let own = Modulation::new(
            self.mark.unwrap_or(base.mark_hz()),
            self.space.unwrap_or(base.space_hz()),
            self.baud.unwrap_or(base.baud()),
            self.stop_bits.unwrap_or(base.stop_bits()),
        );
        let modulation = own.map_err(|fault| Diagnostic::error(Code::SoundUnfit, fault.to_string()))?;
        Ok(Tones { modulation, pauses })
    }

    fn sound_of(&self, path: &Path, report: &mut Report) -> Option<MachineSound> {
        let mut sources = SourceMap::default();
        match read_machine(path, &mut sources) {
            Ok(machine) => self.choose(machine.sounds, path).map_err(|problem| report.problem(problem)).ok(),
            Err(problems) => {
                report.problems(problems, &sources);
                None
            }
        }
    }

    fn choose(&self, mut sounds: Vec<MachineSound>, path: &Path) -> Result<MachineSound, Diagnostic> {
        let refuse = |headline: String| Diagnostic::error(Code::SoundUnfit, headline);
        let path = path.display();
        let names = sounds.iter().map(|sound| format!("`{}`", sound.name)).collect::<Vec<_>>().join(", ");
        let Some(wanted) = &self.sound else {
            return match sounds.len() {
                1 => Ok(sounds.remove(0)),
                0 => Err(refuse(format!("`{path}` says nothing of sound"))
                    .with_help("add a `[[sound]]` to it, or leave `--machine` out")),
                _ => Err(refuse(format!("`{path}` has several sounds: {names}"))
                    .with_help(format!("name one, as in `--sound {}`", sounds[0].name))),
            };
        };
        if let Some(at) = sounds.iter().position(|sound| sound.name == *wanted) {
            return Ok(sounds.swap_remove(at));
        }
        let problem = refuse(format!("`{path}` has no sound `{wanted}`"));
        let problem = if names.is_empty() { problem } else { problem.with_note(format!("it has {names}")) };
        Err(match nearest(wanted, sounds.iter().map(|sound| sound.name.as_str())) {
            Some(near) => problem.with_help(format!("did you mean `{near}`?")),
            None => problem,
        })
    }
}

fn preset(name: &str) -> Result<&'static Preset, String> {
    let names = || PRESETS.map(|preset| preset.name).join(", ");
    Preset::named(name).ok_or_else(|| format!("expected one of {}", names()))
}
