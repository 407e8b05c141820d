//! `pdftotext`, `pdfinfo` and `pdftoppm` (Poppler) and the browser judge the drawing's files.

use crate::tool;
use coldwright::drawing::{
    Anchor, Circle, Drawing, Font, Ink, Item, Line, Page, PageSize, Paint, Polyline, Pt, Rect, Stroke, Text, html, pdf,
    svg,
};
use std::path::Path;

#[test]
fn text_of_a_pdf_comes_out_in_its_columns() {
    let mut page = Page::new(PageSize::A4);
    for (row, (address, byte)) in [("000 000", "076"), ("000 001", "003"), ("377 377", "303")].iter().enumerate() {
        let y = 30.0 + 6.0 * row as f64;
        page.push(Text::new(20.0, y, Font::Courier, Pt(12.0), *address));
        page.push(Text::new(60.0, y, Font::CourierBold, Pt(12.0), *byte).anchored(Anchor::End));
        page.push(Text::new(70.0, y, Font::Helvetica, Pt(10.0), "strike (once) \\ 50 % – “é”"));
    }
    let Some(text) = pdf_text(&drawing_of(page)) else { return };
    let rows: Vec<Vec<&str>> = text.lines().map(|line| line.split_whitespace().collect()).collect();
    let rest = ["strike", "(once)", "\\", "50", "%", "–", "“é”"];
    for (row, expected) in [["000", "000", "076"], ["000", "001", "003"], ["377", "377", "303"]].iter().enumerate() {
        assert_eq!(rows[row], [&expected[..], &rest[..]].concat(), "{text}");
    }
}

#[test]
fn what_the_fonts_lack_is_seen_in_the_pdf() {
    let mut page = Page::new(PageSize::A4);
    page.push(Text::new(20.0, 20.0, Font::Courier, Pt(12.0), "a\u{2588}b"));
    let Some(text) = pdf_text(&drawing_of(page)) else { return };
    assert_eq!(text.trim(), "a\u{bf}b");
}

#[test]
fn the_pdf_has_the_papers_asked_for() {
    let mut drawing = drawing_of(Page::new(PageSize::A4));
    drawing.pages.push(Page::new(PageSize::LETTER.landscape()));
    let directory = tempfile::tempdir().unwrap();
    std::fs::write(directory.path().join("d.pdf"), pdf::write(&drawing)).unwrap();
    let Some(info) = tool::run("pdfinfo", &["-l", "2", "d.pdf"], directory.path()) else { return };
    for expected in
        ["Title:           chimes", "Pages:           2", "595.276 x 841.89 pts (A4)", "792 x 612 pts (letter)"]
    {
        assert!(info.contains(expected), "no {expected:?} in {info}");
    }
}

#[test]
fn shapes_print_to_the_tenth_of_a_millimetre() {
    let directory = tempfile::tempdir().unwrap();
    std::fs::write(directory.path().join("d.pdf"), pdf::write(&drawing_of(edges_page()))).unwrap();
    assert_pdf_edges(directory.path());
}

#[test]
fn a_browser_paints_the_same_shapes_from_svg_and_html() {
    let drawing = drawing_of(edges_page());
    let frame = "<style>@page { size: 100mm 50mm; margin: 0 } body { margin: 0 } img { display: block }</style>";
    let framed = format!("<!DOCTYPE html>{frame}<img src=\"d.svg\">");
    for document in [html::write(&drawing), framed] {
        let directory = tempfile::tempdir().unwrap();
        std::fs::write(directory.path().join("d.html"), document).unwrap();
        std::fs::write(directory.path().join("d.svg"), svg::write_page(&drawing.pages[0], "d")).unwrap();
        let url = format!("file://{}/d.html", directory.path().display());
        let browser =
            ["--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer", "--print-to-pdf=d.pdf", &url];
        if tool::run("chromium", &browser, directory.path()).is_none() || !assert_pdf_edges(directory.path()) {
            return;
        }
    }
}

/// Renders `d.pdf` at 254 dots per inch, ten dots a millimetre, and looks at its edges; false if there is no renderer.
fn assert_pdf_edges(directory: &Path) -> bool {
    let arguments = ["-r", "254", "-gray", "-aa", "no", "-aaVector", "no", "-singlefile", "d.pdf", "d"];
    if tool::run("pdftoppm", &arguments, directory).is_none() {
        return false;
    }
    assert_edges(&Picture::read(&directory.join("d.pgm")));
    true
}

