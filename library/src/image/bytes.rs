//! The image: bytes of the address space, each with the place in a source that made it.

use std::fmt;

use crate::notation::Address;
use crate::source::Position;

/// Bytes of the whole address space.
pub const MEMORY: usize = 0x1_0000;

/// Bytes at addresses, with the place in a source that made each.
#[derive(Clone)]
pub struct Image {
    bytes: Box<[u8]>,
    made_by: Box<[Option<Position>]>,
    /// The address at which to start, where the source or file gives one.
    pub entry: Option<Address>,
    /// Names of addresses and constants, in the order of their definition.
    pub symbols: Vec<Symbol>,
}

/// A name with its value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Symbol {
    /// As written where it was defined.
    pub name: String,
    /// Its value.
    pub value: u16,
    /// What the value stands for.
    pub kind: SymbolKind,
}

/// What the value of a symbol stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SymbolKind {
    /// An address in the program.
    Label,
    /// A number.
    Constant,
}

/// A run of contiguous bytes of an image.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Extent<'a> {
    /// The address of the first byte.
    pub base: Address,
    /// The bytes; never empty.
    pub bytes: &'a [u8],
}

impl Extent<'_> {
    /// The address of the last byte.
    pub fn last(&self) -> Address {
        Address((self.base.index() + self.bytes.len() - 1) as u16)
    }
}

/// Two sources want the same address.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Overlap {
    /// The first address that both want.
    pub address: Address,
    /// What is there already.
    pub first: Position,
    /// What was to be put there.
    pub second: Position,
}

/// Why bytes could not be put into an image.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum InsertError {
    /// An address is taken.
    Overlap(Overlap),
    /// The bytes run past the top of memory; so many of them fit.
    PastTop(usize),
}

impl Default for Image {
    fn default() -> Self {
        Image { bytes: vec![0; MEMORY].into(), made_by: vec![None; MEMORY].into(), entry: None, symbols: Vec::new() }
    }
}

impl Image {
    /// Puts bytes at an address, all made at one place of a source. Nothing is changed on error.
    ///
    /// # Errors
    /// [`InsertError`] if one of the addresses is taken, or lies past the top of memory.
    pub fn insert(&mut self, base: Address, bytes: &[u8], made_by: Position) -> Result<(), InsertError> {
        let (start, end) = (base.index(), base.index() + bytes.len());
        if end > MEMORY {
            return Err(InsertError::PastTop(MEMORY - start));
        }
        // One walk for each, byte by byte: nearly all runs are of one to three bytes, for which a call costs more.
        let marks = &mut self.made_by[start..end];
        if let Some((at, first)) = marks.iter().enumerate().find_map(|(at, mark)| Some((at, (*mark)?))) {
            let address = Address((start + at) as u16);
            return Err(InsertError::Overlap(Overlap { address, first, second: made_by }));
        }
        for ((mark, place), byte) in marks.iter_mut().zip(&mut self.bytes[start..end]).zip(bytes) {
            (*mark, *place) = (Some(made_by), *byte);
        }
        Ok(())
    }

    /// The byte at an address, if there is one.
    pub fn byte(&self, address: Address) -> Option<u8> {
        self.made_by[address.index()].map(|_| self.bytes[address.index()])
    }

    /// The place in a source that made the byte at an address.
    pub fn made_by(&self, address: Address) -> Option<Position> {
        self.made_by[address.index()]
    }

    /// The runs of contiguous bytes, by rising address.
    pub fn extents(&self) -> impl Iterator<Item = Extent<'_>> {
        let mut at = 0;
        std::iter::from_fn(move || {
            let base = at + self.made_by[at..].iter().position(Option::is_some)?;
            at = self.made_by[base..].iter().position(Option::is_none).map_or(MEMORY, |run| base + run);
            Some(Extent { base: Address(base as u16), bytes: &self.bytes[base..at] })
        })
    }

    /// How many bytes are present: 0 to 65536.
    pub fn len(&self) -> usize {
        self.made_by.iter().filter(|mark| mark.is_some()).count()
    }

    /// Whether no byte is present.
    pub fn is_empty(&self) -> bool {
        self.made_by.iter().all(Option::is_none)
    }

    /// The label at or nearest below an address, with the distance to it in bytes.
    pub fn nearest_label(&self, address: Address) -> Option<(&Symbol, u16)> {
        let labels = self.symbols.iter().filter(|symbol| symbol.kind == SymbolKind::Label);
        let below = labels.filter(|symbol| symbol.value <= address.0);
        below.max_by_key(|symbol| symbol.value).map(|symbol| (symbol, address.0 - symbol.value))
    }
}

/// Two images are equal if the same bytes are present at the same addresses and the entry is the same; where they came
/// from and how addresses are named does not count.
impl PartialEq for Image {
    fn eq(&self, other: &Self) -> bool {
        self.entry == other.entry && self.extents().eq(other.extents())
    }
}

impl Eq for Image {}

impl fmt::Debug for Image {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let extents: Vec<_> = self.extents().collect();
        f.debug_struct("Image").field("entry", &self.entry).field("extents", &extents).finish_non_exhaustive()
    }
}
