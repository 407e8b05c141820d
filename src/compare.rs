//! `compare`: where two programs differ, and why.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::json;

use super::files;
use super::readings::{ReadingOptions, Readings};
use super::report::Report;
use coldwright::comparison::{Difference, Explanation, Reason, differences, explain, read_dump};
use coldwright::image::{Extent, Image, format};
use coldwright::notation::{Address, Notation, counted};
use coldwright::source::{Code, Diagnostic, Diagnostics, Origin, SourceMap};

/// Compare two programs byte by byte, and say why they differ
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  \
    coldwright compare rooster.hex parts --socket U7=82S131@0o177000\n  \
    coldwright compare chimes.asm chimes.tape --all")]
pub struct Compare {
    /// What the bytes ought to be: an image of any format, a source, a folder of part files, a .tape, a .wav, or a .txt, .log
    /// or .cap with memory as a terminal showed it
    #[arg(value_name = "FIRST")]
    first: PathBuf,
    /// What is there, from the same choice
    #[arg(value_name = "SECOND")]
    second: PathBuf,
    #[command(flatten)]
    options: ReadingOptions,
    /// Print every differing byte, not only the first of them
    #[arg(long)]
    all: bool,
}

/// Differing bytes that are printed without `--all`.
const SHOWN: usize = 24;

/// Bytes that nothing explains, which are printed without `--all`.
const UNEXPLAINED: usize = 64;

impl Compare {
    pub(super) fn run(self, report: &mut Report) {
        let (mut sources, mut problems) = (SourceMap::default(), Diagnostics::default());
        let Some(mut readings) = self.options.resolve(report) else { return };
        // What is compared is looked at because something may be wrong with it.
        readings.faulty = true;
        let first = side(&self.first, &mut readings, &mut sources, &mut problems, report);
        let second = side(&self.second, &mut readings, &mut sources, &mut problems, report);
        report.problems(problems, &sources);
        let (Some(first), Some(second)) = (first, second) else { return report.fail() };
        let found = Found::of(first, second, readings.notation, &sources);
        report.print(if report.json() { found.json() } else { found.text(self.all) });
        if !found.same() {
            report.fail();
        }
    }
}

/// One of the two, with what was taken for what where that was a question.
struct Side {
    name: String,
    image: Image,
    facts: Vec<(&'static str, String)>,
}

fn side(
    path: &Path,
    readings: &mut Readings,
    sources: &mut SourceMap,
    problems: &mut Diagnostics,
    report: &mut Report,
) -> Option<Side> {
    let name = path.display().to_string();
    let captured =
        ["txt", "log", "cap"].iter().any(|it| path.extension().is_some_and(|own| own.eq_ignore_ascii_case(it)));
    if captured && !path.is_dir() {
        let bytes = files::read(path).map_err(|problem| problems.push(problem)).ok()?;
        // Records of a format that shows itself are read as such.
        if format::recognise(&bytes, "").is_err() {
            let id = sources.add(&*name, bytes, Origin::Given);
            let text = sources.get(id).text().to_owned();
            let reading = read_dump(&text, id);
            let sound = !reading.problems.has_errors();
            problems.append(reading.problems);
            return sound.then_some(Side { name, image: reading.image, facts: reading.facts });
        }
    }
    let image = readings.read(path, sources, problems, report)?;
    if image.is_empty() {
        // Nothing agrees with everything.
        let headline = format!("`{name}` holds no byte: there is nothing to compare");
        problems
            .push(Diagnostic::error(Code::FormatUnknown, headline).with_help("give what ought to hold the program"));
        return None;
    }
    Some(Side { name, image, facts: Vec::new() })
}

/// What is to be told.
struct Found<'a> {
    first: Side,
    second: Side,
    notation: Notation,
    sources: &'a SourceMap,
    differences: Vec<Difference>,
    explanation: Explanation,
}

