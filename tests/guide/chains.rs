//! The bundled chains, with the panel that a test asks for.

use std::path::Path;

use coldwright::delivery::card;
use coldwright::guide::Guide;
use coldwright::notation::Notation;
use coldwright::panel::{DataLevers, Panel};
use coldwright::project::{Artefacts, Files, Plan, Recordings, load};
use coldwright::source::{Origin, SourceMap};

use super::folder::Folder;

/// Their names.
pub const ALL: [&str; 5] = ["belfry", "headland", "lineboot", "probe", "rooster"];

/// A chain with all that is made of it.
pub struct Chain {
    pub plan: Plan,
    pub made: Artefacts,
    pub sources: SourceMap,
    pub guide: Guide,
}

impl Chain {
    pub fn new(name: &str, alter: impl Fn(&mut Panel)) -> Chain {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        Chain::read(Folder(root.join("examples").join(name)), "coldwright.toml", alter)
    }

    /// A chain of the cases.
    pub fn case(file: &str) -> Chain {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        Chain::read(Folder(root.join("tests/cases/chain")), file, |_| ())
    }

    fn read(mut folder: Folder, file: &str, alter: impl Fn(&mut Panel)) -> Chain {
        let mut sources = SourceMap::default();
        let (name, text) = folder.read(file).unwrap();
        let id = sources.add(name, text, Origin::Given);
        let mut plan = load(&mut sources, id, &mut folder).0.unwrap();
        alter(&mut plan.machine.panel);
        let made = Artefacts::make(&plan, &sources, Recordings::Left).unwrap();
        let starts = plan.starts.numbered();
        let cards = starts.filter_map(|(start, _)| Some((start, card(&plan, &made, start, &sources, None)?)));
        let guide = Guide::new(&plan, &made, &cards.collect::<Vec<_>>(), false, &[]);
        Chain { plan, made, sources, guide }
    }
}

/// Panels that differ in their keys and levers.
pub const PANELS: [fn(&mut Panel); 5] = [
    |_| (),
    |panel| panel.deposit_next = false,
    |panel| (panel.deposit_next, panel.examine_next) = (false, false),
    |panel| (panel.data, panel.notation) = (DataLevers::Own, Notation::SplitOctal),
    |panel| (panel.examine_next, panel.notation) = (false, Notation::Hexadecimal),
];
