//! Disks of 8 inches: turn, holes, and the soft-sectored track of single density.
//!
//! Sources: *SA810/860* specification, sections 1.4.8, 2.2 and 6.4 (turn, 32 sector holes, 5208
//! bytes a track, 48 tracks to the inch) [V]; *FD1771-01* data sheet, Western Digital, write track (by a retyped digest) [2];
//! *FD179X-02* data sheet, Western Digital, May 1980 [V]; the lay-out of a track also in a table of a controller's data
//! sheet, SMSC LPC47M10x, page 49 [V].

use coldwright::disk::{Layout, Sectoring, bundled};
use coldwright::record::{CheckKind, Kind};

fn layout(name: &str) -> Layout {
    bundled(name).unwrap_or_else(|| panic!("{name} is bundled"))
}

/// 32 sectors at 360 turns a minute: 5.208 ms each, 10 417 T-states of 2 MHz to one; a byte of single density lasts 32
/// microseconds, 64 T-states.
#[test]
fn a_sector_between_two_holes_lasts_five_point_two_milliseconds() {
    let layout = layout("holes-32");
    assert_eq!(layout.turn.us().round(), 166_667.0);
    let sector_us = layout.turn.us() / layout.sectors() as f64;
    assert_eq!((sector_us * 2.0).round(), 10_417.0, "T-states of 2 MHz");
    assert_eq!(((sector_us / layout.turn.byte_us) * 10.0).round(), 1628.0, "tenths of a byte");
    assert_eq!(layout.turn.byte_us * 2.0, 64.0, "T-states of 2 MHz");
    // The holes stand evenly: the gap between two is a 32nd of a turn.
    assert!((0..32).all(|hole| layout.begins(hole) == hole as f64 / 32.0));
}

/// 40, 6, 1 and 26 bytes behind the index; 26 sectors of 188; 247 up to the index: 5208 bytes.
#[test]
fn the_published_track_adds_up() {
    let layout = layout("marks-26");
    let Sectoring::Marks { count, preamble, gap } = &layout.sectoring else { panic!("sectors by marks") };
    let counts = |fills: &[coldwright::disk::Fill]| fills.iter().map(|fill| fill.count).collect::<Vec<_>>();
    assert_eq!(counts(preamble), [40, 6, 1, 26]);
    assert_eq!(preamble.iter().map(|fill| fill.byte).collect::<Vec<_>>(), [0xFF, 0x00, 0xFC, 0xFF]);
    assert_eq!((counts(&layout.sync), counts(gap)), (vec![6], vec![27]));
    let sector = layout.written_bytes() + 27;
    assert_eq!((*count, sector), (26, 188));
    assert_eq!(layout.turn.bytes().round(), 5208.0);
    assert_eq!(5208 - layout.needed_bytes(), 247);
}

/// FE, track, side, sector, length, two bytes of CRC; 11 bytes of gap and 6 of sync; FB, 128 bytes, two of CRC. Gap 2 is
/// 17 bytes, the last six of them zero.
#[test]
fn the_fields_of_a_published_sector() {
    let layout = layout("marks-26");
    let sizes: Vec<_> = (0..layout.record.fields.len()).map(|field| layout.record.size(field, 128)).collect();
    assert_eq!(sizes, [1, 1, 1, 1, 1, 2, 11, 6, 1, 128, 2]);
    let marks: Vec<_> = layout
        .record
        .fields
        .iter()
        .filter_map(|field| if let Kind::Mark(bytes) = &field.kind { Some(bytes[..].to_vec()) } else { None })
        .collect();
    assert_eq!(marks, [[0xFE], [0xFB]]);
}

/// The generator polynomial x^16 + x^12 + x^5 + 1 with a register of ones, from the mark on: computed here bit by bit.
/// FD179X-02 data sheet, "CRC" [V].
#[test]
fn the_checks_are_those_of_the_controller() {
    fn crc(bytes: &[u8]) -> u16 {
        let mut register = 0xFFFFu16;
        for bit in bytes.iter().flat_map(|byte| (0..8).rev().map(move |bit| byte >> bit & 1)) {
            let carry = register >> 15 ^ u16::from(bit);
            register = register << 1 ^ if carry == 1 { 1 << 12 | 1 << 5 | 1 } else { 0 };
        }
        register
    }
    let layout = layout("marks-26");
    let disk = coldwright::disk::write::formatted(&layout, coldwright::disk::Form::Whole);
    for index in [0, 25, 26, 2001] {
        let sector = disk.sector(index);
        let (id, data) = (&sector[..5], &sector[24..153]);
        assert_eq!(sector[5..7], crc(id).to_be_bytes());
        assert_eq!(sector[153..155], crc(data).to_be_bytes());
        assert_eq!(id, [0xFE, (index / 26) as u8, 0, (index % 26 + 1) as u8, 0]);
    }
    let kinds = layout.record.checks.iter().map(|&field| match layout.record.fields[field].kind {
        Kind::Check { kind, .. } => kind.width(),
        _ => 0,
    });
    assert!(kinds.eq([2, 2]) && CheckKind::of_fields().count() > 2);
}
