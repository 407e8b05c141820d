//! The page of a built chain: at one glance what lies where, what the rehearsal said, and every file.

use std::fmt::Write;

use super::next_steps::next_steps;
use super::rehearse::{self, span};
use coldwright::booklet::Known;
use coldwright::cautions::{FIRST, When, applying};
use coldwright::delivery::{Artefact, Built};
use coldwright::drawing::html::escape;
use coldwright::limits::{LEFT_OUT, Limits, not_played, rows};
use coldwright::notation::{Address, Notation, counted};
use coldwright::panel::Check;
use coldwright::panel::card::Doubt;
use coldwright::project::{Chip, Machine, Plan, Stage};
use coldwright::rehearsal::Outcome;
use coldwright::rom;

/// Extents of a stage that are listed; the others are counted.
const MOST_EXTENTS: usize = 3;

/// The page as HTML that needs nothing but the files beside it.
/// `known` is what else was played of the starts, in their order.
pub fn index_page(plan: &Plan, built: &Built, outcomes: Option<&[Outcome]>, known: &[Known]) -> String {
    let artefacts = &built.artefacts;
    let name = escape(&plan.name);
    let mut out = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{name}</title>\n\
         <style>\n{STYLE}</style>\n</head>\n<body>\n<h1>{name}</h1>\n<p>{}</p>\n",
        escape(&machine(&plan.machine))
    );
    doubts(&built.doubts, &mut out);
    match outcomes {
        Some(outcomes) => outcomes.iter().for_each(|outcome| verdict(outcome, &mut out)),
        // What was played for the cards has gone wrong, and is told above.
        None if !built.doubts.is_empty() => {
            out += "<p class=\"verdict\"><code>coldwright rehearse</code> says more of it.</p>\n";
        }
        None => {
            out += "<p class=\"verdict\"><strong>Not rehearsed since it was built</strong>: <code>coldwright build --rehearse</code> does both.</p>\n";
        }
    }
    out += "<h2>What to do next</h2>\n";
    out += &next_steps(plan, artefacts, outcomes);
    out += "<h2>From power-on to the payload</h2>\n";
    stages(plan, &mut out);
    for outcome in outcomes.into_iter().flatten() {
        rehearsed(plan, outcome, &mut out);
    }
    for (start, known) in plan.starts.iter().zip(known) {
        if let Some(found) = &known.limits {
            limits(plan, &start.name, found, &mut out);
        }
    }
    let _ = writeln!(out, "<h2 id=\"cautions\">Cautions: {FIRST}</h2>\n<ul>");
    for caution in cautions(plan) {
        let _ = writeln!(out, "<li>{}</li>", escape(&caution));
    }
    out += "</ul>\n";
    for group in groups(artefacts) {
        files(group, artefacts, &mut out);
    }
    out + "</body>\n</html>\n"
}

/// Why starts are not to be trusted, before anything else.
fn doubts(doubts: &[(String, Doubt)], out: &mut String) {
    for (start, doubt) in doubts {
        let (what, why) = doubt.words();
        let what = if start.is_empty() { sentence(what) } else { format!("Start {start}: {what}") };
        let (what, why) = (escape(&what), escape(&sentence(&why)));
        let _ = writeln!(out, "<p class=\"doubt\"><strong>{what}.</strong> {why}.</p>");
    }
}

/// The machine in a line.
fn machine(machine: &Machine) -> String {
    let notation = machine.panel.notation;
    let place = |first: usize, last: usize| {
        format!("{} to {}", notation.address(Address(first as u16)), notation.address(Address(last as u16)))
    };
    let mut facts: Vec<String> = Vec::new();
    if let Some(hertz) = machine.clock_hz {
        facts.push(format!("8080 at {} MHz", hertz as f64 / 1e6));
    }
    let memory = machine.memory.iter().map(|memory| (memory.base.index(), memory.base.index() + memory.size - 1));
    facts.extend(memory.map(|(first, last)| format!("RAM {}", place(first, last))));
    let sockets = machine.sockets.iter();
    facts.extend(sockets.map(|socket| {
        let place = place(socket.base.index(), socket.last().index());
        format!("socket {} {} {place}", socket.name, socket.part.name)
    }));
    for serial in &machine.serial {
        let chip = match serial.chip {
            Chip::Mc6850 => "MC6850",
            Chip::I8251 => "Intel 8251",
            Chip::Uart(_) => "UART",
        };
        let line = serial.line.map(|line| format!(" {line}")).unwrap_or_default();
        let ports = [serial.status, serial.data].map(|port| notation.byte(port).to_string()).join(", ");
        facts.push(format!("{} {chip}{line} at ports {ports}", serial.name));
    }
    facts.join(" · ")
}

