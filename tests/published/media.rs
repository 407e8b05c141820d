//! Character times and tape geometry. Character structure: ANSI X3.16 (one start bit, two stop bits at 110 baud) [M];
//! the times follow from it by arithmetic [D].

use coldwright::line::LineFormat;

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
