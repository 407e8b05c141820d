//! A set of byte values.

/// A set of byte values.
#[derive(Clone, Copy, PartialEq, Eq, Default)]
pub struct ByteSet([u64; 4]);

impl ByteSet {
    /// All 256 values.
    pub const ALL: ByteSet = ByteSet([u64::MAX; 4]);

    /// Whether a value is in the set.
    pub const fn contains(&self, byte: u8) -> bool {
        self.0[byte as usize >> 6] >> (byte & 63) & 1 == 1
    }

    /// Puts a value into the set.
    pub const fn insert(&mut self, byte: u8) {
        self.0[byte as usize >> 6] |= 1 << (byte & 63);
    }

    /// Whether the set has no value.
    pub fn is_empty(&self) -> bool {
        self.0 == [0; 4]
    }

    /// The values of both sets together.
    pub fn union(mut self, other: ByteSet) -> ByteSet {
        self.extend(other.iter());
        self
    }

    /// The lowest value that both sets have.
    pub fn first_common(&self, other: &ByteSet) -> Option<u8> {
        self.iter().find(|&byte| other.contains(byte))
    }

    /// The values by rising size.
    pub fn iter(&self) -> impl Iterator<Item = u8> + '_ {
        (0..=255).filter(|&byte| self.contains(byte))
    }
}

impl Extend<u8> for ByteSet {
    fn extend<I: IntoIterator<Item = u8>>(&mut self, bytes: I) {
        bytes.into_iter().for_each(|byte| self.insert(byte));
    }
}

impl FromIterator<u8> for ByteSet {
    fn from_iter<I: IntoIterator<Item = u8>>(bytes: I) -> Self {
        let mut set = ByteSet::default();
        set.extend(bytes);
        set
    }
}

impl std::fmt::Debug for ByteSet {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_set().entries(self.iter()).finish()
    }
}
