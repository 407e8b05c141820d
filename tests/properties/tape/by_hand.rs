//! An encoder written apart from the program's, from `docs/framing-file.md` alone, with the checks computed by their
//! definitions.

use std::collections::BTreeMap;
use std::ops::Range;

use super::spec::{Field, Filler, Kind, Part, Spec, put, width};

/// A program to be written.
#[derive(Clone, Debug)]
pub struct Source {
    pub name: String,
    pub bytes: BTreeMap<u16, u8>,
    pub entry: u16,
}

/// One head, block or end: where it stands on the tape, and what it says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    pub part: Part,
    pub range: Range<usize>,
    /// Bytes with their lowest addresses.
    pub pieces: Vec<(u16, Vec<u8>)>,
    /// Its address: of a block its own, of a head or end that of the first block, if it says it.
    pub address: Option<usize>,
    pub entry: Option<u16>,
    pub label: Option<String>,
    /// Its number as it stands on the tape.
    pub number: Option<usize>,
}

/// A tape, and what stands on it.
#[derive(Clone, Debug, Default)]
pub struct Written {
    pub frames: Vec<u8>,
    pub parts: Vec<Said>,
}

/// The value of a check, bit by bit.
pub fn check(kind: &str, bytes: &[u8]) -> usize {
    let sum: usize = bytes.iter().map(|&byte| usize::from(byte)).sum();
    match kind {
        "sum8" => sum % 256,
        "sum16" => sum % 65536,
        "carry-sum8" => bytes.iter().fold(0, |sum, &byte| {
            let sum = sum + usize::from(byte);
            if sum > 255 { sum - 255 } else { sum }
        }),
        "xor8" => bytes.iter().fold(0, |value, &byte| value ^ usize::from(byte)),
        "fletcher16" => {
            let step = |(first, second): (usize, usize), &byte: &u8| {
                let first = (first + usize::from(byte)) % 255;
                (first, (second + first) % 255)
            };
            let (first, second) = bytes.iter().fold((0, 0), step);
            second * 256 + first
        }
        "crc-8/smbus" => crc(8, 0x07, 0, false, 0, bytes),
        "crc-16/arc" => crc(16, 0x8005, 0, true, 0, bytes),
        "crc-16/xmodem" => crc(16, 0x1021, 0, false, 0, bytes),
        "crc-16/ibm-3740" => crc(16, 0x1021, 0xFFFF, false, 0, bytes),
        "crc-16/kermit" => crc(16, 0x1021, 0, true, 0, bytes),
        "crc-16/ibm-sdlc" => crc(16, 0x1021, 0xFFFF, true, 0xFFFF, bytes),
        "crc-16/genibus" => crc(16, 0x1021, 0xFFFF, false, 0xFFFF, bytes),
        other => unreachable!("no check is named {other}"),
    }
}

/// A register that divides by the polynomial, one bit after the other; reflected: the lowest bit of a byte comes first,
/// and the register is read from its other end.
fn crc(bits: u32, polynomial: usize, start: usize, reflected: bool, out: usize, bytes: &[u8]) -> usize {
    let top = 1 << (bits - 1);
    let mut register = start;
    for &byte in bytes {
        for place in 0..8 {
            let bit = if reflected { byte >> place & 1 } else { byte >> (7 - place) & 1 };
            let feedback = (register & top != 0) != (bit == 1);
            register = register << 1 & (2 * top - 1);
            if feedback {
                register ^= polynomial;
            }
        }
    }
    let reversed = |value: usize| (0..bits).fold(0, |all, bit| all << 1 | value >> bit & 1);
    (if reflected { reversed(register) } else { register }) ^ out
}

/// What of a check's value stands on the tape.
pub fn stored(how: &str, form: &str, value: usize) -> usize {
    let mask = (1 << (8 * width(form))) - 1;
    match how {
        "complement" => !value & mask,
        "negated" => value.wrapping_neg() & mask,
        _ => value,
    }
}

/// A character with its track 8.
pub fn punch(characters: &str, character: u8) -> u8 {
    let odd = (character & 0x7F).count_ones() % 2 == 1;
    let top = match characters {
        "7E" => odd,
        "7O" => !odd,
        "7M" => true,
        "7S" | "7N" => false,
        _ => return character,
    };
    character & 0x7F | if top { 0x80 } else { 0 }
}

