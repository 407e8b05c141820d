//! The assembler against the worked examples of the language's published manuals.
//!
//! A75 is Intel 8080 Assembly Language Programming Manual, Rev. B, 1975; A77 is Intel 8080/8085 Assembly Language
//! Programming Manual, 9800301, 1977. **[V]** marks an example that was read in the named document, **[M]** one from
//! memory of it, **[D]** what was derived from a rule found there.

use coldwright::assembler::{Options, StdlibOnly, assemble};
use coldwright::source::{Origin, SourceMap};

/// The bytes of a program, from its lowest address on.
fn bytes(text: &str) -> Vec<u8> {
    let mut sources = SourceMap::default();
    let root = sources.add("published.asm", text, Origin::Given);
    let assembly = assemble(&mut sources, root, &Options::default(), &mut StdlibOnly);
    let first = assembly.diagnostics.iter().find(|problem| problem.severity == coldwright::source::Severity::Error);
    assert!(first.is_none(), "{text}: {}", first.map_or("", |problem| &problem.headline));
    assembly.image.extents().flat_map(|extent| extent.bytes.to_vec()).collect()
}

#[track_caller]
fn check(text: &str, hexadecimal: &str) {
    let wanted: Vec<_> = hexadecimal.split_whitespace().map(|byte| u8::from_str_radix(byte, 16).unwrap()).collect();
    assert_eq!(bytes(text), wanted, "{text}");
}

/// The value of an expression as a word.
#[track_caller]
fn value(expression: &str, wanted: u16) {
    assert_eq!(bytes(&format!("NUMBR EQU 25\n DW {expression}\n")), wanted.to_le_bytes(), "{expression}");
}

fn fails(text: &str) -> bool {
    let mut sources = SourceMap::default();
    let root = sources.add("published.asm", text, Origin::Given);
    assemble(&mut sources, root, &Options::default(), &mut StdlibOnly).diagnostics.has_errors()
}

#[test]
fn db_examples() {
    check(" DB 5*2,2FH-0AH", "0A 25"); // 1: A75, DB [M]
    check(" DB 5ABCH SHR 8", "5A"); // 2: A75, DB [M]
    check(" DB 'STRING 1'", "53 54 52 49 4E 47 20 31"); // 3: A75, DB [M]
    check(" DB -03H", "FD"); // 4: A75, DB [M]; also in A77 p. 4-4 [V]
    check(" DB 0A3H", "A3"); // 5: A75, DB [M]; A77 p. 4-4 [V]
    check(" DB 'TIME'", "54 49 4D 45"); // 9: A77 p. 4-4 [V]
    check(" DB -03H,5*2", "FD 0A"); // 10: A77 p. 4-4 [V]
    check(" DB (ADD C)", "81"); // 13: A77 p. 2-7 [V]
    check(" DB 'TODAY''S DATE'", "54 4F 44 41 59 27 53 20 44 41 54 45"); // 19: A77 p. 2-6 [V], bytes [D]
}

#[test]
fn dw_examples() {
    // A77 p. 4-4 [V]: the low byte comes first.
    check("COMP EQU 3B1CH\n DW COMP", "1C 3B"); // 6: A75 and A77, DW [M]
    check("FILL EQU 3EB4H\n DW FILL", "B4 3E"); // 7: A75 and A77, DW [M]
    check(" DW 3C01H,3CAEH", "01 3C AE 3C"); // 8: A75, DW [M]
    check(" DW 'A','AB'", "41 00 42 41"); // 11: A77, DW [M]
    check(" DW 4H", "04 00"); // 12: A77, DW [M]
}

#[test]
fn expression_examples() {
    // 14: A77 p. 2-12 [V]
    value("5+30*2", 0x41);
    value("(25/5)+30*2", 0x41);
    value("5+(-30*-2)", 0x41);
    value("NUMBR MOD 8", 1); // 15: A77 p. 2-12 [V]
    value("01010101B SHR 2", 0b0001_0101); // 16: A77 p. 2-12 [V]
    value("01010101B SHL 1", 0b1010_1010); // 17: A77 p. 2-12 [V]; the count was lost in the scan
    value("7/2", 3); // A77 p. 2-12 [V]
    value("7 MOD 3", 1); // A77 p. 2-12 [V]
}

