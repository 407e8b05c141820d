//! What is put on a tape.

use crate::image::Image;

/// A program to be put on a tape.
#[derive(Clone, Copy, Debug)]
pub struct Program<'a> {
    /// What a label field says.
    pub name: &'a str,
    /// Its bytes, and its entry if the framing carries one.
    pub image: &'a Image,
    /// What is punched before the leader to be read by eye; may be empty.
    pub lettering: &'a str,
}
