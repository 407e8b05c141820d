//! Expressions against an evaluator of their own, which never sees their text.

use proptest::prelude::*;

/// An expression as a tree, with the levels of Intel 8080/8085 Assembly Language Programming Manual, 9800301, 1977,
/// p. 2-15, a higher number binding tighter.
#[derive(Clone, Debug)]
enum Tree {
    Number(u16),
    Before(&'static str, u8, Box<Tree>),
    Between(&'static str, u8, Box<Tree>, Box<Tree>),
}

const BEFORE: [(&str, u8); 5] = [("HIGH ", 7), ("LOW ", 7), ("-", 5), ("+", 5), ("NOT ", 3)];
const BETWEEN: [(&str, u8); 16] = [
    ("*", 6),
    ("/", 6),
    (" MOD ", 6),
    (" SHL ", 6),
    (" SHR ", 6),
    ("+", 5),
    ("-", 5),
    (" EQ ", 4),
    (" NE ", 4),
    (" LT ", 4),
    (" LE ", 4),
    (" GT ", 4),
    (" GE ", 4),
    (" AND ", 2),
    (" OR ", 1),
    (" XOR ", 1),
];

fn tree() -> impl Strategy<Value = Tree> {
    let number = prop_oneof![0u16..20, any::<u16>()].prop_map(Tree::Number);
    number.prop_recursive(5, 40, 2, |inner| {
        prop_oneof![
            (0..BEFORE.len(), inner.clone()).prop_map(|(at, of)| Tree::Before(
                BEFORE[at].0,
                BEFORE[at].1,
                Box::new(of)
            )),
            (0..BETWEEN.len(), inner.clone(), inner).prop_map(|(at, left, right)| {
                Tree::Between(BETWEEN[at].0, BETWEEN[at].1, Box::new(left), Box::new(right))
            }),
        ]
    })
}

/// The value, or `None` where it divides by zero.
fn value(tree: &Tree) -> Option<u16> {
    let truth = |holds: bool| if holds { 0xFFFF } else { 0 };
    Some(match tree {
        Tree::Number(number) => *number,
        Tree::Before(sign, _, of) => {
            let of = value(of)?;
            match sign.trim() {
                "HIGH" => of / 256,
                "LOW" => of % 256,
                "-" => (65536 - u32::from(of)) as u16,
                "NOT" => 65535 - of,
                _ => of,
            }
        }
        Tree::Between(sign, _, left, right) => {
            let (a, b) = (u32::from(value(left)?), u32::from(value(right)?));
            match sign.trim() {
                "*" => (a * b % 65536) as u16,
                "/" => a.checked_div(b)? as u16,
                "MOD" => a.checked_rem(b)? as u16,
                "SHL" => (0..b.min(16)).fold(a, |a, _| a * 2 % 65536) as u16,
                "SHR" => (0..b.min(16)).fold(a, |a, _| a / 2) as u16,
                "+" => ((a + b) % 65536) as u16,
                "-" => ((a + 65536 - b) % 65536) as u16,
                "EQ" => truth(a == b),
                "NE" => truth(a != b),
                "LT" => truth(a < b),
                "LE" => truth(a <= b),
                "GT" => truth(a > b),
                "GE" => truth(a >= b),
                "AND" => (a & b) as u16,
                "OR" => (a | b) as u16,
                _ => (a ^ b) as u16,
            }
        }
    })
}

/// The text with a parenthesis round every part, which no precedence can change.
fn full(tree: &Tree) -> String {
    match tree {
        Tree::Number(number) => number.to_string(),
        Tree::Before(sign, _, of) => format!("({sign}{})", full(of)),
        Tree::Between(sign, _, left, right) => format!("({}{sign}{})", full(left), full(right)),
    }
}

/// The text with as few parentheses as the levels allow: what binds less tightly than its place is enclosed, and so is
/// an operator before its operand wherever another one stands before it.
fn sparse(tree: &Tree, least: u8) -> String {
    match tree {
        Tree::Number(number) => number.to_string(),
        Tree::Before(sign, level, of) => {
            let of = if let Tree::Before(..) = **of { format!("({})", sparse(of, 0)) } else { sparse(of, level + 1) };
            if *level < least { format!("({sign}{of})") } else { format!("{sign}{of}") }
        }
        Tree::Between(sign, level, left, right) => {
            let text = format!("{}{sign}{}", sparse(left, *level), sparse(right, level + 1));
            if *level < least { format!("({text})") } else { text }
        }
    }
}

proptest! {
    #[test]
    fn an_expression_has_the_value_that_the_published_levels_give(tree in tree()) {
        for text in [full(&tree), sparse(&tree, 0)] {
            let found = super::bytes(&format!(" DW {text}\n")).ok();
            prop_assert_eq!(found, value(&tree).map(|value| value.to_le_bytes().to_vec()), "{}", text);
        }
    }
}
