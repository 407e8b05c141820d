//! What lies at an address: whether a byte that is written there stays, and whether anything answers when it is read.

use std::ops::Range;

use crate::image::{Image, MEMORY};

impl Ground {
    /// Whether nobody knows what answers when it is read, if anything does.
    pub(super) fn is_blank(self) -> bool {
        matches!(self, Ground::Socket | Ground::Nothing)
    }
}

/// Where memory and sockets lie, as far as the machine file says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Grounds {
    /// Where bytes can be written; empty if nobody says: then everywhere but in the sockets.
    pub memory: Vec<Range<usize>>,
    /// The addresses that each ROM socket serves.
    pub sockets: Vec<Range<usize>>,
}

/// What lies at an address.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Ground {
    /// Memory: what is written there is read back.
    #[default]
    Memory,
    /// A ROM with bytes of the program: they are read, and nothing is written.
    Rom,
    /// A socket over memory, or where nobody says where memory is: as the socket is seated or empty, a byte that is written
    /// there stays or does not.
    Either,
    /// A socket with none of the program's bytes: what is read is open, read after read, and nothing is written.
    Socket,
    /// No memory and no socket: likewise.
    Nothing,
}

impl Grounds {
    /// What lies at each address under a program.
    pub(super) fn under(&self, image: &Image) -> Box<[Ground]> {
        let bare = if self.memory.is_empty() { Ground::Memory } else { Ground::Nothing };
        let mut grounds = vec![bare; MEMORY];
        for memory in &self.memory {
            grounds[inside(memory)].fill(Ground::Memory);
        }
        for socket in &self.sockets {
            let seated =
                image.extents().any(|extent| extent.base.index() < socket.end && socket.start <= extent.last().index());
            for address in inside(socket) {
                let over = self.memory.is_empty() || self.memory.iter().any(|memory| memory.contains(&address));
                grounds[address] = match (over, seated) {
                    (true, _) => Ground::Either,
                    (false, true) => Ground::Rom,
                    (false, false) => Ground::Socket,
                };
            }
        }
        grounds.into()
    }
}

fn inside(range: &Range<usize>) -> Range<usize> {
    range.start.min(MEMORY)..range.end.min(MEMORY)
}
