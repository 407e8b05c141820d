//! Whatever a serial line or a reader delivers, reading it as a tape comes back, every frame belongs to one stretch, a
//! capture merged with itself says nothing new, and as a file of records it can be read with all there is to say.

#![no_main]

use std::sync::LazyLock;

use coldwright::image::Format;
use coldwright::source::{Renderer, SourceMap, Style};
use coldwright::tape::framing::{BUNDLED, Framing, bundled, decode, merge};

static FRAMINGS: LazyLock<Vec<Framing>> =
    LazyLock::new(|| BUNDLED.iter().filter_map(|(name, _)| bundled(name)).collect());

libfuzzer_sys::fuzz_target!(|capture: &[u8]| {
    for framing in FRAMINGS.iter() {
        let reading = decode(framing, capture);
        let mut at = 0;
        for stretch in &reading.stretches {
            assert_eq!(stretch.range.start, at, "{}: stretches with a gap", framing.name);
            at = stretch.range.end;
        }
        assert_eq!(at, capture.len(), "{}: frames behind the last stretch", framing.name);
        let merged = merge(framing, &[reading.clone(), reading.clone()]);
        assert_eq!(merged.programs.len(), reading.programs.len(), "{}", framing.name);
    }
    for extension in ["hex", "s19"] {
        let format = Format::from_extension(extension).expect("a format of records");
        let mut sources = SourceMap::default();
        let reading = format.read(capture.to_vec(), "capture", None, &mut sources);
        let mut renderer = Renderer::new(&sources, Style::default());
        for problem in reading.problems.sorted(&sources).iter().take(8) {
            assert!(!renderer.render(problem).is_empty());
        }
    }
});
