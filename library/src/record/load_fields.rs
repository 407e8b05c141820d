//! The fields of a record from a file.

use super::check::{CheckKind, Stored};
use super::field::{Coordinate, Counts, Data, Field, Kind, Pointer, Word};
use super::fields::Record;
use super::load_coding::bytes;
use crate::source::{Code, Diagnostic, Diagnostics, Span, Table, Value, nearest};

/// The most bytes that a data field can have: all of memory.
const MOST_DATA: i64 = 65_536;

/// What records are on: some fields make sense on one of them only.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Medium {
    /// Blocks of a tape, one behind the other.
    Tape,
    /// Sectors of a disk, each at its place.
    Disk,
}

impl Medium {
    /// The code of what cannot be read back.
    fn code(self) -> Code {
        match self {
            Medium::Tape => Code::FramingUndecodable,
            Medium::Disk => Code::LayoutUnusable,
        }
    }

    /// Why a field that the other medium has is none here.
    fn lacks(self, kind: &str) -> Option<&'static str> {
        match (self, kind) {
            (Medium::Tape, "track" | "sector" | "next") => Some("a tape has no tracks or sectors to be named"),
            (Medium::Disk, "label") => Some("a sector carries no name of a program"),
            (Medium::Disk, "sequence") => Some("a sector is known by its place: say `sector` and `track`"),
            _ => None,
        }
    }
}

/// A field as it is written, before the names in it are looked up.
struct Written<'a> {
    field: Field,
    span: Span,
    refers: Option<Value<'a>>,
}

impl Record {
    /// The record that an array of fields describes, with the places of its fields.
    pub fn load(value: Value, medium: Medium, problems: &mut Diagnostics) -> Option<(Record, Vec<Span>)> {
        let values = value.array(problems)?.into_iter();
        let written: Vec<_> = values.filter_map(|value| field(value, medium, problems)).collect();
        if written.is_empty() && !problems.has_errors() {
            value.wrong("at least one field in braces", problems);
        }
        let names: Vec<_> = written.iter().map(|written| written.field.name.clone()).collect();
        let (mut fields, mut spans) = (Vec::new(), Vec::new());
        for Written { mut field, span, refers } in written {
            match &mut field.kind {
                Kind::Length { of: found, .. } | Kind::Check { over: found, .. } => {
                    *found = match refers {
                        Some(refers) => look_up(refers, &names, problems),
                        None => (0..names.len()).filter(|&index| names[index] == "data").collect(),
                    };
                }
                _ => {}
            }
            fields.push(field);
            spans.push(span);
        }
        Some((Record { fields, checks: Vec::new() }.ordered(&spans, medium, problems), spans))
    }

    /// Puts the checks in an order in which each can be computed; a ring of checks is told.
    fn ordered(mut self, spans: &[Span], medium: Medium, problems: &mut Diagnostics) -> Self {
        let mut left: Vec<_> =
            (0..self.fields.len()).filter(|&index| matches!(self.fields[index].kind, Kind::Check { .. })).collect();
        while !left.is_empty() {
            let ready = left.iter().position(|&index| match &self.fields[index].kind {
                Kind::Check { over, .. } => !over.iter().any(|field| left.contains(field)),
                _ => true,
            });
            let Some(ready) = ready else {
                let problem = Diagnostic::error(medium.code(), "a check is computed over itself");
                let problem = problem.at(spans[left[0]], "its value depends on its own value");
                problems.push(problem.with_help("leave the check out of its own `over`"));
                break;
            };
            self.checks.push(left.remove(ready));
        }
        self
    }
}

/// The indexes of the fields that a list of names means, rising: a name that several fields share means all of them.
fn look_up(value: Value, names: &[String], problems: &mut Diagnostics) -> Vec<usize> {
    let mut found = Vec::new();
    for name in value.array(problems).unwrap_or_default() {
        let Some(text) = name.string(problems) else { continue };
        let before = found.len();
        found.extend((0..names.len()).filter(|&index| names[index] == text));
        if found.len() == before {
            let problem = Diagnostic::error(Code::FieldUnknown, format!("no field is named `{text}`"));
            let problem = problem.at(name.span(), format!("named here: {}", names.join(", ")));
            problems.push(match nearest(text, names.iter().map(String::as_str)) {
                Some(near) => problem.with_near(near),
                None => problem.with_help("give the field a name with `name = \"...\"`"),
            });
        }
    }
    found.sort_unstable();
    found.dedup();
    found
}

/// Each kind of field with the keys that may stand beside it.
const FIELDS: [(&str, &[&str]); 13] = [
    ("mark", &[]),
    ("literal", &[]),
    ("length", &["counts", "of"]),
    ("last", &[]),
    ("address", &[]),
    ("sequence", &["first"]),
    ("track", &[]),
    ("sector", &[]),
    ("next", &["end"]),
    ("data", &["pad", "order", "at"]),
    ("label", &[]),
    ("entry", &[]),
    ("check", &["as", "over", "stored"]),
];

