//! The kinds of checks, in one table for the fields of records and for the sockets of ROMs, and how their value is stored.
//!
//! What each detects and what it misses is published (T. C. Maxino and P. J. Koopman, IEEE TDSC 6(1), 2009; J. G.
//! Fletcher, IEEE Trans. Comm. COM-30(1), 1982) and proved by `tests/published/checks.rs`.

use crc::{Crc, Digest};

/// A way to compute a check over bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CheckKind {
    /// Sum of the bytes modulo 256.
    Sum8,
    /// Sum of the bytes modulo 65536.
    Sum16,
    /// Sum of the bytes with the carry added back in (ones'-complement sum of 8 bits).
    CarrySum8,
    /// Exclusive or of the bytes: longitudinal parity, a frame that makes every track even (ISO 1155).
    Xor8,
    /// Two sums modulo 255, the second over the values of the first; low byte the first sum (Fletcher 1982, RFC 1146).
    Fletcher16,
    /// A cyclic redundancy check of 8 bits.
    Crc8(&'static NamedCrc<u8>),
    /// A cyclic redundancy check of 16 bits.
    Crc16(&'static NamedCrc<u16>),
    /// A cyclic redundancy check of 32 bits.
    Crc32(&'static NamedCrc<u32>),
}

/// A CRC with the name by which the catalogue of parametrised CRC algorithms knows it, in lower case.
pub struct NamedCrc<W: crc::Width> {
    name: &'static str,
    crc: Crc<W>,
}

impl<W: crc::Width> PartialEq for NamedCrc<W> {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

impl<W: crc::Width> Eq for NamedCrc<W> {}

impl<W: crc::Width> std::hash::Hash for NamedCrc<W> {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        self.name.hash(state);
    }
}

impl<W: crc::Width> std::fmt::Debug for NamedCrc<W> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.name)
    }
}

static CRC_8: NamedCrc<u8> = NamedCrc { name: "crc-8/smbus", crc: Crc::<u8>::new(&crc::CRC_8_SMBUS) };
static CRCS_16: [NamedCrc<u16>; 6] = [
    NamedCrc { name: "crc-16/arc", crc: Crc::<u16>::new(&crc::CRC_16_ARC) },
    NamedCrc { name: "crc-16/xmodem", crc: Crc::<u16>::new(&crc::CRC_16_XMODEM) },
    NamedCrc { name: "crc-16/ibm-3740", crc: Crc::<u16>::new(&crc::CRC_16_IBM_3740) },
    NamedCrc { name: "crc-16/kermit", crc: Crc::<u16>::new(&crc::CRC_16_KERMIT) },
    NamedCrc { name: "crc-16/ibm-sdlc", crc: Crc::<u16>::new(&crc::CRC_16_IBM_SDLC) },
    NamedCrc { name: "crc-16/genibus", crc: Crc::<u16>::new(&crc::CRC_16_GENIBUS) },
];
static CRC_32: NamedCrc<u32> = NamedCrc { name: "crc-32/iso-hdlc", crc: Crc::<u32>::new(&crc::CRC_32_ISO_HDLC) };

impl CheckKind {
    /// All kinds, in the order of the reference pages.
    pub fn all() -> impl Iterator<Item = CheckKind> {
        use CheckKind::{CarrySum8, Crc8, Crc16, Crc32, Fletcher16, Sum8, Sum16, Xor8};
        let short = [Sum8, Sum16, CarrySum8, Xor8, Fletcher16, Crc8(&CRC_8)];
        short.into_iter().chain(CRCS_16.iter().map(Crc16)).chain([Crc32(&CRC_32)])
    }

    /// The kinds whose value a field can hold: a number has two bytes at most.
    pub fn of_fields() -> impl Iterator<Item = CheckKind> {
        CheckKind::all().filter(|kind| kind.width() <= 2)
    }

