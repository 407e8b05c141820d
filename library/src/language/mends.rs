//! Changes that mend what a diagnostic tells.

use super::outline::is_file;
use super::view::View;
use crate::source::{Diagnostic, Span};

/// A change that mends a problem.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mend {
    /// What it does.
    pub title: String,
    /// What is replaced.
    pub span: Span,
    /// What stands there then.
    pub text: String,
    /// The number of the problem among those of the view.
    pub problem: usize,
}

/// The mends of all problems of a view that can be mended by a change at one place of a file.
pub fn mends(view: &View) -> Vec<Mend> {
    let all = view.problems.iter().enumerate();
    all.filter_map(|(number, problem)| mend(view, number, problem)).collect()
}

fn mend(view: &View, problem: usize, told: &Diagnostic) -> Option<Mend> {
    let (span, new) = (told.primary.as_ref()?.span, told.instead.as_ref()?);
    if !is_file(view, span.source) || view.sources.get(span.source).name().starts_with("stdlib/") {
        return None;
    }
    let old = view.sources.text(span);
    let text = like(old, new);
    Some(Mend { title: format!("Write `{text}` instead of `{old}`"), span, text, problem })
}

/// A text written as the one that it replaces: in the same quotes, and in small letters where that has no other.
fn like(old: &str, new: &str) -> String {
    let quote = old.chars().next().filter(|first| matches!(first, '"' | '\''));
    if let Some(quote) = quote.filter(|quote| old.len() > 1 && old.ends_with(*quote)) {
        return format!("{quote}{new}{quote}");
    }
    let is_small =
        old.bytes().any(|byte| byte.is_ascii_lowercase()) && !old.bytes().any(|byte| byte.is_ascii_uppercase());
    if is_small { new.to_ascii_lowercase() } else { new.to_owned() }
}
