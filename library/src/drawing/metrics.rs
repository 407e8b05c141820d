//! Fonts, type sizes, and how wide a text comes out, from the published advance widths of the standard fonts.
//!
//! Widths are the `WX` figures of Adobe's *Core 14 AFM* files (Courier, Helvetica, Helvetica-Bold; version 1999),
//! in thousandths of the type size, indexed by the code of the Windows code page 1252 that PDF calls WinAnsi.

use super::winansi;

/// One of the fonts every PDF viewer and printer has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Font {
    /// Every character as wide as every other.
    Courier,
    /// Courier, heavy.
    CourierBold,
    /// Plain sans serif.
    Helvetica,
    /// Helvetica, heavy.
    HelveticaBold,
}

/// A type size in points of 1/72 inch.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Pt(pub f64);

impl Pt {
    /// The same size in millimetres.
    pub fn mm(self) -> f64 {
        self.0 * MM_PER_PT
    }
}

/// Millimetres in a point.
pub(crate) const MM_PER_PT: f64 = 25.4 / 72.0;

/// The width in millimetres of `text` set in `font` at `size`, as every writer of this module sets it.
pub fn width_mm(text: &str, font: Font, size: Pt) -> f64 {
    let thousandths: u64 = text.chars().map(|c| u64::from(advance(c, font))).sum();
    thousandths as f64 / 1000.0 * size.mm()
}

/// The longest beginning of `text` that is at most `limit` millimetres wide, ended with an ellipsis if it was cut.
pub fn fit(text: &str, font: Font, size: Pt, limit: f64) -> String {
    if width_mm(text, font, size) <= limit {
        return text.to_owned();
    }
    let room = limit - width_mm("\u{2026}", font, size);
    let mut used = 0.0;
    let mut kept = String::new();
    for c in text.chars() {
        used += f64::from(advance(c, font)) / 1000.0 * size.mm();
        if used > room {
            break;
        }
        kept.push(c);
    }
    let mut kept = kept.trim_end().to_owned();
    kept.push('\u{2026}');
    kept
}

fn advance(c: char, font: Font) -> u16 {
    let advance = |code: u8| match font {
        Font::Courier | Font::CourierBold => 600,
        Font::Helvetica => HELVETICA[usize::from(code) - 32],
        Font::HelveticaBold => HELVETICA_BOLD[usize::from(code) - 32],
    };
    winansi::codes(c).map(advance).sum()
}

/// Advance widths of Helvetica for the codes 32 to 255.
#[rustfmt::skip]
const HELVETICA: [u16; 224] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, // 0x20
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, // 0x30
    1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778, // 0x40
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556, // 0x50
    333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556, // 0x60
    556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584, 350, // 0x70
    556, 350, 222, 556, 333, 1000, 556, 556, 333, 1000, 667, 333, 1000, 350, 611, 350, // 0x80
    350, 222, 222, 333, 333, 350, 556, 1000, 333, 1000, 500, 333, 944, 350, 500, 667, // 0x90
    278, 333, 556, 556, 556, 556, 260, 556, 333, 737, 370, 556, 584, 333, 737, 333, // 0xA0
    400, 584, 333, 333, 333, 578, 537, 278, 333, 333, 365, 556, 834, 834, 834, 611, // 0xB0
    667, 667, 667, 667, 667, 667, 1000, 722, 667, 667, 667, 667, 278, 278, 278, 278, // 0xC0
    722, 722, 778, 778, 778, 778, 778, 584, 778, 722, 722, 722, 722, 667, 667, 611, // 0xD0
    556, 556, 556, 556, 556, 556, 889, 500, 556, 556, 556, 556, 278, 278, 278, 278, // 0xE0
    556, 556, 556, 556, 556, 556, 556, 584, 611, 556, 556, 556, 556, 500, 556, 500, // 0xF0
];

/// Advance widths of Helvetica-Bold for the codes 32 to 255.
#[rustfmt::skip]
const HELVETICA_BOLD: [u16; 224] = [
    278, 333, 474, 556, 556, 889, 722, 238, 333, 333, 389, 584, 278, 333, 278, 278, // 0x20
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 333, 333, 584, 584, 584, 611, // 0x30
    975, 722, 722, 722, 722, 667, 611, 778, 722, 278, 556, 722, 611, 833, 722, 778, // 0x40
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 333, 278, 333, 584, 556, // 0x50
    333, 556, 611, 556, 611, 556, 333, 611, 611, 278, 278, 556, 278, 889, 611, 611, // 0x60
    611, 611, 389, 556, 333, 611, 556, 778, 556, 556, 500, 389, 280, 389, 584, 350, // 0x70
    556, 350, 278, 556, 500, 1000, 556, 556, 333, 1000, 667, 333, 1000, 350, 611, 350, // 0x80
    350, 278, 278, 500, 500, 350, 556, 1000, 333, 1000, 556, 333, 944, 350, 500, 667, // 0x90
    278, 333, 556, 556, 556, 556, 280, 556, 333, 737, 370, 556, 584, 333, 737, 333, // 0xA0
    400, 584, 333, 333, 333, 611, 556, 278, 333, 333, 365, 556, 834, 834, 834, 611, // 0xB0
    722, 722, 722, 722, 722, 722, 1000, 722, 667, 667, 667, 667, 278, 278, 278, 278, // 0xC0
    722, 722, 778, 778, 778, 778, 778, 584, 778, 722, 722, 722, 722, 667, 667, 611, // 0xD0
    556, 556, 556, 556, 556, 556, 889, 556, 556, 556, 556, 556, 278, 278, 278, 278, // 0xE0
    611, 611, 611, 611, 611, 611, 611, 584, 611, 611, 611, 611, 611, 556, 611, 556, // 0xF0
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn courier_is_six_tenths_wide() {
        assert!((width_mm("000 000", Font::Courier, Pt(10.0)) - 7.0 * 6.0 * 25.4 / 72.0).abs() < 1e-9);
    }

    #[test]
    fn helvetica_sums_its_glyphs() {
        // A 667, V 667 in Helvetica; 722 and 667 in Helvetica-Bold.
        assert!((width_mm("AV", Font::Helvetica, Pt(1000.0)) - 1334.0 * 25.4 / 72.0).abs() < 1e-9);
        assert!((width_mm("AV", Font::HelveticaBold, Pt(1000.0)) - 1389.0 * 25.4 / 72.0).abs() < 1e-9);
    }

    #[test]
    fn what_does_not_fit_is_cut_with_an_ellipsis() {
        let cut = fit("strike the third bell", Font::Helvetica, Pt(10.0), 20.0);
        assert!(cut.ends_with('\u{2026}') && width_mm(&cut, Font::Helvetica, Pt(10.0)) <= 20.0);
        assert_eq!(fit("short", Font::Helvetica, Pt(10.0), 20.0), "short");
    }
}
