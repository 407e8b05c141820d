//! Part files give the image again, however a socket is wired, and a fit accounts for every byte.

use coldwright::image::{Image, Symbol, SymbolKind};
use coldwright::notation::{Address, Notation};
use coldwright::record::CheckKind;
use coldwright::rom::{
    CheckEntry, FillEntry, PartEntry, PartFormat, Parts, Socket, SocketEntry, contents, fit, join, part_files,
    routines, split,
};
use coldwright::source::{Origin, Position, SourceMap};
use proptest::prelude::*;
use proptest::sample::{Index, select};

/// A socket of up to 256 words at a base that suits it, wired and filled in any way.
fn sockets() -> impl Strategy<Value = Socket> {
    let part = (1u32..=8, select(vec![4u8, 8]), 0u8..=1);
    let wiring = (any::<bool>(), any::<bool>(), Just((0..8).collect::<Vec<u8>>()).prop_shuffle());
    let fill = prop::option::of(prop::collection::vec(any::<u8>(), 1..5));
    let check = prop::option::of((any::<Index>(), any::<Index>()));
    (part, wiring, any::<u16>(), fill, check).prop_flat_map(|(part, wiring, base, fill, check)| {
        let lines = Just((0..part.0 as u8).collect::<Vec<u8>>()).prop_shuffle();
        lines.prop_map(move |address| socket(part, &wiring, &address, base, &fill, check))
    })
}

fn socket(
    (lines, bits, erased): (u32, u8, u8),
    (interleaved, inverted, data): &(bool, bool, Vec<u8>),
    address: &[u8],
    base: u16,
    fill: &Option<Vec<u8>>,
    check: Option<(Index, Index)>,
) -> Socket {
    let mut parts = Parts::default();
    parts.add(&PartEntry { name: "P".into(), words: 1 << lines, bits, erased }).unwrap();
    let span = 1u16 << lines << u16::from(*interleaved);
    let base = base & !(span - 1);
    let check = check.map(|(kind, at)| {
        let kinds: Vec<_> = CheckKind::all().filter(|kind| kind.width() <= usize::from(span)).collect();
        let kind = *kind.get(&kinds);
        let at = base + at.index(usize::from(span) - kind.width() + 1) as u16;
        CheckEntry { kind: kind.name().into(), at }
    });
    let entry = SocketEntry {
        name: "U1".into(),
        part: "P".into(),
        base,
        interleaved: *interleaved,
        inverted: *inverted,
        data: Some(data.clone()),
        address: Some(address.into()),
        fill: fill.clone().map(FillEntry::Pattern),
        check,
    };
    Socket::new(&entry, &parts).unwrap()
}

/// An image with the given bytes at the given places, without those that `keep` refuses.
fn image(bytes: &[(u16, u8)], keep: impl Fn(usize) -> bool) -> Image {
    let source = SourceMap::default().add("random", "", Origin::Given);
    let mut image = Image::default();
    for &(address, byte) in bytes.iter().filter(|(address, _)| keep(usize::from(*address))) {
        // A second byte for the same address is left out.
        let _ = image.insert(Address(address), &[byte], Position { source, offset: 0 });
    }
    image
}

/// The addresses of a socket's check.
fn check_range(socket: &Socket) -> std::ops::Range<usize> {
    socket.check.map_or(0..0, |check| check.at.index()..check.at.index() + check.width())
}

fn spots() -> impl Strategy<Value = Vec<(Index, u8)>> {
    prop::collection::vec(any::<(Index, u8)>(), 0..200)
}

