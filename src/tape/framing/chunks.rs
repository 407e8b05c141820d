//! How a program is divided into blocks, and what a framing has no room for.

use super::field::Pointer;
use super::layout::Layout;
use super::{Framing, Placing, Program};
use crate::image::MEMORY;
use crate::notation::{Address, Notation, counted};
use crate::source::{Code, Diagnostic};

/// How a program is divided into blocks: the address and the number of bytes of each.
pub(super) fn chunks(framing: &Framing, program: &Program) -> Result<Vec<(Address, usize)>, Diagnostic> {
    let block = &framing.block;
    if program.image.is_empty() {
        let headline = format!("`{}` holds no byte", program.name);
        return Err(Diagnostic::error(Code::TapeUnfit, headline));
    }
    let chunks = if block.counter().is_some() { runs(block, program) } else { windows(framing, program)? };
    match framing.placing() {
        Placing::ByAddress => {}
        Placing::ByNumber => in_a_row(framing, program, &chunks)?,
        Placing::Alone => alone(framing, program, &chunks)?,
    }
    Ok(chunks)
}

/// Blocks that carry as many bytes as there are, up to their most.
fn runs(block: &Layout, program: &Program) -> Vec<(Address, usize)> {
    let most = block.most();
    let chunks = program.image.extents().flat_map(|extent| {
        let chunks = extent.bytes.chunks(most).enumerate();
        let chunks: Vec<_> =
            chunks.map(|(index, bytes)| (Address((extent.base.index() + index * most) as u16), bytes.len())).collect();
        chunks
    });
    chunks.collect()
}

/// Blocks that are always full: each is laid over memory where the first byte not yet carried stands.
fn windows(framing: &Framing, program: &Program) -> Result<Vec<(Address, usize)>, Diagnostic> {
    let block = &framing.block;
    let windows: Vec<_> = block.data().map(|(_, data)| (usize::from(data.at), data.most)).collect();
    let reach = windows.iter().map(|&(at, most)| at + most).max().unwrap_or(0);
    let paged = matches!(block.address(), Some((_, Pointer::Page)));
    let is_inside = |distance: usize| windows.iter().any(|&(at, most)| (at..at + most).contains(&distance));
    let (mut chunks, mut next) = (Vec::new(), 0);
    while let Some(first) = (next..MEMORY).find(|&at| program.image.byte(Address(at as u16)).is_some()) {
        let base = match framing.placing() {
            Placing::ByAddress if paged => first & 0xFF00,
            Placing::ByAddress => first,
            _ => (framing.origin.index() + chunks.len() * reach).min(first),
        };
        next = base + reach.max(if paged { 0x100 } else { 0 });
        if base + reach > MEMORY {
            return Err(past_top(framing, base, reach));
        }
        let present = (first..next.min(MEMORY)).filter(|&at| program.image.byte(Address(at as u16)).is_some());
        if let Some(outside) = present.into_iter().find(|&at| !is_inside(at - base)) {
            return Err(outside_of(framing, program, Address(outside as u16)));
        }
        chunks.push((Address(base as u16), block.most()));
    }
    Ok(chunks)
}

fn past_top(framing: &Framing, base: usize, reach: usize) -> Diagnostic {
    let base = Notation::Octal.address(Address(base as u16));
    let headline = format!("the block at {base} would reach past the top of memory");
    Diagnostic::error(Code::TapeUnfit, headline).with_note(format!(
        "every block of `{}` is {} long",
        framing.name,
        counted(reach, "byte")
    ))
}

fn outside_of(framing: &Framing, program: &Program, outside: Address) -> Diagnostic {
    let at = Notation::Octal.address(outside);
    let rooms: Vec<_> = framing
        .block
        .data()
        .map(|(_, data)| format!("{:03o} to {:03o}", data.at, usize::from(data.at) + data.most - 1))
        .collect();
    let headline = format!("`{}` has a byte at `{at}`, where this tape cannot put one", program.name);
    let note = format!("`{}` carries the bytes {} above the block's base", framing.name, rooms.join(" and "));
    Diagnostic::error(Code::TapeUnfit, headline).with_note(note).with_help("move the program, or take another framing")
}

/// Numbered blocks without addresses must follow each other from the origin.
fn in_a_row(framing: &Framing, program: &Program, chunks: &[(Address, usize)]) -> Result<(), Diagnostic> {
    let most = framing.block.most();
    for (index, &(base, count)) in chunks.iter().enumerate() {
        let full = count == most || index + 1 == chunks.len();
        if base.index() != framing.origin.index() + index * most || !full {
            return Err(not_in_a_row(framing, program, base));
        }
    }
    if let Some((_, word, _)) = framing.block.sequence().filter(|(_, word, _)| chunks.len() > word.modulus()) {
        let headline = format!("`{}` needs {} blocks, more than can be numbered", program.name, chunks.len());
        let note = format!("`{}` numbers {} blocks and gives them no address", framing.name, word.modulus());
        return Err(Diagnostic::error(Code::TapeUnfit, headline).with_note(note));
    }
    Ok(())
}

fn alone(framing: &Framing, program: &Program, chunks: &[(Address, usize)]) -> Result<(), Diagnostic> {
    match chunks {
        [(base, _)] if *base == framing.origin => Ok(()),
        [(base, _)] => Err(not_in_a_row(framing, program, *base)),
        _ => {
            let most = framing.block.most();
            let headline = format!("`{}` does not fit into one block of {}", program.name, counted(most, "byte"));
            let note = format!("`{}` has one block without an address", framing.name);
            Err(Diagnostic::error(Code::TapeUnfit, headline).with_note(note))
        }
    }
}

fn not_in_a_row(framing: &Framing, program: &Program, base: Address) -> Diagnostic {
    let [base, origin] = [base, framing.origin].map(|address| Notation::Octal.address(address).to_string());
    let headline = format!("`{}` has bytes at `{base}`, where this tape cannot put any", program.name);
    let note = format!("the blocks of `{}` carry no address: they follow each other from {origin} on", framing.name);
    Diagnostic::error(Code::TapeUnfit, headline).with_note(note).with_help("set `origin`, or give the block an address")
}
