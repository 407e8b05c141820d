//! A 64 KiB image through every format, each way. The budget is 2 ms.

use coldwright::image::raw::Gaps;
use coldwright::image::{Format, Image};
use coldwright::notation::Address;
use coldwright::source::{Origin, Position, SourceMap};
use divan::{Bencher, black_box};

const FORMATS: [&str; 8] = ["bin", "hex", "s19", "s28", "s37", "elf", "c", "inc"];

fn main() {
    divan::main();
}

fn all_of_memory() -> Image {
    let mut sources = SourceMap::default();
    let made_by = Position { source: sources.add("bench", "", Origin::Given), offset: 0 };
    let bytes: Vec<u8> = (0..0x1_0000u32).map(|at| (at.wrapping_mul(0x9E37_79B1) >> 24) as u8).collect();
    let mut image = Image::default();
    if image.insert(Address(0), &bytes, made_by).is_err() {
        unreachable!("an empty image takes all of memory");
    }
    image.entry = Some(Address(0x100));
    image
}

fn format(word: &str) -> Format {
    Format::from_word(word).unwrap_or(Format::Raw)
}

fn file(word: &str) -> Vec<u8> {
    format(word).write(&all_of_memory(), Gaps::Refuse).unwrap_or_default()
}

#[divan::bench(args = FORMATS)]
fn write(bencher: Bencher<'_, '_>, word: &str) {
    let image = all_of_memory();
    bencher.bench_local(|| format(word).write(black_box(&image), Gaps::Refuse));
}

#[divan::bench(args = FORMATS)]
fn read(bencher: Bencher<'_, '_>, word: &str) {
    let origin = Some(Address(0)).filter(|_| word == "bin");
    bencher.with_inputs(|| file(word)).bench_local_values(|bytes| {
        let mut sources = SourceMap::default();
        let reading = format(word).read(bytes, "bench", origin, &mut sources);
        assert!(!reading.problems.has_errors() && reading.image.len() == 0x1_0000);
        reading
    });
}
