//! `parts`: the parts that are known, and part files written and read.

use std::io;
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand, ValueEnum};

use super::files;
use super::input::{ProgramOptions, load_image};
use super::outputs::{self, Outputs};
use super::part_folder;
use super::report::Report;
use super::sockets::{SocketMap, SocketOptions};
use super::source_file;
use coldwright::image::Image;
use coldwright::image::format::Format;
use coldwright::image::raw::Gaps;
use coldwright::notation::{Notation, counted};
use coldwright::rom::{self, PartFile, PartFormat, PartImage, Socket};
use coldwright::source::{Code, Diagnostic, Diagnostics, Origin, Position, SourceMap};

/// Write a file for every part of a ROM socket, read such files back, list known parts
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  \
    coldwright parts write rooster.hex --socket U7=82S131@0o177000 -o parts\n  \
    coldwright parts read parts --socket U7=82S131@0o177000 -o joined.hex")]
pub struct Parts {
    #[command(subcommand)]
    action: Action,
}

#[derive(Debug, Subcommand)]
enum Action {
    List(List),
    Write(Write),
    Read(Read),
}

/// List the known parts: organisation, pins, erased state
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright parts list\n  coldwright parts list --json")]
struct List {}

/// Write a file for each part of each socket, with labels and cautions beside them
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  \
    coldwright parts write rooster.hex --socket U7=2704@0o177000,check=sum8@0o177777 -o parts\n  \
    coldwright parts write rooster.hex --socket U7=82S131@0o177000,inverted --to hex -o parts")]
struct Write {
    /// The program: an assembly source or an image of any format; `-` reads standard input
    image: PathBuf,
    #[command(flatten)]
    options: ProgramOptions,
    #[command(flatten)]
    sockets: SocketOptions,
    /// The folder for the files; made if it is not there
    #[arg(short, long, value_name = "DIR")]
    output: PathBuf,
    /// Format of the part files
    #[arg(long, value_enum, default_value_t = To::Bin)]
    to: To,
    /// The title on the labels; without it, the name of the image file
    #[arg(long, value_name = "TEXT")]
    title: Option<String>,
}

/// Read part files back, verify their checks, and join them to an image
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  \
    coldwright parts read checked --socket U7=2704@0o177000,check=sum8@0o177777\n  \
    coldwright parts read parts --socket U7=82S131@0o177000,inverted -o joined.bin")]
struct Read {
    /// The folder of the files, named after their sockets: `U7.bin`, `U7-high.hex`
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    #[command(flatten)]
    sockets: SocketOptions,
    /// The image that the parts ought to hold: every byte that differs is an error
    #[arg(long, value_name = "IMAGE")]
    against: Option<PathBuf>,
    #[command(flatten)]
    options: ProgramOptions,
    /// Where to write the joined image
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

/// How a part file holds the words of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum To {
    /// Raw: one byte for each word
    Bin,
    /// Intel HEX, from address 0 of the part
    Hex,
}

impl To {
    fn part_format(self) -> PartFormat {
        match self {
            To::Bin => PartFormat::Raw,
            To::Hex => PartFormat::IntelHex,
        }
    }
}

impl Parts {
    pub(super) fn run(self, report: &mut Report) {
        match self.action {
            Action::List(_) => list(report),
            Action::Write(write) => write.run(report),
            Action::Read(read) => read.run(report),
        }
    }
}

fn list(report: &mut Report) {
    if !report.json() {
        return report.print(rom::to_text());
    }
    for row in rom::PARTS {
        let line = serde_json::json!({
            "names": row.names, "words": row.words, "bits": row.width.bits(), "pins": row.pins,
            "erased": u8::from(row.erased == rom::Level::High), "source": row.source,
        });
        report.print(format!("{line}\n"));
    }
}

impl Write {
    fn run(self, report: &mut Report) {
        let mut sources = SourceMap::default();
        let (map, mut problems) = self.sockets.resolve(&mut sources);
        let (image, said) = load_image(&self.image, &self.options, &mut sources);
        problems.append(said);
        if let (Some(map), Some(image)) = (map, image) {
            problems.append(rom::fit(&image, &map.sockets, 0, map.notation).1);
            if image.is_empty() {
                let headline = format!("`{}` holds no byte: there is nothing to write", self.image.display());
                let problem = Diagnostic::error(Code::NothingToDeposit, headline);
                problems.push(problem.with_help("is it the right file? name the one that has the program"));
            }
            if !problems.has_errors() {
                problems.extend(self.deliver(&map, &image, report).err());
            }
        }
        report.problems(problems, &sources);
    }

