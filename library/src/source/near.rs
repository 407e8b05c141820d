//! Near misses: what a person probably meant.

/// Longer words are not compared: nobody mistypes them in one letter only, and it would take their length squared.
const LONGEST: usize = 64;

/// The candidate nearest to `word`, if one is near enough to be a slip of the finger: letters in either case, one edit
/// for a word of up to four letters, two for a longer one, a swap of neighbours counting as one.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    if word.len() > LONGEST {
        return None;
    }
    let word = word.to_ascii_uppercase();
    let length = word.chars().count();
    let allowed = if length <= 4 { 1 } else { 2 };
    candidates
        .into_iter()
        .filter(|candidate| candidate.len() <= 4 * LONGEST && candidate.chars().count().abs_diff(length) <= allowed)
        .map(|candidate| (strsim::osa_distance(&word, &candidate.to_ascii_uppercase()), candidate))
        .filter(|&(distance, _)| distance <= allowed && distance < length)
        .min_by_key(|&(distance, _)| distance)
        .map(|(_, candidate)| candidate)
}
