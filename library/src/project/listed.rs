//! Lists whose things are told apart by numbers of their own type, so that the number of a tape is never taken for that of a
//! stage.

use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::marker::PhantomData;
use std::ops::{Deref, Index};

/// The place of a thing in its list.
pub struct Id<T>(usize, PhantomData<fn() -> T>);

impl<T> Id<T> {
    /// The thing at a place, counted from 0.
    pub(crate) fn new(place: usize) -> Id<T> {
        Id(place, PhantomData)
    }

    /// Its place, counted from 0.
    pub fn place(self) -> usize {
        self.0
    }
}

impl<T> Clone for Id<T> {
    fn clone(&self) -> Id<T> {
        *self
    }
}

impl<T> Copy for Id<T> {}

impl<T> PartialEq for Id<T> {
    fn eq(&self, other: &Id<T>) -> bool {
        self.0 == other.0
    }
}

impl<T> Eq for Id<T> {}

impl<T> PartialOrd for Id<T> {
    fn partial_cmp(&self, other: &Id<T>) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<T> Ord for Id<T> {
    fn cmp(&self, other: &Id<T>) -> Ordering {
        self.0.cmp(&other.0)
    }
}

impl<T> Hash for Id<T> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.0.hash(state);
    }
}

impl<T> fmt::Debug for Id<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "#{}", self.0)
    }
}

/// Things in the order in which a file has them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listed<T>(Vec<T>);

impl<T> Default for Listed<T> {
    fn default() -> Listed<T> {
        Listed(Vec::new())
    }
}

impl<T> Listed<T> {
    /// Each with its number.
    pub fn numbered(&self) -> impl DoubleEndedIterator<Item = (Id<T>, &T)> {
        self.0.iter().enumerate().map(|(place, thing)| (Id::new(place), thing))
    }

    /// The number of the first of which something holds.
    pub fn find(&self, holds: impl FnMut(&T) -> bool) -> Option<Id<T>> {
        self.0.iter().position(holds).map(Id::new)
    }

    /// The one of that number, to be changed.
    pub(crate) fn get_mut(&mut self, id: Id<T>) -> &mut T {
        &mut self.0[id.0]
    }

    /// Adds one behind the others.
    pub(crate) fn push(&mut self, thing: T) {
        self.0.push(thing);
    }
}

impl<T> Index<Id<T>> for Listed<T> {
    type Output = T;

    fn index(&self, id: Id<T>) -> &T {
        &self.0[id.0]
    }
}

impl<T> Deref for Listed<T> {
    type Target = [T];

    fn deref(&self) -> &[T] {
        &self.0
    }
}

impl<T> From<Vec<T>> for Listed<T> {
    fn from(list: Vec<T>) -> Listed<T> {
        Listed(list)
    }
}

impl<T> FromIterator<T> for Listed<T> {
    fn from_iter<I: IntoIterator<Item = T>>(things: I) -> Listed<T> {
        Listed(things.into_iter().collect())
    }
}

impl<'a, T> IntoIterator for &'a Listed<T> {
    type Item = &'a T;
    type IntoIter = std::slice::Iter<'a, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.iter()
    }
}