/// The characters of a byte.
fn coded(spec: &Spec, byte: u8) -> Vec<u8> {
    match (spec.digits, &spec.escape) {
        ("hex", _) => format!("{byte:02X}").into_bytes(),
        ("octal", _) => format!("{byte:03o}").into_bytes(),
        (_, Some(escape)) if byte == escape.byte || escape.bytes.contains(&byte) => {
            vec![escape.byte, byte ^ escape.flip]
        }
        _ => vec![byte],
    }
}

/// Puts programs on a tape; nothing if the framing cannot carry one.
pub fn write(spec: &Spec, sources: &[Source]) -> Option<Written> {
    if sources.len() > 1 && !parts_programs(spec) {
        return None;
    }
    let mut written = Written::default();
    for source in sources {
        fill(spec, &spec.leader, &mut written.frames);
        let blocks = blocks(spec, source)?;
        let first = blocks[0].0;
        if spec.head.is_some() {
            let label = source.name.len().min(label_room(spec.layout(Part::Head)));
            part(spec, Part::Head, &Content { source, base: first, count: label, index: 0 }, &mut written)?;
        }
        for (index, &(base, count)) in blocks.iter().enumerate() {
            part(spec, Part::Block, &Content { source, base, count, index }, &mut written)?;
        }
        if spec.end.is_some() {
            let content = Content { source, base: first, count: 0, index: blocks.len() };
            part(spec, Part::End, &content, &mut written)?;
        }
        fill(spec, &spec.trailer, &mut written.frames);
    }
    Some(written)
}

/// Whether a reader can tell where one program ends and the next begins: by a head or an end, by a block that is alone,
/// or else by the leader.
fn parts_programs(spec: &Spec) -> bool {
    let alone = spec.numbered().is_none() && address(&spec.block).is_none();
    let frames =
        |filler: &Filler| filler.bytes.iter().filter(|byte| !spec.ignore.contains(byte)).count() * filler.count;
    let leader = frames(&spec.leader);
    let blank = |filler: &Filler| {
        filler.count == 0 || spec.leader.count > 0 && filler.bytes.iter().all(|byte| spec.leader.bytes.contains(byte))
    };
    let gap = if blank(&spec.gap) { frames(&spec.gap) } else { 0 };
    let trailer = if blank(&spec.trailer) { frames(&spec.trailer) } else { 0 };
    let run = leader + if blank(&spec.trailer) { trailer + gap } else { 0 };
    spec.head.is_some() || spec.end.is_some() || alone || run >= (leader / 2).max(2 * gap).max(8)
}

fn fill(spec: &Spec, filler: &Filler, frames: &mut Vec<u8>) {
    for _ in 0..filler.count {
        frames.extend(filler.bytes.iter().map(|&byte| punch(spec.characters, byte)));
    }
}

fn label_room(layout: &[Field]) -> usize {
    layout.iter().find_map(|it| if let Kind::Label(most) = it.kind { Some(most) } else { None }).unwrap_or(0)
}

pub fn address(layout: &[Field]) -> Option<&'static str> {
    layout.iter().find_map(|it| if let Kind::Address(form) = it.kind { Some(form) } else { None })
}

pub fn has_counter(layout: &[Field]) -> bool {
    layout.iter().any(|it| matches!(it.kind, Kind::Length { .. } | Kind::Last(_)))
}

/// Where the data fields of a layout belong, above the block's address: first, size, order.
pub fn windows(layout: &[Field]) -> Vec<(usize, usize, bool)> {
    let window = |it: &Field| match it.kind {
        Kind::Data { most, falling, at, .. } => Some((usize::from(at), most, falling)),
        _ => None,
    };
    layout.iter().filter_map(window).collect()
}

