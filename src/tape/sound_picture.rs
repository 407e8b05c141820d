//! The sound of a tape drawn: the wave, the bits that were decided on it with their edges, and the bytes.

use crate::audio::HeardByte;
use crate::audio::picture::{BitPart, Picture, PictureBit};
use crate::drawing::{
    Anchor, Drawing, Font, Ink, Line, Page, PageSize, Paint, Polyline, Pt, Rect, Stroke, Text, metrics,
};
use crate::notation::Notation;

/// Rows of a page; each shows a quarter of the span.
const ROWS: usize = 4;

/// Columns of the wave that [`draw`] can show.
pub const COLUMNS: usize = ROWS * 1_300;

/// Millimetres: margin left and right, the first row's top, row to row, half the height of the wave.
const MARGIN: f64 = 14.0;
const HEAD: f64 = 28.0;
const ROW_PITCH: f64 = 45.0;
const HALF_WAVE: f64 = 10.5;

/// Odds, in nats, below which a bit is marked as doubtful.
const DOUBT: f32 = 5.0;

/// Draws a span of a recording on one landscape page of A4, in four rows. `focus` is a time to be pointed at.
pub fn draw(picture: &Picture, title: &str, about: &str, focus: Option<f64>, notation: Notation) -> Drawing {
    let size = PageSize::A4.landscape();
    let mut page = Page::new(size);
    let shown = metrics::fit(title, Font::HelveticaBold, Pt(14.0), size.width - 2.0 * MARGIN);
    page.push(Text::new(MARGIN, 12.0, Font::HelveticaBold, Pt(14.0), shown));
    page.push(Text::new(MARGIN, 17.5, Font::Helvetica, Pt(9.0), about));
    let legend = "each row: bytes (underlined twice: doubtful), bits with the least significant first (S start, P stop; \
                  boxed: doubtful), the wave with the edges of the bits, seconds";
    page.push(Text::new(MARGIN, 22.0, Font::Helvetica, Pt(8.0), legend));
    let loudest = picture.wave.iter().fold(0.0_f32, |loudest, (low, high)| loudest.max(high.abs()).max(low.abs()));
    let span = (picture.to - picture.from) / ROWS as f64;
    for index in 0..ROWS {
        let from = picture.from + span * index as f64;
        let row = Row { from, span, top: HEAD + ROW_PITCH * index as f64, width: size.width - 2.0 * MARGIN };
        let columns = picture.wave.len() / ROWS;
        row.wave(&mut page, &picture.wave[columns * index..columns * (index + 1)], f64::from(loudest.max(1e-6)));
        picture.bits.iter().for_each(|bit| row.bit(&mut page, bit));
        picture.bytes.iter().for_each(|byte| row.byte(&mut page, byte, notation));
        row.scale(&mut page);
        if let Some(focus) = focus.filter(|focus| row.holds(*focus)) {
            row.point(&mut page, focus);
        }
    }
    Drawing { title: title.to_owned(), pages: vec![page] }
}

/// A part of the span on one row; its parts from `top` down are bytes, bits, wave and seconds.
struct Row {
    from: f64,
    span: f64,
    top: f64,
    width: f64,
}

impl Row {
    fn holds(&self, seconds: f64) -> bool {
        (self.from..self.from + self.span).contains(&seconds)
    }

    fn x(&self, seconds: f64) -> f64 {
        MARGIN + ((seconds - self.from) / self.span).clamp(0.0, 1.0) * self.width
    }

    fn axis(&self) -> f64 {
        self.top + 13.0 + HALF_WAVE
    }

    fn wave(&self, page: &mut Page, wave: &[(f32, f32)], loudest: f64) {
        let axis = Stroke { ink: Ink::grey(50), ..Stroke::new(0.1) };
        page.push(Line { from: (MARGIN, self.axis()), to: (MARGIN + self.width, self.axis()), stroke: axis });
        let step = self.width / wave.len().max(1) as f64;
        let point = |(index, value): (usize, f32)| {
            (MARGIN + (index as f64 + 0.5) * step, self.axis() - f64::from(value) / loudest * HALF_WAVE)
        };
        let highs = wave.iter().map(|column| column.1).enumerate().map(point);
        let lows = wave.iter().map(|column| column.0).enumerate().rev().map(point);
        let paint = Paint { stroke: Some(Stroke::new(0.15)), fill: Some(Ink::BLACK) };
        page.push(Polyline { points: highs.chain(lows).collect(), closed: true, paint });
    }

