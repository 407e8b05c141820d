//! A check that lies in the ROM itself, so that the machine can test what it reads.

use crate::notation::Address;
use crate::record::{CheckKind, Stored};
use crate::source::{Code, Diagnostic, nearest};

/// A check over every other byte of its socket, in the order of addresses as the machine reads them, and where it lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Check {
    /// How it is computed.
    pub kind: CheckKind,
    /// The address of its first byte.
    pub at: Address,
}

impl Check {
    /// The check of a name, in either case, at an address.
    ///
    /// # Errors
    /// A diagnostic that lists the names.
    pub fn named(name: &str, at: Address) -> Result<Check, Diagnostic> {
        let found = CheckKind::all().find(|kind| kind.name().eq_ignore_ascii_case(name));
        found.map(|kind| Check { kind, at }).ok_or_else(|| {
            let names: Vec<_> = CheckKind::all().map(CheckKind::name).collect();
            let headline = format!("`{name}` is not a check that can be placed");
            let problem = Diagnostic::error(Code::SocketMalformed, headline)
                .with_note(format!("the checks are {}", names.join(", ")));
            match nearest(name, names.iter().copied()) {
                Some(near) => problem.with_near(near),
                None => problem,
            }
        })
    }

    /// Bytes that it takes: 1, 2 or 4.
    pub const fn width(self) -> usize {
        self.kind.width()
    }

    /// Its bytes over `bytes`, low byte first, with those from `start` on, where it lies itself, left out. A sum of 8 bits
    /// makes the sum of all bytes zero, as an exclusive or does with theirs.
    pub fn compute(self, bytes: &[u8], start: usize) -> Vec<u8> {
        let mut running = self.kind.start();
        running.update(&bytes[..start]);
        running.update(&bytes[start + self.width()..]);
        let stored = if self.kind == CheckKind::Sum8 { Stored::Negated } else { Stored::Value };
        stored.apply(self.kind, self.kind.finish(running)).to_le_bytes()[..self.width()].to_vec()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_found_in_either_case_and_near_misses_told() {
        for kind in CheckKind::all() {
            for name in [kind.name().to_owned(), kind.name().to_uppercase()] {
                assert_eq!(Check::named(&name, Address(0)), Ok(Check { kind, at: Address(0) }));
            }
        }
        let problem = Check::named("crc-16/xmoden", Address(0)).unwrap_err();
        assert_eq!(problem.help.as_deref(), Some("did you mean `crc-16/xmodem`?"));
    }

    #[test]
    fn a_sum_and_an_exclusive_or_come_out_as_zero_at_the_edges() {
        let [sum, xor] = [CheckKind::Sum8, CheckKind::Xor8].map(|kind| Check { kind, at: Address(0) });
        for bytes in [[0u8; 5], [0xFF; 5], [0x80, 0x80, 0, 0, 0], [1, 2, 3, 4, 0xFF]] {
            for at in 0..5 {
                let mut bytes = bytes;
                bytes[at] = sum.compute(&bytes, at)[0];
                assert_eq!(bytes.iter().fold(0u8, |sum, byte| sum.wrapping_add(*byte)), 0);
                bytes[at] = xor.compute(&bytes, at)[0];
                assert_eq!(bytes.iter().fold(0u8, |xor, byte| xor ^ byte), 0);
            }
        }
    }
}
