//! Names, each known by a small number. Upper and lower case are alike and `$` inside a name is a spacer, so the
//! spellings `Loop`, `LOOP` and `LO$OP` are one name.

use hashbrown::HashTable;

use super::keyword::{self, Keyword};

/// A name by number. The reserved words have the lowest numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NameId(u32);

impl NameId {
    /// The number as an index.
    pub const fn index(self) -> usize {
        self.0 as usize
    }

    /// The reserved word of this name, if it is one.
    pub fn keyword(self) -> Option<Keyword> {
        keyword::KEYWORDS.get(self.index()).map(|&(_, keyword)| keyword)
    }

    /// The name of a reserved word.
    pub(super) const fn reserved(index: usize) -> NameId {
        NameId(index as u32)
    }
}

/// All names of a run.
pub struct Names {
    ids: HashTable<NameId>,
    /// Where each name's text ends in `texts`.
    ends: Vec<u32>,
    /// The hash of each name, which tells nearly all others apart.
    hashes: Vec<u64>,
    texts: String,
}

impl Default for Names {
    fn default() -> Self {
        let mut names = Names { ids: HashTable::with_capacity(1024), ends: Vec::new(), hashes: Vec::new(), texts: String::new() };
        for (word, _) in keyword::KEYWORDS.iter() {
            names.intern(word);
        }
        names
    }
}

impl Names {
    /// The number of a name, given in any spelling.
    pub fn intern(&mut self, spelling: &str) -> NameId {
        with_normal_form(spelling, |normal| {
            let hash = hash(normal);
            if let Some(id) = self.known(hash, normal) {
                return id;
            }
            let id = NameId(self.ends.len() as u32);
            // The normal form differs from the spelling, which is UTF-8, only by dropped and changed ASCII characters.
            self.texts.push_str(&String::from_utf8_lossy(normal));
            self.ends.push(self.texts.len() as u32);
            self.hashes.push(hash);
            self.ids.insert_unique(hash, id, |&id| self.hashes[id.index()]);
            id
        })
    }

    /// The number of a name that has been seen before.
    pub fn find(&self, spelling: &str) -> Option<NameId> {
        with_normal_form(spelling, |normal| self.known(hash(normal), normal))
    }

    fn known(&self, hash: u64, normal: &[u8]) -> Option<NameId> {
        let same = |&id: &NameId| self.hashes[id.index()] == hash && self.text(id).as_bytes() == normal;
        self.ids.find(hash, same).copied()
    }

    /// The words that can stand where an operation does.
    pub fn operations(&self) -> impl Iterator<Item = &str> {
        keyword::KEYWORDS.iter().filter(|(_, keyword)| keyword.is_operation()).map(|(word, _)| *word)
    }

    /// The name in normal form: upper case, without spacers.
    pub fn text(&self, NameId(id): NameId) -> &str {
        let start = if id == 0 { 0 } else { self.ends[id as usize - 1] };
        &self.texts[start as usize..self.ends[id as usize] as usize]
    }

    /// How many names there are; ids run below this.
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// Never: the reserved words are always there.
    pub fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }

    /// All names that are no reserved words, in the order of their first sight.
    pub fn own(&self) -> impl Iterator<Item = NameId> + '_ {
        (keyword::KEYWORDS.len()..self.len()).map(|at| NameId(at as u32))
    }
}

/// Calls `then` with the normal form, which for a name of usual length stays on the stack.
fn with_normal_form<R>(spelling: &str, then: impl FnOnce(&[u8]) -> R) -> R {
    let mut short = [0; 32];
    if spelling.len() <= short.len() {
        let mut length = 0;
        for byte in spelling.bytes() {
            // Written always and kept only if it counts, so that the loop does not branch.
            short[length & 31] = byte.to_ascii_uppercase();
            length += usize::from(byte != b'$');
        }
        return then(&short[..length]);
    }
    let long: Vec<u8> = spelling.bytes().filter(|&byte| byte != b'$').map(|byte| byte.to_ascii_uppercase()).collect();
    then(&long)
}

/// A hash of eight bytes at a time; names are short and come from the user's own source, not from an adversary.
fn hash(bytes: &[u8]) -> u64 {
    const MIX: u64 = 0x9E37_79B9_7F4A_7C15;
    let mut hash = bytes.len() as u64;
    for chunk in bytes.chunks(8) {
        let mut word = [0; 8];
        word[..chunk.len()].copy_from_slice(chunk);
        hash = (hash.rotate_left(23) ^ u64::from_le_bytes(word)).wrapping_mul(MIX);
    }
    hash ^ hash >> 32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn case_and_spacers_do_not_matter() {
        let mut names = Names::default();
        let id = names.intern("Loop");
        assert_eq!(names.intern("LO$OP"), id);
        assert_ne!(names.intern("LOOP1"), id);
        assert_eq!(names.text(id), "LOOP");
        let long = "a_name_that_is_longer_than_the_buffer_on_the_stack";
        assert_eq!(names.intern(long), names.intern(&long.to_uppercase()));
        assert_eq!(names.own().count(), 3);
    }

    #[test]
    fn reserved_words_are_known_from_the_start() {
        let mut names = Names::default();
        for (word, keyword) in keyword::KEYWORDS.iter() {
            assert_eq!(names.intern(word).keyword(), Some(*keyword), "{word}");
        }
        assert_eq!(names.intern("BELL").keyword(), None);
    }
}
