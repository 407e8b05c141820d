//! Assembly sources from files: the arguments that every command with a source shares, and the search for includes.

use std::path::{Path, PathBuf};

use clap::Args;

use super::files;
use coldwright::assembler::{self, Assembly, LoadError, Loaded, Loader, Options};
use coldwright::notation::parse_number;
use coldwright::project::is_misfit;
use coldwright::source::{Code, Diagnostic, Diagnostics, Origin, Severity, SourceMap};

/// The heading above the options of sources.
const SOURCES: &str = "Assembly sources";

/// What a user may have to say of an assembly source.
#[derive(Args, Clone, Debug, Default)]
pub struct SourceOptions {
    /// Define a constant before the first line; the number as 0o60, 60Q, 0x30, 30H or decimal
    #[arg(short = 'D', long = "define", value_name = "NAME=VALUE", value_parser = definition, help_heading = SOURCES)]
    definitions: Vec<(String, u16)>,
    /// Look for included files in this folder too
    #[arg(short = 'I', long = "include", value_name = "DIR", help_heading = SOURCES)]
    folders: Vec<PathBuf>,
    /// Warn of labels that nothing uses
    #[arg(long, help_heading = SOURCES)]
    unused: bool,
}

impl SourceOptions {
    /// Whether anything was said.
    pub fn are_given(&self) -> bool {
        self.defines() || !self.folders.is_empty() || self.unused
    }

    /// Whether constants are defined from outside the source.
    pub fn defines(&self) -> bool {
        !self.definitions.is_empty()
    }
}

fn definition(text: &str) -> Result<(String, u16), String> {
    let (name, value) = text.split_once('=').unwrap_or((text, "0xFFFF"));
    let starts_well = name.starts_with(|first: char| first.is_ascii_alphabetic() || matches!(first, '?' | '@' | '_'));
    if !starts_well || !name.bytes().all(|byte| byte.is_ascii_alphanumeric() || b"?@_$".contains(&byte)) {
        return Err(format!("`{name}` is not a name"));
    }
    let value = parse_number(value).map_err(|error| format!("`{value}` is {error}"))?;
    Ok((name.to_owned(), value))
}

/// Assembles the text of a source; `-` names standard input. `keep_lines` is for a listing. The assembly is there only
/// if it has no errors.
pub fn assemble(
    path: &Path,
    text: Vec<u8>,
    options: &SourceOptions,
    keep_lines: bool,
    sources: &mut SourceMap,
) -> (Option<Assembly>, Diagnostics) {
    let (assembly, problems) = assembled(path, text, options, keep_lines, sources);
    (assembly.filter(|_| !problems.has_errors()), problems)
}

/// As [`assemble`], but a program that is over a limit of its own is there too.
pub fn assemble_over(
    path: &Path,
    text: Vec<u8>,
    options: &SourceOptions,
    sources: &mut SourceMap,
) -> (Option<Assembly>, Diagnostics) {
    let (assembly, problems) = assembled(path, text, options, false, sources);
    let wrong = problems.iter().any(|it| it.severity == Severity::Error && !is_misfit(it));
    (assembly.filter(|_| !wrong), problems)
}

fn assembled(
    path: &Path,
    text: Vec<u8>,
    options: &SourceOptions,
    keep_lines: bool,
    sources: &mut SourceMap,
) -> (Option<Assembly>, Diagnostics) {
    if text.len() > SourceMap::LONGEST {
        let problem = Diagnostic::error(Code::FileUnreadable, format!("`{}` is too large", path.display()));
        return (None, Diagnostics::from_iter([problem]));
    }
    if let Some(problem) = files::no_program(path, &text) {
        return (None, Diagnostics::from_iter([problem]));
    }
    let name = if path == Path::new(files::STREAM) { "(standard input)".into() } else { shown(path) };
    let root = sources.add(name, text, Origin::Given);
    let wanted = Options { definitions: options.definitions.clone(), warn_unused: options.unused, keep_lines };
    let mut assembly = assembler::assemble(sources, root, &wanted, &mut Disk { folders: &options.folders });
    assembly.export_symbols();
    let diagnostics = std::mem::take(&mut assembly.diagnostics);
    (Some(assembly), diagnostics)
}

/// The name of a file without folder and extension, as a heading.
pub fn title(path: &Path) -> String {
    if path == Path::new(files::STREAM) {
        return "program".into();
    }
    path.file_stem().unwrap_or(path.as_os_str()).to_string_lossy().into_owned()
}

/// A path as it is shown, with the same separators everywhere.
pub fn shown(path: &Path) -> String {
    path.display().to_string().replace('\\', "/")
}

/// The whole path of a file without links, by whatever name it goes.
fn identity(path: &Path) -> String {
    shown(&path.canonicalize().unwrap_or_else(|_| path.to_owned()))
}

/// What a refused file's headline says after its name.
pub fn reason(problem: &Diagnostic) -> String {
    problem.headline.split_once("`: ").map_or(&*problem.headline, |(_, reason)| reason).to_owned()
}

/// Included files: beside the file that includes them, then in the given folders, then built in.
pub struct Disk<'a> {
    /// Where to look besides the folder of the file that includes.
    pub folders: &'a [PathBuf],
}

impl Loader for Disk<'_> {
    fn load(&mut self, name: &str, from: &str) -> Result<Loaded, LoadError> {
        let beside = Path::new(from).parent().unwrap_or(Path::new(""));
        let mut tried = Vec::new();
        for folder in std::iter::once(beside).chain(self.folders.iter().map(PathBuf::as_path)) {
            let path = folder.join(name);
            if !path.exists() {
                tried.push(shown(&path));
                continue;
            }
            let bytes =
                files::read(&path).map_err(|problem| LoadError { reason: reason(&problem), tried: Vec::new() })?;
            if bytes.len() > SourceMap::LONGEST {
                return Err(LoadError { reason: "it is too large".into(), tried: Vec::new() });
            }
            return Ok(Loaded { name: shown(&path), identity: identity(&path), bytes });
        }
        assembler::built_in(name).ok_or_else(|| {
            tried.push("the built-in library".into());
            LoadError { reason: "no such file".into(), tried }
        })
    }

    fn identity(&self, name: &str) -> String {
        identity(Path::new(name))
    }
}