fn field<'a>(value: Value<'a>, medium: Medium, problems: &mut Diagnostics) -> Option<Written<'a>> {
    let table = value.table(problems)?;
    let Some((kind, beside)) = FIELDS.iter().find(|(kind, _)| table.get(kind).is_some()) else {
        let kinds = FIELDS.map(|(kind, _)| kind);
        let kinds: Vec<_> = kinds.into_iter().filter(|kind| medium.lacks(kind).is_none()).collect();
        table.allow(&kinds, "a field", problems);
        if table.keys().next().is_none() {
            value.wrong(&format!("a field: one of {}", kinds.join(", ")), problems);
        }
        return None;
    };
    if let (Some(why), Some(key)) = (medium.lacks(kind), table.get(kind)) {
        let problem = Diagnostic::error(medium.code(), format!("no field can be a `{kind}` here"));
        problems.push(problem.at(key.span(), why));
        return None;
    }
    let known: Vec<_> = [*kind, "name"].into_iter().chain(beside.iter().copied()).collect();
    table.allow(&known, &format!("a field of kind `{kind}`"), problems);
    let name = table.get("name").and_then(|name| name.string(problems)).unwrap_or(kind).to_owned();
    let refers = table.get("of").or_else(|| table.get("over"));
    let kind = field_kind(kind, table, problems)?;
    Some(Written { field: Field { name, kind }, span: value.span(), refers })
}

fn field_kind(kind: &str, table: Table, problems: &mut Diagnostics) -> Option<Kind> {
    let value = table.get(kind)?;
    Some(match kind {
        "mark" => Kind::Mark(some_bytes(value, problems)?),
        "literal" => Kind::Literal(some_bytes(value, problems)?),
        "length" => {
            let counts = table.get("counts").map_or(Some(Counts::Number), |it| it.choice(&Counts::ALL, problems))?;
            Kind::Length { word: value.choice(&Word::ALL, problems)?, counts, of: Vec::new() }
        }
        "last" => Kind::Last(value.choice(&Word::ALL[1..], problems)?),
        "address" => Kind::Address(pointer(value, ("page", Pointer::Page), problems)?),
        "entry" => Kind::Entry(pointer(value, ("low", Pointer::Low), problems)?),
        "sequence" => {
            let word = value.choice(&Word::ALL, problems)?;
            let most = word.modulus() as i64 - 1;
            let first = table.get("first").map_or(Some(0), |first| first.integer(0..=most, problems))?;
            Kind::Sequence { word, first: first as u16 }
        }
        "track" | "sector" => {
            value.choice(&Word::ALL[..1], problems)?;
            Kind::Here(if kind == "track" { Coordinate::Track } else { Coordinate::Sector })
        }
        "next" => {
            let end = table.get("end").map_or(Some(0o377), |end| end.byte(problems))?;
            Kind::Next { of: value.choice(&Coordinate::ALL, problems)?, end }
        }
        "data" => Kind::Data(data(value, table, problems)?),
        "label" => Kind::Label(value.integer(1..=255, problems)? as usize),
        _ => check(value, table, problems)?,
    })
}

fn some_bytes(value: Value, problems: &mut Diagnostics) -> Option<Vec<u8>> {
    let bytes = bytes(value, problems)?;
    if bytes.is_empty() {
        value.wrong("at least one byte", problems);
        return None;
    }
    Some(bytes)
}

fn pointer(value: Value, short: (&str, Pointer), problems: &mut Diagnostics) -> Option<Pointer> {
    let [_, low, high] = Word::ALL.map(|(name, word)| (name, Pointer::Whole(word)));
    value.choice(&[low, high, short], problems)
}

fn data(value: Value, table: Table, problems: &mut Diagnostics) -> Option<Data> {
    let most = value.integer(1..=MOST_DATA, problems)? as usize;
    let pad = match table.get("pad") {
        Some(pad) => Some(pad.byte(problems)?),
        None => None,
    };
    let orders = [("rising", false), ("falling", true)];
    let falling = table.get("order").map_or(Some(false), |order| order.choice(&orders, problems))?;
    let at = table.get("at").map_or(Some(0), |at| at.integer(0..=0xFFFF, problems))? as u16;
    Some(Data { most, pad, falling, at })
}

fn check(value: Value, table: Table, problems: &mut Diagnostics) -> Option<Kind> {
    let kinds: Vec<_> = CheckKind::of_fields().map(|kind| (kind.name(), kind)).collect();
    let kind = value.choice(&kinds, problems)?;
    table.need("over", "a check", problems)?;
    let stored = table.get("stored").map_or(Some(Stored::Value), |stored| stored.choice(&Stored::ALL, problems))?;
    let word = match (kind.width(), table.get("as")) {
        (1, None) => Word::Byte,
        (1, Some(form)) => form.choice(&Word::ALL[..1], problems)?,
        (_, Some(form)) => form.choice(&Word::ALL[1..], problems)?,
        (_, None) => {
            table.need("as", "a check of two bytes", problems);
            return None;
        }
    };
    Some(Kind::Check { kind, word, stored, over: Vec::new() })
}
