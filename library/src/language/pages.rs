//! What the guide says of the keys of TOML files: the pages themselves, by heading and row.

/// The pages that describe files of TOML.
const PAGES: [&str; 5] = [
    include_str!("../../../docs/chain-file.md"),
    include_str!("../../../docs/machine-file.md"),
    include_str!("../../../docs/framing-file.md"),
    include_str!("../../../docs/disks.md"),
    include_str!("../../../docs/disassembly.md"),
];

/// What the guide says of a key, in the section of its table if there is one: the columns of its row behind the key.
pub(super) fn said_of(key: &str, table: &str) -> Option<String> {
    let sections = PAGES.iter().flat_map(|page| page.split("\n## ").skip(1));
    let in_section =
        |section: &&str| section.lines().next().is_some_and(|heading| !table.is_empty() && heading.contains(table));
    let own = sections.clone().filter(in_section).find_map(|section| row(section, key));
    own.or_else(|| sections.clone().find_map(|section| row(section, key)))
}

/// The row of a key in the tables of a section.
fn row(section: &str, key: &str) -> Option<String> {
    let rows = section.lines().filter(|line| line.starts_with("| `"));
    let names = |line: &&str| {
        let cell = line.trim_start_matches("| ").split(" | ").next().unwrap_or_default();
        let keys = cell.split('`').skip(1).step_by(2);
        keys.into_iter().any(|name| name.trim_matches('"') == key)
    };
    let line = rows.into_iter().find(names)?;
    let mut cells = line.trim_matches(['|', ' ']).split(" | ").skip(1);
    let values = cells.next()?.to_owned();
    let without = cells.next().map(|without| format!("\n\nwithout it: {without}")).unwrap_or_default();
    Some(values + &without)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_is_described_in_the_section_of_its_table() {
        assert!(said_of("name", "[[tape]]").unwrap().contains("the name that a home gives it"));
        assert!(said_of("limit", "[chain]").unwrap().contains("endless"));
        assert_eq!(said_of("no such key", "[chain]"), None);
    }
}
