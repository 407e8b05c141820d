//! One strip of a picture of sound: from the top down bytes, bits, the wave with the edges of the bits, seconds.

use super::wrong_bit::WrongBit;
use crate::audio::HeardByte;
use crate::audio::picture::{BitPart, Picture, PictureBit};
use crate::drawing::{Anchor, Circle, Font, Ink, Line, Page, Paint, Polyline, Pt, Rect, Stroke, Text};
use crate::notation::Notation;

/// Half the height of the wave, millimetres.
const HALF_WAVE: f64 = 10.5;

/// Odds, in nats, below which a bit is marked as doubtful.
const DOUBT: f32 = 5.0;

/// Where a strip lies on its page, and what it shows.
pub(super) struct Strip {
    /// Its first second.
    pub from: f64,
    /// Seconds across its width.
    pub span: f64,
    /// Left edge, top and width, millimetres.
    pub left: f64,
    pub top: f64,
    pub width: f64,
}

impl Strip {
    pub(super) fn holds(&self, seconds: f64) -> bool {
        (self.from..self.from + self.span).contains(&seconds)
    }

    fn x(&self, seconds: f64) -> f64 {
        self.left + ((seconds - self.from) / self.span).clamp(0.0, 1.0) * self.width
    }

    fn axis(&self) -> f64 {
        self.top + 13.0 + HALF_WAVE
    }

    /// Everything that falls into its span; `loudest` is the sample that fills its height.
    pub(super) fn draw(&self, page: &mut Page, picture: &Picture, loudest: f64, notation: Notation) {
        self.wave(page, picture, loudest);
        picture.bits.iter().for_each(|bit| self.bit(page, bit));
        picture.bytes.iter().for_each(|byte| self.byte(page, byte, notation));
        self.scale(page);
    }

    fn wave(&self, page: &mut Page, picture: &Picture, loudest: f64) {
        let axis = Stroke { ink: Ink::grey(50), ..Stroke::new(0.1) };
        page.push(Line { from: (self.left, self.axis()), to: (self.left + self.width, self.axis()), stroke: axis });
        let column = (picture.to - picture.from) / picture.wave.len().max(1) as f64;
        let place =
            |seconds: f64| (((seconds - picture.from) / column).round().max(0.0) as usize).min(picture.wave.len());
        let range = place(self.from)..place(self.from + self.span);
        let seconds = |index: usize| picture.from + (index as f64 + 0.5) * column;
        let point =
            |index: usize, value: f32| (self.x(seconds(index)), self.axis() - f64::from(value) / loudest * HALF_WAVE);
        let highs = range.clone().map(|index| point(index, picture.wave[index].1));
        let lows = range.clone().rev().map(|index| point(index, picture.wave[index].0));
        let paint = Paint { stroke: Some(Stroke::new(0.15)), fill: Some(Ink::BLACK) };
        page.push(Polyline { points: highs.chain(lows).collect(), closed: true, paint });
    }

    fn bit(&self, page: &mut Page, bit: &PictureBit) {
        let middle = (bit.from + bit.to) / 2.0;
        let starts = bit.part == BitPart::Start;
        let thin = Stroke::new(0.12).dashed(0.8, 0.8);
        for edge in [bit.from, bit.to].into_iter().filter(|edge| self.holds(*edge)) {
            let stroke = if starts && edge == bit.from { Stroke::new(0.35) } else { thin };
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
            let (x, y) = (self.x(middle) - width / 2.0, self.top + 7.2);
            page.push(Rect { x, y, width, height: 4.6, paint: Paint::outline(0.4) });
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
        let text = Text::new(0.0, self.top + 4.0, Font::CourierBold, Pt(10.0), shown).anchored(Anchor::Middle);
        // A byte that runs over an end of the strip keeps its number whole on it.
        let half = text.width() / 2.0;
        let x = self.x(middle).clamp(self.left + half, self.left + self.width - half);
        page.push(Text { x, ..text });
        if byte.is_doubtful() {
            for y in [4.9, 5.5] {
                page.push(Line {
                    from: (x - half, self.top + y),
                    to: (x + half, self.top + y),
                    stroke: Stroke::new(0.3),
                });
            }
        }
    }

    /// Seconds below the wave, at ten places.
    fn scale(&self, page: &mut Page) {
        let foot = self.axis() + HALF_WAVE;
        for tick in 0..=10 {
            let seconds = self.from + self.span * f64::from(tick) / 10.0;
            let x = self.left + self.width * f64::from(tick) / 10.0;
            page.push(Line { from: (x, foot), to: (x, foot + 1.2), stroke: Stroke::new(0.2) });
            let text = Text::new(x, foot + 4.4, Font::Helvetica, Pt(8.0), format!("{seconds:.4}"));
            page.push(text.anchored(Anchor::Middle));
        }
    }

    /// A solid triangle above a time, with a word beside it.
    pub(super) fn point(&self, page: &mut Page, seconds: f64, says: &str) {
        let (x, y) = (self.x(seconds), self.top + 0.3);
        let points = vec![(x, y), (x - 1.6, y - 3.0), (x + 1.6, y - 3.0)];
        page.push(Polyline { points, closed: true, paint: Paint::SOLID });
        let text = Text::new(x + 2.4, self.top - 0.4, Font::HelveticaBold, Pt(9.0), says);
        let over = x + 2.4 + text.width() > self.left + self.width;
        page.push(if over { Text { x: x - 2.4, ..text }.anchored(Anchor::End) } else { text });
    }

    /// A thick ring around the one bit that is wrong, and what it should have been.
    pub(super) fn ring(&self, page: &mut Page, wrong: &WrongBit) {
        let room = (wrong.to - wrong.from) / self.span * self.width;
        let centre = (self.x(wrong.middle()), self.top + 9.7);
        page.push(Circle { centre, radius: (0.62 * room).min(3.0), paint: Paint::outline(0.7) });
        let (heard, right) = if wrong.is_one { ("0", "1") } else { ("1", "0") };
        self.point(page, wrong.middle(), &format!("wrong: heard {heard}, the check asks for {right}"));
    }
}