    /// The name by which a file or an option asks for it.
    pub const fn name(self) -> &'static str {
        match self {
            CheckKind::Sum8 => "sum8",
            CheckKind::Sum16 => "sum16",
            CheckKind::CarrySum8 => "carry-sum8",
            CheckKind::Xor8 => "xor8",
            CheckKind::Fletcher16 => "fletcher16",
            CheckKind::Crc8(crc) => crc.name,
            CheckKind::Crc16(crc) => crc.name,
            CheckKind::Crc32(crc) => crc.name,
        }
    }

    /// Bytes of the check's value: 1, 2 or 4.
    pub const fn width(self) -> usize {
        match self {
            CheckKind::Sum8 | CheckKind::CarrySum8 | CheckKind::Xor8 | CheckKind::Crc8(_) => 1,
            CheckKind::Sum16 | CheckKind::Fletcher16 | CheckKind::Crc16(_) => 2,
            CheckKind::Crc32(_) => 4,
        }
    }

    /// The check over nothing, ready to be carried over bytes.
    pub fn start(self) -> Running {
        match self {
            CheckKind::Sum8 | CheckKind::Sum16 => Running::Sum(0),
            CheckKind::CarrySum8 => Running::CarrySum(0),
            CheckKind::Xor8 => Running::Xor(0),
            CheckKind::Fletcher16 => Running::Fletcher(0, 0),
            CheckKind::Crc8(named) => Running::Crc8(named.crc.digest()),
            CheckKind::Crc16(named) => Running::Crc16(named.crc.digest()),
            CheckKind::Crc32(named) => Running::Crc32(named.crc.digest()),
        }
    }

    /// The check over bytes.
    pub fn of(self, bytes: &[u8]) -> u32 {
        let mut running = self.start();
        running.update(bytes);
        self.finish(running)
    }

    /// The value of a check that was carried to the end.
    pub fn finish(self, running: Running) -> u32 {
        let value = match running {
            Running::Sum(sum) | Running::CarrySum(sum) => sum.into(),
            Running::Xor(value) => value.into(),
            Running::Fletcher(first, second) => second << 8 | first,
            Running::Crc8(digest) => digest.finalize().into(),
            Running::Crc16(digest) => digest.finalize().into(),
            Running::Crc32(digest) => digest.finalize(),
        };
        value & self.mask()
    }

    const fn mask(self) -> u32 {
        u32::MAX >> (32 - 8 * self.width())
    }
}

/// A check on its way over bytes.
#[derive(Clone)]
pub enum Running {
    /// A sum of 16 bits.
    Sum(u16),
    /// A ones'-complement sum of 8 bits.
    CarrySum(u16),
    /// An exclusive or.
    Xor(u8),
    /// Both sums of Fletcher's check, below 255.
    Fletcher(u32, u32),
    /// A CRC of 8 bits.
    Crc8(Digest<'static, u8>),
    /// A CRC of 16 bits.
    Crc16(Digest<'static, u16>),
    /// A CRC of 32 bits.
    Crc32(Digest<'static, u32>),
}

impl Running {
    /// Carries the check over more bytes.
    pub fn update(&mut self, bytes: &[u8]) {
        match self {
            Running::Sum(sum) => *sum = bytes.iter().fold(*sum, |sum, &byte| sum.wrapping_add(byte.into())),
            Running::CarrySum(sum) => {
                for &byte in bytes {
                    *sum += u16::from(byte);
                    *sum = (*sum & 0xFF) + (*sum >> 8);
                }
            }
            Running::Xor(value) => *value = bytes.iter().fold(*value, |value, byte| value ^ byte),
            Running::Fletcher(first, second) => fletcher(first, second, bytes),
            Running::Crc8(digest) => digest.update(bytes),
            Running::Crc16(digest) => digest.update(bytes),
            Running::Crc32(digest) => digest.update(bytes),
        }
    }
}

/// As many bytes can be summed before the second sum must be reduced: 2048 * (254 + 2048 * 255) < 2^32.
const FLETCHER_RUN: usize = 2048;

fn fletcher(first: &mut u32, second: &mut u32, bytes: &[u8]) {
    for run in bytes.chunks(FLETCHER_RUN) {
        for &byte in run {
            *first += u32::from(byte);
            *second += *first;
        }
        *first %= 255;
        *second %= 255;
    }
}

/// How a check's value is stored.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Stored {
    /// As computed.
    #[default]
    Value,
    /// All bits inverted (ones' complement).
    Complement,
    /// Subtracted from zero (two's complement), so that a sum over everything comes to zero.
    Negated,
}

impl Stored {
    /// All ways with their names in a file.
    pub const ALL: [(&'static str, Stored); 3] =
        [("value", Stored::Value), ("complement", Stored::Complement), ("negated", Stored::Negated)];

    /// The computed value as it is stored, in as many bytes as the check has.
    pub const fn apply(self, kind: CheckKind, value: u32) -> u32 {
        let stored = match self {
            Stored::Value => value,
            Stored::Complement => !value,
            Stored::Negated => value.wrapping_neg(),
        };
        stored & kind.mask()
    }
}
