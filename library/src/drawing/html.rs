//! All pages as one self-contained HTML file: it shows them on the screen and prints one on each sheet of paper.

use super::svg::{Escaped, Mm, write_items};
use super::{Drawing, PageSize};
use std::fmt::Write;

/// The drawing as HTML 5 with the pages as inline SVG; text can be selected, searched and copied.
pub fn write(drawing: &Drawing) -> String {
    let sizes = distinct_sizes(drawing);
    let mut out = String::from("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    let _ = writeln!(out, "<title>{}</title>", Escaped(&drawing.title));
    out.push_str("<style>\n");
    out.push_str(SCREEN);
    for (number, size) in sizes.iter().enumerate() {
        write_size_rules(number, size, &mut out);
    }
    out.push_str("</style>\n</head>\n<body>\n");
    for page in &drawing.pages {
        let number = sizes.iter().position(|size| *size == page.size).unwrap_or(0);
        let (width, height) = (Mm(page.size.width), Mm(page.size.height));
        let _ = writeln!(out, "<section class=\"s{number}\"><svg viewBox=\"0 0 {width} {height}\">");
        write_items(page, &mut out);
        out.push_str("</svg></section>\n");
    }
    out.push_str("</body>\n</html>\n");
    out
}

/// A text as HTML shows it literally.
pub fn escape(text: &str) -> String {
    Escaped(text).to_string()
}

/// Paper in the middle of a grey screen; on paper nothing but the paper.
const SCREEN: &str = "\
body { margin: 0; background: #bbb; }
section { margin: 6mm auto; background: #fff; box-shadow: 0 1mm 3mm rgba(0,0,0,.4); overflow: hidden; }
svg { display: block; width: 100%; height: 100%; }
text { white-space: pre; }
@media print {
  body { background: none; }
  section { margin: 0; box-shadow: none; break-after: page; break-inside: avoid; }
  section:last-child { break-after: auto; }
}
";

fn write_size_rules(number: usize, size: &PageSize, out: &mut String) {
    let (width, height) = (Mm(size.width), Mm(size.height));
    let _ = writeln!(out, "@page s{number} {{ size: {width}mm {height}mm; margin: 0; }}");
    let _ = writeln!(out, ".s{number} {{ page: s{number}; width: {width}mm; height: {height}mm; }}");
}

fn distinct_sizes(drawing: &Drawing) -> Vec<PageSize> {
    let mut sizes: Vec<PageSize> = Vec::new();
    for page in &drawing.pages {
        if !sizes.contains(&page.size) {
            sizes.push(page.size);
        }
    }
    sizes
}
