//! Disks of random layouts: what is written equals what an encoder written apart makes of it, is read back whole, and no
//! single wrong bit goes unnoticed.

use std::fmt::Write as _;

use coldwright::disk::read::{Slip, Slips, Verdict, read, take};
use coldwright::disk::write::{Program, formatted, put};
use coldwright::disk::{Disk, Form, Layout, bundled, load};
use coldwright::image::Image;
use coldwright::notation::{Address, Notation};
use coldwright::record::Spot;
use coldwright::source::{Diagnostics, Origin, Position, Renderer, SourceMap, Style};
use proptest::prelude::*;

/// A layout in the few words of this test, and its own idea of what its sectors look like.
#[derive(Clone, Debug)]
struct Drawn {
    tracks: usize,
    sectors: usize,
    first: u8,
    interleave: usize,
    skew: usize,
    most: usize,
    fill: u8,
    /// Whether a sector tells how many bytes it carries.
    counts: bool,
    /// Whether it carries an address, high byte first or low byte first.
    address: Option<bool>,
    next: bool,
    /// A sum of one byte, or a CRC.
    crc: bool,
}

const MARK: u8 = 0o202;

fn drawn() -> impl Strategy<Value = Drawn> {
    let numbers = (1..4usize, 2..12usize, 0..3u8, 1..12usize, 0..5usize, 1..40usize, any::<u8>());
    let choices = (any::<bool>(), any::<Option<bool>>(), any::<bool>(), any::<bool>());
    (numbers, choices).prop_map(|(numbers, choices)| {
        let (tracks, sectors, first, interleave, skew, most, fill) = numbers;
        let (counts, address, next, crc) = choices;
        // A blank sector must not look like a written one.
        let fill = if fill == MARK { 0 } else { fill };
        let interleave = interleave.min(sectors - 1);
        Drawn { tracks, sectors, first, interleave, skew, most, fill, counts, address, next, crc }
    })
}

impl Drawn {
    fn names(&self) -> Vec<&'static str> {
        let mut names = vec!["mark", "track", "sector"];
        names.extend(self.counts.then_some("length"));
        names.extend(self.address.map(|_| "address"));
        names.extend(self.next.then_some("next"));
        names.push("data");
        names
    }

    fn toml(&self) -> String {
        let Drawn { tracks, sectors, first, interleave, skew, most, fill, .. } = self;
        let mut text = format!(
            "name = \"drawn\"\ntracks = {tracks}\nrpm = 60\ntolerance = 3.0\nbyte_us = 32.0\nradius_mm = 60.0\n\
             pitch_mm = 0.5\nholes = {sectors}\nfirst = {first}\ninterleave = {interleave}\nskew = {skew}\nfill = {fill}\nsector = [\n"
        );
        for name in self.names() {
            let field = match name {
                "mark" => format!("{{ mark = [{MARK}] }}"),
                "track" => "{ track = \"u8\" }".to_owned(),
                "sector" => "{ sector = \"u8\" }".to_owned(),
                "length" => "{ length = \"u8\" }".to_owned(),
                "address" if self.address == Some(true) => "{ address = \"u16be\" }".to_owned(),
                "address" => "{ address = \"u16le\" }".to_owned(),
                "next" => "{ next = \"sector\" }".to_owned(),
                _ => format!("{{ data = {most}, pad = 0 }}"),
            };
            let _ = writeln!(text, "    {field},");
        }
        let check = if self.crc { "check = \"crc-16/xmodem\", as = \"u16be\"" } else { "check = \"sum8\"" };
        let _ = writeln!(
            text,
            "    {{ {check}, over = {:?} }},\n]\n[[area]]\nname = \"all\"\ntrack = 0\nsector = {first}",
            self.names()
        );
        let _ = writeln!(text, "sectors = {}", tracks * sectors);
        if self.address.is_none() {
            text += "load = 0o100\n";
        }
        text
    }

    fn layout(&self) -> Layout {
        let (mut sources, mut problems) = (SourceMap::default(), Diagnostics::default());
        let source = sources.add("drawn.toml", self.toml(), Origin::Given);
        let layout = load(&sources, source, Notation::default(), &mut problems);
        let mut renderer = Renderer::new(&sources, Style::default());
        let told: String = problems.iter().map(|problem| renderer.render(problem)).collect();
        layout.unwrap_or_else(|| panic!("{told}\n{}", self.toml()))
    }

    /// The bytes of a sector, made without the library.
    fn sector(&self, place: (usize, usize), base: u16, data: &[u8], last: bool) -> Vec<u8> {
        let mut bytes = vec![MARK, place.0 as u8, self.first + place.1 as u8];
        if self.counts {
            bytes.push(data.len() as u8);
        }
        match self.address {
            Some(true) => bytes.extend(base.to_be_bytes()),
            Some(false) => bytes.extend(base.to_le_bytes()),
            None => {}
        }
        if self.next {
            let next = self.first + ((place.1 + 1) % self.sectors) as u8;
            bytes.push(if last { 0o377 } else { next });
        }
        bytes.extend(data);
        bytes.resize(bytes.len() + self.most - data.len(), 0);
        if self.crc {
            let mut register = 0u16;
            for bit in bytes.iter().flat_map(|byte| (0..8).rev().map(move |bit| byte >> bit & 1)) {
                let carry = register >> 15 ^ u16::from(bit);
                register = (register << 1) ^ (carry * 0x1021);
            }
            bytes.extend(register.to_be_bytes());
        } else {
            bytes.push(bytes.iter().fold(0u8, |sum, byte| sum.wrapping_add(*byte)));
        }
        bytes
    }

    /// The whole disk with a program from an address on, made without the library.
    fn disk(&self, base: u16, program: &[u8]) -> Vec<u8> {
        let chunks: Vec<_> = program.chunks(self.most).collect();
        let mut disk = Vec::new();
        for index in 0..self.tracks * self.sectors {
            let place = (index / self.sectors, index % self.sectors);
            let blank = self.sector(place, 0, &[], true);
            match chunks.get(index) {
                Some(chunk) => {
                    let at = base + (index * self.most) as u16;
                    disk.extend(self.sector(place, at, chunk, index + 1 == chunks.len()));
                }
                None if self.counts => disk.extend(vec![self.fill; blank.len()]),
                None => disk.extend(blank),
            }
        }
        disk
    }
}

