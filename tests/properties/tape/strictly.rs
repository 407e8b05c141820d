//! A reader that takes a tape only if every frame of it is filler or part of a head, block or end with nothing against
//! it: its marks and literals are there, its checks agree by their definitions, and its numbers go on. What it takes is
//! what no reader could know to be damaged.

use super::by_hand::{Said, address, check, from_the_top, length, named, punch, size, stored, windows};
use super::spec::{Field, Kind, Part, Spec, get, width};

/// What stands on a tape that is sound from end to end.
pub fn read(spec: &Spec, frames: &[u8]) -> Option<Vec<Said>> {
    let (characters, offsets) = characters(spec, frames)?;
    let filler = |character: u8| {
        [&spec.leader, &spec.gap, &spec.trailer].iter().any(|it| it.count > 0 && it.bytes.contains(&character))
    };
    let (mut at, mut parts) = (0, Vec::new());
    while let Some(&character) = characters.get(at) {
        if filler(character) {
            at += 1;
            continue;
        }
        let (mut said, end) = sound_part(spec, &characters, at)?;
        said.range = offsets[at]..offsets[end - 1] + 1;
        parts.push(said);
        at = end;
    }
    (numbers_go_on(spec, &parts) && addresses_agree(spec, &parts)).then_some(parts)
}

/// Whether what each head and end says of the address of its program's first block is so.
fn addresses_agree(spec: &Spec, parts: &[Said]) -> bool {
    let agrees = |said: &Said, blocks: &[Said]| {
        let addresses = blocks.iter().filter_map(|block| block.address);
        let first = if spec.numbered().is_some() { addresses.clone().next() } else { addresses.min() };
        let page = address(spec.layout(said.part)) == Some("page");
        let told = |at: usize| if page { at & 0xFF00 } else { at };
        said.address.is_none_or(|says| first.is_none_or(|first| says == told(first)))
    };
    let is_block = |said: &&Said| said.part == Part::Block;
    (0..parts.len()).all(|index| match parts[index].part {
        Part::Block => true,
        Part::Head => {
            let count = parts[index + 1..].iter().take_while(is_block).count();
            agrees(&parts[index], &parts[index + 1..index + 1 + count])
        }
        Part::End => {
            let count = parts[..index].iter().rev().take_while(is_block).count();
            agrees(&parts[index], &parts[index - count..index])
        }
    })
}

/// Characters without parity and without ignored ones, with their offsets; nothing if a track 8 is wrong.
fn characters(spec: &Spec, frames: &[u8]) -> Option<(Vec<u8>, Vec<usize>)> {
    let (mut characters, mut offsets) = (Vec::new(), Vec::new());
    for (offset, &frame) in frames.iter().enumerate() {
        let character = if spec.is_seven_bit() { frame & 0x7F } else { frame };
        if spec.ignore.contains(&character) {
            continue;
        }
        if spec.characters != "7N" && punch(spec.characters, character) != frame {
            return None;
        }
        characters.push(character);
        offsets.push(offset);
    }
    Some((characters, offsets))
}

fn sound_part(spec: &Spec, characters: &[u8], at: usize) -> Option<(Said, usize)> {
    spec.layouts().find_map(|(part, layout)| one(spec, part, layout, characters, at))
}

/// The bytes of `count` bytes from a place on, and where they end.
fn decoded(spec: &Spec, characters: &[u8], mut at: usize, count: usize) -> Option<(Vec<u8>, usize)> {
    let mut bytes = Vec::new();
    while bytes.len() < count {
        let digits = match spec.digits {
            "hex" => 2,
            "octal" => 3,
            _ => 0,
        };
        if digits > 0 {
            let text = std::str::from_utf8(characters.get(at..at + digits)?).ok()?;
            let value = text.chars().try_fold(0, |value, digit| {
                let radix = if digits == 2 { 16 } else { 8 };
                Some(value * radix + digit.to_digit(radix)?)
            })?;
            bytes.push(u8::try_from(value).ok()?);
            at += digits;
            continue;
        }
        let &character = characters.get(at)?;
        at += 1;
        match &spec.escape {
            Some(escape) if character == escape.byte => {
                let byte = characters.get(at)? ^ escape.flip;
                at += 1;
                bytes.push((byte == escape.byte || escape.bytes.contains(&byte)).then_some(byte)?);
            }
            Some(escape) if escape.bytes.contains(&character) => return None,
            _ => bytes.push(character),
        }
    }
    Some((bytes, at))
}

