//! Part files: what a device programmer reads and writes, one for each part.
//!
//! | format | content |
//! | --- | --- |
//! | raw | one byte for each word, from word 0 on; the high nibble of a 4-bit word is zero |

use super::socket::Socket;
use super::split::{PartImage, join, split};
use crate::source::{Code, Diagnostic, Diagnostics, SourceMap};

/// How a part file holds the words of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PartFormat {
    /// One byte for each word.
    Raw,
}

impl PartFormat {
    /// All formats.
    pub const ALL: [PartFormat; 1] = [PartFormat::Raw];

    /// The extension of its files.
    pub const fn extension(self) -> &'static str {
        match self {
            PartFormat::Raw => "bin",
        }
    }

    /// The file of a part.
    pub fn write(self, part: &PartImage) -> Vec<u8> {
        match self {
            PartFormat::Raw => part.words.clone(),
        }
    }

    /// The part of a file. Whether its words are as many and as wide as the part's is for [`join`] to say.
    ///
    /// `name` is the part's, `file` the file's; the text of the file is added to `sources`.
    pub fn read(self, name: &str, file: &str, bytes: Vec<u8>, sources: &mut SourceMap) -> (PartImage, Diagnostics) {
        let (words, problems) = match self {
            PartFormat::Raw => (bytes, Diagnostics::default()),
        };
        (PartImage { name: name.into(), words }, problems)
    }
}

/// A part with its file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartFile {
    /// What the part is to hold.
    pub part: PartImage,
    /// Its file.
    pub bytes: Vec<u8>,
}

/// The files of every part of a socket, in the order of [`Socket::seats`], read back and found to give the `contents`
/// of the socket again.
///
/// # Errors
/// A diagnostic if they do not.
pub fn part_files(socket: &Socket, contents: &[u8], format: PartFormat) -> Result<Vec<PartFile>, Diagnostic> {
    let file = |part| PartFile { bytes: format.write(&part), part };
    let files: Vec<_> = split(socket, contents).into_iter().map(file).collect();
    let mut sources = SourceMap::default();
    let again = |file: &PartFile| {
        let name = &file.part.name;
        format.read(name, name, file.bytes.clone(), &mut sources).0
    };
    let read_back: Vec<_> = files.iter().map(again).collect();
    if join(socket, &read_back)? == contents {
        return Ok(files);
    }
    let headline = format!("the part files of socket `{}` do not give its bytes again", socket.name);
    Err(Diagnostic::error(Code::PartFileWrong, headline).with_note("nothing was written"))
}
