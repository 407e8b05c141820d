//! Whatever a file holds, reading it as an image, a framing or a layout comes back, what was read can be written again, and all
//! there is to say can be shown.

#![no_main]

use coldwright::disk;
use coldwright::image::Format;
use coldwright::image::raw::Gaps;
use coldwright::notation::{Address, Notation};
use coldwright::source::{Diagnostics, Origin, Position, Renderer, SourceMap, Style};
use coldwright::tape::framing::{Program, decode, encode, load};

fn shown(problems: Diagnostics, sources: &SourceMap) {
    let mut renderer = Renderer::new(sources, Style::default());
    for problem in problems.sorted(sources).iter().take(8) {
        assert!(!renderer.render(problem).is_empty());
    }
}

/// A file of each format; what was read without an error is written, read again and found the same.
fn images(word: &str, bytes: &[u8]) {
    let Some(format) = Format::from_extension(word) else { return };
    let mut sources = SourceMap::default();
    let origin = (format == Format::Raw).then_some(Address(0));
    let reading = format.read(bytes.to_vec(), "fuzz", origin, &mut sources);
    if !reading.problems.has_errors() && format != Format::Raw {
        let written = format.write(&reading.image, Gaps::Refuse).expect("a format takes back what it gave");
        let again = format.read(written, "again", None, &mut sources);
        assert!(!again.problems.has_errors());
        for at in 0..=u16::MAX {
            assert_eq!(again.image.byte(Address(at)), reading.image.byte(Address(at)));
        }
    }
    shown(reading.problems, &sources);
}

/// A framing file; what loads carries a few bytes there and back, and reads noise.
fn framing(text: &[u8]) {
    let mut sources = SourceMap::default();
    let mut problems = Diagnostics::default();
    let source = sources.add("fuzz.toml", text, Origin::Given);
    if let Some(framing) = load(&sources, source, Notation::default(), &mut problems) {
        decode(&framing, text);
        let made_by = Position { source, offset: 0 };
        let mut image = coldwright::image::Image::default();
        image.entry = Some(framing.origin);
        let bytes = &[0x3C, 0x76, 0x15][..usize::from(framing.origin.0).abs_diff(0x1_0000).min(3)];
        if image.insert(framing.origin, bytes, made_by).is_ok()
            && let Ok(tape) = encode(&framing, &[Program { name: "FUZZ", image: &image, lettering: "" }], Notation::default())
        {
            assert!(decode(&framing, &tape.bytes).is_whole(), "a framing that cannot read its own tape");
        }
    }
    shown(problems, &sources);
}

/// A layout file; what loads takes a few bytes onto a disk and gives them back, and reads noise. The disk is kept small.
fn layout(text: &[u8]) {
    let (mut sources, mut problems) = (SourceMap::default(), Diagnostics::default());
    let source = sources.add("fuzz.toml", text, Origin::Given);
    let layout = disk::load(&sources, source, Notation::default(), &mut problems);
    let small = |layout: &disk::Layout| layout.tracks * layout.sectors() * layout.record_bytes() < 1 << 16;
    if let Some(layout) = layout.filter(small) {
        let mut whole = disk::write::formatted(&layout, disk::Form::Whole);
        assert!(disk::read::read(&layout, &whole).is_sound(), "a blank disk that is damaged");
        let made_by = Position { source, offset: 0 };
        for area in &layout.areas {
            let mut image = coldwright::image::Image::default();
            let base = area.load.unwrap_or_default();
            image.entry = Some(base);
            if image.insert(base, &[0x3C], made_by).is_ok() {
                let program = disk::write::Program { name: "FUZZ", image: &image, area };
                if disk::write::put(&layout, &mut whole, &program, Notation::default()).is_ok() {
                    let reading = disk::read::read(&layout, &whole);
                    let taken = disk::read::take(&layout, &whole, &reading, area);
                    assert!(taken.gaps.is_empty() && taken.pieces.iter().any(|(at, bytes)| *at == base && bytes[0] == 0x3C));
                }
            }
        }
        let subject = disk::picture::Subject {
            layout: &layout,
            reading: None,
            crc: None,
            title: "fuzz",
            notation: Notation::default(),
        };
        disk::picture::draw(&subject, coldwright::drawing::PageSize::A4);
        let mut noise = text.to_vec();
        noise.resize(whole.into_bytes().len(), 0);
        if let Ok(noise) = disk::Disk::from_bytes(&layout, noise) {
            let reading = disk::read::read(&layout, &noise);
            layout.areas.iter().for_each(|area| drop(disk::read::take(&layout, &noise, &reading, area)));
        }
    }
    shown(problems, &sources);
}

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let Some((&kind, rest)) = bytes.split_first() else { return };
    // The seeds are plain files: their first character tells what they are.
    match kind {
        b':' => images("hex", bytes),
        b'S' => images("s19", bytes),
        0x7F => images("elf", bytes),
        b'/' => images("c", bytes),
        b';' => images("inc", bytes),
        0 => images("bin", rest),
        b'#' => {
            framing(bytes);
            layout(bytes);
        }
        _ => framing(bytes),
    }
});
