//! Programs from whatever carries them: an image, a source, part files, a tape, a recording.

use std::path::{Path, PathBuf};

use clap::Args;

use super::audio::listen::listen;
use super::audio::tones::{ToneOptions, Tones};
use super::files;
use super::framings::load_framing;
use super::input::{ProgramOptions, load_image};
use super::part_folder;
use super::report::Report;
use super::sockets::{SocketMap, read_machine};
use super::tape::verdicts;
use coldwright::image::{Image, entry_outside};
use coldwright::notation::Notation;
use coldwright::project::Machine;
use coldwright::rom;
use coldwright::source::{Code, Diagnostic, Diagnostics, Origin, Position, Severity, SourceMap};
use coldwright::tape::framing::{Framing, Merged, Reading, decode};
use coldwright::tape::recording::Recording;

/// What a user may have to say of a file that carries a program.
#[derive(Args, Debug)]
pub struct ReadingOptions {
    #[command(flatten)]
    program: ProgramOptions,
    #[command(flatten)]
    tones: ToneOptions,
    /// A socket, for a folder of part files: its name, the part seated in it, and its first address; as `parts` takes it
    #[arg(long = "socket", value_name = "NAME=PART@BASE[,...]")]
    sockets: Vec<String>,
    /// A part of your own: its words, its bits (4 or 8) and how an unprogrammed cell reads
    #[arg(long = "part", value_name = "NAME=WORDSxBITS,erased=0|1")]
    parts: Vec<String>,
    /// The framing of a .tape or .wav: a bundled one (see `tape framing`) or a file that ends with .toml
    #[arg(long, value_name = "FRAMING", default_value = "blocks")]
    framing: String,
    /// Which program of a tape, counted from 1
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u16).range(1..))]
    program_number: Option<u16>,
    /// Take the good blocks of a tape even if others are damaged or missing
    #[arg(long)]
    partial: bool,
    /// How addresses and bytes are written: octal, split or hex; else as the machine file says
    #[arg(long, value_name = "NOTATION", value_parser = super::values::notation)]
    notation: Option<Notation>,
}

/// Readings of programs, with what the options say.
pub struct Readings<'a> {
    options: &'a ReadingOptions,
    /// The machine, if a file of one is named.
    pub machine: Option<Machine>,
    /// How addresses and bytes are written.
    pub notation: Notation,
    /// Whether what was read may be faulty: then a check that does not hold is warned of.
    pub faulty: bool,
    framing: Option<Framing>,
    tones: Option<Tones>,
}

impl ReadingOptions {
    /// Reads what the options name. Problems are reported.
    pub fn resolve(&self, report: &mut Report) -> Option<Readings<'_>> {
        let mut sources = SourceMap::default();
        let machine = match self.tones.machine().map(|path| read_machine(path, &mut sources)).transpose() {
            Ok(machine) => machine,
            Err(problems) => {
                report.problems(problems, &sources);
                return None;
            }
        };
        let of_machine = machine.as_ref().map(|machine| machine.panel.notation);
        let notation = self.notation.or(of_machine).unwrap_or_default();
        Some(Readings { options: self, machine, notation, faulty: false, framing: None, tones: None })
    }
}

