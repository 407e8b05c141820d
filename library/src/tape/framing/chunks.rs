//! How a program is divided into blocks, and what a framing has no room for.

use super::declared::{Framing, Placing};
use super::program::Program;
use crate::image::MEMORY;
use crate::notation::{Address, Notation, counted};
use crate::record::{Pointer, Record};
use crate::source::{Code, Diagnostic};

/// Bytes of a page, of which an address on the tape can name the first alone.
const PAGE: usize = 0x100;

/// Whether a reader could tell several programs apart that follow one another.
pub(super) fn told_apart(framing: &Framing, programs: &[Program]) -> Result<(), Diagnostic> {
    if programs.len() < 2 || framing.parts_programs() {
        return Ok(());
    }
    let headline = "nothing on this tape would tell where one program ends and the next begins";
    let note = format!(
        "`{}` has neither head nor end, and too short a leader: {} between programs, where {} are needed",
        framing.name,
        counted(framing.leader_between(), "frame"),
        framing.least_leader()
    );
    Err(Diagnostic::error(Code::TapeUnfit, headline)
        .with_note(note)
        .with_help("write each program on a tape of its own"))
}

/// How a program is divided into blocks: the address and the number of bytes of each. Problems are told in `notation`.
pub(super) fn chunks(
    framing: &Framing,
    program: &Program,
    notation: Notation,
) -> Result<Vec<(Address, usize)>, Diagnostic> {
    let divider = Divider { framing, program, notation };
    if program.image.is_empty() {
        let headline = format!("`{}` holds no byte", program.name);
        return Err(Diagnostic::error(Code::TapeUnfit, headline));
    }
    let chunks = if framing.block.counter().is_some() { divider.runs()? } else { divider.windows()? };
    match framing.placing() {
        Placing::ByAddress => {}
        Placing::ByNumber => divider.in_a_row(&chunks)?,
        Placing::Alone => divider.alone(&chunks)?,
    }
    Ok(chunks)
}

/// A program that is divided, and how addresses are told.
struct Divider<'a> {
    framing: &'a Framing,
    program: &'a Program<'a>,
    notation: Notation,
}

/// Whether the address of a block is no more than its page.
fn is_paged(block: &Record) -> bool {
    matches!(block.address(), Some((_, Pointer::Page)))
}