#[test]
fn macro_examples() {
    // 18: A77 p. 5-9 [V], bytes [D]
    check(" IRPC X,1977\n INX H\n MVI M,X\n ENDM", "23 36 01 23 36 09 23 36 07 23 36 07");
    // A77 p. 5-16 [V]: `RA&X` with X=R gives RAR; `%COUNT-1` passes a value; an empty body is legal
    check("TURN MACRO X\n RA&X\n ENDM\n TURN R", "1F");
    check("COUNT SET 5\nPUT MACRO N\nCOUNT SET 9\n DB N\n ENDM\n PUT %COUNT-1", "04");
    check("NONE MACRO\n ENDM\n NONE\n NOP", "00");
    // A77 p. 5-9 [V]: an empty text gives one copy with a null
    check(" IRPC X,\n DB 1,LOW NUL X\n ENDM", "01 FF");
    // A77 p. 5-9 [V]: EXITM ends all later iterations too
    check(" REPT 3\n NOP\n EXITM\n HLT\n ENDM\n RET", "00 C9");
}

#[test]
fn instruction_examples() {
    check(" ORG 100H\nGO: JMP $+6", "C3 06 01"); // 20: A77 p. 2-6 [V], bytes [D]
    check(" MVI H,3CH\n MVI L,0F4H\n MVI M,0FFH", "26 3C 2E F4 36 FF"); // 21: A75, MVI [M]
    check(" MVI A,20\n ADI 66\n ADI -66", "3E 14 C6 42 C6 BE"); // 22: A75, ADI [M]
    for operand in ["300H", "3*(16*16)", "200H+256"] {
        check(&format!(" LDA {operand}"), "3A 00 03"); // 23: A75, LDA [M]
    }
    check(" STA 5B3H\n SHLD 10AH\n LHLD 25BH", "32 B3 05 22 0A 01 2A 5B 02"); // 24: A75 [M]
    check(" LXI H,103H\n LXI H,259\n LXI SP,3ABCH", "21 03 01 21 03 01 31 BC 3A"); // 25: A75, LXI [M]
    check(" RST 10-7", "DF"); // 26: A75, RST [M]
    assert!(fails(" JMP A"), "A77 p. 2-7 [V]: a register is no address");
}

/// The published levels (A77 p. 2-15 [M]) and what follows from them [D].
#[test]
fn precedence() {
    value("NOT 0 AND 0FH", 0x0F);
    value("NOT 1 EQ 1", 0);
    value("-1 SHR 8", 0);
    value("(-1) SHR 8", 0x00FF);
    value("HIGH 1234H+1", 0x13);
    value("1 OR 2 AND 4", 1);
    value("2+3*4", 14);
    value("10 MOD 4*2", 4);
    value("10-4-3", 3);
    value("NOT 1+1", 0xFFFD);
    value("NOT 2*3", 0xFFF9);
    value("NOT 2 GT 1", 0);
    value("NOT 0 OR 1", 0xFFFF);
    value("NOT 1 XOR 3", 0xFFFD);
    value("1+2 EQ 3", 0xFFFF);
    value("3 EQ 1+2", 0xFFFF);
    value("2 EQ 2 AND 1", 1);
    value("1 XOR 2 AND 2", 3);
    value("2 XOR 2 EQ 2", 0xFFFD);
    value("1 OR 1 XOR 1", 0);
    value("1 XOR 1 OR 1", 1);
    value("-1 EQ 0FFFFH", 0xFFFF);
}

/// The operators between two operands, by level: A77 p. 2-15 [M]; those on one level go from left to right.
const LEVELS: [&[&str]; 5] =
    [&["*", "/", "MOD", "SHL", "SHR"], &["+", "-"], &["EQ", "NE", "LT", "LE", "GT", "GE"], &["AND"], &["OR", "XOR"]];

/// Operands that tell groupings apart.
const OPERANDS: [u16; 9] = [1, 2, 3, 0, 5, 7, 12, 0xFF, 0xFFFE];

fn between(operator: &str, left: u16, right: u16) -> Option<u16> {
    let truth = |is: bool| if is { 0xFFFF } else { 0 };
    Some(match operator {
        "*" => left.wrapping_mul(right),
        "/" => left.checked_div(right)?,
        "MOD" => left.checked_rem(right)?,
        "SHL" => left.checked_shl(right.into()).unwrap_or(0),
        "SHR" => left.checked_shr(right.into()).unwrap_or(0),
        "+" => left.wrapping_add(right),
        "-" => left.wrapping_sub(right),
        "EQ" => truth(left == right),
        "NE" => truth(left != right),
        "LT" => truth(left < right),
        "LE" => truth(left <= right),
        "GT" => truth(left > right),
        "GE" => truth(left >= right),
        "AND" => left & right,
        "OR" => left | right,
        "XOR" => left ^ right,
        _ => panic!("{operator}"),
    })
}

fn before(operator: &str, operand: u16) -> u16 {
    match operator {
        "HIGH" => operand >> 8,
        "LOW" => operand & 0xFF,
        "-" => operand.wrapping_neg(),
        "NOT" => !operand,
        _ => panic!("{operator}"),
    }
}

