//! A framing as `docs/framing-file.md` describes it, apart from the program's own types: what the encoder and the
//! strict reader of these tests work from, and what is written out as a framing file for the program.

use std::fmt::Write;

/// A framing.
#[derive(Clone, Debug, Default)]
pub struct Spec {
    pub characters: &'static str,
    pub digits: &'static str,
    pub escape: Option<Escape>,
    pub ignore: Vec<u8>,
    pub avoid: Vec<u8>,
    pub leader: Filler,
    pub gap: Filler,
    pub trailer: Filler,
    pub origin: u16,
    pub head: Option<Vec<Field>>,
    pub block: Vec<Field>,
    pub end: Option<Vec<Field>>,
}

#[derive(Clone, Debug)]
pub struct Escape {
    pub byte: u8,
    pub flip: u8,
    pub bytes: Vec<u8>,
}

#[derive(Clone, Debug, Default)]
pub struct Filler {
    pub bytes: Vec<u8>,
    pub count: usize,
}

#[derive(Clone, Debug)]
pub struct Field {
    pub name: String,
    pub kind: Kind,
}

/// What a field holds; forms and ways are called as in the file.
#[derive(Clone, Debug)]
pub enum Kind {
    Mark(Vec<u8>),
    Literal(Vec<u8>),
    Length { form: &'static str, counts: &'static str, of: Vec<String> },
    Last(&'static str),
    Address(&'static str),
    Sequence { form: &'static str, first: u16 },
    Data { most: usize, pad: Option<u8>, falling: bool, at: u16 },
    Label(usize),
    Entry(&'static str),
    Check { kind: &'static str, form: &'static str, stored: &'static str, over: Vec<String> },
}

/// One of the three parts of a program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    Head,
    Block,
    End,
}

impl Kind {
    /// The key by which the file asks for it.
    pub fn key(&self) -> &'static str {
        match self {
            Kind::Mark(_) => "mark",
            Kind::Literal(_) => "literal",
            Kind::Length { .. } => "length",
            Kind::Last(_) => "last",
            Kind::Address(_) => "address",
            Kind::Sequence { .. } => "sequence",
            Kind::Data { .. } => "data",
            Kind::Label(_) => "label",
            Kind::Entry(_) => "entry",
            Kind::Check { .. } => "check",
        }
    }
}

/// Bytes of a number.
pub fn width(form: &str) -> usize {
    if form.starts_with("u16") { 2 } else { 1 }
}

pub fn put(form: &str, value: usize) -> Vec<u8> {
    let (low, high) = (value as u8, (value >> 8) as u8);
    match form {
        "u16le" => vec![low, high],
        "u16be" => vec![high, low],
        _ => vec![low],
    }
}

pub fn get(form: &str, bytes: &[u8]) -> usize {
    let digits = bytes.iter().map(|&byte| usize::from(byte));
    if form == "u16le" {
        digits.rev().fold(0, |value, byte| value << 8 | byte)
    } else {
        digits.fold(0, |value, byte| value << 8 | byte)
    }
}

impl Spec {
    /// The layouts with their parts.
    pub fn layouts(&self) -> impl Iterator<Item = (Part, &Vec<Field>)> {
        let (head, end) = (self.head.iter().map(|it| (Part::Head, it)), self.end.iter().map(|it| (Part::End, it)));
        head.chain([(Part::Block, &self.block)]).chain(end)
    }

    pub fn layout(&self, part: Part) -> &[Field] {
        self.layouts().find(|(other, _)| *other == part).map_or(&[], |(_, layout)| layout)
    }

    pub fn is_seven_bit(&self) -> bool {
        self.characters.starts_with('7')
    }

    /// The form of the blocks' numbers, and the first.
    pub fn numbered(&self) -> Option<(&'static str, u16)> {
        self.block
            .iter()
            .find_map(|it| if let Kind::Sequence { form, first } = it.kind { Some((form, first)) } else { None })
    }

    /// The file.
    pub fn text(&self) -> String {
        let mut out =
            format!("name = \"random\"\ncharacters = \"{}\"\ndigits = \"{}\"\n", self.characters, self.digits);
        if let Some(Escape { byte, flip, bytes }) = &self.escape {
            let _ = writeln!(out, "escape = {{ byte = {byte}, flip = {flip}, bytes = {bytes:?} }}");
        }
        for (key, bytes) in [("ignore", &self.ignore), ("avoid", &self.avoid)] {
            if !bytes.is_empty() {
                let _ = writeln!(out, "{key} = {bytes:?}");
            }
        }
        for (key, filler) in [("leader", &self.leader), ("gap", &self.gap), ("trailer", &self.trailer)] {
            if filler.count > 0 {
                let _ = writeln!(out, "{key} = {{ bytes = {:?}, count = {} }}", filler.bytes, filler.count);
            }
        }
        let _ = writeln!(out, "origin = {}", self.origin);
        for (part, fields) in self.layouts() {
            let _ = writeln!(out, "{} = [", format!("{part:?}").to_lowercase());
            fields.iter().for_each(|field| {
                let _ = writeln!(out, "  {{ {} }},", field.text());
            });
            out += "]\n";
        }
        out
    }
}

impl Field {
    fn text(&self) -> String {
        let key = self.kind.key();
        let text = match &self.kind {
            Kind::Mark(bytes) | Kind::Literal(bytes) => format!("{key} = {bytes:?}"),
            Kind::Length { form, counts, of } => format!("{key} = \"{form}\", counts = \"{counts}\", of = {of:?}"),
            Kind::Last(form) | Kind::Address(form) | Kind::Entry(form) => format!("{key} = \"{form}\""),
            Kind::Sequence { form, first } => format!("{key} = \"{form}\", first = {first}"),
            Kind::Data { most, pad, falling, at } => {
                let pad = pad.map_or(String::new(), |pad| format!(", pad = {pad}"));
                let order = if *falling { "falling" } else { "rising" };
                format!("{key} = {most}{pad}, order = \"{order}\", at = {at}")
            }
            Kind::Label(most) => format!("{key} = {most}"),
            Kind::Check { kind, form, stored, over } => {
                let form = if width(form) == 2 { format!(", as = \"{form}\"") } else { String::new() };
                format!("{key} = \"{kind}\"{form}, stored = \"{stored}\", over = {over:?}")
            }
        };
        if self.name == key { text } else { format!("{text}, name = \"{}\"", self.name) }
    }
}
