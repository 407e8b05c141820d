//! All pages as one PDF, with the standard fonts every viewer has; nothing in it depends on when or where it was made.
//!
//! Content streams are not compressed: a page of a sheet is some kilobytes, and a difference between two files can be read.

use super::{
    Circle, Drawing, Font, Ink, Item, Line, MM_PER_PT, Page, Paint, Polyline, Rect, Stroke, Text, tame, winansi,
};
use pdf_writer::{Content, Finish, Name, Pdf, Ref, Str, TextStr};

const FONTS: [(Font, &[u8], &[u8]); 4] = [
    (Font::Courier, b"C", b"Courier"),
    (Font::CourierBold, b"CB", b"Courier-Bold"),
    (Font::Helvetica, b"H", b"Helvetica"),
    (Font::HelveticaBold, b"HB", b"Helvetica-Bold"),
];
const CATALOG: i32 = 1;
const TREE: i32 = 2;
const INFO: i32 = 3;
const FIRST_FONT: i32 = 4;
const FIRST_PAGE: i32 = 8;

/// The drawing as a PDF 1.7 file. A viewer that is asked to print it does not scale it.
pub fn write(drawing: &Drawing) -> Vec<u8> {
    let mut pdf = Pdf::new();
    let page_ref = |index: usize| Ref::new(FIRST_PAGE + 2 * index as i32);
    let mut catalog = pdf.catalog(Ref::new(CATALOG));
    catalog.pages(Ref::new(TREE)).lang(TextStr("en"));
    catalog.viewer_preferences().pair(Name(b"DisplayDocTitle"), true).pair(Name(b"PrintScaling"), Name(b"None"));
    catalog.finish();
    pdf.document_info(Ref::new(INFO)).title(TextStr(&drawing.title));
    let kids = (0..drawing.pages.len()).map(page_ref);
    pdf.pages(Ref::new(TREE)).kids(kids).count(drawing.pages.len() as i32);
    for (index, (_, _, base)) in FONTS.iter().enumerate() {
        let mut font = pdf.type1_font(Ref::new(FIRST_FONT + index as i32));
        font.base_font(Name(base)).encoding_predefined(Name(b"WinAnsiEncoding"));
    }
    for (index, page) in drawing.pages.iter().enumerate() {
        write_page(&mut pdf, page, page_ref(index));
    }
    pdf.finish()
}

fn write_page(pdf: &mut Pdf, page: &Page, id: Ref) {
    let contents = id.next();
    let mut entry = pdf.page(id);
    entry.parent(Ref::new(TREE)).contents(contents);
    entry.media_box(pdf_writer::Rect::new(0.0, 0.0, pt(page.size.width), pt(page.size.height)));
    let mut resources = entry.resources();
    let mut fonts = resources.fonts();
    for (index, (_, name, _)) in FONTS.iter().enumerate() {
        fonts.pair(Name(name), Ref::new(FIRST_FONT + index as i32));
    }
    fonts.finish();
    resources.finish();
    entry.finish();
    let mut pen = Pen { content: Content::new(), height: page.size.height, fill: None, stroke: None };
    for item in &page.items {
        match item {
            Item::Text(text) => pen.text(text),
            Item::Line(line) => pen.line(line),
            Item::Rect(rect) => pen.rect(rect),
            Item::Circle(circle) => pen.circle(circle),
            Item::Polyline(polyline) => pen.polyline(polyline),
        }
    }
    pdf.stream(contents, &pen.content.finish());
}

/// Millimetres to the points of PDF, to a thousandth: a third of a micrometre.
fn pt(mm: f64) -> f32 {
    ((tame(mm) / MM_PER_PT * 1000.0).round() / 1000.0) as f32
}

/// Draws from the top left corner in millimetres on a page that PDF measures from the bottom left in points.
struct Pen {
    content: Content,
    height: f64,
    /// What the content stream has set last.
    fill: Option<Ink>,
    stroke: Option<Stroke>,
}

