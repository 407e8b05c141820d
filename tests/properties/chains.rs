//! Chain and machine files with anything wrong in them are refused or read, never a panic.

use coldwright::assembler::{LoadError, Loaded, Loader, built_in};
use coldwright::booklet::booklet;
use coldwright::delivery::{Drawn, files_of};
use coldwright::panel::Paper;
use coldwright::project::{Artefacts, Files, Recordings, load};
use coldwright::source::{Code, Diagnostic, Origin, Renderer, SourceMap, Style};
use proptest::prelude::*;

const NAMES: [&str; 3] = ["belfry", "rooster", "lineboot"];

/// An example whose chain file and machine file are given.
struct Spoilt {
    example: &'static str,
    machine: Vec<u8>,
}

impl Spoilt {
    fn bytes(&self, name: &str) -> Option<Vec<u8>> {
        if name == "machine.toml" {
            return Some(self.machine.clone());
        }
        original(self.example, name)
    }
}

fn original(example: &str, name: &str) -> Option<Vec<u8>> {
    std::fs::read(format!("{}/examples/{example}/{name}", env!("CARGO_MANIFEST_DIR"))).ok()
}

impl Files for Spoilt {
    fn read(&mut self, path: &str) -> Result<(String, Vec<u8>), Diagnostic> {
        let bytes = self.bytes(path).ok_or_else(|| Diagnostic::error(Code::FileUnreadable, "no such file"))?;
        Ok((path.to_owned(), bytes))
    }
}

impl Loader for Spoilt {
    fn load(&mut self, name: &str, _from: &str) -> Result<Loaded, LoadError> {
        match self.bytes(name) {
            Some(bytes) => Ok(Loaded { name: name.into(), identity: name.into(), bytes }),
            None => built_in(name).ok_or_else(|| LoadError { reason: "no such file".into(), tried: Vec::new() }),
        }
    }
}

/// What is done to a text: at a place, so many bytes are replaced by others.
fn damage() -> impl Strategy<Value = (prop::sample::Index, usize, String)> {
    let word = prop_oneof![
        Just(String::new()),
        Just("-1".to_owned()),
        Just("0o177777".to_owned()),
        Just("999999999999".to_owned()),
        Just("[]".to_owned()),
        Just("{}".to_owned()),
        Just("\"\"".to_owned()),
        Just("= ".to_owned()),
        "[a-z0-9 \\[\\]{}=\",.\\n]{1,6}",
    ];
    (any::<prop::sample::Index>(), 0..6usize, word)
}

fn spoil(text: &[u8], (at, count, word): &(prop::sample::Index, usize, String)) -> Vec<u8> {
    let at = at.index(text.len());
    let end = (at + count).min(text.len());
    [&text[..at], word.as_bytes(), &text[end..]].concat()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(120) })]

    #[test]
    fn a_spoilt_chain_is_refused_or_built(
        example in prop::sample::select(&NAMES[..]),
        in_chain in prop::option::of(damage()),
        in_machine in prop::option::of(damage()),
    ) {
        let mend = |name: &str, damage: &Option<_>| {
            let text = original(example, name).unwrap();
            damage.as_ref().map_or(text.clone(), |damage| spoil(&text, damage))
        };
        let (chain, machine) = (mend("coldwright.toml", &in_chain), mend("machine.toml", &in_machine));
        let mut sources = SourceMap::default();
        let id = sources.add("coldwright.toml", chain, Origin::Given);
        let (plan, problems) = load(&mut sources, id, &mut Spoilt { example, machine });
        prop_assert_eq!(plan.is_none(), problems.has_errors());
        let mut renderer = Renderer::new(&sources, Style::default());
        for problem in problems.sorted(&sources) {
            prop_assert!(renderer.render(&problem).contains(problem.code.name()));
        }
        if let Some(plan) = plan
            && let Ok(made) = Artefacts::make(&plan, &sources, Recordings::Left)
            && let Ok(drawn) = Drawn::make(&plan, &made, &sources, None, Paper::A4)
            && let Ok(built) = files_of(&plan, &made, &drawn, &sources)
        {
            let bound = booklet(&plan, &made, &drawn, None, &[]);
            prop_assert!(bound.contents.iter().all(|entry| entry.page <= bound.drawing.pages.len()));
            prop_assert!(!built.artefacts.is_empty());
        }
    }
}
