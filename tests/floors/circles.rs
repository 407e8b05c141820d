//! Circles in a picture of imports: files that import from each other, at once or by way of others.

use std::collections::{BTreeMap, BTreeSet};

/// The circles, each with its files in order: the strongly connected parts of more than one file.
pub fn circles<'a, T: Ord + ?Sized>(imports: &BTreeMap<&'a T, BTreeSet<&'a T>>) -> Vec<Vec<&'a T>> {
    let mut found = Vec::new();
    let mut placed = BTreeSet::new();
    let reach: BTreeMap<_, _> = imports.keys().map(|from| (*from, reachable(imports, from))).collect();
    for (from, reached) in &reach {
        if placed.contains(from) || !reached.contains(from) {
            continue;
        }
        let circle: Vec<_> =
            reached.iter().copied().filter(|to| reach.get(to).is_some_and(|back| back.contains(from))).collect();
        placed.extend(circle.iter().copied());
        found.push(circle);
    }
    found
}

/// What can be reached from a file by one import or more.
fn reachable<'a, T: Ord + ?Sized>(imports: &BTreeMap<&'a T, BTreeSet<&'a T>>, from: &'a T) -> BTreeSet<&'a T> {
    let mut reached = BTreeSet::new();
    let mut open = vec![from];
    while let Some(at) = open.pop() {
        for to in imports.get(at).into_iter().flatten() {
            if reached.insert(*to) {
                open.push(to);
            }
        }
    }
    reached
}

#[test]
fn a_circle_is_found_whole_and_a_line_is_none() {
    let imports = BTreeMap::from([
        ("a", BTreeSet::from(["b"])),
        ("b", BTreeSet::from(["c"])),
        ("c", BTreeSet::from(["a", "d"])),
        ("d", BTreeSet::new()),
        ("e", BTreeSet::from(["d"])),
    ]);
    assert_eq!(circles(&imports), [["a", "b", "c"]]);
}