    /// Writes the files of all sockets, once all of them have been read back and found equal.
    fn deliver(&self, map: &SocketMap, image: &Image, report: &mut Report) -> Result<(), Diagnostic> {
        let format = self.to.part_format();
        let title = self.title.clone().unwrap_or_else(|| source_file::title(&self.image));
        let (mut outputs, mut summary, mut pages) = (Outputs::default(), String::new(), String::new());
        for socket in &map.sockets {
            let files = rom::part_files(socket, &rom::contents(socket, image, map.notation)?, format)?;
            pages += &rom::labels_page(&title, socket, &files, map.notation);
            for PartFile { part, bytes } in files {
                let path = self.output.join(format!("{}.{}", part.name, format.extension()));
                summary += &line(report.json(), map.notation, &path, socket, &part);
                outputs.add(path, bytes);
            }
        }
        let labels = self.output.join("labels.txt");
        if files::look_at(&labels).is_some_and(|there| !rom::is_labels_page(&there)) {
            let why = io::Error::other("what stands there is no page of labels");
            let help = "move it, or name another folder with `-o`";
            return Err(outputs::refuse(&labels, &why, 0).with_help(help));
        }
        outputs.add(labels, pages);
        outputs.commit_in(&self.output, report)?;
        report.print(summary);
        Ok(())
    }
}

/// What was written or read for one part.
fn line(json: bool, notation: Notation, path: &Path, socket: &Socket, part: &PartImage) -> String {
    let (file, sum) = (path.display(), part.sum());
    if json {
        let line = serde_json::json!({
            "file": file.to_string(), "socket": socket.name, "part": socket.part.name, "words": part.words.len(),
            "bits": socket.part.width.bits(), "sum": sum,
        });
        return format!("{line}\n");
    }
    let (part, organisation) = (&socket.part.name, socket.part.organisation());
    format!("{file}  {part}  {organisation}  sum {}\n", notation.word(sum))
}

impl Read {
    fn run(self, report: &mut Report) {
        let mut sources = SourceMap::default();
        let (map, mut problems) = self.sockets.resolve(&mut sources);
        let wanted = self.against.as_deref().and_then(|path| {
            let (image, said) = load_image(path, &self.options, &mut sources);
            problems.append(said);
            image
        });
        if let Some(map) = map {
            problems.append(match &wanted {
                Some(image) => rom::fit(image, &map.sockets, 0, map.notation).1,
                None => rom::clashes(&map.sockets).into_iter().map(|clash| clash.problem).collect(),
            });
            let (image, summary) = self.join(&map, wanted.as_ref(), report.json(), &mut sources, &mut problems);
            if !problems.has_errors() {
                match self.deliver(&image, report) {
                    Ok(()) => report.print(summary),
                    Err(problem) => problems.push(problem),
                }
            }
        }
        report.problems(problems, &sources);
    }

    /// The image that the machine reads, and what is to be said of its parts and sockets.
    fn join(
        &self,
        map: &SocketMap,
        wanted: Option<&Image>,
        json: bool,
        sources: &mut SourceMap,
        problems: &mut Diagnostics,
    ) -> (Image, String) {
        let (mut image, mut summary) = (Image::default(), String::new());
        for socket in &map.sockets {
            let Some(parts) = part_folder::read(&self.folder, socket, sources, problems) else { continue };
            summary.extend(parts.iter().map(|(path, part)| line(json, map.notation, path, socket, part)));
            let parts: Vec<_> = parts.into_iter().map(|(_, part)| part).collect();
            let made_by = Position { source: sources.add(&*socket.name, "", Origin::Given), offset: 0 };
            match joined(socket, &parts, wanted, map.notation) {
                Ok(bytes) => {
                    summary += &self.verdict(json, socket, map.notation);
                    // An overlap is a clash of sockets, which has been found already.
                    let _ = image.insert(socket.base, &bytes, made_by);
                }
                Err(problem) => problems.push(problem),
            }
        }
        (image, summary)
    }

    /// What was found true of a socket.
    fn verdict(&self, json: bool, socket: &Socket, notation: Notation) -> String {
        let check = socket.check.map(|check| check.kind.name());
        if json {
            let line = serde_json::json!({
                "socket": socket.name, "base": socket.base.0, "size": socket.span(), "check": check,
                "as_image": self.against.is_some(),
            });
            return format!("{line}\n");
        }
        let held = check.map(|check| format!(", the {check} holds")).unwrap_or_default();
        let equal = if self.against.is_some() { ", as the image asks" } else { "" };
        format!("{} {}: {}{held}{equal}\n", socket.name, socket.place(notation), counted(socket.span(), "byte"))
    }

    /// Writes the joined image, if it is asked for.
    fn deliver(&self, image: &Image, report: &mut Report) -> Result<(), Diagnostic> {
        let Some(path) = &self.output else { return Ok(()) };
        let format = Format::for_output(&path.display().to_string())?;
        let mut outputs = Outputs::default();
        outputs.add(path, format.write(image, Gaps::Refuse)?);
        outputs.commit(report)
    }
}

/// The bytes of a socket from its parts, equal to those that an image asks for, if there is one.
fn joined(
    socket: &Socket,
    parts: &[PartImage],
    wanted: Option<&Image>,
    notation: Notation,
) -> Result<Vec<u8>, Diagnostic> {
    let bytes = rom::join(socket, parts, notation)?;
    let wanted = wanted.map(|image| rom::contents(socket, image, notation)).transpose()?;
    match wanted.and_then(|wanted| rom::difference(socket, &wanted, &bytes, notation)) {
        Some(problem) => Err(problem),
        None => Ok(bytes),
    }
}
