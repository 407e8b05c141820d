//! The files that a run writes: whole or not at all, and only once every one of them could be written. What an output
//! would destroy is refused before anything is written.

mod stream;
mod target;
mod together;
mod yard;

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io::{self, Seek, Write};
use std::path::{Path, PathBuf};

use self::target::folder;
use self::yard::{Left, Yard, sweep};
use super::files::{self, STREAM};
use super::report::Report;
use super::stop;
use coldwright::source::{Code, Diagnostic, Diagnostics, SourceMap};

pub use self::stream::{Stream, Way};
pub use self::target::{Plain, Target, is_standard_output};

/// The outputs of a run, held back until all of them are known to be right.
#[derive(Default)]
pub struct Outputs {
    files: Vec<(PathBuf, Vec<u8>)>,
    stale: Vec<PathBuf>,
    /// Inputs that were asked to be changed.
    changed: BTreeSet<PathBuf>,
}

impl Outputs {
    /// Adds an output; `-` is standard output.
    pub fn add(&mut self, path: impl Into<PathBuf>, bytes: impl Into<Vec<u8>>) {
        self.files.push((path.into(), bytes.into()));
    }

    /// Adds the changed text of an input that the user asked to be changed in its place.
    pub fn change(&mut self, path: &Path, bytes: impl Into<Vec<u8>>) {
        self.changed.insert(path.to_owned());
        self.add(path, bytes);
    }

    /// Adds a file that is to be taken away once the outputs are in place.
    pub fn discard(&mut self, path: impl Into<PathBuf>) {
        self.stale.push(path.into());
    }

    /// Reports what came up in a run, and puts its outputs in place only if none of it is an error. Says whether they are.
    pub fn finish(self, mut problems: Diagnostics, sources: &SourceMap, report: &mut Report) -> bool {
        if !problems.has_errors()
            && let Err(problem) = self.commit(report)
        {
            problems.push(problem);
        }
        let done = !problems.has_errors();
        report.problems(problems, sources);
        done
    }

    /// As [`commit`](Self::commit), into a folder that may have to be made first, and is taken away again if the outputs
    /// cannot be written.
    ///
    /// # Errors
    /// A diagnostic if it cannot be made, or for the first output that failed.
    pub fn commit_in(self, folder: &Path, report: &mut Report) -> Result<(), Diagnostic> {
        let made: Vec<_> =
            folder.ancestors().take_while(|above| !above.as_os_str().is_empty() && !above.exists()).collect();
        fs::create_dir_all(folder).map_err(|error| no_folder(folder, &error))?;
        self.commit(report).inspect_err(|_| {
            for folder in made {
                // It is empty unless a move failed; then it stays.
                let _ = fs::remove_dir(folder);
            }
        })
    }

    /// Writes every file beside its place first, then what goes to devices, pipes and standard output, and then moves
    /// each file into its place: an earlier good file survives a full disk or a killed process.
    ///
    /// # Errors
    /// A diagnostic for the first output that failed; no file has been put in place then, unless a move itself failed. It
    /// says which.
    pub fn commit(self, report: &mut Report) -> Result<(), Diagnostic> {
        let targets = targets(&self.files, &self.changed)?;
        let left = sweep_all(&targets);
        let mut yards = BTreeMap::new();
        let (mut files, mut streams) = (Vec::new(), Vec::new());
        for ((path, bytes), target) in self.files.iter().zip(&targets) {
            match target {
                Target::Plain(place) => {
                    let made = stage(place, bytes, &mut yards).map_err(|error| refuse(path, &error, 0))?;
                    files.push(Ready { path, place, bytes, made });
                }
                Target::Stream(way) => streams.push((path, way, bytes)),
            }
        }
        // They stay open until the files are in place: whoever reads to the end finds those there.
        let delivered = streams.into_iter().map(|(path, way, bytes)| deliver(path, way, bytes));
        let open: Vec<Stream> = delivered.collect::<Result<_, _>>()?;
        if stop::is_stopped() {
            return Err(stop::stopped().with_note(UNTOUCHED));
        }
        announce(&files, &mut yards)?;
        stop::undisturbed(|| {
            for (placed, Ready { path, place, made, .. }) in files.into_iter().enumerate() {
                fs::rename(made, &place.path).map_err(|error| refuse(path, &error, placed))?;
            }
            for path in &self.stale {
                // A file that cannot be taken away does no harm.
                let _ = fs::remove_file(path);
            }
            drop((yards, open));
            Ok(())
        })?;
        tell(left, &targets, report);
        Ok(())
    }
}

