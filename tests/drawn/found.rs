//! Numbers of demonstration as files say them.

use std::path::Path;

/// What a number is the number of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    Port,
    Bit,
    Code,
    Sense,
}

/// A line of a file.
pub struct Line {
    pub path: String,
    pub number: usize,
    pub text: String,
}

impl Kind {
    pub const ALL: [Kind; 4] = [Kind::Port, Kind::Bit, Kind::Code, Kind::Sense];

    /// Whether a number needs no drawing: blank tape, no sense switch up, or what cannot be and is refused.
    pub fn is_free(self, number: u16) -> bool {
        matches!((self, number), (Kind::Code | Kind::Sense, 0) | (Kind::Bit, 8..) | (_, 256..))
    }
}

/// Where such numbers stand. The program itself has none but in its help, its scaffold and the tests of its tapes.
const SEARCHED: [&str; 17] = [
    "README.md",
    "docs",
    "examples",
    "framings",
    "layouts",
    "stdlib",
    "library/src/project/scaffold.rs",
    "src",
    "library/src/tape",
    "tests/cases",
    "tests/cli",
    "tests/disassembly",
    "tests/stdlib",
    "tests/properties",
    "tests/judges",
    "tests/reference.rs",
    "tests/published",
];

/// Every line of every file that is searched.
pub fn lines() -> Vec<Line> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut lines = Vec::new();
    for start in SEARCHED {
        visit(root, &root.join(start), &mut lines);
    }
    assert!(lines.len() > 10_000, "{}", lines.len());
    lines
}

fn visit(root: &Path, path: &Path, lines: &mut Vec<Line>) {
    if path.is_dir() {
        let entries = std::fs::read_dir(path).unwrap();
        return entries.for_each(|entry| visit(root, &entry.unwrap().path(), lines));
    }
    // What a command printed follows from what it was given; a judge is a program.
    if path.extension().is_some_and(|extension| extension == "snap" || extension == "py") {
        return;
    }
    let Ok(text) = std::fs::read_to_string(path) else { return };
    let path = path.strip_prefix(root).unwrap().to_string_lossy().into_owned();
    let line = |(at, text): (usize, &str)| Line { path: path.clone(), number: at + 1, text: text.to_owned() };
    lines.extend(text.lines().enumerate().map(line));
}

/// What stands before a number, and what that then is.
const BEFORE: [(&str, Kind); 26] = [
    ("port = ", Kind::Port),
    ("sense_port = ", Kind::Port),
    ("status = ", Kind::Port),
    ("data = ", Kind::Port),
    ("number = ", Kind::Port),
    ("--input ", Kind::Port),
    ("STATUS: u8 = ", Kind::Port),
    ("DATA: u8 = ", Kind::Port),
    ("LAMPS: u8 = ", Kind::Port),
    ("BELL: u8 = ", Kind::Port),
    ("SENSE: u8 = ", Kind::Port),
    ("KNOBS: u8 = ", Kind::Port),
    ("CHIP: u8 = ", Kind::Port),
    ("REQUESTS: u8 = ", Kind::Port),
    ("SELECT: u8 = ", Kind::Port),
    ("DRIVE: u8 = ", Kind::Bit),
    ("ASKS: u8 = ", Kind::Bit),
    ("ENDS: u8 = ", Kind::Bit),
    ("bit = ", Kind::Bit),
    ("bit: ", Kind::Bit),
    ("mark = [", Kind::Code),
    ("leader = { byte = ", Kind::Code),
    ("gap = { byte = ", Kind::Code),
    ("trailer = { byte = ", Kind::Code),
    ("sense = ", Kind::Sense),
    ("--sense ", Kind::Sense),
];

/// Names that sources give to ports, and the one that they give to a mark.
const PORTS: [&str; 27] = [
    "SERST", "SERDT", "STATUS", "DATA", "BELLS", "BELL", "LAMPS", "GAUGE", "SENSE", "SNSPRT", "LDPORT", "EXIN",
    "EXOUT", "PORT", "SHUTTERS", "FDST", "FDTR", "FDSC", "FDDT", "FDREQ", "FDDRV", "FDLMP", "BWDATA", "BWSTAT",
    "BWNUM", "BWCMD", "BWLMP",
];

/// The numbers of a line.
pub fn found(line: &Line) -> Vec<(Kind, u16)> {
    let text = &line.text;
    let mut found = Vec::new();
    for (before, kind) in BEFORE {
        for (at, _) in text.match_indices(before) {
            let ahead = &text[..at];
            // A field of a framing has the name of a port's key, and a word may end like another.
            let is_other = kind == Kind::Port && (ahead.ends_with("{ ") || ahead.ends_with("| `"))
                || ahead.ends_with(|it: char| it.is_alphanumeric() || it == '_');
            let numbers =
                text[at + before.len()..].split(&[']', '}', ' ', '"', '`', '\\'][..]).next().unwrap_or_default();
            if !is_other {
                found.extend(numbers.split(',').take(1).filter_map(number).map(|number| (kind, number)));
            }
        }
    }
    if let Some((_, bits)) = text.split_once("_bits = { ") {
        let bits = bits.split(", ").filter_map(|bit| bit.split_once(" = ")?.0.parse().ok());
        found.extend(bits.map(|bit| (Kind::Bit, bit)));
    }
    let words: Vec<&str> = text.split(&[' ', '\t', '"', '`'][..]).filter(|word| !word.is_empty()).collect();
    for pair in words.windows(2) {
        let operand = pair[1].split("\\n").next().unwrap_or_default();
        if matches!(pair[0], "IN" | "OUT") && pair[1].starts_with(|it: char| it.is_ascii_digit()) {
            found.extend(number(operand).map(|number| (Kind::Port, number)));
        }
    }
    for three in words.windows(3).filter(|three| three[1] == "EQU") {
        let name = three[0].trim_start_matches("\\n");
        let kind = if name == "MARK" { Kind::Code } else { Kind::Port };
        if PORTS.contains(&name) || name == "MARK" {
            found.extend(number(three[2].split("\\n").next().unwrap_or_default()).map(|number| (kind, number)));
        }
    }
    found
}

/// A number as the files of this house write it.
pub fn number(text: &str) -> Option<u16> {
    let text = text.trim_end_matches(&[',', ';', '.', ':', ')'][..]);
    if let Some(octal) = text.strip_prefix("0o").or(text.strip_suffix('Q')) {
        return u16::from_str_radix(octal, 8).ok();
    }
    if let Some(hex) = text.strip_prefix("0x").or(text.strip_suffix('H')) {
        return u16::from_str_radix(hex, 16).ok();
    }
    text.parse().ok()
}
