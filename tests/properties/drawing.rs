//! Any text survives the writers: it comes back from SVG as it went in, and it never breaks a file.

use coldwright::drawing::{Anchor, Drawing, Font, Page, PageSize, Pt, Text, html, pdf, svg};
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn text_comes_back_from_svg_and_html(text in "[ -~\u{a0}-\u{24f}]{1,40}", x in -50.0..500.0) {
        let drawing = drawing_of(&text, x);
        for written in [svg::write_page(&drawing.pages[0], &text), html::write(&drawing)] {
            let inside = between(&written, "xml:space=\"preserve\">", "</text>");
            let plain: Vec<char> = unescape(inside).chars().collect();
            let expected: Vec<char> = text.chars().collect();
            prop_assert_eq!(plain, expected);
        }
    }

    #[test]
    fn any_characters_give_a_file_without_stray_markup(text in any::<String>(), x in any::<f64>()) {
        let drawing = drawing_of(&text, x);
        let written = svg::write_page(&drawing.pages[0], &text);
        let allowed = |c: char| c == '\n' || (c >= ' ' && !['\u{fffe}', '\u{ffff}'].contains(&c));
        prop_assert!(written.chars().all(allowed), "not XML");
        let texts = usize::from(!text.is_empty());
        // The svg element, the title, the paper and the text: nothing of the text became markup.
        prop_assert_eq!(written.matches('<').count(), 1 + 2 + 2 + 1 + 2 * texts);
        prop_assert!(!written.contains("=\"NaN") && !written.contains("=\"inf") && !written.contains("=\"-inf"));
        prop_assert!(pdf::write(&drawing).ends_with(b"%%EOF"));
    }
}

fn drawing_of(text: &str, x: f64) -> Drawing {
    let mut page = Page::new(PageSize::A4);
    page.push(Text::new(x, 20.0, Font::Helvetica, Pt(10.0), text).anchored(Anchor::End));
    Drawing { title: text.into(), pages: vec![page] }
}

fn between<'a>(text: &'a str, before: &str, after: &str) -> &'a str {
    let start = text.find(before).map_or(0, |at| at + before.len());
    let end = text[start..].find(after).map_or(text.len(), |at| start + at);
    &text[start..end]
}

fn unescape(text: &str) -> String {
    text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
}