/// A small page with one shape of each kind.
fn edges_page() -> Page {
    let mut page = Page::new(PageSize { width: 100.0, height: 50.0 });
    page.push(Rect { x: 10.0, y: 5.0, width: 20.0, height: 10.0, paint: Paint::SOLID });
    page.push(Circle { centre: (50.0, 20.0), radius: 5.0, paint: Paint::SOLID });
    page.push(Circle { centre: (50.0, 20.0), radius: 2.0, paint: Paint::filled(Ink::WHITE) });
    page.push(Line { from: (60.0, 10.0), to: (90.0, 10.0), stroke: Stroke::new(2.0).dashed(5.0, 5.0) });
    let points = vec![(70.0, 20.0), (90.0, 20.0), (90.0, 40.0)];
    page.push(Polyline { points, closed: true, paint: Paint::filled(Ink::grey(50)) });
    page
}

fn assert_edges(picture: &Picture) {
    // Renderers round the size of the page up to whole dots.
    assert!(picture.width.abs_diff(1000) <= 2 && picture.height.abs_diff(500) <= 2, "{}", picture.width);
    let black = 0..=0;
    let white = 255..=255;
    let checks = [
        ((20.0, 10.0), &black, "inside the rectangle"),
        ((10.3, 5.3), &black, "the rectangle's corner"),
        ((9.7, 4.7), &white, "outside the rectangle"),
        ((29.7, 14.7), &black, "the rectangle's far corner"),
        ((30.3, 15.3), &white, "beyond the rectangle"),
        ((50.0, 20.0), &white, "the hole in the circle"),
        ((50.0, 16.5), &black, "the circle"),
        ((54.7, 20.0), &black, "the circle's edge"),
        ((55.3, 20.0), &white, "outside the circle"),
        ((54.0, 16.0), &white, "where a square would be"),
        ((62.0, 10.0), &black, "the first dash"),
        ((62.0, 10.7), &black, "the width of the line"),
        ((62.0, 11.3), &white, "below the line"),
        ((67.0, 10.0), &white, "the first gap"),
        ((88.0, 30.0), &(120..=135), "the grey triangle"),
        ((75.0, 30.0), &white, "outside the triangle"),
    ];
    for (at, expected, what) in checks {
        let grey = picture.at(at);
        assert!(expected.contains(&grey), "{what}: {grey} at {at:?} mm");
    }
}

/// A binary grey picture as `pdftoppm -gray` writes it.
struct Picture {
    width: usize,
    height: usize,
    pixels: Vec<u8>,
}

impl Picture {
    fn read(path: &Path) -> Picture {
        let bytes = std::fs::read(path).unwrap();
        let mut numbers = bytes.splitn(4, |byte| byte.is_ascii_whitespace());
        assert_eq!(numbers.next(), Some(&b"P5"[..]));
        let mut number = || String::from_utf8_lossy(numbers.next().unwrap()).parse::<usize>().unwrap();
        let (width, height) = (number(), number());
        let pixels = bytes[bytes.len() - width * height..].to_vec();
        Picture { width, height, pixels }
    }

    fn at(&self, (x, y): (f64, f64)) -> u8 {
        self.pixels[(y * 10.0) as usize * self.width + (x * 10.0) as usize]
    }
}

#[test]
fn the_same_drawing_gives_the_same_bytes() {
    let drawing = || drawing_of(edges_page());
    assert_eq!(pdf::write(&drawing()), pdf::write(&drawing()));
    let pdf = pdf::write(&drawing());
    for word in [&b"CreationDate"[..], b"ModDate", b"/ID"] {
        assert!(!pdf.windows(word.len()).any(|window| window == word), "{}", String::from_utf8_lossy(word));
    }
}

fn drawing_of(page: Page) -> Drawing {
    Drawing { title: "chimes".into(), pages: vec![page] }
}

fn pdf_text(drawing: &Drawing) -> Option<String> {
    assert!(drawing.pages.iter().all(|page| page.items.iter().all(|item| matches!(item, Item::Text(_)))));
    let directory = tempfile::tempdir().unwrap();
    std::fs::write(directory.path().join("d.pdf"), pdf::write(drawing)).unwrap();
    tool::run("pdftotext", &["-layout", "d.pdf", "-"], directory.path())
}
