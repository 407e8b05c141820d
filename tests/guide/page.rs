//! The page as a file.

use super::chains::{ALL, Chain};

/// Bytes that the page of a short loader may have.
const MOST: usize = 300 * 1024;

#[test]
fn the_page_fetches_nothing_and_is_small() {
    for name in ALL {
        let page = Chain::new(name, |_| ()).guide.page();
        assert!(page.len() <= MOST, "{name}: {} bytes", page.len());
        assert!(!page.contains("://"), "{name}");
        for mark in ["src=", "url(", "@import", "fetch(", "XMLHttpRequest", "import ", "<link rel=\"style"] {
            assert!(!page.contains(mark), "{name}: {mark}");
        }
        for target in page.split("href=\"").skip(1).filter_map(|rest| rest.split('"').next()) {
            assert!(target.starts_with('#') || target == "data:,", "{name}: {target}");
        }
        assert!(page.contains("Content-Security-Policy\" content=\"default-src 'none'"), "{name}");
    }
}

/// What is drawn takes the colours of the screen, so that nothing is black on black.
#[test]
fn no_drawing_has_a_colour_of_its_own() {
    for name in ALL {
        let page = Chain::new(name, |_| ()).guide.page();
        for colour in ["#000000", "#ffffff", "\"black\"", "\"white\""] {
            assert!(!page.contains(colour), "{name}: {colour}");
        }
        assert!(page.matches("stroke=\"currentColor\"").count() > 4 && page.contains("fill:var(--paper)"), "{name}");
    }
}

#[test]
fn the_same_chain_gives_the_same_page_and_another_one_another_key() {
    let key = |page: &str| page.split("data-key=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    let pages = [(); 2].map(|()| Chain::new("belfry", |_| ()).guide.page());
    assert_eq!(pages[0], pages[1]);
    let other = Chain::new("belfry", |panel| panel.deposit_next = false).guide.page();
    assert_ne!(key(&pages[0]), key(&other));
}

/// What a source says is shown and never read as markup, nor does it end the data.
#[test]
fn words_of_a_source_are_only_words() {
    let mut chain = Chain::new("belfry", |_| ());
    let end = "</script><script>document.title = 'broken'</script><!--";
    chain.guide.name = end.into();
    chain.guide.ways[0].actions[5].note = end.into();
    let page = chain.guide.page();
    assert_eq!(page.matches("</script>").count(), 2);
    assert_eq!(page.matches("<!--").count(), 0);
    assert_eq!(page.matches("<title>&lt;/script&gt;").count(), 1);
}
