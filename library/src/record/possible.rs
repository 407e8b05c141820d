//! The characters that can stand at each place of a record, by which records are told from each other and from what
//! stands between them.

use super::coding::Coding;
use super::field::Kind;
use super::fields::Record;
use super::set::ByteSet;

impl Record {
    /// The characters with which it can begin.
    pub fn first(&self, coding: &Coding) -> ByteSet {
        self.positions(coding).first().copied().unwrap_or(ByteSet::ALL)
    }

    /// The characters that can stand at each of its places, as far as places are the same in every record.
    pub fn positions(&self, coding: &Coding) -> Vec<ByteSet> {
        let mut positions = Vec::new();
        for index in 0..self.fields.len() {
            let is_fixed = matches!(self.fields[index].kind, Kind::Mark(_) | Kind::Literal(_));
            positions.extend(self.field_sets(coding, index));
            if self.variable() == Some(index) || (coding.escape.is_some() && !is_fixed) {
                break;
            }
        }
        positions
    }

    /// The characters that can stand at each place of a field; of a long field only the first places.
    pub fn field_sets(&self, coding: &Coding, index: usize) -> Vec<ByteSet> {
        match &self.fields[index].kind {
            Kind::Mark(bytes) => bytes.iter().map(|&byte| ByteSet::from_iter([byte])).collect(),
            Kind::Literal(bytes) => {
                let mut characters = Vec::new();
                coding.write(bytes, &mut characters);
                characters.into_iter().map(|character| ByteSet::from_iter([character])).collect()
            }
            Kind::Length { word, counts, of } => {
                let mut sets = vec![ByteSet::default(); word.width()];
                for count in self.fewest()..=self.most() {
                    let mut bytes = [0; 2];
                    word.write(self.length_value(*counts, of, count), &mut bytes[..word.width()]);
                    sets.iter_mut().zip(bytes).for_each(|(set, byte)| set.insert(byte));
                }
                sets.iter().flat_map(|set| byte_sets(coding, set)).collect()
            }
            _ => {
                let bytes = self.size(index, self.fewest()).min(4);
                (0..bytes).flat_map(|_| byte_sets(coding, &ByteSet::ALL)).collect()
            }
        }
    }
}

/// The characters that can stand at each place of a byte that has one of some values.
fn byte_sets(coding: &Coding, values: &ByteSet) -> Vec<ByteSet> {
    let digits = coding.digits;
    if digits.width() == 1 {
        let mut set = *values;
        if let Some(escape) = &coding.escape {
            set = values.iter().filter(|&byte| !escape.bytes.contains(byte)).collect();
            if values.first_common(&escape.bytes).is_some() {
                set.insert(escape.byte);
            }
        }
        return vec![set];
    }
    (0..digits.width())
        .map(|place| {
            let upper = values.iter().map(|byte| digits.digit(byte, place));
            upper.flat_map(|digit| [digit, digit.to_ascii_lowercase()]).collect()
        })
        .collect()
}
