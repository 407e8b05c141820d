//! Published records of Intel HEX and S-records, read and, where the sixteen-byte rows agree, written.
//!
//! Each block names its source. \[M\] stands for a page known from memory, its checksums recomputed.

use coldwright::image::{Format, Image, Reading, s_record::Width};
use coldwright::notation::Address;
use coldwright::source::{Code, Position, Severity, SourceMap};

const S19: Format = Format::SRecord(Width::S19);

fn read(format: Format, text: &str) -> (Reading, SourceMap) {
    let mut sources = SourceMap::default();
    let reading = format.read(text.into(), "published", None, &mut sources);
    (reading, sources)
}

fn sound(format: Format, text: &str) -> Image {
    let (reading, _) = read(format, text);
    assert!(reading.problems.is_empty(), "{text}: {:?}", reading.problems);
    reading.image
}

fn bytes(image: &Image, base: u16, count: u16) -> Vec<u8> {
    (0..count).filter_map(|at| image.byte(Address(base + at))).collect()
}

/// Intel, Hexadecimal Object File Format Specification, Revision A, 1988: the end of file record.
#[test]
fn the_end_of_file_record() {
    assert!(sound(Format::IntelHex, ":00000001FF\n").is_empty());
    assert_eq!(
        Format::IntelHex.write(&Image::default(), coldwright::image::raw::Gaps::Refuse).unwrap(),
        b":00000001FF\n"
    );
}

/// Emerson, PmT1/PmE1 User's Manual, 10002367-02, page 8-24.
#[test]
fn a_data_record_in_a_manual() {
    let image = sound(Format::IntelHex, ":04003000902BB4FD60\n:00000001FF\n");
    assert_eq!(bytes(&image, 0x30, 4), [0x90, 0x2B, 0xB4, 0xFD]);
    assert_eq!(image.len(), 4);
    // Its prose has a segment base of 1 in force, which moves the bytes up by 16.
    let image = sound(Format::IntelHex, ":020000020001FB\n:04003000902BB4FD60\n:00000001FF\n");
    assert_eq!(bytes(&image, 0x40, 4), [0x90, 0x2B, 0xB4, 0xFD]);
}

/// Wikipedia, Intel HEX [M]: 8080 code in rows of sixteen, as they are written here too.
#[test]
fn a_block_of_8080_code() {
    let text = ":10010000214601360121470136007EFE09D2190140\n\
                :100110002146017E17C20001FF5F16002148011928\n\
                :10012000194E79234623965778239EDA3F01B2CAA7\n\
                :100130003F0156702B5E712B722B732146013421C7\n\
                :00000001FF\n";
    let image = sound(Format::IntelHex, text);
    assert_eq!(bytes(&image, 0x100, 5), [0x21, 0x46, 0x01, 0x36, 0x01]);
    assert_eq!((image.len(), image.extents().count()), (64, 1));
    assert_eq!(Format::IntelHex.write(&image, coldwright::image::raw::Gaps::Refuse).unwrap(), text.as_bytes());
}

/// Wikipedia, Intel HEX [M]: a short record, and one record each of types 02 to 05.
#[test]
fn one_record_of_each_type() {
    let image = sound(Format::IntelHex, ":0300300002337A1E\n:00000001FF\n");
    assert_eq!(bytes(&image, 0x30, 3), [0x02, 0x33, 0x7A]);
    let image = sound(Format::IntelHex, ":0400000300003800C1\n:00000001FF\n");
    assert_eq!(image.entry, Some(Address(0x3800)));
    let image = sound(Format::IntelHex, ":04000005000000CD2A\n:00000001FF\n");
    assert_eq!(image.entry, Some(Address(0xCD)));
    for upper in [":020000021200EA", ":02000004FFFFFC"] {
        sound(Format::IntelHex, &format!("{upper}\n:00000001FF\n"));
        let (reading, _) = read(Format::IntelHex, &format!("{upper}\n:0300300002337A1E\n:00000001FF\n"));
        let problems: Vec<_> = reading.problems.iter().map(|problem| problem.code).collect();
        assert_eq!(problems, [Code::ImagePastTop], "{upper}");
    }
}

