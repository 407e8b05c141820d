//! A check that lies in the ROM itself, so that the machine can test what it reads.

use crc::{Algorithm, Crc};

use crate::source::{Code, Diagnostic, nearest};

/// How a check is computed over every other byte of its socket, in the order of addresses as the machine reads them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CheckKind {
    /// One byte that makes the sum of all bytes zero, modulo 256.
    Sum,
    /// One byte that makes the exclusive-or of all bytes zero.
    Xor,
    /// Two bytes, low byte first: a CRC of 16 bits.
    Crc16(&'static NamedCrc<u16>),
    /// Four bytes, low byte first: a CRC of 32 bits.
    Crc32(&'static NamedCrc<u32>),
}

/// A CRC with its name in the catalogue of parametrised CRC algorithms.
#[derive(Debug, PartialEq, Eq)]
pub struct NamedCrc<W: crc::Width> {
    name: &'static str,
    algorithm: &'static Algorithm<W>,
}

static CRC_16_TABLE: [NamedCrc<u16>; 6] = [
    NamedCrc { name: "CRC-16/ARC", algorithm: &crc::CRC_16_ARC },
    NamedCrc { name: "CRC-16/XMODEM", algorithm: &crc::CRC_16_XMODEM },
    NamedCrc { name: "CRC-16/IBM-3740", algorithm: &crc::CRC_16_IBM_3740 },
    NamedCrc { name: "CRC-16/KERMIT", algorithm: &crc::CRC_16_KERMIT },
    NamedCrc { name: "CRC-16/IBM-SDLC", algorithm: &crc::CRC_16_IBM_SDLC },
    NamedCrc { name: "CRC-16/GENIBUS", algorithm: &crc::CRC_16_GENIBUS },
];
static CRC_32_TABLE: [NamedCrc<u32>; 1] = [NamedCrc { name: "CRC-32/ISO-HDLC", algorithm: &crc::CRC_32_ISO_HDLC }];

impl CheckKind {
    /// Every kind.
    pub fn all() -> impl Iterator<Item = CheckKind> {
        let crc_16 = CRC_16_TABLE.iter().map(CheckKind::Crc16);
        [CheckKind::Sum, CheckKind::Xor].into_iter().chain(crc_16).chain(CRC_32_TABLE.iter().map(CheckKind::Crc32))
    }

    /// The name by which it is asked for.
    pub const fn name(self) -> &'static str {
        match self {
            CheckKind::Sum => "sum",
            CheckKind::Xor => "xor",
            CheckKind::Crc16(named) => named.name,
            CheckKind::Crc32(named) => named.name,
        }
    }

    /// Bytes that it takes: 1, 2 or 4.
    pub const fn length(self) -> usize {
        match self {
            CheckKind::Sum | CheckKind::Xor => 1,
            CheckKind::Crc16(_) => 2,
            CheckKind::Crc32(_) => 4,
        }
    }

    /// The kind of a name, in either case.
    ///
    /// # Errors
    /// A diagnostic that lists the names.
    pub fn from_name(name: &str) -> Result<CheckKind, Diagnostic> {
        CheckKind::all().find(|kind| kind.name().eq_ignore_ascii_case(name)).ok_or_else(|| {
            let names: Vec<_> = CheckKind::all().map(CheckKind::name).collect();
            let headline = format!("`{name}` is not a check that can be placed");
            let problem = Diagnostic::error(Code::SocketMalformed, headline)
                .with_note(format!("the checks are {}", names.join(", ")));
            match nearest(name, names.iter().copied()) {
                Some(near) => problem.with_help(format!("did you mean `{near}`?")),
                None => problem,
            }
        })
    }

    /// The bytes of the check over `bytes`, with the `length` bytes at `at` left out.
    pub fn compute(self, bytes: &[u8], at: usize) -> Vec<u8> {
        let (before, after) = (&bytes[..at], &bytes[at + self.length()..]);
        let all = before.iter().chain(after);
        match self {
            CheckKind::Sum => vec![all.fold(0u8, |sum, &byte| sum.wrapping_add(byte)).wrapping_neg()],
            CheckKind::Xor => vec![all.fold(0u8, |xor, &byte| xor ^ byte)],
            CheckKind::Crc16(named) => {
                let crc = Crc::<u16>::new(named.algorithm);
                let mut digest = crc.digest();
                [before, after].iter().for_each(|part| digest.update(part));
                digest.finalize().to_le_bytes().into()
            }
            CheckKind::Crc32(named) => {
                let crc = Crc::<u32>::new(named.algorithm);
                let mut digest = crc.digest();
                [before, after].iter().for_each(|part| digest.update(part));
                digest.finalize().to_le_bytes().into()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_found_and_near_misses_told() {
        for kind in CheckKind::all() {
            assert_eq!(CheckKind::from_name(&kind.name().to_lowercase()), Ok(kind));
        }
        let problem = CheckKind::from_name("crc-16/xmoden").unwrap_err();
        assert_eq!(problem.help.as_deref(), Some("did you mean `CRC-16/XMODEM`?"));
    }

    #[test]
    fn a_sum_and_an_exclusive_or_come_out_as_zero_at_the_edges() {
        for bytes in [[0u8; 5], [0xFF; 5], [0x80, 0x80, 0, 0, 0], [1, 2, 3, 4, 0xFF]] {
            for at in 0..5 {
                let mut bytes = bytes;
                bytes[at] = CheckKind::Sum.compute(&bytes, at)[0];
                assert_eq!(bytes.iter().fold(0u8, |sum, byte| sum.wrapping_add(*byte)), 0);
                bytes[at] = CheckKind::Xor.compute(&bytes, at)[0];
                assert_eq!(bytes.iter().fold(0u8, |xor, byte| xor ^ byte), 0);
            }
        }
    }
}
