//! A part: how many words of how many bits it holds, and how an unprogrammed cell reads.

use std::borrow::Cow;

use super::outputs::{Level, Width};
use super::table::{Known, PARTS};
use crate::source::{Code, Diagnostic, nearest};

/// A part that can be seated in a socket.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// What is printed on it.
    pub name: Cow<'static, str>,
    /// Words: a power of two, 2 to 65536.
    pub words: usize,
    /// Outputs.
    pub width: Width,
    /// How an unprogrammed cell reads.
    pub erased: Level,
    /// Its row in the table; none for a user's own part.
    pub known: Option<&'static Known>,
}

impl Part {
    /// The largest number of words: what an 8080 can address.
    pub const MOST_WORDS: usize = 0x1_0000;

    /// Address lines.
    pub const fn address_lines(&self) -> usize {
        self.words.trailing_zeros() as usize
    }

    /// A word that is not programmed.
    pub const fn erased_word(&self) -> u8 {
        match self.erased {
            Level::Low => 0,
            Level::High => self.width.mask(),
        }
    }

    /// `512 x 8`.
    pub fn organisation(&self) -> String {
        format!("{} x {}", self.words, self.width.bits())
    }

    fn known(known: &'static Known, name: &'static str) -> Part {
        let Known { words, width, erased, .. } = *known;
        Part { name: name.into(), words, width, erased, known: Some(known) }
    }
}

/// A user's own part as a machine file describes it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartEntry {
    /// What is printed on it.
    pub name: String,
    /// Words: a power of two, 2 to 65536.
    pub words: u32,
    /// Outputs: 4 or 8.
    pub bits: u8,
    /// How an unprogrammed cell reads: 0 or 1.
    pub erased: u8,
}

impl PartEntry {
    /// Reads a part as it is typed: `NAME=WORDSxBITS,erased=0` or `,erased=1`.
    ///
    /// # Errors
    /// A diagnostic that says which piece was expected.
    pub fn parse(text: &str) -> Result<PartEntry, Diagnostic> {
        let refuse = |expected: &str| {
            Diagnostic::error(Code::PartMalformed, format!("`{text}` is not a part: expected {expected}"))
                .with_help("write NAME=WORDSxBITS,erased=0|1, such as `BOOT32=32x8,erased=0`")
        };
        let (name, rest) = text.split_once('=').ok_or_else(|| refuse("a name and `=`"))?;
        let (organisation, erased) = rest.split_once(',').ok_or_else(|| refuse("`,erased=` and 0 or 1"))?;
        let (words, bits) = organisation.split_once(['x', 'X']).ok_or_else(|| refuse("words, `x` and bits"))?;
        let erased = match erased.trim() {
            "erased=0" => 0,
            "erased=1" => 1,
            _ => return Err(refuse("`erased=0` or `erased=1`")),
        };
        let words = words.trim().parse().map_err(|_| refuse("a number of words"))?;
        let bits = bits.trim().parse().map_err(|_| refuse("a number of bits"))?;
        Ok(PartEntry { name: name.trim().into(), words, bits, erased })
    }

    fn check(&self) -> Result<Part, Diagnostic> {
        let refuse = |why: String| {
            let headline = format!("part `{}` cannot be: {why}", self.name);
            Diagnostic::error(Code::PartMalformed, headline)
        };
        if self.name.is_empty() || !self.name.chars().all(|letter| letter.is_ascii_graphic() && !"=@,".contains(letter))
        {
            return Err(refuse("a name is printable ASCII without blanks, `=`, `@` and `,`".into()));
        }
        let words = self.words as usize;
        if !words.is_power_of_two() || !(2..=Part::MOST_WORDS).contains(&words) {
            return Err(refuse(format!("`{words}` words is not a power of two in `2..=65536`")));
        }
        let width = match self.bits {
            4 => Width::Nibble,
            8 => Width::Byte,
            bits => return Err(refuse(format!("`{bits}` bits is neither 4 nor 8"))),
        };
        let erased = match self.erased {
            0 => Level::Low,
            1 => Level::High,
            level => return Err(refuse(format!("the erased level `{level}` is neither 0 nor 1"))),
        };
        Ok(Part { name: self.name.clone().into(), words, width, erased, known: None })
    }
}

