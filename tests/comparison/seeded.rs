//! Seeded faults, alone and in pairs: the right reason stands first, or among the first three.

use coldwright::comparison::{Change, Explanation, Reason, explain};

use crate::faults::{Draw, Part, changed, fault, image, parts};

/// Whether a reason is the one that was put in, or cannot be told from it: it makes the same bytes.
fn is(reason: &Reason, truth: &Reason, part: &Part) -> bool {
    match (reason, truth) {
        (Reason::Change(one), Reason::Change(other)) => {
            one == other || changed(*one, part.base, &part.bytes) == changed(*other, part.base, &part.bytes)
        }
        (Reason::Version(_), Reason::Version(_)) => true,
        _ => reason == truth,
    }
}

#[test]
fn single_faults_are_named_first() {
    let parts = parts();
    let (mut right, mut all, mut told) = (0, 0, String::new());
    let mut draw = Draw(1);
    while all < 180 {
        let part = &parts[draw.below(parts.len() as u64) as usize];
        let seed = draw.0;
        let faulty = fault(&mut draw, part.base, &part.bytes, part.text.as_deref());
        if faulty.bytes == part.bytes {
            continue;
        }
        all += 1;
        let found = explain(&image(part.base, &part.bytes), &image(part.base, &faulty.bytes));
        match found.reasons.first() {
            Some(first) if is(&first.reason, &faulty.reason, part) => right += 1,
            _ => {
                let first: Vec<_> =
                    found.reasons.iter().take(3).map(|it| format!("{:?} {}", it.reason, it.explains)).collect();
                told += &format!(
                    "{seed:X} {} {} bytes, {} differ: {:?}, told {first:?}\n",
                    part.name,
                    part.bytes.len(),
                    found.differing,
                    faulty.reason
                );
            }
        }
    }
    println!("{told}{right} of {all} right");
    assert!(right * 100 >= all * 95, "{right} of {all}\n{told}");
}

#[test]
fn pairs_of_faults_are_among_the_first_three() {
    let parts = parts();
    let (mut right, mut all, mut told) = (0, 0, String::new());
    let mut draw = Draw(2);
    while all < 120 {
        let part = &parts[draw.below(parts.len() as u64) as usize];
        let seed = draw.0;
        let one = fault(&mut draw, part.base, &part.bytes, part.text.as_deref());
        let other = fault(&mut draw, part.base, &one.bytes, None);
        // Two that undo or hide each other are one, or none.
        let shift = |reason: &Reason| matches!(reason, Reason::Change(Change::Shifted(_)));
        if shift(&one.reason) && shift(&other.reason) {
            continue;
        }
        let alone = fault_alone(&other.reason, part);
        if one.bytes == part.bytes
            || other.bytes == one.bytes
            || other.bytes == part.bytes
            || alone.as_ref() == Some(&other.bytes)
        {
            continue;
        }
        all += 1;
        let found = explain(&image(part.base, &part.bytes), &image(part.base, &other.bytes));
        let among = |truth: &Reason| found.reasons.iter().take(3).any(|it| is(&it.reason, truth, part));
        if among(&one.reason) && among(&other.reason) || as_good(&found) {
            right += 1;
        } else {
            let first: Vec<_> =
                found.reasons.iter().take(3).map(|it| format!("{:?} {}", it.reason, it.explains)).collect();
            told += &format!(
                "{seed:X} {} {} bytes, {} differ: {:?} and {:?}, told {first:?}\n",
                part.name,
                part.bytes.len(),
                found.differing,
                one.reason,
                other.reason
            );
        }
    }
    println!("{told}{right} of {all} right");
    assert!(right * 100 >= all * 80, "{right} of {all}\n{told}");
}

/// Whether two other faults make exactly these bytes: what they were nobody can tell.
fn as_good(found: &Explanation) -> bool {
    let best: Vec<_> = found.reasons.iter().filter(|it| it.best).collect();
    let whole = found.together == found.differing && found.against == 0;
    whole && best.len() <= 2 && best.iter().all(|it| matches!(it.reason, Reason::Change(_)))
}

/// What the second of two faults alone would make.
fn fault_alone(reason: &Reason, part: &Part) -> Option<Vec<u8>> {
    match reason {
        Reason::Change(change) => Some(changed(*change, part.base, &part.bytes)),
        _ => None,
    }
}