fn one(spec: &Spec, part: Part, layout: &[Field], characters: &[u8], start: usize) -> Option<(Said, usize)> {
    let most: usize = layout
        .iter()
        .map(|field| match field.kind {
            Kind::Data { most, .. } | Kind::Label(most) => most,
            _ => 0,
        })
        .sum();
    let (mut count, mut at, mut fields) = (most, start, Vec::<Vec<u8>>::new());
    for field in layout {
        let (bytes, end) = match &field.kind {
            Kind::Mark(mark) => (characters.get(at..at + mark.len())?.to_vec(), at + mark.len()),
            _ => decoded(spec, characters, at, size(field, count))?,
        };
        match &field.kind {
            Kind::Mark(wanted) | Kind::Literal(wanted) if bytes != *wanted => return None,
            Kind::Length { form, counts, of } => {
                let fewest = usize::from(part == Part::Block);
                let says = |count: &usize| put_length(layout, of, counts, form, *count) == get(form, &bytes);
                count = (fewest..=most).find(says)?;
            }
            Kind::Last(form) => {
                let place = layout.iter().position(|field| matches!(field.kind, Kind::Address(_)))?;
                let first = first_address(layout, &fields[place])?;
                let last = get(form, &bytes);
                let distance = if from_the_top(layout) { first.wrapping_sub(last) } else { last.wrapping_sub(first) };
                count = (distance & 0xFFFF) + 1;
                if count > most {
                    return None;
                }
            }
            _ => {}
        }
        fields.push(bytes);
        at = end;
    }
    for (field, bytes) in layout.iter().zip(&fields) {
        if let Kind::Check { kind, form, stored: how, over } = &field.kind
            && get(form, bytes) != stored(how, form, check(kind, &named(layout, &fields, over)))
        {
            return None;
        }
    }
    let said = said(spec, part, layout, &fields, count)?;
    Some((said, at))
}

fn put_length(layout: &[Field], of: &[String], counts: &str, form: &str, count: usize) -> usize {
    length(layout, of, counts, count) & ((1 << (8 * width(form))) - 1)
}

fn first_address(layout: &[Field], bytes: &[u8]) -> Option<usize> {
    Some(if address(layout)? == "page" { usize::from(bytes[0]) << 8 } else { get(address(layout)?, bytes) })
}

fn said(spec: &Spec, part: Part, layout: &[Field], fields: &[Vec<u8>], count: usize) -> Option<Said> {
    let mut said =
        Said { part, range: 0..0, pieces: Vec::new(), address: None, entry: None, label: None, number: None };
    let number = layout.iter().zip(fields).find_map(|(field, bytes)| match field.kind {
        Kind::Sequence { form, .. } => Some(get(form, bytes)),
        _ => None,
    });
    let place = layout.iter().position(|field| matches!(field.kind, Kind::Address(_)));
    let base = match (place, spec.numbered()) {
        (Some(place), _) => {
            let first = first_address(layout, &fields[place])?;
            let is_top = from_the_top(layout) && address(layout) != Some("page");
            if is_top { (first + 1).checked_sub(count)? } else { first }
        }
        (None, Some((form, first))) => {
            let modulus = 1 << (8 * width(form));
            let most: usize = windows(&spec.block).iter().map(|window| window.1).sum();
            let index = (number.unwrap_or(first.into()) + modulus - usize::from(first)) % modulus;
            usize::from(spec.origin) + index * most
        }
        (None, None) => spec.origin.into(),
    };
    said.address = (part == Part::Block || place.is_some()).then_some(base);
    for (field, bytes) in layout.iter().zip(fields) {
        match field.kind {
            Kind::Data { most, falling, at, .. } => {
                let mut bytes = bytes[..count.min(most)].to_vec();
                if falling {
                    bytes.reverse();
                }
                let lowest = base + usize::from(at);
                if lowest + bytes.len() > 0x1_0000 {
                    return None;
                }
                said.pieces.push((lowest as u16, bytes));
            }
            Kind::Entry("low") => said.entry = Some((base & 0xFF00) as u16 | u16::from(bytes[0])),
            Kind::Entry(form) => said.entry = Some(get(form, bytes) as u16),
            Kind::Label(_) => said.label = Some(String::from_utf8_lossy(bytes).into_owned()),
            Kind::Sequence { .. } => said.number = number,
            _ => {}
        }
    }
    Some(said)
}

/// Whether no block is known to be lacking: numbers follow each other from the first, every program has blocks and the
/// head and end that are declared, and no entry contradicts another.
fn numbers_go_on(spec: &Spec, parts: &[Said]) -> bool {
    let (form, first) = spec.numbered().unwrap_or(("u16le", 0));
    let modulus = 1 << (8 * width(form));
    let (mut expected, mut blocks, mut ended, mut headed) = (0, 0, true, spec.head.is_none());
    let alone = spec.numbered().is_none() && address(&spec.block).is_none();
    for said in parts {
        let index = said.number.map(|number| (number + modulus - usize::from(first)) % modulus);
        let begins =
            said.part == Part::Head || alone && said.part == Part::Block || spec.end.is_none() && index == Some(0);
        if begins && blocks > 0 {
            if spec.end.is_some() && !ended {
                return false;
            }
            (expected, blocks) = (0, 0);
        }
        if index.is_some_and(|index| index != expected % modulus) {
            return false;
        }
        match said.part {
            Part::Head => headed = true,
            _ if !headed => return false,
            Part::Block => (expected, blocks, ended) = (expected + 1, blocks + 1, false),
            Part::End if blocks == 0 => return false,
            Part::End => (expected, blocks, ended, headed) = (0, 0, true, spec.head.is_none()),
        }
    }
    !parts.is_empty() && (spec.end.is_none() || ended)
}
