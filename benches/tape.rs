//! A tape of 1 MB through the framing `blocks`, each way, sound and with a slip in every tenth block. The budget for
//! the sound one is 20 ms.

use coldwright::image::Image;
use coldwright::notation::{Address, Notation};
use coldwright::source::{Origin, Position, SourceMap};
use coldwright::tape::framing::{BUNDLED, Framing, Program, bundled, decode, encode};
use divan::counter::BytesCount;
use divan::{Bencher, black_box};

/// Frames of the tape.
const FRAMES: usize = 1_000_000;

fn main() {
    divan::main();
}

fn framing() -> Framing {
    bundled(BUNDLED[1].0).unwrap_or_else(|| unreachable!("a bundled framing loads"))
}

fn image() -> Image {
    let made_by = Position { source: SourceMap::default().add("bench", "", Origin::Given), offset: 0 };
    let bytes: Vec<u8> = (0..0xFF00u32).map(|at| (at.wrapping_mul(0x9E37_79B1) >> 24) as u8).collect();
    let mut image = Image::default();
    if image.insert(Address(0x0100), &bytes, made_by).is_err() {
        unreachable!("an empty image takes any bytes");
    }
    image.entry = Some(Address(0x0100));
    image
}

/// As many programs as it takes.
fn tape(image: &Image) -> Vec<u8> {
    let programs = vec![Program { name: "bench", image, lettering: "" }; 15];
    let tape = encode(&framing(), &programs, Notation::default()).map(|tape| tape.bytes).unwrap_or_default();
    assert!(tape.len() >= FRAMES, "{} frames", tape.len());
    tape
}

#[divan::bench]
fn write(bencher: Bencher<'_, '_>) {
    let image = image();
    let count = tape(&image).len();
    bencher.counter(BytesCount::new(count)).bench_local(|| tape(black_box(&image)));
}

#[divan::bench]
fn read(bencher: Bencher<'_, '_>) {
    let tape = tape(&image());
    let framing = framing();
    bencher.counter(BytesCount::new(tape.len())).bench_local(|| {
        let reading = decode(&framing, black_box(&tape));
        assert!(reading.is_whole());
        reading
    });
}

#[divan::bench(sample_count = 10)]
fn read_damaged(bencher: Bencher<'_, '_>) {
    let mut tape = tape(&image());
    for at in (700..tape.len()).step_by(1410) {
        tape[at] ^= 0o020;
    }
    let framing = framing();
    bencher.counter(BytesCount::new(tape.len())).bench_local(|| decode(&framing, black_box(&tape)));
}
