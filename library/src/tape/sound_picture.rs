//! The sound of a tape drawn: the wave, the bits that were decided on it with their edges, and the bytes.

use super::sound_strip::Strip;
use super::wrong_bit::WrongBit;
use crate::audio::Modulation;
use crate::audio::picture::Picture;
use crate::drawing::{Anchor, Drawing, Font, Page, PageSize, Pt, Text, metrics};
use crate::notation::Notation;

/// Strips on a page.
const ROWS: usize = 4;

/// Columns of the wave in a strip.
const COLUMNS: usize = 1_300;

/// The least room for a bit, millimetres: enough for its digit, its box and its edges, and for its cycles to be told
/// apart, but no more than leaves room for three characters on a strip.
const LEAST_BIT: f64 = 4.0;
const MOST_BIT: f64 = 7.0;
/// The least room for a cycle of the higher tone, millimetres.
const LEAST_CYCLE: f64 = 0.7;

/// Millimetres: margin left and right, the first strip's top, strip to strip.
const MARGIN: f64 = 14.0;
const HEAD: f64 = 28.0;
const ROW_PITCH: f64 = 45.0;

const LEGEND: &str = "each strip: bytes (underlined twice: doubtful), bits with the least significant first (S start, P \
                      stop; boxed: doubtful), the wave with the edges of the bits, seconds";

/// How a stretch of sound is laid out in strips on landscape pages, four a page.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Layout {
    paper: PageSize,
    strips: usize,
    /// Seconds of a strip.
    span: f64,
}

impl Layout {
    /// A layout for so many seconds. What fits on one page fills it; more goes on at a fixed scale, whole characters to a
    /// strip, over as many pages as it takes.
    pub fn new(seconds: f64, modulation: &Modulation, paper: PageSize) -> Layout {
        let paper = paper.landscape();
        let cycles = modulation.mark_hz().max(modulation.space_hz()) / modulation.baud();
        let bit = (LEAST_CYCLE * cycles).clamp(LEAST_BIT, MOST_BIT);
        let longest = (paper.width - 2.0 * MARGIN) / bit / modulation.baud();
        if seconds <= ROWS as f64 * longest {
            return Layout { paper, strips: ROWS, span: seconds / ROWS as f64 };
        }
        let character = modulation.character_seconds();
        let span = (longest / character).floor().max(1.0) * character;
        Layout { paper, strips: (seconds / span).ceil() as usize, span }
    }

    /// Pages.
    pub fn pages(&self) -> usize {
        self.strips.div_ceil(ROWS)
    }

    /// Columns of the wave that are wanted.
    pub fn columns(&self) -> usize {
        self.strips * COLUMNS
    }

    /// Seconds from the beginning to the middle of the second strip: what is looked for stands there, not where a line is
    /// broken.
    pub fn before_focus(&self) -> f64 {
        1.5 * self.span
    }
}

/// What a picture points at.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Focus {
    /// What is said of it below the title.
    pub about: String,
    /// The time that was looked for, if any.
    pub seconds: Option<f64>,
    /// The one bit that is known to be wrong, if it is.
    pub wrong: Option<WrongBit>,
}

/// Draws a span of a recording.
pub fn draw(picture: &Picture, layout: &Layout, title: &str, focus: &Focus, notation: Notation) -> Drawing {
    let loudest = picture.wave.iter().fold(0.0_f32, |loudest, (low, high)| loudest.max(high.abs()).max(low.abs()));
    let strips = ((picture.to - picture.from) / layout.span - 1e-6).ceil().max(1.0) as usize;
    let strips = strips.min(layout.strips);
    let count = strips.div_ceil(ROWS);
    let page = |number: usize| {
        let mut page = headed(layout.paper, title, &focus.about, (number, count));
        for row in 0..ROWS.min(strips - number * ROWS) {
            let strip = Strip {
                from: picture.from + layout.span * (number * ROWS + row) as f64,
                span: layout.span,
                left: MARGIN,
                top: HEAD + ROW_PITCH * row as f64,
                width: layout.paper.width - 2.0 * MARGIN,
            };
            strip.draw(&mut page, picture, f64::from(loudest.max(1e-6)), notation);
            match (focus.wrong, focus.seconds) {
                (Some(wrong), _) if strip.holds(wrong.middle()) => strip.ring(&mut page, &wrong),
                (None, Some(seconds)) if strip.holds(seconds) => strip.point(&mut page, seconds, ""),
                _ => {}
            }
        }
        page
    };
    Drawing { title: title.to_owned(), pages: (0..count).map(page).collect() }
}

