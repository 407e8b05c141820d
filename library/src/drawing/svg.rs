//! A page as an SVG 1.1 document whose user unit is the millimetre.
//!
//! Text stays text. Fonts are named with the faces that have the same widths where the standard one is missing, and
//! `textLength` pins every line to its published width, so that columns stay aligned in any viewer, and its letters give way
//! with it where the viewer has another type.

use super::{Anchor, Circle, Font, Ink, Item, Line, Page, Paint, Polyline, Rect, Stroke, Text, tame};
use std::fmt::Write;

/// The page as a complete SVG file named `title`.
pub fn write_page(page: &Page, title: &str) -> String {
    let (width, height) = (Mm(page.size.width), Mm(page.size.height));
    let mut out = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    push(&mut out, format_args!("<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" "));
    push(&mut out, format_args!("width=\"{width}mm\" height=\"{height}mm\" viewBox=\"0 0 {width} {height}\">\n"));
    push(&mut out, format_args!("<title>{}</title>\n", Escaped(title)));
    push(&mut out, format_args!("<rect width=\"{width}\" height=\"{height}\" fill=\"#ffffff\"/>\n"));
    write_items(page, &mut out);
    out.push_str("</svg>\n");
    out
}

/// The items of the page as SVG elements, without the element around them.
pub fn items(page: &Page) -> String {
    let mut out = String::new();
    write_items(page, &mut out);
    out
}

/// The same, behind what is written already.
pub(super) fn write_items(page: &Page, out: &mut String) {
    for item in &page.items {
        match item {
            Item::Text(text) => write_text(text, out),
            Item::Line(line) => write_line(line, out),
            Item::Rect(rect) => write_rect(rect, out),
            Item::Circle(circle) => write_circle(circle, out),
            Item::Polyline(polyline) => write_polyline(polyline, out),
        }
    }
}

fn write_text(text: &Text, out: &mut String) {
    if text.text.is_empty() {
        return;
    }
    let anchor = match text.anchor {
        Anchor::Start => "",
        Anchor::Middle => " text-anchor=\"middle\"",
        Anchor::End => " text-anchor=\"end\"",
    };
    let (family, weight) = match text.font {
        Font::Courier => (COURIER, ""),
        Font::CourierBold => (COURIER, " font-weight=\"bold\""),
        Font::Helvetica => (HELVETICA, ""),
        Font::HelveticaBold => (HELVETICA, " font-weight=\"bold\""),
    };
    push(out, format_args!("<text x=\"{}\" y=\"{}\"{anchor} ", Mm(text.x), Mm(text.y)));
    push(out, format_args!("font-family=\"{family}\"{weight} font-size=\"{}\" ", Mm(text.size.mm())));
    let width = Mm(text.width());
    push(out, format_args!("textLength=\"{width}\" lengthAdjust=\"spacingAndGlyphs\" xml:space=\"preserve\""));
    if text.ink != Ink::BLACK {
        push(out, format_args!(" fill=\"{}\"", Colour(text.ink)));
    }
    push(out, format_args!(">{}</text>\n", Escaped(&text.text)));
}

const COURIER: &str = "Courier,'Courier New','Liberation Mono','Nimbus Mono PS',monospace";
const HELVETICA: &str = "Helvetica,Arial,'Liberation Sans','Nimbus Sans',sans-serif";

fn write_line(line: &Line, out: &mut String) {
    let ((x1, y1), (x2, y2)) = (line.from, line.to);
    push(out, format_args!("<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\"", Mm(x1), Mm(y1), Mm(x2), Mm(y2)));
    write_stroke(&line.stroke, out);
    out.push_str("/>\n");
}

fn write_rect(rect: &Rect, out: &mut String) {
    push(out, format_args!("<rect x=\"{}\" y=\"{}\" ", Mm(rect.x), Mm(rect.y)));
    push(out, format_args!("width=\"{}\" height=\"{}\"", Mm(rect.width), Mm(rect.height)));
    write_paint(&rect.paint, out);
    out.push_str("/>\n");
}

fn write_circle(circle: &Circle, out: &mut String) {
    let (cx, cy) = circle.centre;
    push(out, format_args!("<circle cx=\"{}\" cy=\"{}\" r=\"{}\"", Mm(cx), Mm(cy), Mm(circle.radius)));
    write_paint(&circle.paint, out);
    out.push_str("/>\n");
}

fn write_polyline(polyline: &Polyline, out: &mut String) {
    out.push_str(if polyline.closed { "<polygon points=\"" } else { "<polyline points=\"" });
    for (index, (x, y)) in polyline.points.iter().enumerate() {
        let gap = if index == 0 { "" } else { " " };
        push(out, format_args!("{gap}{},{}", Mm(*x), Mm(*y)));
    }
    out.push('"');
    write_paint(&polyline.paint, out);
    out.push_str("/>\n");
}

fn write_paint(paint: &Paint, out: &mut String) {
    match paint.fill {
        Some(Ink::BLACK) => {}
        Some(ink) => push(out, format_args!(" fill=\"{}\"", Colour(ink))),
        None => out.push_str(" fill=\"none\""),
    }
    if let Some(stroke) = &paint.stroke {
        write_stroke(stroke, out);
    }
}

fn write_stroke(stroke: &Stroke, out: &mut String) {
    push(out, format_args!(" stroke=\"{}\" stroke-width=\"{}\"", Colour(stroke.ink), Mm(stroke.width)));
    if let Some((on, off)) = stroke.dash {
        push(out, format_args!(" stroke-dasharray=\"{} {}\"", Mm(on), Mm(off)));
    }
}

/// Writing to a `String` cannot fail.
fn push(out: &mut String, arguments: std::fmt::Arguments) {
    let _ = out.write_fmt(arguments);
}

/// A length to the tenth of a micrometre, as short as it goes.
pub(super) struct Mm(pub f64);

impl std::fmt::Display for Mm {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        let tenths = (tame(self.0) * 10_000.0).round();
        // Adding zero turns -0 into 0.
        write!(f, "{}", tenths / 10_000.0 + 0.0)
    }
}

struct Colour(Ink);

impl std::fmt::Display for Colour {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        let level = (self.0.lightness() * 255.0).round() as u8;
        write!(f, "#{level:02x}{level:02x}{level:02x}")
    }
}

