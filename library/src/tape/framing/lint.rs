//! Whether a framing can be decoded: each reason why one cannot is told at its place.

use super::declared::{Filler, Framing, Placing};
use super::part::Part;
use super::places::Places;
use crate::notation::Notation;
use crate::record::{Kind, Record, lint};
use crate::source::{Code, Diagnostic, Diagnostics, Span};

/// Tells everything for which no decoder could read the framing, in `notation`.
pub(super) fn check(framing: &Framing, places: &Places, notation: Notation, problems: &mut Diagnostics) {
    let mut lint = Lint { framing, places, notation, problems };
    for (part, record) in framing.parts() {
        lint::fields(record, places.part(part), lint.problems);
        lint.stands_in_its_part(part, record);
    }
    lint.block_carries_data();
    lint.numbers_agree();
    lint::coding(&framing.coding, places.escape, notation, lint.problems);
    lint.seven_bits();
    lint.ignored_frames();
    for (part, record) in framing.parts() {
        lint::avoided(record, &framing.coding, places.part(part), notation, lint.problems);
    }
    if !lint.problems.has_errors() {
        lint.begins_unlike_filler();
        lint.parts_differ();
    }
}

struct Lint<'a> {
    framing: &'a Framing,
    places: &'a Places,
    notation: Notation,
    problems: &'a mut Diagnostics,
}