fn image(base: u16, bytes: &[u8]) -> Image {
    let mut sources = SourceMap::default();
    let made_by = Position { source: sources.add("test", "", Origin::Given), offset: 0 };
    let mut image = Image::default();
    image.insert(Address(base), bytes, made_by).unwrap();
    image
}

const BASE: u16 = 0o100;

fn written(layout: &Layout, program: &[u8]) -> Option<Disk> {
    let mut disk = formatted(layout, Form::Whole);
    let image = image(BASE, program);
    put(layout, &mut disk, &Program { name: "p", image: &image, area: &layout.areas[0] }, Notation::default()).ok()?;
    Some(disk)
}

/// Every bit that a sector has, each in one of the sectors of a track: they are judged one by one.
#[test]
fn every_wrong_bit_of_a_checked_track_is_told() {
    let mut layout = bundled("holes-32").unwrap();
    layout.tracks = 2;
    let program: Vec<u8> = (0..4096u32).map(|at| (at * 29 + at / 251) as u8).collect();
    let (image, mut disk) = (image(BASE, &program), formatted(&layout, Form::Whole));
    let area = layout.areas.iter().find(|area| area.name == "program").unwrap();
    put(&layout, &mut disk, &Program { name: "p", image: &image, area }, Notation::default()).unwrap();
    assert!(read(&layout, &disk).is_sound());
    let (cell, sound) = (layout.record_bytes(), disk.into_bytes());
    let sectors = sound.len() / cell;
    for bit in 0..cell * 8 {
        let sector = bit % sectors;
        let mut bytes = sound.clone();
        bytes[sector * cell + bit / 8] ^= 1 << (bit % 8);
        let reading = read(&layout, &Disk::from_bytes(&layout, bytes).unwrap());
        let verdict = &reading.verdicts[sector];
        assert!(!verdict.is_readable() && *verdict != Verdict::Empty, "bit {bit} in sector {sector}: {verdict:?}");
    }
}

