//! Image files: what is written is read back; what is damaged is not misread in silence; what a terminal adds is passed
//! over; nothing panics.

use coldwright::image::format::recognise;
use coldwright::image::{Format, Image};
use coldwright::notation::Address;
use coldwright::source::{Code, Severity};
use proptest::prelude::*;
use rayon::prelude::*;

#[path = "../support/images.rs"]
mod support;
use support::{FORMATS, edges, image, images, read, read_sound, symbols, write};

/// What an image is after it went through a format.
fn kept(format: Format, original: &Image) -> Image {
    if format == Format::Raw {
        return original.clone();
    }
    let mut kept = original.clone();
    kept.entry = kept.entry.filter(|_| format.kept().entry);
    kept
}

fn goes_through_every_format(original: &Image) {
    for format in FORMATS.into_iter().filter(|&format| format != Format::Raw) {
        let file = write(format, original);
        assert_eq!(read_sound(format, &file), kept(format, original), "{}", format.title());
        assert_eq!(file, write(format, &read_sound(format, &file)), "{}", format.title());
    }
}

#[test]
fn the_edges_go_through_every_format() {
    for original in edges() {
        goes_through_every_format(&original);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn an_image_goes_through_every_format(original in images()) {
        goes_through_every_format(&original);
    }

    #[test]
    fn a_raw_binary_is_the_bytes_from_the_first_to_the_last(original in images(), fill in any::<u8>()) {
        let file = Format::Raw.write(&original, coldwright::image::raw::Gaps::Fill(fill)).unwrap();
        let base = original.extents().next().map_or(Address(0), |first| first.base);
        let mut sources = Default::default();
        let back = Format::Raw.read(file.clone(), "file", Some(base), &mut sources);
        prop_assert_eq!(file.is_empty(), original.is_empty());
        prop_assert!(back.problems.is_empty());
        for (at, &byte) in file.iter().enumerate() {
            let address = base.wrapping_add(at as u16);
            prop_assert_eq!(original.byte(address).unwrap_or(fill), byte);
            prop_assert_eq!(back.image.byte(address), Some(byte));
        }
        let gaps = original.extents().count() > 1;
        prop_assert_eq!(Format::Raw.write(&original, coldwright::image::raw::Gaps::Refuse).is_err(), gaps);
    }

    #[test]
    fn symbols_go_through_elf(original in images(), symbols in symbols()) {
        let mut original = original;
        original.symbols = symbols;
        let back = read_sound(Format::Elf, &write(Format::Elf, &original));
        prop_assert_eq!(back.symbols, original.symbols);
    }

    #[test]
    fn every_written_file_is_recognised_without_its_name(original in images()) {
        for format in FORMATS.into_iter().filter(|&format| format != Format::Raw) {
            prop_assert_eq!(recognise(&write(format, &original), "-").unwrap().0, format);
        }
    }

    #[test]
    fn a_terminal_capture_is_read_with_a_note(original in images(), prompt in "[*>.] ?", width in 0..3usize) {
        for format in [Format::IntelHex, FORMATS[2 + width]] {
            let text = String::from_utf8(write(format, &original)).unwrap().to_lowercase().replace('\n', "\r\n\r\n");
            let capture = format!("\0\0\x7Fdump tape\r\n{prompt}{text}{prompt}\r\n\x1A\x1A");
            prop_assert_eq!(recognise(capture.as_bytes(), "-").unwrap().0, format);
            let (reading, _) = read(format, capture.as_bytes());
            prop_assert_eq!(&reading.image, &kept(format, &original));
            let problems: Vec<_> = reading.problems.iter().map(|problem| (problem.code, problem.severity)).collect();
            prop_assert_eq!(problems, [(Code::CaptureNoted, Severity::Note)], "{}", capture);
        }
    }

    #[test]
    fn a_table_is_read_in_any_case_and_with_any_blanks(original in images()) {
        for format in [FORMATS[6], FORMATS[7]] {
            let text = String::from_utf8(write(format, &original)).unwrap();
            for changed in [text.to_lowercase(), text.replace(' ', "\t  "), text.replace('\n', " \r\n\r\n")] {
                prop_assert_eq!(&read_sound(format, changed.as_bytes()), &original);
            }
        }
    }

    #[test]
    fn any_bytes_are_read_without_a_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        for format in FORMATS {
            let (reading, sources) = read(format, &bytes);
            reading.problems.sorted(&sources);
        }
    }

    #[test]
    fn any_characters_of_records_are_read_without_a_panic(text in "[:S0-9A-Fa-f\r\n \u{1A}\u{0}é/*;DB]{0,200}") {
        for format in FORMATS {
            let (reading, sources) = read(format, text.as_bytes());
            reading.problems.sorted(&sources);
        }
    }
}