    fn bit(&self, page: &mut Page, bit: &PictureBit) {
        let middle = (bit.from + bit.to) / 2.0;
        let starts = bit.part == BitPart::Start;
        let stroke = if starts { Stroke::new(0.35) } else { Stroke::new(0.12).dashed(0.8, 0.8) };
        for edge in [bit.from, bit.to].into_iter().filter(|edge| self.holds(*edge)) {
            let stroke = if edge == bit.from { stroke } else { Stroke::new(0.12).dashed(0.8, 0.8) };
            page.push(Line {
                from: (self.x(edge), self.top + 6.0),
                to: (self.x(edge), self.axis() + HALF_WAVE),
                stroke,
            });
        }
        if !self.holds(middle) {
            return;
        }
        let room = (bit.to - bit.from) / self.span * self.width;
        let letter = match bit.part {
            BitPart::Start => "S",
            BitPart::Stop => "P",
            BitPart::Data(_) if bit.one => "1",
            BitPart::Data(_) => "0",
        };
        if bit.sure < DOUBT {
            let width = room.min(4.0) * 0.9;
            let box_ = Rect {
                x: self.x(middle) - width / 2.0,
                y: self.top + 7.2,
                width,
                height: 4.6,
                paint: Paint::outline(0.4),
            };
            page.push(box_);
        }
        if room > 1.6 {
            let text = Text::new(self.x(middle), self.top + 11.0, Font::Courier, Pt(9.0), letter);
            page.push(text.anchored(Anchor::Middle));
        }
    }

    fn byte(&self, page: &mut Page, byte: &HeardByte, notation: Notation) {
        let middle = (byte.from + byte.to) / 2.0;
        if !self.holds(middle) {
            return;
        }
        let value = notation.byte(byte.value).to_string();
        let shown = match byte.value {
            0x21..=0x7E => format!("{value} {}", char::from(byte.value)),
            _ => value,
        };
        let text =
            Text::new(self.x(middle), self.top + 4.0, Font::CourierBold, Pt(10.0), shown).anchored(Anchor::Middle);
        let half = text.width() / 2.0;
        page.push(text);
        if byte.is_doubtful() {
            for y in [4.9, 5.5] {
                let (left, right) = (self.x(middle) - half, self.x(middle) + half);
                page.push(Line { from: (left, self.top + y), to: (right, self.top + y), stroke: Stroke::new(0.3) });
            }
        }
    }

    /// Seconds below the wave, at ten places.
    fn scale(&self, page: &mut Page) {
        let foot = self.axis() + HALF_WAVE;
        for tick in 0..=10 {
            let seconds = self.from + self.span * f64::from(tick) / 10.0;
            let x = MARGIN + self.width * f64::from(tick) / 10.0;
            page.push(Line { from: (x, foot), to: (x, foot + 1.2), stroke: Stroke::new(0.2) });
            let text = Text::new(x, foot + 4.4, Font::Helvetica, Pt(8.0), format!("{seconds:.4}"));
            page.push(text.anchored(Anchor::Middle));
        }
    }

    fn point(&self, page: &mut Page, focus: f64) {
        let (x, y) = (self.x(focus), self.top + 0.3);
        let points = vec![(x, y), (x - 1.6, y - 3.0), (x + 1.6, y - 3.0)];
        page.push(Polyline { points, closed: true, paint: Paint::SOLID });
    }
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use super::*;
    use crate::audio::{Preset, Sound, picture::look, write};
    use crate::drawing::Item;

    #[test]
    fn every_byte_in_the_span_is_drawn_once() {
        let preset = Preset::named("byte-300").unwrap();
        let mut wav = Cursor::new(Vec::new());
        write(&mut wav, &[b"ring the bells"], &preset.modulation, &preset.pauses, &Sound::default(), |_| ()).unwrap();
        let picture = look(Cursor::new(wav.get_ref()), &preset.modulation, 4.99, 5.52, COLUMNS).unwrap();
        let drawing = draw(&picture, "bells", "", Some(5.2), Notation::Octal);
        let heavy = drawing.pages[0].items.iter().filter_map(|item| match item {
            Item::Text(text) if text.font == Font::CourierBold => Some(text.text.clone()),
            _ => None,
        });
        let expected = b"ring the bells".iter().map(|&byte| match byte {
            b' ' => "040".to_owned(),
            _ => format!("{byte:03o} {}", char::from(byte)),
        });
        assert_eq!(heavy.collect::<Vec<_>>(), expected.collect::<Vec<_>>());
    }
}