proptest! {
    #[test]
    fn what_is_written_equals_what_is_made_apart_and_is_read_back(drawn in drawn(), program in prop::collection::vec(any::<u8>(), 1..300)) {
        let layout = drawn.layout();
        let fits = program.len().div_ceil(drawn.most) <= drawn.tracks * drawn.sectors;
        let disk = written(&layout, &program);
        prop_assert_eq!(disk.is_some(), fits);
        let Some(disk) = disk else { return Ok(()) };
        let reading = read(&layout, &disk);
        prop_assert!(reading.is_sound());
        let taken = take(&layout, &disk, &reading, &layout.areas[0]);
        prop_assert!(taken.gaps.is_empty(), "{:?}", taken.gaps);
        prop_assert_eq!(taken.says_its_end, drawn.next);
        let mut bytes: Vec<_> = taken.pieces.iter().flat_map(|(_, bytes)| bytes.clone()).collect();
        prop_assert_eq!(taken.pieces[0].0, Address(BASE));
        let made = disk.clone().into_bytes();
        prop_assert_eq!(Disk::from_bytes(&layout, made.clone()).unwrap(), disk);
        prop_assert!(made == drawn.disk(BASE, &program), "{}", drawn.toml());
        if drawn.counts {
            prop_assert_eq!(bytes, program);
        } else {
            prop_assert!(bytes[program.len()..].iter().all(|&byte| byte == 0));
            bytes.truncate(program.len());
            prop_assert_eq!(bytes, program);
        }
    }

    #[test]
    fn no_single_wrong_bit_goes_unnoticed(drawn in drawn(), program in prop::collection::vec(any::<u8>(), 1..40), at in any::<prop::sample::Index>(), bit in 0..8u8) {
        let layout = drawn.layout();
        let Some(disk) = written(&layout, &program) else { return Ok(()) };
        let mut bytes = disk.into_bytes();
        let at = at.index(bytes.len());
        bytes[at] ^= 1 << bit;
        let cell = layout.record_bytes();
        let reading = read(&layout, &Disk::from_bytes(&layout, bytes.clone()).unwrap());
        let verdict = &reading.verdicts[at / cell];
        prop_assert!(!verdict.is_readable() && *verdict != Verdict::Empty, "{verdict:?}");
        // A sector is sound or empty again with the right bit, so that this one is found, alone or among others.
        if let Verdict::Damaged(_, slips) = verdict {
            let right = bytes[at] ^ 1 << bit;
            let one = Slips::One(Slip { byte: at % cell, bit, right });
            prop_assert!(*slips == one || *slips == Slips::Several, "{slips:?}");
        }
    }

    #[test]
    fn a_sector_put_where_another_belongs_is_told(drawn in drawn(), program in prop::collection::vec(any::<u8>(), 1..300), from in any::<prop::sample::Index>(), to in any::<prop::sample::Index>()) {
        let layout = drawn.layout();
        let Some(disk) = written(&layout, &program) else { return Ok(()) };
        let used = if drawn.counts { program.len().div_ceil(drawn.most) } else { drawn.tracks * drawn.sectors };
        let (from, to) = (from.index(used), to.index(drawn.tracks * drawn.sectors));
        prop_assume!(from != to);
        let (cell, mut bytes) = (layout.record_bytes(), disk.into_bytes());
        bytes.copy_within(from * cell..(from + 1) * cell, to * cell);
        let reading = read(&layout, &Disk::from_bytes(&layout, bytes).unwrap());
        prop_assert_eq!(&reading.verdicts[to], &Verdict::Elsewhere(layout.spot(from)));
        prop_assert_eq!(reading.twice, vec![(layout.spot(to), layout.spot(from))]);
    }

    #[test]
    fn of_a_longer_program_nothing_is_left(drawn in drawn(), old in prop::collection::vec(any::<u8>(), 1..300), new in prop::collection::vec(any::<u8>(), 1..300)) {
        let layout = drawn.layout();
        let (Some(mut disk), Some(alone)) = (written(&layout, &old), written(&layout, &new)) else { return Ok(()) };
        let image = image(BASE, &new);
        let again = put(&layout, &mut disk, &Program { name: "p", image: &image, area: &layout.areas[0] }, Notation::default());
        prop_assert!(again.is_ok() && disk == alone);
    }

    #[test]
    fn every_sector_passes_once_a_turn_where_it_is_said_to(drawn in drawn()) {
        let layout = drawn.layout();
        for track in 0..drawn.tracks {
            let mut seen = vec![false; drawn.sectors];
            for place in 0..drawn.sectors {
                let sector = layout.number_at(track, place);
                prop_assert_eq!(layout.place_of(Spot { track: track as u8, sector }), Some(place));
                seen[usize::from(sector - drawn.first)] = true;
            }
            prop_assert!(seen.into_iter().all(|seen| seen));
            // The track's first number stands `skew` places further on than on the track before it.
            let zero = |track: usize| layout.place_of(Spot { track: track as u8, sector: drawn.first }).unwrap();
            if track > 0 {
                prop_assert_eq!(zero(track), (zero(track - 1) + drawn.skew) % drawn.sectors);
            }
        }
    }
}