/// Bytes of an image that lie in a socket and leave its check free.
fn seated(socket: &Socket, spots: &[(Index, u8)]) -> Image {
    let place = |at: &Index| (socket.base.index() + at.index(socket.span())) as u16;
    let bytes: Vec<_> = spots.iter().map(|(at, byte)| (place(at), *byte)).collect();
    image(&bytes, |at| !check_range(socket).contains(&at))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn parts_of_any_socket_join_to_the_image_again(socket in sockets(), spots in spots()) {
        let image = seated(&socket, &spots);
        let wanted = contents(&socket, &image, Notation::Octal).unwrap();
        for extent in image.extents() {
            let start = extent.base.index() - socket.base.index();
            prop_assert_eq!(&wanted[start..start + extent.bytes.len()], extent.bytes);
        }
        let parts = split(&socket, &wanted);
        prop_assert!(parts.iter().all(|part| part.words.iter().all(|&word| word <= socket.part.width.mask())));
        prop_assert_eq!(join(&socket, &parts, Notation::Octal).unwrap(), wanted.clone());
        for format in PartFormat::ALL {
            let files = part_files(&socket, &wanted, format).unwrap();
            prop_assert!(files.iter().map(|file| &file.part).eq(&parts));
        }
    }

    #[test]
    fn a_changed_word_changes_what_is_read_or_breaks_the_check(
        socket in sockets(), spots in spots(), which in any::<Index>(), word in any::<Index>(), bit in any::<Index>(),
    ) {
        let wanted = contents(&socket, &seated(&socket, &spots), Notation::Octal).unwrap();
        let mut parts = split(&socket, &wanted);
        let part = which.index(parts.len());
        let word = word.index(socket.part.words);
        parts[part].words[word] ^= 1 << bit.index(socket.part.width.bits());
        match join(&socket, &parts, Notation::Octal) {
            // Every check that can be placed notices one wrong bit.
            Ok(found) => {
                prop_assert!(socket.check.is_none());
                prop_assert_eq!(found.iter().zip(&wanted).filter(|(found, wanted)| found != wanted).count(), 1);
            }
            Err(_) => prop_assert!(socket.check.is_some()),
        }
    }

    #[test]
    fn unused_cells_stay_erased(socket in sockets()) {
        let plain = Socket { fill: coldwright::rom::Fill::Erased, check: None, ..socket };
        let parts = split(&plain, &contents(&plain, &Image::default(), Notation::Octal).unwrap());
        prop_assert!(parts.iter().flat_map(|part| &part.words).all(|&word| word == plain.part.erased_word()));
    }

    #[test]
    fn every_byte_is_in_the_socket_or_reported(
        socket in sockets(), bytes in prop::collection::vec((any::<u16>(), any::<u8>()), 0..60), near in spots(),
        names in prop::collection::vec(any::<u16>(), 0..40),
    ) {
        let around = near.iter().map(|(at, byte)| {
            ((socket.base.0).wrapping_sub(8).wrapping_add(at.index(socket.span() + 16) as u16), *byte)
        });
        let bytes: Vec<_> = bytes.iter().copied().chain(around).collect();
        let mut image = image(&bytes, |at| !check_range(&socket).contains(&at));
        let label = |&value: &u16| Symbol { name: format!("L{value}"), value, kind: SymbolKind::Label };
        image.symbols = names.iter().map(label).collect();
        let (figures, problems) = fit(&image, std::slice::from_ref(&socket), 0, Notation::Octal);
        let outside = image.len() - (figures.sockets[0].used - figures.sockets[0].check);
        prop_assert_eq!(figures.fits, outside == 0);
        prop_assert_eq!(problems.has_errors(), outside > 0);
        prop_assert!(figures.sockets[0].outside <= outside);
        prop_assert_eq!(figures.sockets[0].used + figures.sockets[0].free, socket.span());
        let everything = routines(&image, 0..0x1_0000, Notation::Octal);
        prop_assert_eq!(everything.iter().map(|routine| routine.size).sum::<usize>(), image.len());
    }

    #[test]
    fn any_typed_socket_or_part_is_read_or_refused(text in "[A-Z0-9=@,.:x a-z]{0,40}|U7=2704@0(,[a-z]{1,11}(=[0-9.a-z/@-]{0,20})?){0,3}") {
        let mut parts = Parts::default();
        if let Ok(part) = PartEntry::parse(&text) {
            let _ = parts.add(&part);
        }
        if let Ok(entry) = SocketEntry::parse(&text) {
            let _ = Socket::new(&entry, &parts);
        }
    }
}