impl Divider<'_> {
    /// Blocks that carry as many bytes as there are, up to their most; whole pages, if their address is a page.
    fn runs(&self) -> Result<Vec<(Address, usize)>, Diagnostic> {
        let Divider { framing, program, .. } = self;
        let (most, lowest) = (framing.block.most(), framing.block.lowest());
        let paged = is_paged(&framing.block);
        let step = if paged && most >= PAGE { most - most % PAGE } else { most };
        let mut chunks: Vec<(Address, usize)> = Vec::new();
        for extent in program.image.extents() {
            for (index, bytes) in extent.bytes.chunks(step).enumerate() {
                let first = extent.base.index() + index * step;
                let Some(base) = first.checked_sub(lowest) else {
                    return Err(self.outside_of(Address(first as u16)));
                };
                if paged && !base.is_multiple_of(PAGE) {
                    let before = chunks.last().is_some_and(|(before, _)| before.index() / PAGE == base / PAGE);
                    return Err(self.off_page(first, base, before));
                }
                chunks.push((Address(base as u16), bytes.len()));
            }
        }
        Ok(chunks)
    }

    /// A block would have to begin within a page, and the tape can only name the page.
    fn off_page(&self, first: usize, base: usize, has_one: bool) -> Diagnostic {
        let Divider { framing, program, .. } = self;
        let address = |at: usize| self.notation.address(Address(at as u16)).to_string();
        let (page, at) = (self.notation.byte((base / PAGE) as u8), address(first));
        let start = address(base / PAGE * PAGE + framing.block.lowest());
        let name = program.name;
        let note = format!("a block of `{}` says no more of its address than the page, {page}", framing.name);
        let problem = |headline: String| Diagnostic::error(Code::TapeUnfit, headline).with_note(&note);
        if has_one {
            let carries = counted(framing.block.most(), "byte");
            problem(format!("`{name}` needs a second block in page `{page}`, from `{at}` on"))
                .with_note(format!("a block carries up to {carries}; a loader would put the second over the first"))
                .with_help("carry whole addresses, or up to 256 bytes in a block, and leave no gap within a page")
        } else {
            problem(format!("`{name}` has bytes from `{at}` on, within page `{page}`, where no block can begin"))
                .with_note(format!("a loader would put them from {start} on"))
                .with_help(format!("move them to {start}, or carry whole addresses"))
        }
    }

    /// Blocks that are always full: each is laid over memory where the first byte not yet carried stands.
    fn windows(&self) -> Result<Vec<(Address, usize)>, Diagnostic> {
        let Divider { framing, program, .. } = self;
        let block = &framing.block;
        let windows: Vec<_> = block.data().map(|(_, data)| (usize::from(data.at), data.most)).collect();
        let reach = windows.iter().map(|&(at, most)| at + most).max().unwrap_or(0);
        let paged = is_paged(block);
        let is_inside = |distance: usize| windows.iter().any(|&(at, most)| (at..at + most).contains(&distance));
        let (mut chunks, mut next) = (Vec::new(), 0);
        while let Some(first) = (next..MEMORY).find(|&at| program.image.byte(Address(at as u16)).is_some()) {
            let base = match framing.placing() {
                Placing::ByAddress => {
                    let Some(base) = first.checked_sub(block.lowest()) else {
                        return Err(self.outside_of(Address(first as u16)));
                    };
                    if paged { base - base % PAGE } else { base }
                }
                _ => (framing.origin.index() + chunks.len() * reach).min(first),
            };
            next = base + reach.max(if paged { PAGE } else { 0 });
            if next <= first {
                // A block of nothing but padding would overwrite what the program leaves alone.
                return Err(self.not_in_a_row(Address(first as u16)));
            }
            if base + reach > MEMORY {
                return Err(self.past_top(base, reach));
            }
            let present = (first..next.min(MEMORY)).filter(|&at| program.image.byte(Address(at as u16)).is_some());
            if let Some(outside) = present.into_iter().find(|&at| !is_inside(at - base)) {
                return Err(self.outside_of(Address(outside as u16)));
            }
            chunks.push((Address(base as u16), block.most()));
        }
        Ok(chunks)
    }

    fn past_top(&self, base: usize, reach: usize) -> Diagnostic {
        let Divider { framing, .. } = self;
        let base = self.notation.address(Address(base as u16));
        let headline = format!("the block at {base} would reach past the top of memory");
        Diagnostic::error(Code::TapeUnfit, headline).with_note(format!(
            "every block of `{}` is {} long",
            framing.name,
            counted(reach, "byte")
        ))
    }

    fn outside_of(&self, outside: Address) -> Diagnostic {
        let Divider { framing, program, .. } = self;
        let at = self.notation.address(outside);
        let rooms: Vec<_> = framing
            .block
            .data()
            .map(|(_, data)| {
                let [first, last] = self.notation.alike([data.at, (usize::from(data.at) + data.most - 1) as u16]);
                format!("{first} to {last}")
            })
            .collect();
        let headline = format!("`{}` has a byte at `{at}`, where this tape cannot put one", program.name);
        let note = format!("`{}` carries the bytes {} above the block's base", framing.name, rooms.join(" and "));
        Diagnostic::error(Code::TapeUnfit, headline)
            .with_note(note)
            .with_help("move the program, or take another framing")
    }

    /// Numbered blocks without addresses must follow each other from the origin.
    fn in_a_row(&self, chunks: &[(Address, usize)]) -> Result<(), Diagnostic> {
        let Divider { framing, program, .. } = self;
        let most = framing.block.most();
        for (index, &(base, count)) in chunks.iter().enumerate() {
            let full = count == most || index + 1 == chunks.len();
            if base.index() != framing.origin.index() + index * most || !full {
                return Err(self.not_in_a_row(base));
            }
        }
        if let Some((_, word, _)) = framing.block.sequence().filter(|(_, word, _)| chunks.len() > word.modulus()) {
            let headline = format!("`{}` needs {} blocks, more than can be numbered", program.name, chunks.len());
            let note = format!("`{}` numbers {} blocks and gives them no address", framing.name, word.modulus());
            return Err(Diagnostic::error(Code::TapeUnfit, headline).with_note(note));
        }
        Ok(())
    }

    fn alone(&self, chunks: &[(Address, usize)]) -> Result<(), Diagnostic> {
        let Divider { framing, program, .. } = self;
        match chunks {
            [(base, _)] if *base == framing.origin => Ok(()),
            [(base, _)] => Err(self.not_in_a_row(base.wrapping_add(framing.block.lowest() as u16))),
            _ => {
                let most = framing.block.most();
                let headline = format!("`{}` does not fit into one block of {}", program.name, counted(most, "byte"));
                let note = format!("`{}` has one block without an address", framing.name);
                Err(Diagnostic::error(Code::TapeUnfit, headline).with_note(note))
            }
        }
    }

    fn not_in_a_row(&self, base: Address) -> Diagnostic {
        let Divider { framing, program, .. } = self;
        let origin = framing.origin.wrapping_add(framing.block.lowest() as u16);
        let [base, origin] = [base, origin].map(|address| self.notation.address(address).to_string());
        let headline = format!("`{}` has bytes at `{base}`, where this tape cannot put any", program.name);
        let note =
            format!("the blocks of `{}` carry no address: they follow each other from {origin} on", framing.name);
        Diagnostic::error(Code::TapeUnfit, headline)
            .with_note(note)
            .with_help("set `origin`, or give the block an address")
    }
}