/// A device programmer's guide prints this record with a wrong checksum; 89 is right.
#[test]
fn a_record_printed_with_a_wrong_checksum() {
    let (reading, sources) = read(Format::IntelHex, ":020000024A2902\n:00000001FF\n");
    let [problem] = &reading.problems.sorted(&sources)[..] else { panic!("expected one problem") };
    let label = problem.primary.as_ref().unwrap();
    assert_eq!((problem.code, problem.severity), (Code::RecordChecksum, Severity::Error));
    assert_eq!(sources.line_column(label.span.position()).0, 1);
    assert!(problem.headline.contains("`02`") && label.text.contains("`89`"), "{problem:?}");
    sound(Format::IntelHex, ":020000024A2989\n:00000001FF\n");
}

/// The S19 page of sonic.net, and the end record of Motorola's manual.
#[test]
fn text_in_s_records_of_two_widths() {
    let image = sound(S19, "S10D1000736F6D6520646174610074\nS9030000FC\n");
    assert_eq!(bytes(&image, 0x1000, 10), b"some data\0");
    let (reading, sources) =
        read(S19, "S21D0100006461746120617420612068696768657220616464726573730034\nS804000000FB\n");
    let problems: Vec<_> = reading.problems.sorted(&sources).iter().map(|problem| problem.code).collect();
    assert_eq!(problems, [Code::ImagePastTop], "data at 010000 lie past the memory of an 8080");
}

/// DTS Insight, support article 10010861897359.
#[test]
fn s_records_of_a_support_article() {
    let (reading, _) = read(S19, "S00C000054455354312E4845586F\nS9030000FC\n");
    assert!(reading.problems.is_empty());
    assert!(reading.facts.contains(&("header", "`TEST1.HEX`".into())));
    let (reading, sources) = read(S19, "S315CAFE010055AA55AA55AA55AA55AA55AA55AA55AA29\nS70500000000FA\n");
    let problems: Vec<_> = reading.problems.sorted(&sources).iter().map(|problem| problem.code).collect();
    assert_eq!(problems, [Code::ImagePastTop], "the record is sound; its address, CAFE0100, is too high");
}

/// Motorola, M68000 Family Programmer's Reference Manual, appendix C [M]: the sample block.
#[test]
fn the_sample_block_of_the_s_record_manual() {
    let text = "S00600004844521B\n\
                S1130000285F245F2212226A000424290008237C2A\n\
                S11300100002000800082629001853812341001813\n\
                S113002041E900084E42234300182342000824A952\n\
                S107003000144ED492\n\
                S9030000FC\n";
    let image = sound(S19, text);
    assert_eq!((image.len(), image.extents().count(), image.entry), (52, 1, None));
    assert_eq!(bytes(&image, 0, 4), [0x28, 0x5F, 0x24, 0x5F]);
    assert_eq!(bytes(&image, 0x30, 4), [0x00, 0x14, 0x4E, 0xD4]);
    let written = Format::SRecord(Width::S19).write(&image, coldwright::image::raw::Gaps::Refuse).unwrap();
    let written = String::from_utf8(written).unwrap();
    let data = |text: &str| text.lines().filter(|line| line.starts_with("S1")).map(String::from).collect::<Vec<_>>();
    assert_eq!(data(&written), data(text));
}

/// Emerson, page 8-24, prints its header without the usual address 0000: what looks like data is not skipped.
#[test]
fn a_header_without_its_address_is_refused() {
    let (reading, _) = read(S19, "S008763330627567736D\nS9030000FC\n");
    let problems: Vec<_> = reading.problems.iter().map(|problem| problem.code).collect();
    assert_eq!(problems, [Code::RecordField]);
}

#[test]
fn a_byte_goes_back_to_the_line_of_its_record() {
    let (reading, sources) = read(Format::IntelHex, ":0300300002337A1E\n:00000001FF\n");
    let place: Position = reading.image.made_by(Address(0x31)).unwrap();
    assert_eq!(sources.file_line(place), "published:1");
}