/// The addresses and sizes of a program's blocks: the lowest bytes first, as many in a block as it can take.
fn blocks(spec: &Spec, source: &Source) -> Option<Vec<(usize, usize)>> {
    let windows = windows(&spec.block);
    let most: usize = windows.iter().map(|window| window.1).sum();
    let page = address(&spec.block) == Some("page");
    let at = windows.iter().map(|window| window.0).min()?;
    let mut left: Vec<usize> = source.bytes.keys().map(|&address| usize::from(address)).collect();
    let mut blocks = Vec::new();
    while let Some(&first) = left.first() {
        let (base, count, next);
        if has_counter(&spec.block) {
            // Blocks of whole pages, if their address is a page.
            let step = if page && most >= 256 { most / 256 * 256 } else { most };
            let run = left.iter().enumerate().take_while(|&(index, &address)| address == first + index).count();
            base = first.checked_sub(at)?;
            count = run.min(step);
            next = first + count;
        } else {
            let reach = windows.iter().map(|window| window.0 + window.1).max()?;
            base = match (address(&spec.block), spec.numbered()) {
                (Some("page"), _) => first.checked_sub(at)? & 0xFF00,
                (Some(_), _) => first.checked_sub(at)?,
                (None, Some(_)) => usize::from(spec.origin) + blocks.len() * most,
                (None, None) => usize::from(spec.origin),
            };
            count = most;
            next = base + reach;
            if base > first || next > 0x1_0000 {
                return None;
            }
        }
        // What the block does not reach is for another, which must not have the same address.
        let covered = |address: usize| {
            if has_counter(&spec.block) {
                (first..first + count).contains(&address)
            } else {
                windows.iter().any(|&(at, size, _)| (base + at..base + at + size).contains(&address))
            }
        };
        if !covered(first) || left.iter().any(|&address| address < next && !covered(address)) {
            return None;
        }
        left.retain(|&address| !covered(address));
        if page && (base % 256 != 0 || blocks.iter().any(|&(other, _)| other == base)) {
            return None;
        }
        blocks.push((base, count));
    }
    let origin = usize::from(spec.origin);
    match (address(&spec.block), spec.numbered()) {
        (Some(_), _) => {}
        (None, None) if blocks.len() == 1 && blocks[0].0 == origin => {}
        (None, None) => return None,
        (None, Some((form, _))) => {
            let last = blocks.len() - 1;
            let in_a_row = blocks.iter().enumerate();
            let mut in_a_row = in_a_row
                .map(|(index, &(base, count))| base == origin + index * most && (count == most || index == last));
            if !in_a_row.all(|fits| fits) || blocks.len() > 1 << (8 * width(form)) {
                return None;
            }
        }
    }
    (!blocks.is_empty()).then_some(blocks)
}

/// What one head, block or end has to say.
struct Content<'a> {
    source: &'a Source,
    base: usize,
    /// Bytes of data or of the label.
    count: usize,
    /// Blocks before it.
    index: usize,
}

fn part(spec: &Spec, kind: Part, content: &Content, written: &mut Written) -> Option<()> {
    let layout = spec.layout(kind);
    let mut fields = Vec::new();
    for field in layout {
        fields.push(plain(spec, layout, field, content)?);
    }
    // A check may be over another check: go on until none changes.
    let checks = layout.iter().filter(|field| matches!(field.kind, Kind::Check { .. })).count();
    for _ in 0..checks {
        for (index, field) in layout.iter().enumerate() {
            let Kind::Check { kind, form, stored: how, over } = &field.kind else { continue };
            fields[index] = put(form, stored(how, form, check(kind, &named(layout, &fields, over))));
        }
    }
    let start = written.frames.len();
    for (field, bytes) in layout.iter().zip(&fields) {
        let characters = match field.kind {
            Kind::Mark(_) => bytes.clone(),
            _ => bytes.iter().flat_map(|&byte| coded(spec, byte)).collect(),
        };
        if !matches!(field.kind, Kind::Mark(_)) && characters.iter().any(|character| spec.avoid.contains(character)) {
            return None;
        }
        written.frames.extend(characters.iter().map(|&character| punch(spec.characters, character)));
    }
    written.parts.push(said(spec, kind, content, start..written.frames.len()));
    fill(spec, &spec.gap, &mut written.frames);
    Some(())
}

/// The bytes of the fields of these names, in the order of the tape.
pub fn named(layout: &[Field], fields: &[Vec<u8>], names: &[String]) -> Vec<u8> {
    let chosen = layout.iter().zip(fields).filter(|(field, _)| names.contains(&field.name));
    chosen.flat_map(|(_, bytes)| bytes.iter().copied()).collect()
}

