//! The figures of an image in its sockets.

use serde::{Deserialize, Serialize};

use super::routine::Routine;

/// The figures of an image in its sockets. As JSON it is what `fit` saves and compares with later.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fit {
    /// Whether everything fits, with the head-room that was demanded.
    pub fits: bool,
    /// One for each socket, in the order given.
    pub sockets: Vec<SocketFit>,
}

/// The figures of one socket.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SocketFit {
    /// The socket.
    pub name: String,
    /// The part seated in it.
    pub part: String,
    /// Its first address.
    pub base: u16,
    /// Bytes that it serves.
    pub size: usize,
    /// Bytes that the image and the check take.
    pub used: usize,
    /// Of these, bytes that the check adds.
    pub check: usize,
    /// Bytes left.
    pub free: usize,
    /// Bytes that adjoin those of the socket and lie outside it.
    pub outside: usize,
    /// Words of all parts of the socket.
    pub cells: usize,
    /// Of these, words that stay erased: unused ones, and used ones that happen to equal the erased state.
    pub erased: usize,
    /// Every routine in it, largest first, with what lies outside.
    pub routines: Vec<Routine>,
}

impl SocketFit {
    /// Per mille of the size that is used, rounded down, so that only a full socket reads 1000.
    pub fn per_mille(&self) -> usize {
        self.used * 1000 / self.size
    }
}