impl Pen {
    fn at(&self, (x, y): (f64, f64)) -> (f32, f32) {
        (pt(x), pt(self.height - y))
    }

    fn text(&mut self, text: &Text) {
        if text.text.is_empty() {
            return;
        }
        let codes: Vec<u8> = text.text.chars().flat_map(winansi::codes).collect();
        let (x, y) = self.at((text.left(), text.y));
        let name = FONTS.iter().find(|(font, ..)| *font == text.font).map_or(FONTS[0].1, |(_, name, _)| name);
        self.set_fill(text.ink);
        self.content.begin_text().set_font(Name(name), pt(text.size.mm()));
        self.content.set_text_matrix([1.0, 0.0, 0.0, 1.0, x, y]).show(Str(&codes)).end_text();
    }

    fn line(&mut self, line: &Line) {
        let ((x1, y1), (x2, y2)) = (self.at(line.from), self.at(line.to));
        self.set_stroke(&line.stroke);
        self.content.move_to(x1, y1).line_to(x2, y2).stroke();
    }

    fn rect(&mut self, rect: &Rect) {
        let (x, y) = self.at((rect.x, rect.y + rect.height));
        self.paint(&rect.paint, |content| {
            content.rect(x, y, pt(rect.width), pt(rect.height));
        });
    }

    fn circle(&mut self, circle: &Circle) {
        let (x, y) = self.at(circle.centre);
        let r = pt(circle.radius);
        let k = r * QUARTER;
        self.paint(&circle.paint, |content| {
            content.move_to(x + r, y);
            content.cubic_to(x + r, y + k, x + k, y + r, x, y + r);
            content.cubic_to(x - k, y + r, x - r, y + k, x - r, y);
            content.cubic_to(x - r, y - k, x - k, y - r, x, y - r);
            content.cubic_to(x + k, y - r, x + r, y - k, x + r, y).close_path();
        });
    }

    fn polyline(&mut self, polyline: &Polyline) {
        let points: Vec<_> = polyline.points.iter().map(|point| self.at(*point)).collect();
        let Some(((x, y), rest)) = points.split_first() else { return };
        self.paint(&polyline.paint, |content| {
            content.move_to(*x, *y);
            for (x, y) in rest {
                content.line_to(*x, *y);
            }
            if polyline.closed {
                content.close_path();
            }
        });
    }

    /// Fills and strokes the path that `path` draws.
    fn paint(&mut self, paint: &Paint, path: impl FnOnce(&mut Content)) {
        if let Some(ink) = paint.fill {
            self.set_fill(ink);
        }
        if let Some(stroke) = &paint.stroke {
            self.set_stroke(stroke);
        }
        path(&mut self.content);
        match (paint.fill, paint.stroke) {
            (Some(_), Some(_)) => self.content.fill_nonzero_and_stroke(),
            (Some(_), None) => self.content.fill_nonzero(),
            (None, Some(_)) => self.content.stroke(),
            (None, None) => self.content.end_path(),
        };
    }

    fn set_fill(&mut self, ink: Ink) {
        if self.fill.replace(ink) != Some(ink) {
            self.content.set_fill_gray(ink.lightness() as f32);
        }
    }

    fn set_stroke(&mut self, stroke: &Stroke) {
        if self.stroke.replace(*stroke) == Some(*stroke) {
            return;
        }
        self.content.set_stroke_gray(stroke.ink.lightness() as f32).set_line_width(pt(stroke.width));
        match stroke.dash {
            Some((on, off)) => self.content.set_dash_pattern([pt(on), pt(off)], 0.0),
            None => self.content.set_dash_pattern([], 0.0),
        };
    }
}

/// The control points of a Bézier curve that is a quarter of a circle to within 0.03 % of the radius: 4/3 (sqrt 2 - 1).
const QUARTER: f32 = 0.552_284_8;