impl Lint<'_> {
    fn refuse(&mut self, span: Span, headline: impl Into<String>, label: &str, help: &str) {
        self.problems.push(lint::refused(span, headline, label, help));
    }

    /// Fields that only one of the three parts can have.
    fn stands_in_its_part(&mut self, part: Part, record: &Record) {
        if let Some((index, _)) = record.data().next().filter(|_| part != Part::Block) {
            let place = self.places.field(part, index);
            self.refuse(place, "only the block can carry data", "belongs into `block`", "move the field");
        }
        for (index, field) in record.fields.iter().enumerate() {
            let place = self.places.field(part, index);
            match (&field.kind, part) {
                (Kind::Label(_), Part::Block | Part::End) => {
                    let headline = format!("the {} cannot carry a label", part.key());
                    self.refuse(place, headline, "a program has its name in the head", "move it into `head`");
                }
                (Kind::Sequence { .. }, Part::Head) => {
                    let help = "if it always holds the same byte, say so with a `literal`";
                    self.refuse(place, "a head has no number", "it stands once, before the blocks", help);
                }
                (Kind::Last(_), Part::Head | Part::End) => {
                    let headline = format!("the {} carries no data that could have a last address", part.key());
                    self.refuse(place, headline, "stands for a length of data", "move it into `block`");
                }
                _ => {}
            }
        }
    }

    /// The number of the end goes on from those of the blocks, so that it tells how many there were.
    fn numbers_agree(&mut self) {
        let Some((index, word, first)) = self.framing.end.as_ref().and_then(Record::sequence) else { return };
        let place = self.places.field(Part::End, index);
        match self.framing.block.sequence() {
            None => {
                let help = "number the blocks too, or leave it out";
                self.refuse(place, "the end is numbered, and the blocks are not", "it would count nothing", help);
            }
            Some((_, of_blocks, first_block)) if (word, first) != (of_blocks, first_block) => {
                let help = "write both `sequence` fields alike";
                let label = "it goes on from the number of the last block";
                self.refuse(place, "the number of the end is not like that of the blocks", label, help);
            }
            Some(_) => {}
        }
    }

    fn block_carries_data(&mut self) {
        let block = &self.framing.block;
        if block.data().next().is_none() {
            let place = self.places.field(Part::Block, 0);
            self.refuse(place, "the block carries no data", "one field must be `data`", "add `{ data = 128 }`");
        }
        let is_plain = block.data().count() == 1 && block.data().all(|(_, data)| data.at == 0 && !data.falling);
        let numbered = block.sequence().filter(|_| self.framing.placing() == Placing::ByNumber);
        if let Some((index, _, _)) = numbered.filter(|_| !is_plain) {
            let help = "give the block an address";
            let place = self.places.field(Part::Block, index);
            self.refuse(place, "the number alone does not tell where the bytes belong", "no address", help);
        }
    }

    /// Seven bits carry no byte, unless it is written in digits.
    fn seven_bits(&mut self) {
        if !self.framing.characters.is_seven_bit() {
            return;
        }
        for (part, record) in self.framing.parts() {
            for (index, field) in record.fields.iter().enumerate() {
                let sets = record.field_sets(&self.framing.coding, index);
                if sets.iter().flat_map(|set| set.iter()).any(|character| character > 0o177) {
                    let headline = format!("the {} does not fit into seven bits", field.name);
                    let place = self.places.field(part, index);
                    let help = "write bytes as digits with `digits = \"hex\"`, or use eight bits";
                    self.refuse(place, headline, "a byte has eight", help);
                }
            }
        }
        for (filler, place) in self.fillers() {
            if filler.bytes.iter().any(|&byte| byte > 0o177) {
                let help = "give the character without its parity";
                self.refuse(place, "a filler does not fit into seven bits", "above 0o177", help);
            }
        }
    }

    fn ignored_frames(&mut self) {
        let coding = &self.framing.coding;
        let Some(place) = self.places.ignore else { return };
        let replaced = coding.escape.iter().flat_map(|escape| escape.bytes.iter().map(|byte| byte ^ escape.flip));
        if let Some(byte) = replaced.into_iter().find(|&byte| self.framing.ignore.contains(byte)) {
            let headline = format!("`{}` is ignored, and an escaped byte is written with it", self.notation.byte(byte));
            return self.refuse(place, headline, "a reader would lose it", "choose other bits for `flip`");
        }
        for (part, record) in self.framing.parts() {
            for index in 0..record.fields.len() {
                let mut sets = record.field_sets(coding, index).into_iter();
                if let Some(common) = sets.find_map(|set| set.first_common(&self.framing.ignore)) {
                    let headline = format!("`{}` is ignored, and fields need it", self.notation.byte(common));
                    let label = format!("the {} of the {} can hold it", record.fields[index].name, part.key());
                    return self.refuse(place, headline, &label, "escape the byte, or do not ignore it");
                }
            }
        }
    }

    /// Each given filler with its place.
    fn fillers(&self) -> Vec<(Filler, Span)> {
        let (framing, places) = (self.framing, self.places);
        let all = [(&framing.leader, places.leader), (&framing.gap, places.gap), (&framing.trailer, places.trailer)];
        all.into_iter().filter_map(|(filler, place)| Some((filler.clone(), place?))).collect()
    }

    fn begins_unlike_filler(&mut self) {
        for (part, record) in self.framing.parts() {
            let first = record.first(&self.framing.coding);
            for (filler, place) in self.fillers() {
                let Some(&byte) = filler.bytes.iter().find(|&&byte| first.contains(byte)) else { continue };
                let name = part.key();
                let headline = format!("the {name} can begin with `{}`, as the filler does", self.notation.byte(byte));
                let problem = Diagnostic::error(Code::FramingUndecodable, headline)
                    .at(self.places.field(part, 0), format!("no reader can tell where the {name} begins"))
                    .and_at(place, "stands before or behind it")
                    .with_help("begin it with a `mark` that differs from leader, gap and trailer");
                self.problems.push(problem);
                break;
            }
        }
    }

    /// Any two parts must differ at a place that both have.
    fn parts_differ(&mut self) {
        let coding = &self.framing.coding;
        let parts: Vec<_> = self.framing.parts().map(|(part, record)| (part, record.positions(coding))).collect();
        for (index, (one, first)) in parts.iter().enumerate() {
            for (other, second) in &parts[index + 1..] {
                let differ = first.iter().zip(second).any(|(a, b)| a.first_common(b).is_none());
                if !differ {
                    let headline = format!("{} and {} can look alike", one.key(), other.key());
                    let problem = Diagnostic::error(Code::FramingUndecodable, headline)
                        .at(self.places.field(*one, 0), "nothing in it tells it from the other")
                        .and_at(self.places.field(*other, 0), "the other")
                        .with_help("let them differ in a mark or literal, or by a length that is never 0");
                    self.problems.push(problem);
                }
            }
        }
    }
}
