//! The page that all sheets share: paper, margins, and which sections go on which page.

use crate::drawing::PageSize;

/// The left margin, millimetres: room for a clip or a punch.
pub const LEFT: f64 = 13.0;
/// The right margin, millimetres.
pub const RIGHT: f64 = 9.0;

/// The paper a sheet is printed on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 by 297 mm.
    #[default]
    A4,
    /// 8.5 by 11 inches.
    Letter,
}

impl Paper {
    /// All papers with the words that select them.
    pub const ALL: [(&'static str, Paper); 2] = [("a4", Paper::A4), ("letter", Paper::Letter)];

    /// Its size, upright.
    pub fn size(self) -> PageSize {
        match self {
            Paper::A4 => PageSize::A4,
            Paper::Letter => PageSize::LETTER,
        }
    }
}

/// Puts sections of the given heights on pages that hold `capacity` rows each, in order and none of them split. A
/// section taller than a page has one to itself.
pub fn paginate(heights: impl IntoIterator<Item = usize>, capacity: usize) -> Vec<std::ops::Range<usize>> {
    let mut pages: Vec<std::ops::Range<usize>> = Vec::new();
    let mut used = 0;
    for (index, height) in heights.into_iter().enumerate() {
        match pages.last_mut() {
            Some(page) if used + height <= capacity => page.end = index + 1,
            _ => {
                pages.push(index..index + 1);
                used = 0;
            }
        }
        used += height;
    }
    pages
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sections_fill_pages_in_order() {
        assert_eq!(paginate([10, 20, 5, 35, 3], 35), [0..3, 3..4, 4..5]);
        assert_eq!(paginate([40, 1], 35), [0..1, 1..2]);
        assert!(paginate([], 35).is_empty());
    }
}
