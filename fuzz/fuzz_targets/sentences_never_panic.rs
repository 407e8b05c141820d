//! Whatever is said to be seen, in every notation, it is read or what is wrong with it can be told, and every observation has its
//! words.

#![no_main]

use coldwright::diagnosis::seen::read;
use coldwright::notation::Notation;
use coldwright::source::{Diagnostics, Origin, Renderer, SourceMap, Style};

libfuzzer_sys::fuzz_target!(|sentence: &[u8]| {
    for (_, notation) in Notation::ALL {
        let mut sources = SourceMap::default();
        let text = sources.add("what is seen".to_owned(), sentence.to_vec(), Origin::Given);
        let mut problems = Diagnostics::default();
        let seen = read(&sources, text, notation, &mut problems);
        for one in &seen {
            assert!(!sources.text(one.span).is_empty());
        }
        let mut renderer = Renderer::new(&sources, Style::default());
        for problem in problems.sorted(&sources).iter().take(8) {
            assert!(!renderer.render(problem).is_empty());
        }
    }
});