/// A file that was written and has only to be moved.
struct Ready<'a> {
    path: &'a Path,
    place: &'a Plain,
    bytes: &'a [u8],
    made: PathBuf,
}

/// The yards of a run, each in a folder where an output goes.
type Yards<'a> = BTreeMap<&'a Path, Yard>;

/// Writes a file beside its place.
fn stage<'a>(place: &'a Plain, bytes: &[u8], yards: &mut Yards<'a>) -> io::Result<PathBuf> {
    let yard = match yards.entry(folder(&place.path)) {
        Entry::Occupied(there) => there.into_mut(),
        Entry::Vacant(none) => {
            let yard = Yard::new(none.key())?;
            none.insert(yard)
        }
    };
    let (made, mut file) = yard.begin(place)?;
    file.write_all(bytes)?;
    Ok(made)
}

/// Says in every yard which outputs belong together, before the first of them is moved.
fn announce(files: &[Ready], yards: &mut Yards) -> Result<(), Diagnostic> {
    let listed: Vec<_> = files.iter().map(|it| (it.place, it.bytes)).collect();
    for (folder, yard) in yards {
        if let Some(record) = together::record(&listed, folder) {
            yard.note(&record).map_err(|error| refuse(folder, &error, 0))?;
        }
    }
    Ok(())
}

/// Where every output goes. What would replace another output of the run is refused, or an input that is not to be
/// `changed`.
fn targets(files: &[(PathBuf, Vec<u8>)], changed: &BTreeSet<PathBuf>) -> Result<Vec<Target>, Diagnostic> {
    let mut taken = BTreeMap::new();
    let mut targets = Vec::new();
    for (path, _) in files {
        let target = if changed.contains(path) { of(path)? } else { target(path)? };
        if let Some(place) = target.plain() {
            let whole = fs::canonicalize(folder(&place.path))
                .unwrap_or_default()
                .join(place.path.file_name().unwrap_or_default());
            if let Some(other) = taken.insert(whole, path) {
                let other = format!("`{}` of the same run goes to the same file", other.display());
                return Err(refuse(path, &io::Error::other(other), 0));
            }
        }
        targets.push(target);
    }
    Ok(targets)
}

/// Where an output of this run goes.
///
/// # Errors
/// A diagnostic if it may not go there: most of all, if it would destroy an input.
pub fn target(path: &Path) -> Result<Target, Diagnostic> {
    let target = of(path)?;
    let Some(input) = target.identity().and_then(|identity| files::input_that_is(&identity)) else { return Ok(target) };
    let why = match input == shown(path) {
        true => "it is an input of this run".into(),
        false => format!("it is the same file as {input}, an input of this run"),
    };
    Err(refuse(path, &io::Error::other(why), 0).with_help("give the output another name"))
}

fn of(path: &Path) -> Result<Target, Diagnostic> {
    Target::of(path).map_err(|error| refuse(path, &error, 0))
}

/// Takes away what killed runs have left where outputs go, and gives back their records.
fn sweep_all(targets: &[Target]) -> Vec<Left> {
    let folders: BTreeSet<_> = targets.iter().filter_map(Target::plain).map(|place| folder(&place.path)).collect();
    folders.into_iter().flat_map(sweep).collect()
}

/// Tells what killed runs have left apart, now that the outputs of this one are in place.
fn tell(left: Vec<Left>, targets: &[Target], report: &mut Report) {
    let written = targets.iter().filter_map(Target::plain).map(|place| place.path.as_path());
    together::settle(left, written).into_iter().for_each(|problem| report.problem(problem));
}

