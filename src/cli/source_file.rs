//! Assembly sources from files: the arguments that every command with a source shares, and the search for includes.

use std::path::{Path, PathBuf};

use clap::Args;

use super::files;
use super::report::Report;
use crate::assembler::{self, Assembly, LoadError, Loaded, Loader, Options};
use crate::notation::parse_number;
use crate::source::{Code, Diagnostic, Origin, SourceMap};

/// What it takes to assemble a source.
#[derive(Args, Clone, Debug)]
pub struct SourceArguments {
    /// The source; - reads standard input
    file: PathBuf,
    /// Define a constant before the first line; the number as 0o60, 60Q, 0x30, 30H or decimal
    #[arg(short = 'D', long = "define", value_name = "NAME=VALUE", value_parser = definition)]
    definitions: Vec<(String, u16)>,
    /// Look for included files in this folder too
    #[arg(short = 'I', long = "include", value_name = "DIR")]
    folders: Vec<PathBuf>,
    /// Warn of labels that nothing uses
    #[arg(long)]
    unused: bool,
}

impl SourceArguments {
    /// The file as named by the user.
    pub fn file(&self) -> &Path {
        &self.file
    }

    /// The name of the source without folder and extension, as a heading.
    pub fn name(&self) -> String {
        if self.file == Path::new(files::STREAM) {
            return "program".into();
        }
        self.file.file_stem().unwrap_or(self.file.as_os_str()).to_string_lossy().into_owned()
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

/// Assembles the source and reports its problems. `None` if it has errors.
pub fn assemble(arguments: &SourceArguments, sources: &mut SourceMap, report: &mut Report) -> Option<Assembly> {
    let bytes = files::read(&arguments.file).map_err(|problem| report.problem(problem)).ok()?;
    if bytes.len() > SourceMap::LONGEST {
        report.problem(Diagnostic::error(Code::FileUnreadable, format!("`{}` is too large", arguments.file.display())));
        return None;
    }
    let name =
        if arguments.file == Path::new(files::STREAM) { "(standard input)".into() } else { shown(&arguments.file) };
    let root = sources.add(name, bytes, Origin::Given);
    let options = Options { definitions: arguments.definitions.clone(), warn_unused: arguments.unused };
    let mut disk = Disk { folders: &arguments.folders };
    let mut assembly = assembler::assemble(sources, root, &options, &mut disk);
    let diagnostics = std::mem::take(&mut assembly.diagnostics);
    let failed = diagnostics.has_errors();
    report.problems(diagnostics, sources);
    (!failed).then_some(assembly)
}

/// A path as it is shown, with the same separators everywhere.
fn shown(path: &Path) -> String {
    path.display().to_string().replace('\\', "/")
}

/// The whole path of a file without links, by whatever name it goes.
fn identity(path: &Path) -> String {
    shown(&path.canonicalize().unwrap_or_else(|_| path.to_owned()))
}

/// What a refused file's headline says after its name.
fn reason(problem: &Diagnostic) -> String {
    problem.headline.split_once("`: ").map_or(&*problem.headline, |(_, reason)| reason).to_owned()
}

/// Included files: beside the file that includes them, then in the given folders, then built in.
struct Disk<'a> {
    folders: &'a [PathBuf],
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
