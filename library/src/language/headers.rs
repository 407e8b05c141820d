//! The comments that say what a file or a label is.

/// The comment lines at the beginning of a text, without their semicolons.
pub(super) fn header(text: &str) -> String {
    let lines = text.lines().take_while(|line| line.starts_with(';'));
    lines.map(|line| line.trim_start_matches(';').strip_prefix(' ').unwrap_or(line.trim_start_matches(';'))).fold(
        String::new(),
        |mut out, line| {
            out += line.trim_end();
            out.push('\n');
            out
        },
    )
}

/// The comment lines right above a place, or where none are, the comment behind it on its line.
pub(super) fn comment_at(text: &str, offset: usize) -> String {
    let line = super::words::line_at(text, offset);
    let above: Vec<_> = text[..line.start].lines().rev().take_while(|line| line.starts_with(';')).collect();
    let bare = |line: &str| line.trim_start_matches(';').trim().to_owned();
    if above.is_empty() {
        return text[line].split_once(';').map(|(_, comment)| bare(comment)).unwrap_or_default();
    }
    above.into_iter().rev().map(bare).collect::<Vec<_>>().join("\n")
}
