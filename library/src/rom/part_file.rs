//! Part files: what a device programmer reads and writes, one for each part.
//!
//! | format | content |
//! | --- | --- |
//! | raw | one byte for each word, from word 0 on; the high nibble of a 4-bit word is zero |
//! | Intel HEX | the same bytes at addresses 0000 and up |

use super::socket::Socket;
use super::split::{PartImage, join, split};
use crate::image::{Image, intel_hex};
use crate::notation::{Address, Notation};
use crate::source::{Code, Diagnostic, Diagnostics, Origin, Position, SourceMap};

/// How a part file holds the words of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PartFormat {
    /// One byte for each word.
    Raw,
    /// Intel HEX from address 0.
    IntelHex,
}

impl PartFormat {
    /// All formats.
    pub const ALL: [PartFormat; 2] = [PartFormat::Raw, PartFormat::IntelHex];

    /// The extension of its files.
    pub const fn extension(self) -> &'static str {
        match self {
            PartFormat::Raw => "bin",
            PartFormat::IntelHex => "hex",
        }
    }

    /// The file of a part.
    pub fn write(self, part: &PartImage) -> Vec<u8> {
        match self {
            PartFormat::Raw => part.words.clone(),
            PartFormat::IntelHex => {
                let source = SourceMap::default().add(&*part.name, "", Origin::Given);
                let mut image = Image::default();
                // A part has no more words than an image has addresses.
                let _ = image.insert(Address(0), &part.words, Position { source, offset: 0 });
                intel_hex::write(&image)
            }
        }
    }

    /// The part of a file. Whether its words are as many and as wide as the part's is for [`join`] to say.
    ///
    /// `name` is the part's, `file` the file's; what is a text is added to `sources`.
    pub fn read(self, name: &str, file: &str, bytes: Vec<u8>, sources: &mut SourceMap) -> (PartImage, Diagnostics) {
        let name = name.to_owned();
        if self == PartFormat::Raw {
            return (PartImage { name, words: bytes }, Diagnostics::default());
        }
        let source = sources.add(file, bytes, Origin::Given);
        let reading = intel_hex::read(sources.get(source).text(), source);
        let mut problems = reading.problems;
        let extents: Vec<_> = reading.image.extents().collect();
        let words = match extents[..] {
            [only] if only.base == Address(0) => only.bytes.to_vec(),
            [] => Vec::new(),
            _ => {
                problems.push(scattered(file));
                Vec::new()
            }
        };
        (PartImage { name, words }, problems)
    }
}

fn scattered(file: &str) -> Diagnostic {
    Diagnostic::error(Code::PartFileWrong, format!("`{file}` does not hold all words of a part, from address 0 up"))
        .with_note("a part file has the addresses of the part's own pins, not the machine's, and no gaps")
        .with_help("have the programmer write every word, from 0 to the last")
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
    if join(socket, &read_back, Notation::default())? == contents {
        return Ok(files);
    }
    let headline = format!("the part files of socket `{}` do not give its bytes again", socket.name);
    Err(Diagnostic::error(Code::PartFileWrong, headline).with_note("nothing was written"))
}
