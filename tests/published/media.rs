//! Character times and tape geometry. Character structure: ANSI X3.16 (one start bit, two stop bits at 110 baud) [M];
//! the times follow from it by arithmetic [D].

use coldwright::drawing::Item;
use coldwright::line::LineFormat;
use coldwright::tape::framing::Characters;
use coldwright::tape::summary::{Reader, lengths};
use coldwright::tape::{geometry, picture};

/// Speed, the character time in milliseconds with 8 data bits, no parity and one stop bit, and with two stop bits.
const TIMES: [(&str, f64, f64); 10] = [
    ("75", 133.33, 146.67),
    ("110", 90.909, 100.0),
    ("150", 66.667, 73.333),
    ("300", 33.333, 36.667),
    ("600", 16.667, 18.333),
    ("1200", 8.3333, 9.1667),
    ("2400", 4.1667, 4.5833),
    ("4800", 2.0833, 2.2917),
    ("9600", 1.0417, 1.1458),
    ("134.5", 74.349, 81.784),
];

#[test]
fn character_times_at_the_published_speeds() {
    for (speed, one_stop, two_stop) in TIMES {
        for (character, published) in [("8N1", one_stop), ("8N2", two_stop), ("7E2", two_stop)] {
            let line: LineFormat = format!("{speed} {character}").parse().unwrap();
            let found = line.character_time().as_secs_f64() * 1000.0;
            assert!((found / published - 1.0).abs() < 5e-5, "{line}: {found} ms, published {published} ms");
        }
    }
}

#[test]
fn at_110_baud_with_two_stop_bits_ten_characters_take_exactly_a_second() {
    let line: LineFormat = "110 8N2".parse().unwrap();
    assert_eq!(line.time(10).as_nanos(), 1_000_000_000);
    assert_eq!(line.characters_a_second(), 10.0);
}

/// The BYTE 1976 standard: 300 baud, a start bit, eight data bits, two stop bits or more; 256 characters in 9.387 s.
#[test]
fn a_page_at_300_baud_takes_nine_point_four_seconds() {
    let line: LineFormat = "300 8N2".parse().unwrap();
    assert_eq!((line.time(256).as_secs_f64() * 1000.0).round(), 9387.0);
}

/// Track positions derived from the feed axis at 9.96 mm and the pitch of 2.54 mm (ECMA-10, ISO 1154:1975 [M], a punch
/// maker's specification [2]). The margins differ by 0.40 mm.
#[test]
fn tracks_stand_where_the_tape_standards_put_them() {
    let published = [2.34, 4.88, 7.42, 12.50, 15.04, 17.58, 20.12, 22.66];
    for (number, position) in (1..).zip(published) {
        assert!((geometry::track(number) - position).abs() < 1e-9, "track {number}");
    }
    let (near, far) = (geometry::track(1), geometry::WIDTH - geometry::track(8));
    assert!((far - near - 0.40).abs() < 1e-9);
    assert_eq!((geometry::WIDTH, geometry::PITCH, geometry::FEED_AXIS), (25.40, 2.54, 9.96));
    assert_eq!((geometry::CODE_HOLE, geometry::FEED_HOLE), (1.83, 1.17));
}

/// 256 bytes are 25.6 inches or 65.0 cm, 1024 bytes 8 feet 6.4 inches or 2.60 m, ten frames a second an inch a second.
#[test]
fn lengths_and_times_at_ten_frames_to_the_inch() {
    let (inches, metres) = lengths(256);
    assert_eq!((inches, (metres * 1000.0).round()), (25.6, 650.0));
    let (inches, metres) = lengths(1024);
    assert!((inches - 102.4).abs() < 1e-9 && (metres - 2.60).abs() < 0.005);
    assert_eq!(Reader::Frames(10).time(600).as_secs(), 60);
    assert_eq!(Reader::Line("110 8N2".parse().unwrap()).time(600).as_secs(), 60);
}

/// Holes as drawn for cutting: bit 1 in track 1 nearest the reference edge (ISO 1113, ECMA-10), an 1 punched, feed
/// holes between tracks 3 and 4 in line with the code holes, NUL feed holes only, DEL all eight (ECMA-6, ECMA-10).
#[test]
fn holes_are_drawn_where_the_standards_punch_them() {
    let drawing = picture::to_cut(&[0o000, 0o001, 0o377], "three frames").unwrap();
    let page = &drawing.pages[0];
    assert!((page.size.width - 3.0 * 2.54).abs() < 1e-9 && page.size.height == 25.40);
    let mut holes = Vec::new();
    for item in &page.items {
        let Item::Circle(circle) = item else { panic!("only holes are drawn for cutting: {item:?}") };
        assert!(circle.paint.fill.is_none() && circle.paint.stroke.is_some());
        let micrometres = |mm: f64| (mm * 1000.0).round() as i64;
        let from_edge = 25.40 - circle.centre.1;
        holes.push((micrometres(circle.centre.0), micrometres(from_edge), micrometres(2.0 * circle.radius)));
    }
    let tracks = [2340, 4880, 7420, 12_500, 15_040, 17_580, 20_120, 22_660];
    let mut published = vec![(1270, 9960, 1170), (3810, 9960, 1170), (3810, 2340, 1830), (6350, 9960, 1170)];
    published.extend(tracks.map(|track| (6350, track, 1830)));
    assert_eq!(holes, published);
}

/// Characters of the 7-bit code on tape carry even parity in track 8 (ISO 1113, ECMA-10 [M]); DEL is all holes.
#[test]
fn seven_bit_characters_have_an_even_number_of_holes() {
    for character in 0..128 {
        let frame = Characters::SevenEven.punch(character);
        assert_eq!((frame & 0o177, frame.count_ones() % 2), (character, 0));
    }
    assert_eq!(Characters::SevenEven.punch(0o177), 0o377);
}
