//! The bytes that are read, and how many readings of them agree.

use crate::image::{Image, MEMORY};
use crate::isa::{Instruction, decode};

/// The bytes of an image, flat: each address is looked at many times.
pub struct Bytes {
    bytes: Vec<u8>,
    there: Vec<bool>,
}

/// An instruction with its operand, read at an address.
#[derive(Clone, Copy, Debug)]
pub struct Decoded {
    /// What its first byte says.
    pub instruction: &'static Instruction,
    /// The byte or word behind the first byte; zero if there is none.
    pub operand: u16,
}

impl Decoded {
    /// Bytes, 1 to 3.
    pub fn length(&self) -> usize {
        usize::from(self.instruction.length)
    }

    /// The address to which it may go other than to what follows.
    pub fn target(&self) -> Option<u16> {
        self.instruction.mnemonic.goes_to_address().then_some(self.operand)
    }
}

impl Bytes {
    /// The bytes of an image.
    pub fn new(image: &Image) -> Bytes {
        let (mut bytes, mut there) = (vec![0; MEMORY], vec![false; MEMORY]);
        for extent in image.extents() {
            let range = extent.base.index()..extent.base.index() + extent.bytes.len();
            bytes[range.clone()].copy_from_slice(extent.bytes);
            there[range].fill(true);
        }
        Bytes { bytes, there }
    }

    /// The byte at an address, if there is one.
    pub fn get(&self, at: usize) -> Option<u8> {
        (at < MEMORY && self.there[at]).then(|| self.bytes[at])
    }

    /// Whether a byte is there.
    pub fn has(&self, at: usize) -> bool {
        at < MEMORY && self.there[at]
    }

    /// The word at an address, low byte first, if both bytes are there.
    pub fn word(&self, at: usize) -> Option<u16> {
        Some(u16::from_le_bytes([self.get(at)?, self.get(at + 1)?]))
    }

    /// The instruction at an address, if all its bytes are there. None runs round the top of memory: no source could put it
    /// there in one piece.
    pub fn decode(&self, at: usize) -> Option<Decoded> {
        let instruction = decode(self.get(at)?);
        let operand = match instruction.length {
            1 => 0,
            2 => self.get(at + 1)?.into(),
            _ => self.word(at + 1)?,
        };
        Some(Decoded { instruction, operand })
    }

    /// The runs of bytes, by rising address.
    pub fn runs(&self) -> Vec<std::ops::Range<usize>> {
        let mut runs: Vec<std::ops::Range<usize>> = Vec::new();
        let mut at = 0;
        while let Some(start) = self.there[at..].iter().position(|there| *there).map(|run| at + run) {
            at = self.there[start..].iter().position(|there| !there).map_or(MEMORY, |run| start + run);
            runs.push(start..at);
        }
        runs
    }

    /// All of memory, zero where no byte is.
    pub fn all(&self) -> &[u8] {
        &self.bytes
    }
}
