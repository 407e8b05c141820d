//! The pages of the problems of image files: where an example is such a file, the wrong one provokes the code and
//! nothing else, and the right one nothing at all.

use coldwright::image::Format;
use coldwright::source::{Code, SourceMap};

#[test]
fn examples_in_image_formats_do_what_their_page_says() {
    let mut examples = 0;
    for &code in Code::ALL {
        let Some((wrong, format)) = example(code, "Wrong") else { continue };
        let (right, _) = example(code, "Right").unwrap_or_else(|| panic!("{code} has no right example"));
        assert_eq!(codes(&wrong, format), [code], "the wrong example of {code}");
        assert_eq!(codes(&right, format), [], "the right example of {code}");
        examples += 1;
    }
    assert!(examples >= 14, "only {examples} pages have such examples");
}

/// The block under a heading of a code's page whose language is a format of images.
fn example(code: Code, heading: &str) -> Option<(String, Format)> {
    let (_, section) = code.page().split_once(&format!("## {heading}\n\n```"))?;
    let (language, block) = section.split_once('\n')?;
    Some((block.split_once("```")?.0.to_owned(), Format::from_word(language)?))
}

fn codes(text: &str, format: Format) -> Vec<Code> {
    let mut sources = SourceMap::default();
    let reading = format.read(text.into(), "example", None, &mut sources);
    reading.problems.sorted(&sources).iter().map(|problem| problem.code).collect()
}
