//! `shorten`: what of a source, or of the sources of a chain, could be shorter, and the sources with it.

mod alone;
mod told;
mod whole;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::json;

pub(super) use alone::could_save;

use super::outputs::{Outputs, is_standard_output};
use super::report::Report;
use super::shared_sources::{Shared, sources_of, whole as whole_path};
use super::source_file::{Disk, SourceOptions};
use super::{chain, files, rehearse};
use alone::Work;
use coldwright::assembler::Loader;
use coldwright::notation::{Notation, counted};
use coldwright::project::{Plan, is_misfit};
use coldwright::rehearsal::Outcome;
use coldwright::shortening::{Depth, Search, Suggestion};
use coldwright::source::{Code, Diagnostic, Diagnostics, SourceId, SourceMap};
use whole::{rehearsed, unapplied};

/// Find what could be shorter in a source or a chain without changing what it does
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright shorten chimes.asm --apply -o chimes-short.asm\n  \
    coldwright shorten examples/rooster --stage rooster\n\n\
    Each suggestion is proved and holds by itself. It is taken that the program is entered at its entry, and where its data\n\
    or other instructions than jumps and calls name an instruction. For a chain `--apply` changes the sources themselves,\n\
    once every start was rehearsed with them.")]
pub struct Shorten {
    /// A source, the folder of a chain, or its chain file; lines of included files and of macros are left alone
    #[arg(value_name = "FILE|DIR", default_value = ".")]
    source: PathBuf,
    /// Look only at the source of this stage of the chain
    #[arg(long, value_name = "NAME")]
    stage: Option<String>,
    #[command(flatten)]
    options: SourceOptions,
    /// Look at longer runs and for forms of three instructions, and of four where there are few enough: it takes seconds or minutes
    #[arg(long)]
    deep: bool,
    /// Take the suggestions, one after the other, and write the changed source
    #[arg(long)]
    apply: bool,
    /// Where to write the changed source, `-` is standard output; of a chain, the folder for them instead of their own places
    #[arg(short, long, value_name = "FILE", requires = "apply")]
    output: Option<PathBuf>,
    /// How addresses and bytes are written: octal, split or hex; else as the machine file says
    #[arg(long, value_name = "NOTATION", value_parser = super::values::notation)]
    notation: Option<Notation>,
}

impl Shorten {
    pub(super) fn run(self, report: &mut Report) {
        let is_chain =
            self.source.is_dir() || self.source.extension().is_some_and(|it| it.eq_ignore_ascii_case("toml"));
        match is_chain {
            true if self.options.are_given() => {
                report.problem(unfit("options of a source do not go with a chain: its file says them"))
            }
            true => self.chain(report),
            false if self.stage.is_some() => {
                report.problem(unfit("`--stage` names a stage of a chain, and this is a source"))
            }
            false => self.alone(report),
        }
    }

    fn search(&self) -> Search {
        Search::new(if self.deep { Depth::Deep } else { Depth::Two })
    }

    fn alone(self, report: &mut Report) {
        let bytes = match files::read(&self.source) {
            Ok(bytes) => bytes,
            Err(problem) => return report.problem(problem),
        };
        let notation = self.notation.unwrap_or_default();
        let work = Work { path: &self.source, options: &self.options, search: self.search() };
        let (sources, assembly, problems) = work.assemble(bytes.clone());
        let Some(assembly) = assembly else { return report.problems(problems, &sources) };
        let found = match work.suggestions(&sources, &assembly) {
            Ok(found) => found,
            Err(unseen) => {
                report.problems(problems, &sources);
                return report.problem(told::unseen(unseen));
            }
        };
        if !self.apply {
            report.problems(problems, &sources);
            return report.print(self.said(&found, notation, report.json()));
        }
        let Some(output) = &self.output else {
            return report
                .problem(unapplied("it is not said where the changed source goes").with_help("`-o FILE` says it"));
        };
        if sources.get(SourceId::FIRST).text().as_bytes() != bytes {
            return report.problem(unread(&super::source_file::shown(&self.source)));
        }
        let (text, taken) = work.all(sources.get(SourceId::FIRST).text(), found);
        let (sources, _, problems) = work.assemble(text.clone().into_bytes());
        let mut outputs = Outputs::default();
        outputs.add(output, text.into_bytes());
        if outputs.finish(problems, &sources, report) && !is_standard_output(output) {
            report.print(self.said(&taken, notation, report.json()));
            if !report.json() {
                report.print(saved(&output.display().to_string(), &taken, assembly.image.len()));
            }
        }
    }

    fn said(&self, found: &[Suggestion], notation: Notation, json: bool) -> String {
        let name = super::source_file::shown(&self.source);
        if json {
            return found.iter().map(|it| format!("{}\n", told::json(it, &name, notation))).collect();
        }
        let mut out = told::text(found, notation);
        if !found.is_empty() && self.options.defines() {
            out += "all this holds for the values given with `--define`; for others look at the source anew\n";
        }
        match (found.len(), self.apply) {
            (0, _) => out += told::NOTHING,
            (count, false) => out += &told::count(count),
            _ => {}
        }
        out
    }

