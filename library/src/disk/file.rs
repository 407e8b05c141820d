//! A disk as a file has it: its sectors by track and number, and nothing else.

use std::sync::Arc;

use super::layout::Layout;
use crate::notation::counted;
use crate::source::{Code, Diagnostic};

/// What a disk file has of each sector.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// All that a controller delivers of it.
    Whole,
    /// The bytes of its program alone.
    Data,
}

/// The sectors of a disk by track and number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Disk {
    /// What it has of each.
    pub form: Form,
    /// Shared until it is written.
    cells: Arc<Vec<u8>>,
    cell: usize,
}

impl Disk {
    /// A disk on which nothing was written.
    pub(super) fn blank(layout: &Layout, form: Form) -> Disk {
        let cell = form.cell(layout);
        Disk { form, cells: Arc::new(vec![layout.fill; cell * layout.tracks * layout.sectors()]), cell }
    }

    /// The disk that a file has. Its length tells its form.
    ///
    /// # Errors
    /// A diagnostic if the length is that of neither.
    pub fn from_bytes(layout: &Layout, bytes: Vec<u8>) -> Result<Disk, Diagnostic> {
        let sectors = layout.tracks * layout.sectors();
        let fits = |form: &Form| bytes.len() == sectors * form.cell(layout);
        if let Some(form) = [Form::Whole, Form::Data].into_iter().find(fits) {
            return Ok(Disk { form, cell: form.cell(layout), cells: Arc::new(bytes) });
        }
        let [whole, data] = [Form::Whole, Form::Data].map(|form| form.cell(layout));
        let headline = format!("{} are no disk of layout `{}`", counted(bytes.len(), "byte"), layout.name);
        let tracks = format!("{} of {}", counted(layout.tracks, "track"), counted(layout.sectors(), "sector"));
        let problem = Diagnostic::error(Code::DiskUnfit, headline).with_note(format!(
            "{tracks} are {} bytes with all {whole} bytes of a sector, {} with its {data} bytes of data alone",
            sectors * whole,
            sectors * data
        ));
        Err(problem.with_help("give the layout by which it was written, or the file whole"))
    }

    /// The file.
    pub fn into_bytes(self) -> Vec<u8> {
        Arc::unwrap_or_clone(self.cells)
    }

    /// CRC-16/IBM-3740 of the file, by which its pages and its copies are told apart.
    pub fn crc(&self) -> u16 {
        crc::Crc::<u16>::new(&crc::CRC_16_IBM_3740).checksum(self.cells.as_slice())
    }

    /// How many sectors there are.
    pub fn sectors(&self) -> usize {
        self.cells.len() / self.cell
    }

    /// A sector by its number among all.
    pub fn sector(&self, index: usize) -> &[u8] {
        &self.cells[index * self.cell..][..self.cell]
    }

    /// A sector to be written.
    pub(super) fn sector_mut(&mut self, index: usize) -> &mut [u8] {
        &mut Arc::make_mut(&mut self.cells)[index * self.cell..][..self.cell]
    }
}

impl Form {
    /// Bytes that a file of this form has of a sector.
    pub fn cell(self, layout: &Layout) -> usize {
        match self {
            Form::Whole => layout.record_bytes(),
            Form::Data => layout.data_bytes(),
        }
    }
}