/// What a byte is changed to: one bit or two, and characters that mean something in a record; with
/// `COLDWRIGHT_EXHAUSTIVE=1`, every other value.
fn changes(at: usize, byte: u8, exhaustive: bool) -> Vec<u8> {
    let marks = [b'\n', 0x1A, b' ', b':', b'S', 0];
    let chosen = [byte ^ 1 << (at % 8), byte ^ 1 << (at % 5), b'0', marks[at % 6], marks[(at + 1) % 6]];
    let all = if exhaustive { (0..=255).collect() } else { chosen.to_vec() };
    all.into_iter().filter(|&changed| changed != byte).collect()
}

/// A file in which every byte in turn is changed is the same image, or an error says where.
fn no_damage_passes(format: Format, original: &Image) {
    let file = write(format, original);
    let sound = read_sound(format, &file);
    let exhaustive = std::env::var_os("COLDWRIGHT_EXHAUSTIVE").is_some();
    (0..file.len()).into_par_iter().for_each(|at| {
        let mut damaged = file.clone();
        for changed in changes(at, file[at], exhaustive) {
            damaged[at] = changed;
            judge(format, &file, at, &damaged, &sound);
        }
    });
}

fn judge(format: Format, file: &[u8], at: usize, damaged: &[u8], sound: &Image) {
    let (reading, sources) = read(format, damaged);
    let located = reading.problems.iter().any(|problem| {
        let Some(label) = problem.primary.as_ref().filter(|_| problem.severity == Severity::Error) else {
            return false;
        };
        let (line, _) = sources.line_column(label.span.position());
        let guilty = file[..at].iter().filter(|&&byte| byte == b'\n').count() + 1;
        // ELF has no lines; where one character takes a line's end away or sets one, the next line may be named.
        format == Format::Elf || line.abs_diff(guilty) <= 1 || is_whole_file(problem.code)
    });
    assert!(
        located || (!reading.problems.has_errors() && reading.image == *sound),
        "{}: byte {at}, {:02X} to {:02X}, read as {:?} with {:?}",
        format.title(),
        file[at],
        damaged[at],
        reading.image,
        reading.problems
    );
}

/// Problems that no single line shows: they point at the end of the file, the count of records, or the last line.
fn is_whole_file(code: Code) -> bool {
    matches!(code, Code::RecordEnd | Code::RecordTally)
}

#[test]
fn no_damaged_byte_passes() {
    let sample = image(&[(0, vec![0, 0xFF, 0x53, 0x3A]), (0xFFEE, (0..18).collect())], Some(0xFFEE));
    for format in FORMATS.into_iter().filter(|&format| format != Format::Raw) {
        no_damage_passes(format, &sample);
        no_damage_passes(format, &image(&[], None));
    }
}

#[test]
fn a_damaged_byte_of_a_raw_binary_is_that_byte() {
    let (reading, _) = read(Format::Raw, &[1, 2, 3]);
    assert_eq!([0, 1, 2].map(|at| reading.image.byte(Address(at))), [Some(1), Some(2), Some(3)]);
}
