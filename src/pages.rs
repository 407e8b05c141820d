//! Drawings to files, by the extension of their names.

use std::borrow::Borrow;
use std::path::{Path, PathBuf};

use clap::ValueEnum;

use super::outputs::Outputs;
use coldwright::drawing::{Drawing, PageSize, html, pdf, svg};
use coldwright::panel::Paper;
use coldwright::source::{Code, Diagnostic};

/// Papers by the words that select them.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum PaperWord {
    /// 210 by 297 mm
    A4,
    /// 8.5 by 11 inches
    Letter,
}

impl PaperWord {
    /// The paper of sheets.
    pub fn paper(self) -> Paper {
        match self {
            PaperWord::A4 => Paper::A4,
            PaperWord::Letter => Paper::Letter,
        }
    }

    /// The paper, upright.
    pub fn size(self) -> PageSize {
        self.paper().size()
    }
}

/// Adds a drawing to the outputs: `.html` and `.pdf` hold all pages, `.svg` is a file a page.
///
/// # Errors
/// A diagnostic for any other extension; `also` lists what else the command can write.
pub fn add_drawing<D: Borrow<Drawing>>(
    outputs: &mut Outputs,
    path: &Path,
    draw: impl Fn() -> D,
    also: &str,
) -> Result<(), Diagnostic> {
    let extension = path.extension().map(|extension| extension.to_ascii_lowercase());
    match extension.as_ref().and_then(|extension| extension.to_str()) {
        Some("html") => outputs.add(path, html::write(draw().borrow())),
        Some("pdf") => outputs.add(path, pdf::write(draw().borrow())),
        Some("svg") => {
            let drawing = draw();
            let drawing = drawing.borrow();
            for (at, page) in drawing.pages.iter().enumerate() {
                let path = if drawing.pages.len() == 1 { path.to_owned() } else { numbered(path, at + 1) };
                outputs.add(path, svg::write_page(page, &drawing.title));
            }
        }
        _ => {
            let headline = format!("`{}` has no extension that names a format of pages", path.display());
            let help = format!("end the name with {also}.html, .pdf or .svg");
            return Err(Diagnostic::error(Code::FormatUnknown, headline).with_help(help));
        }
    }
    Ok(())
}

/// `sheet.svg` as `sheet-2.svg`.
pub fn numbered(path: &Path, number: usize) -> PathBuf {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let extension = path.extension().map_or(String::new(), |it| format!(".{}", it.to_string_lossy()));
    path.with_file_name(format!("{stem}-{number}{extension}"))
}
