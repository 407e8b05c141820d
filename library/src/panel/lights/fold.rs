//! Loops: passages that repeat are kept once, with their count.

use super::trace::{Cycle, Instruction, Varying};
use crate::notation::Address;

/// The longest loop body that is found, in passages.
const LONGEST: usize = 64;

/// A piece of a run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Passage {
    /// One instruction, once.
    Instruction(Instruction),
    /// Passages that were run several times in a row.
    Loop(Loop),
}

/// Passages that were run several times in a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Loop {
    /// As they were run the first time; what differed later is marked in their cycles.
    pub body: Vec<Passage>,
    /// How many times they were run in all; at least twice.
    pub count: u64,
    /// Steps of all passes: machine cycles at which a stepped panel stops.
    pub steps: u64,
    /// In an outer loop: the count of the last pass, where it was another one.
    pub last_count: Option<u64>,
}

/// Folds what repeats at the end of the list; true if a loop was closed or closed once more.
pub fn fold(list: &mut Vec<Passage>) -> bool {
    let mut folded = false;
    while fold_once(list) {
        folded = true;
    }
    folded
}

fn fold_once(list: &mut Vec<Passage>) -> bool {
    let end = list.len();
    for length in 1..=LONGEST.min(end.saturating_sub(1)) {
        let start = end - length;
        if let Passage::Loop(earlier) = &list[start - 1]
            && same_flow(&earlier.body, &list[start..])
        {
            let pass = list.split_off(start);
            if let Some(Passage::Loop(earlier)) = list.last_mut() {
                earlier.count += 1;
                earlier.steps += steps(&pass);
                note_pass(&mut earlier.body, &pass);
            }
            return true;
        }
        if start >= length && same_flow(&list[start - length..start], &list[start..]) {
            let pass = list.split_off(start);
            let mut body = list.split_off(start - length);
            let steps = steps(&body) + steps(&pass);
            note_pass(&mut body, &pass);
            list.push(Passage::Loop(Loop { body, count: 2, steps, last_count: None }));
            return true;
        }
    }
    false
}

/// Whether passages are the beginning of one more pass of a loop that was not run to its end; none are, too. The last of
/// their instructions may be cut off itself.
pub fn continues(body: &[Passage], rest: &[Passage]) -> bool {
    match (body, rest) {
        (_, []) => true,
        ([], _) => false,
        ([Passage::Instruction(first), ..], [Passage::Instruction(last)]) => begins(last, first),
        ([first @ Passage::Instruction(_), body @ ..], [one, rest @ ..]) => {
            same_flow(std::slice::from_ref(first), std::slice::from_ref(one)) && continues(body, rest)
        }
        ([Passage::Loop(inner), after @ ..], [Passage::Loop(run), rest @ ..]) if same_flow(&inner.body, &run.body) => {
            continues(after, rest) || continues(&inner.body, rest)
        }
        // An inner loop of which too little was run to be told as one.
        ([Passage::Loop(inner), after @ ..], rest) => {
            let pass = inner.body.len();
            let whole = rest.len() >= pass && same_flow(&inner.body, &rest[..pass]);
            continues(&inner.body, rest)
                || whole && (continues(&inner.body, &rest[pass..]) || continues(after, &rest[pass..]))
        }
    }
}

/// Where passages begin.
pub fn begin(passages: &[Passage]) -> Option<Address> {
    match passages.first()? {
        Passage::Instruction(instruction) => Some(instruction.address),
        Passage::Loop(inner) => begin(&inner.body),
    }
}

/// Whether an instruction is another one, as far as it was run.
fn begins(one: &Instruction, whole: &Instruction) -> bool {
    let is_cut = one.cycles.len() < whole.cycles.len();
    one.address == whole.address
        && (is_cut || one.fork.map(|fork| (fork.flag, fork.lit)) == whole.fork.map(|fork| (fork.flag, fork.lit)))
        && one.cycles.len() <= whole.cycles.len()
        && one.cycles.iter().zip(&whole.cycles).all(same_kind)
}

/// How many times a stepped panel stops in passages.
pub fn steps(passages: &[Passage]) -> u64 {
    let count = |passage: &Passage| match passage {
        Passage::Instruction(Instruction { cycles, .. }) => cycles.iter().filter(|cycle| cycle.stops).count() as u64,
        Passage::Loop(inner) => inner.steps,
    };
    passages.iter().map(count).sum()
}