impl Readings<'_> {
    /// Reads a program. It is there only if it is sound; what is wrong is reported or among the problems.
    pub fn read(
        &mut self,
        path: &Path,
        sources: &mut SourceMap,
        problems: &mut Diagnostics,
        report: &mut Report,
    ) -> Option<Image> {
        let has = |extension: &str| path.extension().is_some_and(|it| it.eq_ignore_ascii_case(extension));
        if path.is_dir() {
            return self.part_files(path, sources, problems);
        }
        if has("tape") {
            let frames = files::read(path).map_err(|problem| problems.push(problem)).ok()?;
            let reading = decode(self.framing(report)?, &frames);
            return self.program(path, &reading, sources, problems);
        }
        if has("wav") {
            let file = files::open(path).map_err(|problem| problems.push(problem)).ok()?;
            let modulation = self.tones(report)?.modulation;
            let heard = listen(path, file, &modulation, report).map_err(|problem| problems.push(problem)).ok()?;
            let recording = Recording::new(self.framing(report)?, heard);
            return self.program(path, &recording.reading, sources, problems);
        }
        let (image, found) = load_image(path, &self.options.program, sources);
        problems.append(found);
        image
    }

    fn framing(&mut self, report: &mut Report) -> Option<&Framing> {
        if self.framing.is_none() {
            self.framing = load_framing(&self.options.framing, self.notation, report);
        }
        self.framing.as_ref()
    }

    fn tones(&mut self, report: &mut Report) -> Option<&Tones> {
        if self.tones.is_none() {
            self.tones = self.options.tones.resolve_any(report);
        }
        self.tones.as_ref()
    }

    /// The bytes that the machine reads from the parts of its sockets.
    fn part_files(&self, folder: &Path, sources: &mut SourceMap, problems: &mut Diagnostics) -> Option<Image> {
        let options = self.options;
        let (map, found) = SocketMap::of(&options.sockets, &options.parts, self.machine.as_ref(), options.notation);
        problems.append(found);
        let map = map?;
        if map.sockets.is_empty() {
            let headline = format!("`{}` is a folder, and no socket says what its files hold", folder.display());
            let help = "describe the socket, as in `--socket U7=2704@0o177000`, or name the machine file";
            problems.push(Diagnostic::error(Code::SocketMalformed, headline).with_help(help));
            return None;
        }
        let mut image = Image::default();
        let before = problems.len();
        for socket in &map.sockets {
            let Some(parts) = part_folder::read(folder, socket, sources, problems) else { continue };
            let parts: Vec<_> = parts.into_iter().map(|(_, part)| part).collect();
            let made_by = Position { source: sources.add(&*socket.name, "", Origin::Given), offset: 0 };
            let bytes = rom::join_as_read(socket, &parts).and_then(|bytes| {
                let mut wrong = rom::verify(socket, &bytes, map.notation);
                if let (Err(problem), true) = (&mut wrong, self.faulty) {
                    problem.severity = Severity::Warning;
                    problems.push(problem.clone());
                    wrong = Ok(());
                }
                wrong.map(|()| bytes)
            });
            match bytes {
                // What two sockets serve is told as their clash.
                Ok(bytes) => _ = image.insert(socket.base, &bytes, made_by),
                Err(problem) => problems.push(problem),
            }
        }
        problems.extend(rom::clashes(&map.sockets).into_iter().map(|clash| clash.problem));
        let refused = problems.iter().skip(before).any(|problem| problem.severity == Severity::Error);
        (!refused).then_some(image)
    }

    /// One program of a tape.
    fn program(
        &self,
        path: &Path,
        reading: &Reading,
        sources: &mut SourceMap,
        problems: &mut Diagnostics,
    ) -> Option<Image> {
        let merged = Merged::from(reading);
        let (name, count) = (path.display(), merged.programs.len());
        let refuse = |headline: String, help: &str| Diagnostic::error(Code::TapeDamaged, headline).with_help(help);
        let number = match (self.options.program_number, count) {
            (_, 0) => {
                let headline = format!("no block of `{}` was found on `{name}`", self.options.framing);
                problems.push(refuse(headline, "is it this framing? `coldwright tape framing` lists them"));
                return None;
            }
            (None, 1) => 0,
            (Some(number), _) if usize::from(number) <= count => usize::from(number) - 1,
            _ => {
                let headline = format!("`{name}` holds {count} programs");
                problems.push(refuse(headline, "say which, as in `--program-number 1`"));
                return None;
            }
        };
        let program = &merged.programs[number];
        if !program.is_whole() && !self.options.partial {
            let help = "read it again and give all readings, with `--partial`: what is good of each is taken";
            problems.push(refuse(format!("`{name}` could not be read whole"), help));
            return None;
        }
        problems.extend(program.is_unled.then(|| verdicts::unled(Some(path))));
        let made_by = Position { source: sources.add(name.to_string(), "", Origin::Given), offset: 0 };
        let (image, contested) = program.image(made_by);
        problems.extend(image.entry.filter(|_| program.is_whole()).and_then(|entry| entry_outside(&image, entry)));
        if let Some(first) = contested.first() {
            let headline = format!("{} bytes of `{name}` stand on it twice with different values", contested.len());
            let note = format!("the first is at {}; the earlier one is taken", self.notation.address(*first));
            problems.push(Diagnostic::warning(Code::TapeDamaged, headline).with_note(note));
        }
        Some(image)
    }
}

/// The name of a file for the first line of a source.
pub fn short_name(path: &Path) -> String {
    let name = PathBuf::from(path.file_name().unwrap_or(path.as_os_str()));
    name.display().to_string().chars().map(|letter| if matches!(letter, ' '..='~') { letter } else { '?' }).collect()
}
