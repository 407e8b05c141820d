//! The one way by which a command takes an image, whatever the format of the file.

use std::path::Path;

use clap::Args;

use super::{files, values};
use crate::image::format::{self, Evidence, Format};
use crate::image::{Image, Reading};
use crate::notation::Address;
use crate::source::{Code, Diagnostic, Diagnostics, SourceMap};

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

/// Takes an image from a file of any format; `-` is standard input. There is an image only if the file is sound; the
/// problems hold notes and warnings besides.
///
/// Every command takes its image through here: what becomes readable here becomes readable everywhere.
pub fn load_image(path: &Path, options: &ImageOptions, sources: &mut SourceMap) -> (Option<Image>, Diagnostics) {
    let file = match open(path, options) {
        Ok(file) => file,
        Err(problem) => return (None, Diagnostics::from_iter([problem])),
    };
    let Reading { image, problems, .. } = file.read(options.origin, sources);
    let sound = !problems.has_errors();
    (sound.then_some(image), problems)
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
    let bytes = files::read(path)?;
    let name = path.display().to_string();
    let (format, evidence) = match options.format {
        Some(format) => (format, Evidence::Told),
        None => format::recognise(&bytes, &name)?,
    };
    Ok(ImageFile { name, format, evidence, bytes })
}

impl ImageFile {
    /// Reads the image; `origin` is the address of the first byte of a raw binary.
    pub fn read(self, origin: Option<Address>, sources: &mut SourceMap) -> Reading {
        let mismatch = self.mismatch();
        let mut reading = self.format.read(self.bytes, &self.name, origin, sources);
        reading.problems.extend(mismatch);
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