/// Whether two runs went through the same instructions in the same way, whatever the data.
fn same_flow(a: &[Passage], b: &[Passage]) -> bool {
    a.len() == b.len()
        && a.iter().zip(b).all(|pair| match pair {
            (Passage::Instruction(a), Passage::Instruction(b)) => {
                a.address == b.address
                    && a.fork.map(|fork| (fork.flag, fork.lit)) == b.fork.map(|fork| (fork.flag, fork.lit))
                    && a.cycles.len() == b.cycles.len()
                    && a.cycles.iter().zip(&b.cycles).all(same_kind)
            }
            (Passage::Loop(a), Passage::Loop(b)) => same_flow(&a.body, &b.body),
            _ => false,
        })
}

/// Whether two cycles do the same, and the same lights of them are open.
fn same_kind((a, b): (&Cycle, &Cycle)) -> bool {
    (a.kind, a.open_address, a.open_data) == (b.kind, b.open_address, b.open_data)
}

/// Notes in the first pass what a later one did differently.
fn note_pass(first: &mut [Passage], later: &[Passage]) {
    for pair in first.iter_mut().zip(later) {
        match pair {
            (Passage::Instruction(first), Passage::Instruction(later)) => {
                for (first, later) in first.cycles.iter_mut().zip(&later.cycles) {
                    note_cycle(first, later);
                }
            }
            (Passage::Loop(first), Passage::Loop(later)) => {
                if later.count != first.count || first.last_count.is_some() {
                    first.last_count = Some(later.last_count.unwrap_or(later.count));
                }
                note_pass(&mut first.body, &later.body);
            }
            _ => {}
        }
    }
}

fn note_cycle(first: &mut Cycle, later: &Cycle) {
    let last = later.varying.unwrap_or(Varying { address: later.address, data: later.data });
    let differs = last != Varying { address: first.address, data: first.data };
    if first.varying.is_some() || differs || later.varying.is_some() {
        first.varying = Some(last);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::isa::CycleKind;

    fn run(addresses: &[u16]) -> Vec<Passage> {
        let mut list = Vec::new();
        for &address in addresses {
            let cycle = Cycle {
                kind: CycleKind::Fetch,
                address: Some(address),
                open_address: 0,
                data: None,
                open_data: 0,
                ground: Default::default(),
                taken: None,
                stops: true,
                live: None,
                varying: None,
            };
            let instruction = Instruction { address: Address(address), cycles: vec![cycle], fork: None };
            list.push(Passage::Instruction(instruction));
            fold(&mut list);
        }
        list
    }

    /// A run as text: `0 3(1 2)`.
    fn show(list: &[Passage]) -> String {
        let show_one = |passage: &Passage| match passage {
            Passage::Instruction(instruction) => instruction.address.0.to_string(),
            Passage::Loop(inner) => format!("{}({})", inner.count, show(&inner.body)),
        };
        list.iter().map(show_one).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn repeats_fold_with_their_count() {
        assert_eq!(show(&run(&[0, 1, 2, 1, 2, 1, 2, 3])), "0 3(1 2) 3");
        assert_eq!(show(&run(&[0, 1, 1, 1, 2, 1, 1, 1, 2, 3])), "0 2(3(1) 2) 3");
        assert_eq!(show(&run(&[0, 1, 2, 1, 3])), "0 1 2 1 3");
    }

    #[test]
    fn nested_counts_that_differ_are_kept() {
        let list = run(&[0, 1, 1, 1, 2, 1, 1, 2]);
        assert_eq!(show(&list), "0 2(3(1) 2)");
        let Passage::Loop(outer) = &list[1] else { panic!("no loop") };
        let Passage::Loop(inner) = &outer.body[0] else { panic!("no inner loop") };
        assert_eq!(inner.last_count, Some(2));
        assert_eq!((outer.steps, steps(&list)), (7, 8));
    }

    /// Wherever a run of nested loops is cut off, no loop that would have gone on is told as left.
    #[test]
    fn a_loop_that_is_cut_off_is_known_by_what_stands_behind_it() {
        let whole: Vec<u16> = (0..4).flat_map(|_| [0, 1, 2, 1, 2, 1, 2, 3]).collect();
        for cut in 16..whole.len() {
            let list = run(&whole[..cut]);
            let outer =
                list.iter().position(|passage| matches!(passage, Passage::Loop(outer) if outer.body.len() == 3));
            let outer = outer.unwrap_or_else(|| panic!("{}", show(&list)));
            let Passage::Loop(inner) = &list[outer] else { panic!("no loop") };
            assert!(continues(&inner.body, &list[outer + 1..]), "{cut}: {}", show(&list));
        }
        let left = run(&[&whole[..], &[9]].concat());
        let Passage::Loop(outer) = &left[0] else { panic!("no loop") };
        assert!(!continues(&outer.body, &left[1..]), "{}", show(&left));
    }
}
