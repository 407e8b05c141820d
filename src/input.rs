//! The one way by which a command takes a program, whatever the format of the file.

use std::path::Path;

use clap::Args;

use super::source_file::{self, SourceOptions};
use super::{files, values};
use coldwright::image::format::{self, Evidence, Format};
use coldwright::image::{Image, Reading, entry_outside};
use coldwright::notation::Address;
use coldwright::source::{Code, Diagnostic, Diagnostics, SourceMap};

/// What a user may have to say of an image file.
#[derive(Args, Clone, Debug, Default)]
pub struct ImageOptions {
    /// Format of the input where neither content nor name shows it: bin, hex, s19, s28, s37, elf, c, inc
    #[arg(long, value_name = "FORMAT", value_parser = values::format)]
    pub format: Option<Format>,
    /// Address of the first byte of a raw binary
    #[arg(long, value_name = "ADDRESS", value_parser = values::address)]
    pub origin: Option<Address>,
}

/// What a user may have to say of a program, be it an image or a source.
#[derive(Args, Clone, Debug, Default)]
pub struct ProgramOptions {
    #[command(flatten)]
    pub image: ImageOptions,
    #[command(flatten)]
    source: SourceOptions,
}

impl ProgramOptions {
    /// What was said of a source.
    pub fn source(&self) -> &SourceOptions {
        &self.source
    }
}

/// A program that was read.
pub struct Loaded {
    /// Its bytes, with entry and symbols.
    pub image: Image,
    /// Whether it was assembled from a source, so that every byte points at its line.
    pub from_source: bool,
}

/// Takes a program from an assembly source or an image file of any format; `-` is standard input. It is there only if the
/// file is sound; the problems hold notes and warnings besides.
///
/// Every command takes its program through here: what becomes readable here becomes readable everywhere.
pub fn load(path: &Path, options: &ProgramOptions, sources: &mut SourceMap) -> (Option<Loaded>, Diagnostics) {
    let refused = |problem| (None, Diagnostics::from_iter([problem]));
    let bytes = match files::read(path) {
        Ok(bytes) => bytes,
        Err(problem) => return refused(problem),
    };
    if is_source(path, &bytes, &options.image) {
        let (assembly, problems) = source_file::assemble(path, bytes, &options.source, false, sources);
        return (assembly.map(|assembly| Loaded { image: assembly.image, from_source: true }), problems);
    }
    let file = match ImageFile::new(path, bytes, &options.image) {
        Ok(file) => file,
        Err(problem) => return refused(problem),
    };
    let Reading { image, problems, .. } = file.read(options.image.origin, sources);
    let sound = !problems.has_errors();
    (sound.then_some(Loaded { image, from_source: false }), problems)
}

/// A file is a source unless its name or an option says that it is an image, or it says so itself.
fn is_source(path: &Path, bytes: &[u8], options: &ImageOptions) -> bool {
    if options.format.is_some() || options.origin.is_some() || Format::of_name(&path.to_string_lossy()).is_some() {
        return false;
    }
    path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("asm"))
        || format::recognise(bytes, "").is_err()
}

/// As [`load`], for a command to which it is all one where the image comes from.
pub fn load_image(path: &Path, options: &ProgramOptions, sources: &mut SourceMap) -> (Option<Image>, Diagnostics) {
    let (loaded, problems) = load(path, options, sources);
    (loaded.map(|loaded| loaded.image), problems)
}

/// A file whose format is known, not yet read as an image.
pub struct ImageFile {
    /// As the user would type it.
    pub name: String,
    /// Its format.
    pub format: Format,
    /// How the format is known.
    pub evidence: Evidence,
    bytes: Vec<u8>,
}

/// Opens a file and finds out its format.
///
/// # Errors
/// A diagnostic if the file cannot be read, or nothing tells its format.
pub fn open(path: &Path, options: &ImageOptions) -> Result<ImageFile, Diagnostic> {
    ImageFile::new(path, files::read(path)?, options)
}

impl ImageFile {
    fn new(path: &Path, bytes: Vec<u8>, options: &ImageOptions) -> Result<ImageFile, Diagnostic> {
        let name = path.display().to_string();
        let (format, evidence) = match options.format {
            Some(format) => (format, Evidence::Told),
            None => format::recognise(&bytes, &name)
                .map_err(|problem| files::no_program(path, &bytes).unwrap_or(problem))?,
        };
        Ok(ImageFile { name, format, evidence, bytes })
    }

    /// Reads the image; `origin` is the address of the first byte of a raw binary.
    pub fn read(self, origin: Option<Address>, sources: &mut SourceMap) -> Reading {
        let mismatch = self.mismatch();
        let mut reading = self.format.read(self.bytes, &self.name, origin, sources);
        reading.problems.extend(mismatch);
        let outside = reading.image.entry.and_then(|entry| entry_outside(&reading.image, entry));
        reading.problems.extend(outside.filter(|_| !reading.problems.has_errors()));
        reading
    }

    /// A note if the name promises another format than the content shows.
    fn mismatch(&self) -> Option<Diagnostic> {
        let Evidence::Content(shown) = &self.evidence else { return None };
        let promised = Format::of_name(&self.name)?;
        if promised.is_kind_of(self.format) {
            return None;
        }
        let headline = format!("`{}` is named as {}, but read as {}", self.name, promised.title(), self.format.title());
        let problem = Diagnostic::note(Code::FormatMismatch, headline).with_note(shown.clone());
        Some(problem.with_help(format!("if the name is right, say so: `--format {}`", promised.word())))
    }
}