    fn chain(self, report: &mut Report) {
        let mut sources = SourceMap::default();
        let Some(draft) = chain::draft(&self.source, &mut sources, BTreeMap::new(), report) else { return };
        let Some(plan) = draft.plan else { return report.problems(draft.problems, &sources) };
        // That it does not fit is what it is about.
        let others: Diagnostics = draft.problems.iter().filter(|it| !is_misfit(it)).cloned().collect();
        report.problems(others, &sources);
        let folders = [chain::folder(&chain::chain_file(&self.source))];
        let loads = || Box::new(Disk { folders: &folders }) as Box<dyn Loader>;
        let all = sources_of(&plan, &loads, &sources);
        let wanted = |shared: &&Shared| {
            self.stage.as_ref().is_none_or(|name| shared.stages.iter().any(|(stage, _)| stage.name == *name))
        };
        let chosen: Vec<&Shared> = all.iter().filter(wanted).collect();
        if chosen.is_empty() {
            return report.problem(self.no_source(&plan));
        }
        let (search, mut works) = (self.search(), Vec::new());
        for shared in chosen {
            match shared.suggestions(shared.text, &search) {
                Ok(found) => works.push((shared, Ok(found))),
                Err(unseen) => works.push((shared, Err(unseen))),
            }
        }
        let notation = self.notation.unwrap_or(plan.machine.panel.notation);
        if self.apply {
            let found = works.into_iter().filter_map(|(shared, found)| Some((shared, found.ok()?)));
            return self.apply(&plan, &sources, found.collect(), &search, notation, report);
        }
        let mut count = 0;
        for (shared, found) in works {
            match found {
                Ok(found) => {
                    count += found.len();
                    report.print(of_source(shared, &found, notation, report.json()));
                }
                Err(unseen) => {
                    let problem = told::unseen(unseen);
                    let headline = format!("`{}` is left alone: {}", shared.name, problem.headline);
                    report.problem(Diagnostic::note(Code::ShortenUnseen, headline));
                }
            }
        }
        if count > 0 && !report.json() {
            report.print(told::count(count));
        }
    }

    /// Why no source of the chain is looked at.
    fn no_source(&self, plan: &Plan) -> Diagnostic {
        let Some(name) = &self.stage else { return unfit("no stage of the chain is made from a source") };
        match plan.stages.iter().any(|stage| stage.name == *name) {
            true => unfit(&format!("the stage `{name}` is made from an image, and has no source")),
            false => {
                let names: Vec<_> = plan.stages.iter().map(|stage| stage.name.as_str()).collect();
                rehearse::unknown("stage", name, &names)
            }
        }
    }

    /// Writes the shorter sources, if every start agrees with them.
    fn apply(
        &self,
        plan: &Plan,
        sources: &SourceMap,
        found: Vec<(&Shared, Vec<Suggestion>)>,
        search: &Search,
        notation: Notation,
        report: &mut Report,
    ) {
        let mut changed = BTreeMap::new();
        let mut done = Vec::new();
        for (shared, found) in found {
            let (text, taken) = shared.all(found, search);
            if !taken.is_empty() {
                changed.insert(whole_path(Path::new(shared.name)), text.clone());
                done.push((shared, text, taken));
            }
        }
        if done.is_empty() {
            return report.print(if report.json() { String::new() } else { told::NOTHING.to_owned() });
        }
        let Ok(outcomes) = rehearsed(&self.source, plan, sources, &changed, report) else { return };
        // Every other byte is to stay what it is: what is no text of ours, or is not what was read any more, is left alone.
        let as_read = |shared: &Shared| {
            files::look_at(Path::new(shared.name)).is_some_and(|there| there == shared.text.as_bytes())
        };
        if let Some((shared, ..)) = done.iter().find(|(shared, ..)| !as_read(shared)) {
            return report.problem(unread(shared.name));
        }
        let mut outputs = Outputs::default();
        for (shared, text, _) in &done {
            let own = Path::new(shared.name);
            match &self.output {
                None => outputs.change(own, text.as_bytes()),
                Some(folder) => outputs.add(folder.join(own.file_name().unwrap_or_default()), text.as_bytes()),
            }
        }
        let written = match &self.output {
            None => outputs.commit(report),
            Some(folder) => outputs.commit_in(folder, report),
        };
        if let Err(problem) = written {
            return report.problem(problem);
        }
        for (shared, _, taken) in &done {
            report.print(of_source(shared, taken, notation, report.json()));
        }
        report.print(ended(&done, &outcomes, report.json()));
    }
}

/// A source of a chain, with what was found in it.
fn of_source(shared: &Shared, found: &[Suggestion], notation: Notation, json: bool) -> String {
    if json {
        return found.iter().map(|it| format!("{}\n", told::json(it, shared.name, notation))).collect();
    }
    let heading = format!("{}  ({})\n", shared.name, shared.stage_names());
    match found {
        [] => heading + told::NOTHING,
        found => heading + &told::text(found, notation),
    }
}

/// What was saved of each source, and what the starts came to.
fn ended(done: &[(&Shared, String, Vec<Suggestion>)], outcomes: &[Outcome], json: bool) -> String {
    let mut out = String::new();
    if json {
        let starts: Vec<_> = outcomes.iter().map(|it| json!({ "name": it.start, "agrees": it.agrees() })).collect();
        return format!("{}\n", json!({ "starts": starts }));
    }
    for (shared, _, taken) in done {
        let was = shared.stages.first().map_or(0, |(stage, _)| stage.image.len());
        out += &saved(shared.name, taken, was);
    }
    for outcome in outcomes {
        out += &format!("{}\n", rehearse::verdict(outcome));
    }
    out
}

fn saved(name: &str, taken: &[Suggestion], was: usize) -> String {
    let saves: usize = taken.iter().map(|it| it.saves).sum();
    match was {
        // It ran past the top of memory, and had no byte.
        0 => format!("{name}: {} saved\n", counted(saves, "byte")),
        was => format!("{name}: {saves} of {was} bytes saved\n"),
    }
}

/// A source of which other bytes would change than those of its suggestions.
fn unread(name: &str) -> Diagnostic {
    unapplied(&format!("`{name}` is not UTF-8, or was changed since it was read"))
}

fn unfit(headline: &str) -> Diagnostic {
    Diagnostic::error(Code::ShortenUnseen, headline)
}