/// Text as character data or attribute value of XML and HTML; what XML 1.0 (section 2.2) does not allow becomes U+FFFD.
pub(super) struct Escaped<'a>(pub &'a str);

impl std::fmt::Display for Escaped<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        for c in self.0.chars() {
            match c {
                '&' => f.write_str("&amp;")?,
                '<' => f.write_str("&lt;")?,
                '>' => f.write_str("&gt;")?,
                '"' => f.write_str("&quot;")?,
                '\0'..='\u{1f}' | '\u{7f}'..='\u{9f}' | '\u{fffe}' | '\u{ffff}' => f.write_str("\u{fffd}")?,
                c => f.write_char(c)?,
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::{PageSize, Pt};

    #[test]
    fn lengths_are_short_and_exact() {
        let written: Vec<String> =
            [2.54, 210.0, -0.00001, 1.0 / 3.0, f64::NAN, 1e-9].iter().map(|mm| Mm(*mm).to_string()).collect();
        assert_eq!(written, ["2.54", "210", "0", "0.3333", "0", "0"]);
    }

    #[test]
    fn markup_in_a_text_is_only_text() {
        let mut page = Page::new(PageSize::A4);
        page.push(Text::new(1.0, 2.0, Font::Courier, Pt(12.0), "<b a=\"1\">&\u{1}"));
        let svg = write_page(&page, "a < b");
        assert!(svg.contains(">&lt;b a=&quot;1&quot;&gt;&amp;\u{fffd}</text>"), "{svg}");
        assert!(svg.contains("<title>a &lt; b</title>"));
    }
}