fn headed(paper: PageSize, title: &str, about: &str, (number, count): (usize, usize)) -> Page {
    let mut page = Page::new(paper);
    let room = paper.width - 2.0 * MARGIN;
    let shown = metrics::fit(title, Font::HelveticaBold, Pt(14.0), room - 30.0);
    page.push(Text::new(MARGIN, 12.0, Font::HelveticaBold, Pt(14.0), shown));
    if count > 1 {
        let number = Text::new(MARGIN + room, 12.0, Font::Helvetica, Pt(10.0), format!("{} of {count}", number + 1));
        page.push(number.anchored(Anchor::End));
    }
    page.push(Text::new(MARGIN, 17.0, Font::Helvetica, Pt(9.0), metrics::fit(about, Font::Helvetica, Pt(9.0), room)));
    page.push(Text::new(MARGIN, 21.0, Font::Helvetica, Pt(8.0), metrics::fit(LEGEND, Font::Helvetica, Pt(8.0), room)));
    page
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use super::*;
    use crate::audio::{Pauses, Preset, Sound, picture::look, write};
    use crate::drawing::Item;

    fn drawn(bytes: &[u8], from: f64, seconds: f64, focus: &Focus) -> Drawing {
        let preset = Preset::named("byte-300").unwrap();
        let pauses = Pauses { leader: 1.0, gap: 0.0, trailer: 1.0 };
        let mut wav = Cursor::new(Vec::new());
        write(&mut wav, &[bytes], &preset.modulation, &pauses, &Sound::default(), |_| ()).unwrap();
        let layout = Layout::new(seconds, &preset.modulation, PageSize::A4);
        let wav = Cursor::new(wav.get_ref());
        let picture = look(wav, &preset.modulation, from, from + seconds, layout.columns()).unwrap();
        draw(&picture, &layout, "bells", focus, Notation::Octal)
    }

    fn heavy(drawing: &Drawing) -> Vec<String> {
        let items = drawing.pages.iter().flat_map(|page| &page.items);
        let texts = items.filter_map(|item| match item {
            Item::Text(text) if text.font == Font::CourierBold => Some(text.text.clone()),
            _ => None,
        });
        texts.collect()
    }

    fn shown(bytes: &[u8]) -> Vec<String> {
        let one = |&byte: &u8| match byte {
            0x21..=0x7E => format!("{byte:03o} {}", char::from(byte)),
            _ => format!("{byte:03o}"),
        };
        bytes.iter().map(one).collect()
    }

    #[test]
    fn every_byte_in_the_span_is_drawn_once_on_one_page_or_on_many() {
        let bells = b"ring the bells".repeat(12);
        let short = drawn(&bells[..14], 0.99, 0.53, &Focus::default());
        assert_eq!((short.pages.len(), heavy(&short)), (1, shown(&bells[..14])));
        let long = drawn(&bells, 0.5, 7.0, &Focus::default());
        assert!(long.pages.len() > 3, "{} pages", long.pages.len());
        assert_eq!(heavy(&long), shown(&bells));
    }

    #[test]
    fn one_wrong_bit_is_ringed_and_said() {
        let focus = Focus { wrong: Some(WrongBit { from: 1.2, to: 1.203, is_one: true }), ..Focus::default() };
        let drawing = drawn(b"ring the bells", 0.99, 0.53, &focus);
        let items = &drawing.pages[0].items;
        assert_eq!(items.iter().filter(|item| matches!(item, Item::Circle(_))).count(), 1);
        let said = "wrong: heard 0, the check asks for 1";
        assert!(items.iter().any(|item| matches!(item, Item::Text(text) if text.text == said)));
    }
}