impl Found<'_> {
    fn of(first: Side, second: Side, notation: Notation, sources: &SourceMap) -> Found<'_> {
        let differences = differences(&first.image, &second.image);
        let explanation = explain(&first.image, &second.image);
        Found { first, second, notation, sources, differences, explanation }
    }

    /// Whether the second has all that the first has. It may have more: an empty part is never only as long as its program.
    fn same(&self) -> bool {
        self.differences.iter().all(|difference| difference.first.is_none())
    }

    /// The label before an address and the line that made its byte, as far as they are known of either side.
    fn place(&self, at: Address) -> (String, String) {
        let images = [&self.first.image, &self.second.image];
        let label = images.iter().find_map(|image| image.nearest_label(at));
        let label = label.map(|(symbol, behind)| match behind {
            0 => symbol.name.clone(),
            _ => format!("{}+{behind}", symbol.name),
        });
        let mut made_by = images.iter().filter_map(|image| image.made_by(at)).map(|place| self.sources.root(place));
        let line = made_by.find(|place| !self.sources.get(place.source).text().is_empty());
        (label.unwrap_or_default(), line.map(|place| self.sources.file_line(place)).unwrap_or_default())
    }

    fn near(&self, at: Address) -> String {
        let (label, line) = self.place(at);
        let parts: Vec<_> = [label, line].into_iter().filter(|part| !part.is_empty()).collect();
        if parts.is_empty() { String::new() } else { format!(" ({})", parts.join(", ")) }
    }

    fn text(&self, all: bool) -> String {
        let mut out = String::new();
        for (which, side) in [("first", &self.first), ("second", &self.second)] {
            let _ = writeln!(out, "{which:<6}  {}: {}", side.name, self.extents(&side.image));
            for (name, value) in &side.facts {
                let _ = writeln!(out, "        {name}: {value}");
            }
        }
        let only = |of: &dyn Fn(&Difference) -> bool| self.differences.iter().filter(|it| of(it)).count();
        let (missing, more) = (only(&|it| it.second.is_none()), only(&|it| it.first.is_none()));
        let both: Vec<_> =
            self.differences.iter().filter(|it| it.first.is_some() && it.second.is_some()).copied().collect();
        for (count, which) in [(missing, "first"), (more, "second")] {
            if count > 0 {
                let _ = writeln!(out, "only in the {which}: {}", counted(count, "byte"));
            }
        }
        if self.same() {
            out += "no byte differs\n";
            return out;
        }
        if !both.is_empty() {
            let _ = writeln!(out, "of what both have {}", counted_differing(both.len()));
        }
        self.reasons(&mut out);
        if !both.is_empty() {
            out.push('\n');
            self.rows(&mut out, &both, if all { usize::MAX } else { SHOWN }, "`--all` shows them");
        }
        self.unexplained(&mut out, all);
        out
    }

    fn extents(&self, image: &Image) -> String {
        let told = |extent: Extent| {
            format!("{} to {}", self.notation.address(extent.base), self.notation.address(extent.last()))
        };
        let all: Vec<_> = image.extents().map(told).collect();
        match all.len() {
            0 => "no byte".to_owned(),
            1 | 2 => format!("{}, {}", counted(image.len(), "byte"), all.join(" and ")),
            count => format!("{} in {count} runs", counted(image.len(), "byte")),
        }
    }

    fn reasons(&self, out: &mut String) {
        let Explanation { differing, reasons, together, against, .. } = &self.explanation;
        if reasons.is_empty() {
            *out += "no reason explains them\n";
            return;
        }
        let best = reasons.iter().filter(|ranked| ranked.best).count();
        out.push('\n');
        for (number, ranked) in reasons.iter().enumerate() {
            if number == best {
                *out += "otherwise, and less likely:\n";
            }
            let told = ranked.reason.told(self.notation, &|at| self.near(at));
            let _ = writeln!(out, "{}. {told}", number + 1);
            let against = match ranked.against {
                0 => String::new(),
                against => format!(", and would change {against} that are the same"),
            };
            let _ = writeln!(out, "   explains {} of {differing} by itself{against}", ranked.explains);
            if let Some(advice) = ranked.reason.advice().filter(|_| ranked.best) {
                let _ = writeln!(out, "   {advice}");
            }
            if number + 1 == best && best > 1 {
                let _ = writeln!(out, "together {together} of {differing}");
            }
        }
        if *against > 0 {
            let _ = writeln!(out, "{} are the same although they should differ so", counted(*against, "byte"));
        }
    }

    fn rows(&self, out: &mut String, rows: &[Difference], most: usize, more: &str) {
        let (wide, byte) = (self.notation.address_width().max(2), self.notation.byte_width().max(6));
        let _ =
            writeln!(out, "{:<wide$}  {:<byte$}  {:<byte$}  bits      symbol            line", "at", "first", "second");
        for row in rows.iter().take(most) {
            let shown = |byte: Option<u8>| byte.map_or("-".to_owned(), |byte| self.notation.byte(byte).to_string());
            let bits = match (row.first, row.second) {
                (Some(first), Some(second)) => format!("{:08b}", first ^ second).replace('0', "."),
                _ => String::new(),
            };
            let (label, line) = self.place(row.address);
            let at = self.notation.address(row.address).to_string();
            let (first, second) = (shown(row.first), shown(row.second));
            let text = format!("{at:<wide$}  {first:<byte$}  {second:<byte$}  {bits:<8}  {label:<16}  {line}");
            let _ = writeln!(out, "{}", text.trim_end());
        }
        if rows.len() > most {
            let _ = writeln!(out, "and {} more; {more}", rows.len() - most);
        }
    }

    /// What the best reasons leave, byte by byte.
    fn unexplained(&self, out: &mut String, all: bool) {
        let left = &self.explanation.unexplained;
        if self.explanation.reasons.is_empty() || left.is_empty() {
            return;
        }
        let _ = writeln!(out, "\nnot explained: {}", counted(left.len(), "byte"));
        let byte = |image: &Image, at: Address| image.byte(at);
        let rows: Vec<_> = left
            .iter()
            .map(|at| Difference {
                address: *at,
                first: byte(&self.first.image, *at),
                second: byte(&self.second.image, *at),
            })
            .collect();
        self.rows(out, &rows, if all { usize::MAX } else { UNEXPLAINED }, "`--all` shows them");
    }

    fn json(&self) -> String {
        let Explanation { differing, reasons, together, unexplained, against } = &self.explanation;
        let reasons = reasons.iter().map(|ranked| {
            json!({
                "reason": ranked.reason.told(self.notation, &|at| self.near(at)), "explains": ranked.explains,
                "against": ranked.against, "best": ranked.best, "edits": edits(&ranked.reason),
            })
        });
        let rows = self.differences.iter().filter(|it| it.first.is_some()).map(|it| {
            let (symbol, line) = self.place(it.address);
            json!({ "at": it.address.0, "first": it.first, "second": it.second, "symbol": symbol, "line": line })
        });
        let object = json!({
            "same": self.same(), "differing": differing, "reasons": reasons.collect::<Vec<_>>(), "together": together,
            "against": against, "unexplained": unexplained.iter().map(|at| at.0).collect::<Vec<_>>(),
            "differences": rows.collect::<Vec<_>>(),
        });
        format!("{object}\n")
    }
}

fn counted_differing(count: usize) -> String {
    match count {
        1 => "1 byte differs".to_owned(),
        count => format!("{count} bytes differ"),
    }
}

fn edits(reason: &Reason) -> serde_json::Value {
    let Reason::Version(edits) = reason else { return serde_json::Value::Null };
    let edit = |it: &coldwright::comparison::Edit| json!({ "first": it.first.0, "second": it.second.0, "removed": it.removed, "inserted": it.inserted });
    edits.iter().map(edit).collect::<Vec<_>>().into()
}
