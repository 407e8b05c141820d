//! A record: a row of fields, and the arithmetic of their sizes, which writing and reading share.

use std::ops::Range;

use super::check::{CheckKind, Stored};
use super::coding::Coding;
use super::field::{Counts, Data, Field, Kind, Pointer, Word};

/// Fields in order, with checks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Record {
    /// In the order in which they stand.
    pub fields: Vec<Field>,
    /// The check fields, each after those it is computed over.
    pub checks: Vec<usize>,
}

impl Record {
    /// The first field of which a property holds, with its index.
    fn find<T>(&self, property: impl Fn(&Kind) -> Option<T>) -> Option<(usize, T)> {
        self.fields.iter().enumerate().find_map(|(index, field)| Some((index, property(&field.kind)?)))
    }

    /// The field whose size changes from record to record.
    pub fn variable(&self) -> Option<usize> {
        let is_variable =
            |kind: &Kind| matches!(kind, Kind::Data(Data { pad: None, .. }) | Kind::Label(_)).then_some(());
        self.find(is_variable).map(|(index, ())| index)
    }

    /// The field that tells how many bytes there are.
    pub fn counter(&self) -> Option<usize> {
        self.find(|kind| matches!(kind, Kind::Length { .. } | Kind::Last(_)).then_some(())).map(|(index, ())| index)
    }

    /// The fields that hold bytes of the program.
    pub fn data(&self) -> impl Iterator<Item = (usize, &Data)> {
        self.fields.iter().enumerate().filter_map(|(index, field)| match &field.kind {
            Kind::Data(data) => Some((index, data)),
            _ => None,
        })
    }

    /// Whether the first byte that stands there is that of the highest address, so that its addresses are the highest one
    /// first. Fields that are lifted above the record's address leave it as it is.
    pub fn from_the_top(&self) -> bool {
        let mut data = self.data();
        matches!((data.next(), data.next()), (Some((_, Data { falling: true, at: 0, .. })), None))
    }

    /// How far above the record's address its lowest byte belongs.
    pub fn lowest(&self) -> usize {
        self.data().map(|(_, data)| usize::from(data.at)).min().unwrap_or(0)
    }

    /// The form of the address field.
    pub fn address(&self) -> Option<(usize, Pointer)> {
        self.find(|kind| if let Kind::Address(pointer) = kind { Some(*pointer) } else { None })
    }

    /// The form of the entry field.
    pub fn entry(&self) -> Option<(usize, Pointer)> {
        self.find(|kind| if let Kind::Entry(pointer) = kind { Some(*pointer) } else { None })
    }

    /// The sequence field: its index, form and first number.
    pub fn sequence(&self) -> Option<(usize, Word, u16)> {
        let found =
            self.find(|kind| if let Kind::Sequence { word, first } = kind { Some((*word, *first)) } else { None });
        found.map(|(index, (word, first))| (index, word, first))
    }

    /// The most bytes that the data or label fields carry; 0 without such a field.
    pub fn most(&self) -> usize {
        let sizes = self.fields.iter().map(|field| match field.kind {
            Kind::Data(data) => data.most,
            Kind::Label(most) => most,
            _ => 0,
        });
        sizes.sum()
    }

    /// The fewest bytes that they carry: data is one at least, a label may be empty, and fields that are always full
    /// carry all.
    pub fn fewest(&self) -> usize {
        match self.counter() {
            Some(_) if self.data().next().is_some() => 1,
            Some(_) => 0,
            None => self.most(),
        }
    }

    /// Bytes of a field when the data or label carries `count`.
    pub fn size(&self, field: usize, count: usize) -> usize {
        match &self.fields[field].kind {
            Kind::Mark(bytes) | Kind::Literal(bytes) => bytes.len(),
            Kind::Length { word, .. } | Kind::Last(word) | Kind::Sequence { word, .. } => word.width(),
            Kind::Address(pointer) | Kind::Entry(pointer) => pointer.width(),
            Kind::Data(Data { most, pad: Some(_), .. }) => *most,
            Kind::Data(_) | Kind::Label(_) => count,
            Kind::Here(_) | Kind::Next { .. } => 1,
            Kind::Check { word, .. } => word.width(),
        }
    }

    /// Where each field stands in the bytes of a record that carries `count`.
    pub fn ranges(&self, count: usize) -> Vec<Range<usize>> {
        let mut at = 0;
        (0..self.fields.len())
            .map(|field| {
                let start = at;
                at += self.size(field, count);
                start..at
            })
            .collect()
    }