/// Bytes of a field for a part that carries `count` bytes of data or label.
pub fn size(field: &Field, count: usize) -> usize {
    match &field.kind {
        Kind::Mark(bytes) | Kind::Literal(bytes) => bytes.len(),
        Kind::Length { form, .. } | Kind::Last(form) | Kind::Address(form) | Kind::Sequence { form, .. } => width(form),
        Kind::Entry(form) | Kind::Check { form, .. } => width(form),
        Kind::Data { most, pad: Some(_), .. } => *most,
        Kind::Data { .. } | Kind::Label(_) => count,
    }
}

/// What a length says of so many bytes; padding is not counted.
pub fn length(layout: &[Field], of: &[String], counts: &str, count: usize) -> usize {
    let counted = layout.iter().filter(|field| of.contains(&field.name));
    let total: usize = counted
        .map(|field| if matches!(field.kind, Kind::Data { .. } | Kind::Label(_)) { count } else { size(field, count) })
        .sum();
    match counts {
        "n-1" => total.wrapping_sub(1),
        "negated" => total.wrapping_neg(),
        _ => total,
    }
}

/// Whether the first address on the tape is the highest: falling data that are not lifted.
pub fn from_the_top(layout: &[Field]) -> bool {
    matches!(windows(layout)[..], [(0, _, true)])
}

/// The bytes of a field that is no check.
fn plain(spec: &Spec, layout: &[Field], field: &Field, content: &Content) -> Option<Vec<u8>> {
    let &Content { source, base, count, index } = content;
    Some(match &field.kind {
        Kind::Mark(bytes) | Kind::Literal(bytes) => bytes.clone(),
        Kind::Length { form, counts, of } => put(form, length(layout, of, counts, count)),
        Kind::Last(form) => put(form, if from_the_top(layout) { base } else { base + count - 1 }),
        Kind::Address("page") => vec![(base >> 8) as u8],
        Kind::Address(form) => put(form, if from_the_top(layout) { base + count - 1 } else { base }),
        Kind::Sequence { form, .. } => put(form, usize::from(spec.numbered()?.1) + index),
        Kind::Data { most, pad, falling, at } => {
            let carried = count.min(*most);
            let lowest = base + usize::from(*at);
            let byte = |address: usize| source.bytes.get(&(address as u16)).copied().or(*pad).unwrap_or(0);
            let mut bytes: Vec<u8> = (lowest..lowest + carried).map(byte).collect();
            if *falling {
                bytes.reverse();
            }
            bytes.resize(size(field, count), pad.unwrap_or(0));
            bytes
        }
        Kind::Label(_) => source.name.as_bytes()[..count].to_vec(),
        Kind::Entry("low") if usize::from(source.entry) >> 8 != base >> 8 => return None,
        Kind::Entry(form) => put(form, source.entry.into()),
        Kind::Check { form, .. } => vec![0; width(form)],
    })
}

fn said(spec: &Spec, part: Part, content: &Content, range: Range<usize>) -> Said {
    let &Content { source, base, count, index } = content;
    let layout = spec.layout(part);
    let mut said = Said { part, range, pieces: Vec::new(), address: None, entry: None, label: None, number: None };
    if part == Part::Block || address(layout).is_some() {
        said.address = Some(if address(layout) == Some("page") { base & 0xFF00 } else { base });
    }
    for field in layout {
        match &field.kind {
            Kind::Data { most, pad, at, .. } => {
                let lowest = base + usize::from(*at);
                let byte = |address: usize| source.bytes.get(&(address as u16)).copied().or(*pad).unwrap_or(0);
                said.pieces.push((lowest as u16, (lowest..lowest + count.min(*most)).map(byte).collect()));
            }
            Kind::Entry(_) => said.entry = Some(source.entry),
            Kind::Label(_) => said.label = Some(source.name[..count].into()),
            Kind::Sequence { form, first } => {
                said.number = Some((usize::from(*first) + index) % (1 << (8 * width(form))));
            }
            _ => {}
        }
    }
    said
}