/// A row for each stage.
fn stages(plan: &Plan, out: &mut String) {
    let heads = ["stage", "home", "addresses", "bytes", "starts at", "sum", "CRC-16"];
    *out += "<table>\n<thead><tr>";
    *out += &heads.map(|head| format!("<th>{head}</th>")).concat();
    *out += "</tr></thead>\n<tbody>\n";
    for stage in &plan.stages {
        let notation = plan.machine.panel.notation;
        let check = Check::of(stage.image.extents().map(|extent| extent.bytes));
        let cells = [
            stage.name.clone(),
            plan.home_words(&stage.home),
            addresses(stage, notation),
            stage.image.len().to_string(),
            notation.address(stage.entry).to_string(),
            notation.word(check.sum).to_string(),
            notation.word(check.crc).to_string(),
        ];
        *out += "<tr>";
        for (head, cell) in heads.iter().zip(cells) {
            let _ = write!(out, "<td data-head=\"{head}\">{}</td>", escape(&cell));
        }
        *out += "</tr>\n";
    }
    *out += "</tbody>\n</table>\n";
    for start in plan.starts.iter().filter(|start| !start.name.is_empty()) {
        let names: Vec<_> = start.stages.iter().map(|&stage| plan.stages[stage].name.as_str()).collect();
        let _ = writeln!(out, "<p>To start {}: {}.</p>", escape(&start.name), escape(&names.join(", then ")));
    }
}

fn addresses(stage: &Stage, notation: Notation) -> String {
    let extents: Vec<_> = stage.image.extents().collect();
    let shown = extents.iter().take(MOST_EXTENTS);
    let shown = shown.map(|extent| format!("{} to {}", notation.address(extent.base), notation.address(extent.last())));
    let list = shown.collect::<Vec<_>>().join(", ");
    match extents.len().saturating_sub(MOST_EXTENTS) {
        0 => list,
        more => format!("{list} and {more} more"),
    }
}

/// What came of the rehearsal of one start, in a line.
fn verdict(outcome: &Outcome, out: &mut String) {
    let by_hand: f64 = outcome.events.iter().filter_map(|event| event.by_hand).sum();
    let hand = if by_hand > 0.0 { format!(", after {} by hand", span(by_hand)) } else { String::new() };
    let seconds = outcome.seconds(outcome.ended);
    let _ = writeln!(
        out,
        "<p class=\"verdict\"><strong>{}</strong>: {seconds:.3} s of the machine{hand}.</p>",
        escape(&sentence(&rehearse::verdict(outcome)))
    );
}

/// What a rehearsal rests on, what it found, and what there was to spare.
fn rehearsed(plan: &Plan, outcome: &Outcome, out: &mut String) {
    let notation = plan.machine.panel.notation;
    let start = if outcome.start.is_empty() { String::new() } else { format!(" of the start {}", outcome.start) };
    let _ = writeln!(out, "<h2>Rehearsal{}</h2>\n<dl>", escape(&start));
    for (heading, text) in rehearse::basis(outcome) {
        let _ = writeln!(out, "<dt>{}</dt><dd>{}</dd>", sentence(heading), escape(&text));
    }
    *out += "</dl>\n<ul>\n";
    for problem in outcome.problems.iter() {
        let _ = writeln!(out, "<li>{}: {}</li>", problem.severity.word(), escape(&problem.headline));
    }
    for stage in &outcome.stages {
        let _ = writeln!(out, "<li>{}</li>", escape(&format!("{}: {}", stage.name, stage.margins(outcome, notation))));
    }
    if let Some(haste) = &outcome.haste {
        let _ = writeln!(out, "<li>{}</li>", escape(&sentence(&rehearse::haste_words(haste))));
    }
    for gap in &outcome.gaps {
        let _ = writeln!(
            out,
            "<li>{} between {} and {}</li>",
            counted(gap.bytes, "byte"),
            escape(&gap.below),
            escape(&gap.above)
        );
    }
    *out += "</ul>\n";
}

/// How far each thing of a start may go.
fn limits(plan: &Plan, start: &str, found: &Limits, out: &mut String) {
    let of = if start.is_empty() { String::new() } else { format!(" in the start {start}") };
    let _ = writeln!(out, "<h2>How far each thing may go{}</h2>\n<dl>", escape(&of));
    for row in rows(&found.limits, plan.machine.panel.notation) {
        let _ = write!(out, "<div><dt>{}</dt>", escape(&sentence(&row.what)));
        for line in &row.lines {
            let _ = write!(out, "<dd>{}</dd>", escape(&sentence(line)));
        }
        *out += "</div>\n";
    }
    *out += "</dl>\n";
    let _ = writeln!(out, "<p>{LEFT_OUT} {}.</p>", escape(&not_played().join("; ").replace('`', "")));
}

