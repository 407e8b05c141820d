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
    /// The key of each name.
    keys: Vec<u64>,
    texts: String,
}

impl Default for Names {
    fn default() -> Self {
        let mut names =
            Names { ids: HashTable::with_capacity(1024), ends: Vec::new(), keys: Vec::new(), texts: String::new() };
        for (word, _) in keyword::KEYWORDS.iter() {
            names.intern(word);
        }
        names
    }
}

impl Names {
    /// The number of a name, given in any spelling.
    pub fn intern(&mut self, spelling: &str) -> NameId {
        if let Some(key) = packed(spelling.as_bytes()) {
            let known = self.ids.find(hash(key), |id| self.keys[id.index()] == key);
            if let Some(&id) = known {
                return id;
            }
        }
        self.intern_normal(&normal_form(spelling))
    }

    /// The number of a name that is known already, given in any spelling.
    pub fn find(&self, spelling: &str) -> Option<NameId> {
        let normal = normal_form(spelling);
        let key = packed(normal.as_bytes()).unwrap_or_else(|| long_key(normal.as_bytes()));
        let same = |&id: &NameId| self.keys[id.index()] == key && self.text(id) == normal;
        self.ids.find(hash(key), same).copied()
    }

    fn intern_normal(&mut self, normal: &str) -> NameId {
        let key = packed(normal.as_bytes()).unwrap_or_else(|| long_key(normal.as_bytes()));
        let same = |&id: &NameId| self.keys[id.index()] == key && self.text(id) == normal;
        if let Some(&id) = self.ids.find(hash(key), same) {
            return id;
        }
        let id = NameId(self.ends.len() as u32);
        self.texts.push_str(normal);
        self.ends.push(self.texts.len() as u32);
        self.keys.push(key);
        self.ids.insert_unique(hash(key), id, |id| hash(self.keys[id.index()]));
        id
    }

    /// The words that can stand where an operation does.
    pub fn operations(&self) -> impl Iterator<Item = &str> {
        let ours = |&&(word, keyword): &&(&str, Keyword)| {
            keyword.is_operation() && !matches!(keyword, Keyword::OtherHands(_)) && !word.starts_with('.')
        };
        keyword::KEYWORDS.iter().filter(ours).map(|(word, _)| *word)
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

    /// All names, the reserved words first, then in the order of their first sight.
    pub fn all(&self) -> impl Iterator<Item = NameId> + use<> {
        (0..self.len()).map(|at| NameId(at as u32))
    }
}

/// Upper case, without spacers.
fn normal_form(spelling: &str) -> String {
    spelling.bytes().filter(|&byte| byte != b'$').map(|byte| byte.to_ascii_uppercase() as char).collect()
}

/// A name of up to eight characters and no spacer as one word, upper and lower case alike: it is its own key.
fn packed(name: &[u8]) -> Option<u64> {
    if name.len() > 8 {
        return None;
    }
    let mut key = 0;
    for byte in name {
        if *byte == b'$' {
            return None;
        }
        key = key << 8 | u64::from(byte.to_ascii_uppercase());
    }
    Some(key)
}

/// The key of a longer name, apart from all packed ones, whose bytes are ASCII.
fn long_key(normal: &[u8]) -> u64 {
    let chunks = normal.chunks(8).filter_map(packed);
    chunks.fold(normal.len() as u64, |key, chunk| hash(key.rotate_left(23) ^ chunk)) | 1 << 63
}

/// Spreads a key over all bits; names come from the user's own source, not from an adversary.
fn hash(key: u64) -> u64 {
    let mixed = key.wrapping_mul(0x9E37_79B9_7F4A_7C15);
    mixed ^ mixed >> 32
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
        assert_eq!(names.all().count(), keyword::KEYWORDS.len() + 3);
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
