//! 64 KiB from bytes to a proven source, against assembling that source alone. Ends with exit code 1 if a budget is missed.

mod sources;

use std::collections::BTreeMap;
use std::hint::black_box;
use std::process::ExitCode;
use std::time::{Duration, Instant};

use coldwright::assembler::{Options, StdlibOnly, assemble};
use coldwright::disassembly::{Hints, Wish, disassemble, prove};
use coldwright::image::Image;
use coldwright::notation::{Address, Notation};
use coldwright::source::{Origin, Position, SourceMap};

/// The whole way, proof included, may take so many times as long as assembling what comes of it. On an idle machine of
/// two processors 64 KiB take 2 to 15 ms, far below the 50 ms that are wanted.
const MOST: f64 = 10.0;

fn main() -> ExitCode {
    let mut missed = false;
    for (name, image) in [("a program", program()), ("random bytes", random()), ("text", text())] {
        let text = proven(&image);
        let whole = least(&|| _ = black_box(proven(&image)));
        let alone = least(&|| assembled(&text));
        let ratio = whole.as_secs_f64() / alone.as_secs_f64();
        println!("{name:<14} {} bytes  {whole:?}, {ratio:.1} times assembling it alone (at most {MOST})", image.len());
        missed |= ratio > MOST;
    }
    if missed { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

fn least(work: &dyn Fn()) -> Duration {
    let turn = || {
        let start = Instant::now();
        work();
        start.elapsed()
    };
    (0..15).map(|_| turn()).min().unwrap_or_default()
}

fn proven(image: &Image) -> String {
    let (hints, none) = (Hints::default(), BTreeMap::new());
    let wish = Wish {
        title: "bench",
        hints: &hints,
        entries: &[],
        machine: None,
        disputed: &none,
        notation: Notation::default(),
        states: false,
    };
    let made = disassemble(image, &wish);
    let mut sources = SourceMap::default();
    assert!(prove(&made.text, "bench.asm", image, made.entry, &mut sources).is_ok());
    made.text
}

fn assembled(text: &str) {
    let mut sources = SourceMap::default();
    let root = sources.add("bench.asm", text, Origin::Given);
    black_box(assemble(&mut sources, root, &Options::default(), &mut StdlibOnly).image.len());
}

/// A program that fills all of memory, of the kind that the assembler's bench has.
fn program() -> Image {
    let mut sources = SourceMap::default();
    let root = sources.add("bench.asm", sources::program(30_000), Origin::Given);
    let mut image = assemble(&mut sources, root, &Options::default(), &mut StdlibOnly).image;
    image.entry = None;
    image
}

fn filled(byte: impl Fn(usize) -> u8) -> Image {
    let mut sources = SourceMap::default();
    let made_by = Position { source: sources.add("bench", "", Origin::Given), offset: 0 };
    let bytes: Vec<u8> = (0..0x1_0000).map(byte).collect();
    let mut image = Image::default();
    if image.insert(Address(0), &bytes, made_by).is_err() {
        unreachable!("an empty image takes all of memory");
    }
    image
}

fn random() -> Image {
    filled(|at| (at.wrapping_mul(0x9E37_79B1) >> 24) as u8)
}

fn text() -> Image {
    filled(|at| b"All the bells of the tower ring in rounds. "[at % 43])
}
