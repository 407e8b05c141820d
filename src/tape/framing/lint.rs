//! Whether a framing can be decoded: each reason why one cannot is told at its place.

use super::beginnings::{field_sets, first, positions};
use super::field::{Data, Kind, Part, Pointer};
use super::layout::Layout;
use super::load::Places;
use super::{Filler, Framing, Placing};
use crate::notation::Notation;
use crate::source::{Code, Diagnostic, Diagnostics, Span};

/// Tells everything for which no decoder could read the framing.
pub(super) fn check(framing: &Framing, places: &Places, problems: &mut Diagnostics) {
    let mut lint = Lint { framing, places, problems };
    for layout in framing.layouts() {
        lint.has_a_size(layout);
        lint.counts_well(layout);
        lint.has_no_twins(layout);
        lint.stays_in_memory(layout);
        lint.stands_in_its_part(layout);
    }
    lint.block_carries_data();
    lint.numbers_agree();
    lint.escapes();
    lint.seven_bits();
    lint.ignored_frames();
    lint.avoided_bytes();
    if !lint.problems.has_errors() {
        lint.begins_unlike_filler();
        lint.parts_differ();
    }
}

struct Lint<'a> {
    framing: &'a Framing,
    places: &'a Places,
    problems: &'a mut Diagnostics,
}