/// For every two operators between operands, values for which the two groupings differ: the published one holds.
#[test]
fn every_two_operators_group_by_their_levels() {
    let ranked =
        || LEVELS.iter().enumerate().flat_map(|(level, operators)| operators.iter().map(move |it| (level, *it)));
    let mut told_apart = 0;
    for (first_level, first) in ranked() {
        for (second_level, second) in ranked() {
            let triples =
                OPERANDS.iter().flat_map(|&x| OPERANDS.iter().flat_map(move |&y| OPERANDS.map(|z| (x, y, z))));
            let groupings = |(x, y, z): (u16, u16, u16)| {
                let left = between(second, between(first, x, y)?, z)?;
                let right = between(first, x, between(second, y, z)?)?;
                (left != right).then_some(((x, y, z), left, right))
            };
            let Some(((x, y, z), left, right)) = triples.filter_map(groupings).next() else {
                // Either grouping is the same product, sum or set of bits.
                let alike = ["*", "+", "AND", "OR", "XOR"].contains(&first) && first == second;
                assert!(
                    alike || [("*", "SHL"), ("+", "-")].contains(&(first, second)),
                    "nothing tells {first} from {second}"
                );
                continue;
            };
            value(&format!("{x} {first} {y} {second} {z}"), if first_level <= second_level { left } else { right });
            told_apart += 1;
        }
    }
    assert_eq!(told_apart, 16 * 16 - 7);
}

/// The same for an operator before its operand and one behind: HIGH and LOW are above all, a sign is on the level of `+`
/// and `-`, NOT is between the comparisons and AND.
#[test]
fn every_operator_before_an_operand_groups_by_its_level() {
    let mut told_apart = 0;
    for (prefix, binds_tighter_from) in [("HIGH", 0), ("LOW", 0), ("-", 1), ("NOT", 3)] {
        for (level, operators) in LEVELS.iter().enumerate() {
            for operator in *operators {
                let pairs = [0x1234, 0xFF, 3, 1, 0, 0xFFFE].into_iter().flat_map(|x| OPERANDS.map(|y| (x, y)));
                let groupings = |(x, y)| {
                    let tight = between(operator, before(prefix, x), y)?;
                    let loose = before(prefix, between(operator, x, y)?);
                    (tight != loose).then_some(((x, y), tight, loose))
                };
                let Some(((x, y), tight, loose)) = pairs.filter_map(groupings).next() else {
                    let harmless =
                        [("HIGH", "/"), ("HIGH", "SHR"), ("LOW", "AND"), ("-", "*"), ("-", "SHL"), ("NOT", "XOR")];
                    assert!(harmless.contains(&(prefix, *operator)), "nothing tells {prefix} from {operator}");
                    continue;
                };
                value(&format!("{prefix} {x} {operator} {y}"), if level >= binds_tighter_from { tight } else { loose });
                told_apart += 1;
            }
        }
    }
    assert_eq!(told_apart, 4 * 16 - 6);
}

/// The radix is decided by the last character [D] from the suffixes of A75 "TERMS" [V].
#[test]
fn constants() {
    for (text, wanted) in [("0BH", 11), ("10B", 2), ("10D", 10), ("0BDH", 189), ("1BH", 27), ("17O", 15), ("17Q", 15)] {
        value(text, wanted);
    }
    value("'A'", 0x41);
    value("'AB'", 0x4142); // A77 ch. 2 [M]: the first character in the high byte
    value("''''", 0x27); // A77 p. 2-6 [V]: two quotes stand for one
    assert!(fails(" DW FFH"), "A77 p. 2-5 [M]: a hexadecimal number begins with a digit");
}

/// A77 ch. 2 "Range of values" [M]: the high byte is 00H or 0FFH; consequences [D].
#[test]
fn byte_range() {
    check(" DB -256,-1,255,0FF00H", "00 FF FF 00");
    for text in ["256", "-257", "0FEFFH"] {
        assert!(fails(&format!(" DB {text}")), "{text}");
        assert!(fails(&format!(" MVI A,{text}")), "{text}");
    }
    for vector in 0..8 {
        assert_eq!(bytes(&format!(" RST {vector}")), [0o307 + 8 * vector]); // [M]
    }
    assert!(fails(" RST 8"));
}

/// Comparisons: names A77 p. 2-13 [V], values A77 p. 2-14 [M]; unsigned by this project's decision.
#[test]
fn comparisons() {
    value("1 EQ 1", 0xFFFF);
    value("1 NE 1", 0);
    value("-1 GT 1", 0xFFFF);
    value("1 LE 0", 0);
}
