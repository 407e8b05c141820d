//! From bytes to a source that is proven to be theirs.

use std::collections::BTreeMap;

use super::bytes::Bytes;
use super::find::{Found, Known, find};
use super::habits::understand;
use super::hints::Hints;
use super::labels::{Labels, Sight};
use super::marks::{Mark, Uses};
use super::ports::{self, PortNames};
use super::write::{Content, write};
use crate::assembler::{Assembly, Options, StdlibOnly, assemble};
use crate::image::{Image, MEMORY};
use crate::notation::{Address, Notation};
use crate::project::Machine;
use crate::source::{Code, Diagnostic, Diagnostics, Origin, SourceMap, Span};

/// What is wanted of a source.
pub struct Wish<'a> {
    /// What the bytes were read from, for the first line.
    pub title: &'a str,
    /// What a person said.
    pub hints: &'a Hints,
    /// Where execution begins, besides what file and hints say.
    pub entries: &'a [Address],
    /// The machine, whose ports have names.
    pub machine: Option<&'a Machine>,
    /// What several readings disagree on.
    pub disputed: &'a BTreeMap<Address, String>,
    /// How numbers are written.
    pub notation: Notation,
    /// Whether T-states stand beside each instruction.
    pub states: bool,
}

/// A source with what was found.
pub struct Disassembled {
    /// The source.
    pub text: String,
    /// What the bytes are.
    pub found: Found,
    /// Bytes of instructions.
    pub code: usize,
    /// Bytes of texts, tables and other data that are known as such.
    pub data: usize,
    /// Bytes of which nothing is known.
    pub unknown: usize,
    /// The entry, if there is one.
    pub entry: Option<Address>,
    /// Hints that hit nothing.
    pub problems: Diagnostics,
}

/// Writes the source of an image.
pub fn disassemble(image: &Image, wish: &Wish) -> Disassembled {
    let bytes = Bytes::new(image);
    let entries: Vec<Address> = image.entry.into_iter().chain(wish.entries.iter().copied()).collect();
    let of_machine = wish.machine.map(ports::of_machine).unwrap_or_default();
    let found = find(&bytes, &Known { hints: wish.hints, entries: &entries, ports: &of_machine });
    let ports = PortNames::new(wish.machine, wish.hints, wish.notation);
    let understood = understand(&bytes, &found, &ports);
    let told = wish.entries.iter().copied().chain(wish.hints.entries.iter().map(|hint| hint.value));
    let told = told.into_iter().find(|at| found.places.lies_at(&bytes, MEMORY, at.0).is_some());
    let first = || (0..MEMORY).find(|at| found.marks.uses(*at).any(Uses::ENTRY));
    let entry = image.entry.or(told).or_else(|| first().map(|at| Address(found.places.runs_at(at))));
    let sight = Sight { bytes: &bytes, found: &found, hints: wish.hints, notation: wish.notation };
    let labels = Labels::give(&sight, &understood, &ports, image, entry);
    let content =
        Content { sight, labels, understood, disputed: wish.disputed, title: wish.title, entry, states: wish.states };
    let text = write(&content);
    drop(content);
    let count =
        |of: &dyn Fn(Mark) -> bool| bytes.runs().into_iter().flatten().filter(|at| of(found.marks.at(*at))).count();
    let (code, unknown) =
        (count(&|mark| matches!(mark, Mark::Start | Mark::Inside)), count(&|mark| mark == Mark::Unknown));
    let problems = idle(&bytes, &found, wish.hints);
    Disassembled { text, code, data: image.len() - code - unknown, unknown, entry, found, problems }
}

/// Hints that hit nothing.
fn idle(bytes: &Bytes, found: &Found, hints: &Hints) -> Diagnostics {
    let mut problems = Diagnostics::default();
    let mut warn = |span: Span, why: &str| {
        let problem = Diagnostic::warning(Code::HintUnused, "this hint has no use").at(span, why);
        problems.push(problem.with_help("is the address right? take the hint out if it is no longer needed"));
    };
    let lies = |at: Address| found.places.lies_at(bytes, MEMORY, at.0);
    for (at, hint) in &hints.comments {
        if lies(*at).is_none() {
            warn(hint.span, "no byte lies at this address");
        }
    }
    for (at, hint) in &hints.operands {
        let has_operand = |at: usize| bytes.decode(at).is_some_and(|decoded| decoded.length() > 1);
        if !lies(*at).is_some_and(|at| found.marks.at(at) == Mark::Start && has_operand(at)) {
            warn(hint.span, "no instruction with an operand begins at this address");
        }
    }
    for (at, hint) in &hints.behind {
        if !lies(*at).is_some_and(|at| found.marks.uses(at).any(Uses::CALLED)) {
            warn(hint.span, "nothing calls this address");
        }
    }
    for hint in &hints.kinds {
        if !bytes.has(hint.value.0.index()) {
            warn(hint.span, "no byte lies at this address");
        }
    }
    for hint in &hints.entries {
        if lies(hint.value).is_none() {
            warn(hint.span, "no byte lies at this address");
        }
    }
    problems
}

/// Assembles a source and compares: nothing is delivered that does not make the bytes it was read from.
///
/// # Errors
/// What the assembler refuses, or the first byte that differs, with the line that makes it.
pub fn prove(
    text: &str,
    name: &str,
    image: &Image,
    entry: Option<Address>,
    sources: &mut SourceMap,
) -> Result<(), Diagnostics> {
    let root = sources.add(name, text, Origin::Given);
    let mut assembly = assemble(sources, root, &Options::default(), &mut StdlibOnly);
    let problems = std::mem::take(&mut assembly.diagnostics);
    if problems.has_errors() {
        return Err(problems);
    }
    match first_difference(&assembly, image, entry) {
        Some(problem) => Err(Diagnostics::from_iter([problem])),
        None => Ok(()),
    }
}

fn first_difference(assembly: &Assembly, image: &Image, entry: Option<Address>) -> Option<Diagnostic> {
    let made = &assembly.image;
    let headline = |at: Address, is: Option<u8>, wanted: Option<u8>| {
        let shown =
            |byte: Option<u8>| byte.map_or("nothing".to_owned(), |byte| crate::notation::Both(byte).to_string());
        let (at, is, wanted) = (crate::notation::Both(at), shown(is), shown(wanted));
        format!("the source makes {is} at {at}, where {wanted} was read")
    };
    if made.extents().ne(image.extents()) {
        let at = (0..=u16::MAX).map(Address).find(|at| made.byte(*at) != image.byte(*at))?;
        let problem = Diagnostic::error(Code::SourceDiffers, headline(at, made.byte(at), image.byte(at)));
        let problem =
            problem.with_help("an operand of the hints file has another value than the bytes: look at this line");
        return Some(match made.made_by(at) {
            Some(place) => problem.at(place.span(), "made here"),
            None => problem,
        });
    }
    (made.entry != entry).then(|| Diagnostic::error(Code::SourceDiffers, "the source starts at another address"))
}