impl Lint<'_> {
    fn refuse(&mut self, span: Span, headline: impl Into<String>, label: &str, help: &str) {
        let problem = Diagnostic::error(Code::FramingUndecodable, headline).at(span, label).with_help(help);
        self.problems.push(problem);
    }

    /// Whatever changes its size needs a field before it that tells the size.
    fn has_a_size(&mut self, layout: &Layout) {
        let part = layout.part;
        let variables: Vec<_> = (0..layout.fields.len())
            .filter(|&index| matches!(layout.fields[index].kind, Kind::Data(Data { pad: None, .. }) | Kind::Label(_)))
            .collect();
        if let [_, second, ..] = variables[..] {
            let help = "give all but one of them a fixed size with `pad`";
            let headline = format!("two fields of the {} change their size", part.key());
            self.refuse(self.places.field(part, second), headline, "nothing tells where this one begins", help);
        }
        let Some(&variable) = variables.first() else { return };
        let name = layout.fields[variable].name.clone();
        match layout.counter() {
            None => {
                let help = "put a `length` or `last` field before it, or fix its size with `pad`";
                let headline = format!("nothing tells where the {name} ends");
                self.refuse(self.places.field(part, variable), headline, "its size changes from block to block", help);
            }
            Some(counter) if counter > variable => {
                let headline = format!("the length of the {name} stands behind it");
                let help = "put the length before the bytes that it counts";
                self.refuse(self.places.field(part, counter), headline, "a reader needs this first", help);
            }
            Some(_) => {}
        }
    }

    /// A length must tell every number of bytes from every other, a last address needs a first one.
    fn counts_well(&mut self, layout: &Layout) {
        let Some(counter) = layout.counter() else { return };
        let place = self.places.field(layout.part, counter);
        match &layout.fields[counter].kind {
            Kind::Length { word, of, .. } => {
                let carries = |index: &usize| matches!(layout.fields[*index].kind, Kind::Data(_) | Kind::Label(_));
                if !of.iter().any(carries) {
                    let help = "add the data's name to `of`";
                    self.refuse(place, "the length does not count the data", "it tells nothing new", help);
                } else if layout.most() - layout.fewest() >= word.modulus() {
                    let headline = format!("`{}` bytes are more than this length can tell apart", layout.most());
                    let label = format!("it has only {} values", word.modulus());
                    self.refuse(place, headline, &label, "make the data shorter or the length two bytes wide");
                }
            }
            _ => {
                let before = layout.address().is_some_and(|(index, pointer)| {
                    index < counter && !matches!(pointer, Pointer::Low) && layout.data().all(|(data, _)| data > counter)
                });
                let page = layout.address().is_some_and(|(_, pointer)| pointer == Pointer::Page);
                if !before {
                    let help = "put the address before the last address, and both before the data";
                    self.refuse(place, "the last address alone tells no length", "it needs the first address", help);
                } else if page && layout.from_the_top() {
                    let help = "carry the whole address, or a length instead of the last address";
                    let headline = "page and last address tell no length of falling data";
                    self.refuse(place, headline, "both are of the lowest byte, the highest is unknown", help);
                } else if layout.lowest() > 0 {
                    let help = "carry a length instead of the last address, or leave `at` out";
                    self.refuse(
                        place,
                        "`at` and a last address contradict each other",
                        "which one moves the data?",
                        help,
                    );
                }
            }
        }
    }

    /// Fields of which there can be one only.
    fn has_no_twins(&mut self, layout: &Layout) {
        let class = |kind: &Kind| match kind {
            Kind::Length { .. } | Kind::Last(_) => Some("length"),
            Kind::Address(_) => Some("address"),
            Kind::Sequence { .. } => Some("sequence"),
            Kind::Entry(_) => Some("entry"),
            Kind::Label(_) => Some("label"),
            _ => None,
        };
        let mut seen = Vec::new();
        for (index, field) in layout.fields.iter().enumerate() {
            let Some(class) = class(&field.kind) else { continue };
            if seen.contains(&class) {
                let headline = format!("the {} has two fields for the {class}", layout.part.key());
                let place = self.places.field(layout.part, index);
                self.refuse(place, headline, "they could contradict each other", "leave one of them out");
            }
            seen.push(class);
        }
    }

    /// Several data fields are windows over memory, which must not overlap or reach past its top.
    fn stays_in_memory(&mut self, layout: &Layout) {
        let mut windows: Vec<_> = layout
            .data()
            .map(|(index, data)| (usize::from(data.at), usize::from(data.at) + data.most, index))
            .collect();
        windows.sort_unstable();
        let place = |index| self.places.field(layout.part, index);
        let overlap = windows.windows(2).find(|pair| pair[1].0 < pair[0].1).map(|pair| place(pair[1].2));
        let outside = windows.iter().find(|window| window.1 > 0x1_0000).map(|window| place(window.2));
        if let Some(place) = overlap {
            let help = "set `at` so that each byte of memory belongs to one field";
            self.refuse(place, "two data fields are for the same bytes of memory", "overlaps another", help);
        }
        if let Some(place) = outside {
            self.refuse(place, "the data reaches past the top of memory", "`at` and size together", "make it shorter");
        }
        if windows.len() > 1 && layout.counter().is_some() {
            let help = "leave the length out: fields of fixed size need none";
            let place = self.places.field(layout.part, layout.counter().unwrap_or_default());
            self.refuse(place, "a length cannot tell how several data fields are filled", "counts for all", help);
        }
        if layout.part != Part::Block && !windows.is_empty() {
            let place = self.places.field(layout.part, windows[0].2);
            self.refuse(place, "only the block can carry data", "belongs into `block`", "move the field");
        }
    }

    /// Fields that only one of the three parts can have.
    fn stands_in_its_part(&mut self, layout: &Layout) {
        for (index, field) in layout.fields.iter().enumerate() {
            let place = self.places.field(layout.part, index);
            match (&field.kind, layout.part) {
                (Kind::Label(_), Part::Block | Part::End) => {
                    let headline = format!("the {} cannot carry a label", layout.part.key());
                    self.refuse(place, headline, "a program has its name in the head", "move it into `head`");
                }
                (Kind::Sequence { .. }, Part::Head) => {
                    let help = "if it always holds the same byte, say so with a `literal`";
                    self.refuse(place, "a head has no number", "it stands once, before the blocks", help);
                }
                (Kind::Last(_), Part::Head | Part::End) => {
                    let headline = format!("the {} carries no data that could have a last address", layout.part.key());
                    self.refuse(place, headline, "stands for a length of data", "move it into `block`");
                }
                _ => {}
            }
        }
    }

    /// The number of the end goes on from those of the blocks, so that it tells how many there were.
    fn numbers_agree(&mut self) {
        let Some((index, word, first)) = self.framing.end.as_ref().and_then(Layout::sequence) else { return };
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
        for layout in self.framing.layouts() {
            if let Some((index, Pointer::Low)) = layout.entry().filter(|_| layout.address().is_none()) {
                let help = "put the address into the same part, or carry both bytes of the entry";
                let place = self.places.field(layout.part, index);
                self.refuse(place, "the low byte alone tells no entry", "its page is unknown", help);
            }
        }
        let is_plain = block.data().count() == 1 && block.data().all(|(_, data)| data.at == 0 && !data.falling);
        let numbered = block.sequence().filter(|_| self.framing.placing() == Placing::ByNumber);
        if let Some((index, _, _)) = numbered.filter(|_| !is_plain) {
            let help = "give the block an address";
            let place = self.places.field(Part::Block, index);
            self.refuse(place, "the number alone does not tell where the bytes belong", "no address", help);
        }
    }

    fn escapes(&mut self) {
        let coding = &self.framing.coding;
        let (Some(escape), Some(place)) = (&coding.escape, self.places.escape) else { return };
        if let Some(byte) = escape.bytes.iter().find(|byte| escape.bytes.contains(byte ^ escape.flip)) {
            let byte = Notation::Octal.byte(byte);
            let headline = format!("`{byte}` is escaped into a byte that is itself escaped");
            self.refuse(place, headline, "the replacement must be free to stand", "choose other bits for `flip`");
        }
        if coding.digits.width() > 1 {
            self.refuse(place, "digits need no escape", "`digits` and `escape` together", "leave one of them out");
        }
    }

    /// Seven bits carry no byte, unless it is written in digits.
    fn seven_bits(&mut self) {
        if !self.framing.coding.characters.is_seven_bit() {
            return;
        }
        for layout in self.framing.layouts() {
            for (index, field) in layout.fields.iter().enumerate() {
                let sets = field_sets(&self.framing.coding, layout, index);
                if sets.iter().flat_map(|set| set.iter()).any(|character| character > 0o177) {
                    let headline = format!("the {} does not fit into seven bits", field.name);
                    let place = self.places.field(layout.part, index);
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
        if let Some(byte) = replaced.into_iter().find(|&byte| coding.ignore.contains(byte)) {
            let headline =
                format!("`{}` is ignored, and an escaped byte is written with it", Notation::Octal.byte(byte));
            return self.refuse(place, headline, "a reader would lose it", "choose other bits for `flip`");
        }
        for layout in self.framing.layouts() {
            for index in 0..layout.fields.len() {
                let mut sets = field_sets(coding, layout, index).into_iter();
                if let Some(common) = sets.find_map(|set| set.first_common(&coding.ignore)) {
                    let headline = format!("`{}` is ignored, and fields need it", Notation::Octal.byte(common));
                    let label = format!("the {} of the {} can hold it", layout.fields[index].name, layout.part.key());
                    return self.refuse(place, headline, &label, "escape the byte, or do not ignore it");
                }
            }
        }
    }

    /// A literal stands on every tape, so that its bytes cannot be avoided.
    fn avoided_bytes(&mut self) {
        let coding = &self.framing.coding;
        for layout in self.framing.layouts() {
            for (index, field) in layout.fields.iter().enumerate() {
                let Kind::Literal(bytes) = &field.kind else { continue };
                let mut characters = Vec::new();
                coding.write(bytes, &mut characters);
                let Some(&byte) = characters.iter().find(|&&character| coding.avoid.contains(character)) else {
                    continue;
                };
                let headline = format!("`{}` is avoided, and the {} needs it", Notation::Octal.byte(byte), field.name);
                let place = self.places.field(layout.part, index);
                let help = "make it a `mark`, which stands as it is, or do not avoid the byte";
                self.refuse(place, headline, "no program could be written", help);
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
        for layout in self.framing.layouts() {
            let first = first(self.framing, layout);
            for (filler, place) in self.fillers() {
                let Some(&byte) = filler.bytes.iter().find(|&&byte| first.contains(byte)) else { continue };
                let part = layout.part.key();
                let headline =
                    format!("the {part} can begin with `{}`, as the filler does", Notation::Octal.byte(byte));
                let problem = Diagnostic::error(Code::FramingUndecodable, headline)
                    .at(self.places.field(layout.part, 0), format!("no reader can tell where the {part} begins"))
                    .and_at(place, "stands before or behind it")
                    .with_help("begin it with a `mark` that differs from leader, gap and trailer");
                self.problems.push(problem);
                break;
            }
        }
    }

    /// Any two parts must differ at a place that both have.
    fn parts_differ(&mut self) {
        let layouts: Vec<_> = self.framing.layouts().collect();
        for (index, one) in layouts.iter().enumerate() {
            for other in &layouts[index + 1..] {
                let (first, second) = (positions(self.framing, one), positions(self.framing, other));
                let differ = first.iter().zip(&second).any(|(a, b)| a.first_common(b).is_none());
                if !differ {
                    let headline = format!("{} and {} can look alike", one.part.key(), other.part.key());
                    let problem = Diagnostic::error(Code::FramingUndecodable, headline)
                        .at(self.places.field(one.part, 0), "nothing in it tells it from the other")
                        .and_at(self.places.field(other.part, 0), "the other")
                        .with_help("let them differ in a mark or literal, or by a length that is never 0");
                    self.problems.push(problem);
                }
            }
        }
    }
}
