//! The check register: x^16 + x^12 + x^5 + 1, preset to ones at a mark, and the mark is its first byte.

use crc::{CRC_16_IBM_3740, Crc};

static CRC: Crc<u16> = Crc::<u16>::new(&CRC_16_IBM_3740);

/// The check over what has passed since a mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Check(u16);

impl Check {
    /// The check over a mark alone.
    pub fn behind(mark: u8) -> Check {
        Check(0xFFFF).with(mark)
    }

    /// The check with one byte more.
    pub fn with(self, byte: u8) -> Check {
        let mut digest = CRC.digest_with_initial(self.0);
        digest.update(&[byte]);
        Check(digest.finalize())
    }

    /// Its two bytes as they are written, the high one first.
    pub fn bytes(self) -> [u8; 2] {
        self.0.to_be_bytes()
    }

    /// Whether the bytes of the check itself, which have passed too, agree with what stood before them.
    pub fn agrees(self) -> bool {
        self.0 == 0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_check_runs_over_its_own_bytes_to_zero() {
        let check = [0, 0, 1, 0].into_iter().fold(Check::behind(0xFE), Check::with);
        assert_eq!(check.bytes(), [0xD2, 0xC3]);
        assert!(check.bytes().into_iter().fold(check, Check::with).agrees());
    }
}