/// With a capital at its beginning, and no backquotes.
fn sentence(text: &str) -> String {
    let mut letters = text.chars().filter(|letter| *letter != '`');
    letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect()
}

/// What can hurt, of what this chain asks for.
fn cautions(plan: &Plan) -> Vec<String> {
    let mut list: Vec<String> = applying(&[When::Machine]).map(|caution| caution.short.to_owned()).collect();
    let seated = plan.stages.iter().flat_map(|stage| stage.home.sockets());
    let seated = seated.map(|&number| &plan.machine.sockets[number]);
    for caution in seated.flat_map(|socket| rom::cautions(socket.part.known)) {
        if !list.contains(&caution) {
            list.push(caution);
        }
    }
    if plan.is_recorded() {
        list.extend(applying(&[When::Sound]).map(|caution| caution.short.to_owned()));
    }
    list
}

/// The groups of files, the chain as a whole first, the others in their order.
fn groups(artefacts: &[Artefact]) -> Vec<&str> {
    let last = artefacts.last().map(|made| made.group.as_str());
    let mut groups: Vec<&str> = last.into_iter().collect();
    for made in artefacts {
        if !groups.contains(&made.group.as_str()) {
            groups.push(&made.group);
        }
    }
    groups
}

/// The files of a group: its pictures, then links to all of it.
fn files(group: &str, artefacts: &[Artefact], out: &mut String) {
    let _ = write!(out, "<h2>{}</h2>\n<div class=\"pictures\">", escape(group));
    let made: Vec<_> = artefacts.iter().filter(|made| made.group == group).collect();
    for picture in made.iter().filter(|made| made.file.ends_with(".svg")) {
        let page = picture.file.replace(".svg", ".html");
        let target = if made.iter().any(|made| made.file == page) { &page } else { &picture.file };
        let (target, file, title) = (escape(target), escape(&picture.file), escape(&picture.title));
        let _ = writeln!(
            out,
            "<figure><a href=\"{target}\"><img src=\"{file}\" alt=\"{title}\"></a><figcaption>{title}</figcaption></figure>"
        );
    }
    *out += "</div>\n<ul class=\"files\">\n";
    for made in made {
        let (file, title) = (escape(&made.file), escape(&made.title));
        let _ = writeln!(out, "<li><a href=\"{file}\">{title}</a> <small>{file}</small></li>");
    }
    *out += "</ul>\n";
}

const STYLE: &str = "\
body { font-family: sans-serif; color: #000; max-width: 60em; margin: 1.5em auto; padding: 0 1em; line-height: 1.45; }
h1 { margin-bottom: 0; }
h2 { border-bottom: 2px solid; margin: 1.6em 0 .6em; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; padding: .3em .8em .3em 0; border-bottom: 1px solid #777; vertical-align: top; }
td, small { font-family: monospace; overflow-wrap: anywhere; }
td:first-child { font-weight: bold; }
ul { padding-left: 1.2em; }
dl { margin: .4em 0; }
dl div { display: flow-root; border-bottom: 1px solid #777; padding: .2em 0; }
dt { float: left; clear: left; box-sizing: border-box; width: 13em; padding-right: 1em; font-weight: bold; }
dd { margin: 0 0 .2em 13em; }
.doubt { border: 4px double; padding: .5em .8em; }
.doubt strong { display: block; font-size: 1.5em; }
.verdict { font-size: 1.15em; border: 2px solid; padding: .4em .7em; margin-bottom: .4em; }
.pictures:empty { display: none; }
.pictures { display: flex; flex-wrap: wrap; gap: 1em; align-items: flex-end; }
.steps li { font-size: 1.1em; margin: .35em 0; }
figure { margin: 0; flex: 0 1 26em; }
figure img { width: 100%; max-height: 36em; object-fit: contain; border: 1px solid #777; background: #fff; }
figcaption { font-size: .85em; }
.files { columns: 22em; }
.files li { break-inside: avoid; }
@media (max-width: 40em) {
  thead { display: none; }
  tr { display: block; border-bottom: 2px solid; padding: .4em 0; }
  td { display: flex; gap: 1em; border: 0; padding: .1em 0; }
  td::before { content: attr(data-head); font-family: sans-serif; font-weight: normal; flex: 0 0 6em; }
  figure { flex-basis: 100%; }
  dt { float: none; width: auto; }
  dd { margin-left: 0; }
}
@media print {
  body { margin: 0; max-width: none; font-size: 10pt; }
  a { color: inherit; text-decoration: none; }
  figure, tr { break-inside: avoid; }
  h2 { break-after: avoid; }
}
";