/// The parts that a socket may name: the table, and before it a user's own.
#[derive(Clone, Debug, Default)]
pub struct Parts {
    own: Vec<Part>,
}

impl Parts {
    /// Adds a user's own part; it hides one of the same name in the table.
    ///
    /// # Errors
    /// A diagnostic if its organisation is impossible, or a part of the user's own has that name already.
    pub fn add(&mut self, entry: &PartEntry) -> Result<(), Diagnostic> {
        let part = entry.check()?;
        if self.own.iter().any(|own| own.name.eq_ignore_ascii_case(&part.name)) {
            let headline = format!("part `{}` is described twice", part.name);
            return Err(Diagnostic::error(Code::PartMalformed, headline));
        }
        self.own.push(part);
        Ok(())
    }

    /// The part of a name, in either case.
    ///
    /// # Errors
    /// A diagnostic that names the nearest part and how to describe one's own.
    pub fn find(&self, name: &str) -> Result<Part, Diagnostic> {
        let own = self.own.iter().find(|part| part.name.eq_ignore_ascii_case(name)).cloned();
        own.or_else(|| {
            names().find(|(_, known)| known.eq_ignore_ascii_case(name)).map(|(row, name)| Part::known(row, name))
        })
        .ok_or_else(|| self.unknown(name))
    }

    fn unknown(&self, name: &str) -> Diagnostic {
        let all = self.own.iter().map(|part| part.name.as_ref()).chain(names().map(|(_, name)| name));
        let own = "describe your own: `[[part]]` in a machine file, or --part NAME=WORDSxBITS,erased=0|1";
        let problem = Diagnostic::error(Code::PartUnknown, format!("`{name}` is not a known part"));
        match nearest(name, all) {
            Some(near) => problem
                .with_help(format!("did you mean `{near}`? `coldwright parts list` shows all; {own}"))
                .with_instead(near),
            None => problem.with_help(format!("`coldwright parts list` shows all; {own}")),
        }
    }
}

/// Every name of the table with its row.
fn names() -> impl Iterator<Item = (&'static Known, &'static str)> {
    PARTS.iter().flat_map(|row| row.names.iter().map(move |&name| (row, name)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_own_part_hides_the_table_and_names_are_found_in_either_case() {
        let mut parts = Parts::default();
        assert_eq!(parts.find("tms2716").unwrap().name, "TMS2716");
        parts.add(&PartEntry::parse("2708=64x4,erased=0").unwrap()).unwrap();
        let found = parts.find("2708").unwrap();
        assert_eq!((found.words, found.width, found.erased_word()), (64, Width::Nibble, 0));
        assert!(parts.add(&PartEntry::parse("2708=64x8,erased=0").unwrap()).is_err());
        assert_eq!(parts.find("2709").unwrap_err().code, Code::PartUnknown);
    }

    #[test]
    fn impossible_parts_are_refused() {
        for text in
            ["P", "P=8", "P=8x8", "P=8x8,erased=2", "P=ax8,erased=1", "P=8x,erased=1", "P=99999999999x8,erased=1"]
        {
            assert_eq!(PartEntry::parse(text).unwrap_err().code, Code::PartMalformed, "{text}");
        }
        for text in ["=8x8,erased=1", "a b=8x8,erased=1", "P=0x8,erased=1", "P=1x8,erased=1", "P=48x8,erased=1"] {
            let entry = PartEntry::parse(text).unwrap();
            assert_eq!(Parts::default().add(&entry).unwrap_err().code, Code::PartMalformed, "{text}");
        }
        for text in ["P=131072x8,erased=1", "P=8x5,erased=1"] {
            let entry = PartEntry::parse(text).unwrap();
            assert_eq!(Parts::default().add(&entry).unwrap_err().code, Code::PartMalformed, "{text}");
        }
    }
}