    /// The fewest characters that it takes.
    pub fn fewest_characters(&self, coding: &Coding) -> usize {
        let characters = self.fields.iter().enumerate().map(|(index, field)| {
            let width = if matches!(field.kind, Kind::Mark(_)) { 1 } else { coding.digits.width() };
            width * self.size(index, self.fewest())
        });
        characters.sum()
    }

    /// The most characters that it takes.
    pub fn most_characters(&self, coding: &Coding) -> usize {
        coding.most_characters(self.ranges(self.most()).last().map_or(0, |last| last.end))
    }

    /// The number that a length field holds for a record that carries `count`.
    pub fn length_value(&self, counts: Counts, of: &[usize], count: usize) -> u16 {
        let total = self.counted(of, count);
        match counts {
            Counts::Number => total as u16,
            Counts::LessOne => (total as u16).wrapping_sub(1),
            Counts::Negated => (total as u16).wrapping_neg(),
        }
    }

    /// What a length field tells of the data or label: how many bytes it carries; nothing if no record has that
    /// length.
    pub fn count_of_length(&self, word: Word, counts: Counts, of: &[usize], value: u16) -> Option<usize> {
        let total = match counts {
            Counts::Number => value,
            Counts::LessOne => value.wrapping_add(1),
            Counts::Negated => value.wrapping_neg(),
        };
        let (modulus, fewest) = (word.modulus(), self.fewest());
        let fixed = self.counted(of, 0);
        let above = (usize::from(total) + 2 * modulus - fixed % modulus - fewest) % modulus;
        Some(fewest + above).filter(|&count| count <= self.most())
    }

    /// The bytes of the counted fields; padding is not counted.
    fn counted(&self, of: &[usize], count: usize) -> usize {
        let sizes = of.iter().map(|&field| match self.fields[field].kind {
            Kind::Data(_) | Kind::Label(_) => count,
            _ => self.size(field, count),
        });
        sizes.sum()
    }

    /// The fields, by index, that say something which no check would notice if it changed. Marks and literals say nothing:
    /// they are what they are, or there is no such record.
    pub fn unproved(&self) -> impl Iterator<Item = usize> {
        let says = |kind: &Kind| !matches!(kind, Kind::Mark(_) | Kind::Literal(_) | Kind::Check { .. });
        (0..self.fields.len()).filter(move |&index| says(&self.fields[index].kind) && !self.is_covered(index))
    }

    /// The names of these fields.
    pub fn unproved_names(&self) -> Vec<String> {
        self.unproved().map(|index| self.fields[index].name.clone()).collect()
    }

    /// Whether a check would notice a change of a field: it is computed over it, or is the field itself.
    pub fn is_covered(&self, field: usize) -> bool {
        self.checks.iter().any(|&index| match &self.fields[index].kind {
            Kind::Check { over, .. } => index == field || over.contains(&field),
            _ => false,
        })
    }

    /// Bytes of the widest check; 0 without one.
    pub fn check_width(&self) -> usize {
        let widths = self.checks.iter().map(|&index| match &self.fields[index].kind {
            Kind::Check { kind, .. } => kind.width(),
            _ => 0,
        });
        widths.max().unwrap_or(0)
    }

    /// The first check of a record's bytes that fails: its field, the value that stands there, the value that belongs
    /// there.
    pub fn failed_check(&self, body: &[u8], ranges: &[Range<usize>]) -> Option<(usize, u16, u16)> {
        self.checks.iter().find_map(|&index| {
            let Kind::Check { kind, word, stored, over } = &self.fields[index].kind else { return None };
            let found = word.read(&body[ranges[index].clone()]);
            let right = check_value(*kind, *stored, over, body, ranges);
            (found != right).then_some((index, found, right))
        })
    }

    /// Puts the values of the checks into the bytes of all other fields.
    pub(super) fn write_checks(&self, body: &mut [u8], ranges: &[Range<usize>]) {
        for &index in &self.checks {
            if let Kind::Check { kind, word, stored, over } = &self.fields[index].kind {
                let value = check_value(*kind, *stored, over, body, ranges);
                word.write(value, &mut body[ranges[index].clone()]);
            }
        }
    }
}

/// The check over the fields of a record's bytes, as it stands there.
fn check_value(kind: CheckKind, stored: Stored, over: &[usize], body: &[u8], ranges: &[Range<usize>]) -> u16 {
    let mut running = kind.start();
    for &field in over {
        running.update(&body[ranges[field].clone()]);
    }
    // A field has a check of two bytes at most.
    stored.apply(kind, kind.finish(running)) as u16
}
