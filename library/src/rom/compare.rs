//! What grew and what shrank between two fits.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use serde::Serialize;

use super::figures::{Fit, SocketFit};

/// One socket or routine whose size changed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Change {
    /// The socket.
    pub socket: String,
    /// The routine; none for the socket as a whole.
    pub routine: Option<String>,
    /// Bytes then; none for what is new.
    pub before: Option<usize>,
    /// Bytes now; none for what is gone.
    pub after: Option<usize>,
}

impl Change {
    /// Bytes gained; negative if lost.
    pub fn growth(&self) -> i64 {
        self.after.unwrap_or(0) as i64 - self.before.unwrap_or(0) as i64
    }
}

/// The changes from one fit to another: sockets in the order of today's, then those that are gone; within a socket
/// itself first, then its routines, those that changed most first.
pub fn changes(before: &Fit, after: &Fit) -> Vec<Change> {
    let then = |name: &str| before.sockets.iter().find(|socket| socket.name == name);
    let gone = before.sockets.iter().filter(|old| after.sockets.iter().all(|new| new.name != old.name));
    let both = after.sockets.iter().map(|new| (then(&new.name), Some(new)));
    both.chain(gone.map(|old| (Some(old), None))).flat_map(|(old, new)| in_socket(old, new)).collect()
}

fn in_socket(before: Option<&SocketFit>, after: Option<&SocketFit>) -> Vec<Change> {
    let Some(socket) = after.or(before).map(|socket| socket.name.clone()) else { return Vec::new() };
    let (old, new) = (sizes(before), sizes(after));
    let names = old.keys().chain(new.keys().filter(|name| !old.contains_key(*name)));
    let mut list: Vec<_> = names
        .map(|&name| Change {
            socket: socket.clone(),
            routine: Some(name.to_owned()),
            before: old.get(name).copied(),
            after: new.get(name).copied(),
        })
        .filter(|change| change.before != change.after)
        .collect();
    list.sort_by(|one, other| {
        let key = |change: &Change| (Reverse(change.growth().abs()), change.routine.clone());
        key(one).cmp(&key(other))
    });
    let used = |figures: Option<&SocketFit>| figures.map(|figures| figures.used);
    if used(before) != used(after) {
        list.insert(0, Change { socket, routine: None, before: used(before), after: used(after) });
    }
    list
}

/// The size of each routine by name; bytes of a name that stands twice are added.
fn sizes(figures: Option<&SocketFit>) -> BTreeMap<&str, usize> {
    let mut sizes = BTreeMap::new();
    for routine in figures.iter().flat_map(|figures| &figures.routines) {
        *sizes.entry(routine.name.as_str()).or_insert(0) += routine.size;
    }
    sizes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rom::Routine;

    fn fit(sockets: &[(&str, &[(&str, usize)])]) -> Fit {
        let routine = |&(name, size): &(&str, usize)| Routine { name: name.into(), address: 0, size };
        let socket = |&(name, routines): &(&str, &[(&str, usize)])| SocketFit {
            name: name.into(),
            part: "2704".into(),
            base: 0,
            size: 512,
            used: routines.iter().map(|(_, size)| size).sum(),
            check: 0,
            free: 0,
            outside: 0,
            cells: 512,
            erased: 0,
            routines: routines.iter().map(routine).collect(),
        };
        Fit { fits: true, sockets: sockets.iter().map(socket).collect() }
    }

    #[test]
    fn what_is_new_gone_larger_and_smaller_is_told_the_largest_change_first() {
        let before = fit(&[("U7", &[("READ", 40), ("SAME", 9), ("OLD", 30), ("WAIT", 10)]), ("U8", &[("BELL", 3)])]);
        let after = fit(&[("U7", &[("READ", 44), ("SAME", 9), ("NEW", 20), ("WAIT", 8)])]);
        let told: Vec<_> = changes(&before, &after)
            .into_iter()
            .map(|change| (change.growth(), format!("{} {}", change.socket, change.routine.unwrap_or_default())))
            .collect();
        let expected = [
            (-8, "U7 "),
            (-30, "U7 OLD"),
            (20, "U7 NEW"),
            (4, "U7 READ"),
            (-2, "U7 WAIT"),
            (-3, "U8 "),
            (-3, "U8 BELL"),
        ];
        assert_eq!(told, expected.map(|(growth, what)| (growth, what.to_owned())));
        assert_eq!(changes(&after, &after), []);
    }
}
