//! The booklet: everything of a chain that is drawn, bound in the order in which it is needed.
//!
//! Its pages are those of the files, and only what no file has is written here: what the chain is, the contents, labels,
//! margins and lines for a log.

mod contents;
mod failures;
mod flow;
mod front;
mod inlay;
mod known;
mod labels;
mod log;
mod machine;
mod margins;

pub use contents::Entry;
pub use known::Known;

use crate::delivery::{Drawn, DrawnCard, sheet_title};
use crate::drawing::{Anchor, Drawing, Font, Page, Pt, Text};
use crate::panel::{LEFT, RIGHT};
use crate::project::{Artefacts, Home, Id, Plan, Start};
use crate::rehearsal::Outcome;

/// A bound booklet.
pub struct Booklet {
    /// Its pages.
    pub drawing: Drawing,
    /// What stands on them.
    pub contents: Vec<Entry>,
}

/// Pages that belong together.
struct Section {
    title: String,
    pages: Vec<Page>,
}

/// Binds the drawn pages of a chain; `rehearsed` is what came of its starts, and `known` what else was played of them, both in
/// their order.
pub fn booklet(
    plan: &Plan,
    made: &Artefacts,
    drawn: &Drawn,
    rehearsed: Option<&[Outcome]>,
    known: &[Known],
) -> Booklet {
    let title = format!("{}: booklet", plan.name);
    let front =
        Section { title: "What this chain is, and the cautions".into(), pages: front::draw(plan, drawn, rehearsed) };
    let rest = Binder { plan, made, drawn, known }.sections(rehearsed);
    let contents_pages = contents::draw(drawn.paper, &entries(&front, 1, &rest)).len();
    let contents = entries(&front, contents_pages, &rest);
    let mut pages = front.pages;
    pages.extend(contents::draw(drawn.paper, &contents));
    pages.extend(rest.into_iter().flat_map(|section| section.pages));
    let total = pages.len();
    let check = plan.check().figures(plan.machine.panel.notation);
    for (at, page) in pages.iter_mut().enumerate() {
        // What lies on its side is bound at its upper or lower edge.
        if at % 2 == 1 && page.size.width < page.size.height {
            page.shift(RIGHT - LEFT);
        }
        imprint(page, &format!("{}, booklet page {} of {total}", plan.name, at + 1), &format!("chain: {check}"));
    }
    Booklet { drawing: Drawing { title, pages }, contents }
}

/// The lines of the contents, which take so many pages behind the front.
fn entries(front: &Section, contents_pages: usize, rest: &[Section]) -> Vec<Entry> {
    let mut page = 1 + front.pages.len() + contents_pages;
    let mut entries = vec![Entry { title: front.title.clone(), page: 1 }];
    for section in rest {
        entries.push(Entry { title: section.title.clone(), page });
        page += section.pages.len();
    }
    entries
}

/// What stands at the head of every page, above what is drawn on it.
fn imprint(page: &mut Page, name: &str, check: &str) {
    const TYPE: (Font, Pt) = (Font::Helvetica, Pt(9.0));
    const HEIGHT: f64 = 6.5;
    let right = page.size.width - LEFT.max(RIGHT);
    page.push(Text::new(LEFT, HEIGHT, TYPE.0, TYPE.1, name));
    page.push(Text::new(right, HEIGHT, TYPE.0, TYPE.1, check).anchored(Anchor::End));
}

/// Whoever puts the sections in order.
struct Binder<'a> {
    plan: &'a Plan,
    made: &'a Artefacts,
    drawn: &'a Drawn,
    known: &'a [Known],
}

impl Binder<'_> {
    fn sections(&self, rehearsed: Option<&[Outcome]>) -> Vec<Section> {
        let (plan, made, drawn) = (self.plan, self.made, self.drawn);
        let of = |title: String, drawing: &Drawing| Section { title, pages: drawing.pages.clone() };
        let machine = Section { title: "The machine".into(), pages: machine::draw(plan, rehearsed, drawn.paper) };
        let mut sections = vec![machine, of("Map of memory".into(), &drawn.map)];
        let mut bound = vec![false; made.sheets.len()];
        for card in &drawn.cards {
            self.start(card, &mut bound, &mut sections);
        }
        for (sheet, drawing) in
            made.sheets.iter().zip(&drawn.sheets).zip(bound).filter_map(|(it, is)| (!is).then_some(it))
        {
            let title = sheet_title(plan, made, sheet);
            sections.push(of(format!("{title}: {}", plan.stages[sheet.stage].name), drawing));
        }
        for seated in &made.sockets {
            let title = format!("Socket {}: labels and part checks", plan.machine.sockets[seated.socket].name);
            sections.push(Section { title, pages: labels::draw(plan, seated, drawn.paper) });
        }
        for (reel, picture) in made.tapes.iter().zip(&drawn.tapes) {
            let name = &plan.tapes[reel.tape].name;
            sections.push(of(format!("Tape {name}"), picture));
            let inlay = inlay::draw(plan, reel, drawn.paper);
            sections.extend(inlay.map(|pages| Section { title: format!("Inlay and label: {name}"), pages }));
        }
        let disks = made.disks.iter().zip(&drawn.disks);
        sections.extend(disks.map(|(disk, picture)| of(format!("Disk {}", plan.disks[disk.disk].name), picture)));
        for lights in &drawn.lights {
            let title = format!("Lights of a stepped run: {}", plan.stages[lights.stage].name);
            sections.push(of(title, &lights.drawing));
        }
        for (start, known) in plan.starts.iter().zip(self.known) {
            let Some(failures) = &known.failures else { continue };
            let title = named("What failures look like", &start.name);
            sections.push(Section { title, pages: failures::draw(&start.name, failures, drawn.paper) });
        }
        let title = "What there was to spare".to_owned();
        sections.push(Section { title, pages: margins::draw(plan, rehearsed, self.known, drawn.paper) });
        sections.push(Section { title: "Log".into(), pages: log::draw(drawn.paper) });
        sections
    }

    /// The run card of a start, and behind it the sheets by which its stages are deposited that no start before it has.
    fn start(&self, card: &DrawnCard, bound: &mut [bool], sections: &mut Vec<Section>) {
        let (plan, made) = (self.plan, self.made);
        let start = &plan.starts[card.start];
        sections.push(Section { title: named("Run card", &start.name), pages: card.drawing.pages.clone() });
        for (at, sheet) in made.sheets.iter().enumerate().filter(|(_, sheet)| is_used(plan, card.start, sheet.stage)) {
            if sheet.starts.contains(&card.start) && !std::mem::replace(&mut bound[at], true) {
                let title = format!("{}: {}", sheet_title(plan, made, sheet), plan.stages[sheet.stage].name);
                sections.push(Section { title, pages: self.drawn.sheets[at].pages.clone() });
            }
        }
    }
}

/// What something of a start is called, where it has a name.
fn named(what: &str, start: &str) -> String {
    if start.is_empty() { what.to_owned() } else { format!("{what}, {start}") }
}

/// Whether a stage is deposited in a start.
fn is_used(plan: &Plan, start: Id<Start>, stage: Id<crate::project::Stage>) -> bool {
    matches!(plan.stages[stage].home, Home::Panel(_)) && plan.starts[start].stages.contains(&stage)
}
