//! What writing and reading a table share: the length of a row, and the check over all rows.

use crc::{CRC_16_IBM_3740, Crc};

use crate::image::Image;

/// Bytes of a row.
pub(super) const ROW: usize = 8;

/// The bytes of a row and how many there are.
pub(super) type Row = ([u8; ROW], usize);

const CHECK: Crc<u16, crc::Table<16>> = Crc::<u16, crc::Table<16>>::new(&CRC_16_IBM_3740);

/// The check over everything that a table says.
pub(super) fn check(image: &Image) -> u16 {
    let mut digest = CHECK.digest();
    for extent in image.extents() {
        digest.update(&extent.base.0.to_be_bytes());
        digest.update(&(extent.bytes.len() as u32).to_be_bytes());
        digest.update(extent.bytes);
    }
    if let Some(entry) = image.entry {
        digest.update(&entry.0.to_be_bytes());
    }
    digest.finalize()
}