/// Cleans a folder in which nothing has to be written.
pub fn tidy(folder: &Path, report: &mut Report) {
    tell(sweep(folder), &[], report);
}

/// What killed runs have put in place in a folder, or were about to, with the sums of its bytes. Their records stay.
pub fn put_in_place_by_killed(folder: &Path) -> Vec<(PathBuf, u64)> {
    sweep(folder).iter().flat_map(together::listed).collect()
}

/// Opens what is no file and writes to it.
fn deliver(path: &Path, way: &Way, bytes: &[u8]) -> Result<Stream, Diagnostic> {
    let done = way.open().and_then(|mut stream| {
        stream.write_all(bytes)?;
        stream.flush()?;
        Ok(stream)
    });
    done.map_err(|error| refuse(path, &error, 0))
}

/// What is said of the other outputs when one could not be written.
const UNTOUCHED: &str = "no output of this run was put in place; what stood there before is untouched";

/// Says which output failed; `placed` files of the run were put in place before it.
pub fn refuse(path: &Path, error: &io::Error, placed: usize) -> Diagnostic {
    let problem = Diagnostic::error(Code::FileUnwritable, format!("cannot write {}: {error}", shown(path)));
    match placed {
        0 => problem.with_note(UNTOUCHED),
        placed => problem.with_note(format!("outputs of this run that were put in place before: {placed}")),
    }
}

fn shown(path: &Path) -> String {
    if path == Path::new(STREAM) { "standard output".into() } else { format!("`{}`", path.display()) }
}

fn no_folder(folder: &Path, error: &io::Error) -> Diagnostic {
    let headline = format!("cannot make the folder `{}`: {error}", folder.display());
    let problem = Diagnostic::error(Code::FileUnwritable, headline);
    match folder.is_file() {
        true => problem.with_help("a file of that name is in the way: move it, or name another folder with `-o`"),
        false => problem,
    }
}

/// An output too large to be held, written piece by piece and from any place on, and then put where it belongs.
pub struct Staged {
    shown: PathBuf,
    held: Held,
}

enum Held {
    /// A file that will be moved.
    Beside { place: Plain, made: PathBuf, file: File, _yard: Yard },
    /// A file without a name, for what is written from its begin to its end only.
    Apart(Way, File),
}

impl Staged {
    /// Begins the output that is to go to `path`; `-` is standard output.
    ///
    /// # Errors
    /// A diagnostic if nothing can be written there.
    pub fn new(path: &Path) -> Result<Staged, Diagnostic> {
        let held = match target(path)? {
            Target::Plain(place) => {
                // Records stay for a run that can tell of them.
                drop(sweep(folder(&place.path)));
                Yard::new(folder(&place.path)).and_then(|mut yard| {
                    let (made, file) = yard.begin(&place)?;
                    Ok(Held::Beside { place, made, file, _yard: yard })
                })
            }
            Target::Stream(way) => tempfile::tempfile().map(|file| Held::Apart(way, file)),
        };
        let held = held.map_err(|error| refuse(path, &error, 0))?;
        Ok(Staged { shown: path.to_owned(), held })
    }

    /// Where its bytes go.
    pub fn writer(&mut self) -> &mut File {
        match &mut self.held {
            Held::Beside { file, .. } | Held::Apart(_, file) => file,
        }
    }

    /// What to say when writing it failed.
    pub fn refuse(&self, error: &io::Error) -> Diagnostic {
        refuse(&self.shown, error, 0)
    }

    /// Puts the output in its place; one that is dropped instead leaves nothing behind.
    ///
    /// # Errors
    /// A diagnostic if that fails.
    pub fn place(self) -> Result<(), Diagnostic> {
        let done = match self.held {
            Held::Beside { place, made, .. } => stop::undisturbed(|| fs::rename(made, &place.path)),
            Held::Apart(way, file) => copy(file, &way),
        };
        done.map_err(|error| refuse(&self.shown, &error, 0))
    }
}

fn copy(mut file: File, way: &Way) -> io::Result<()> {
    file.rewind()?;
    let mut out = way.open()?;
    io::copy(&mut file, &mut out)?;
    out.flush()
}
