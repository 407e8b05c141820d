//! Whether an image fits its sockets, to the byte.
//!
//! [`fit`] returns the figures and the problems side by side: an image that does not fit is measured all the same.

use super::budget::{self, Outside};
use super::figures::{Fit, SocketFit};
use super::routine::routines;
use super::socket::{self, Socket};
use super::split::{contents, split, unchecked_contents};
use crate::image::Image;
use crate::notation::{Address, Notation};
use crate::source::Diagnostics;

/// Measures an image against a socket map. Problems are sockets that clash, bytes that lie in no socket, checks that
/// fall on the program, and sockets with fewer than `spare` bytes free; addresses in them are written in `notation`.
pub fn fit(image: &Image, sockets: &[Socket], spare: usize, notation: Notation) -> (Fit, Diagnostics) {
    let mut problems: Diagnostics = socket::clashes(sockets).into_iter().map(|clash| clash.problem).collect();
    let runs = budget::outside(image, sockets);
    let strays = runs.iter().filter(|run| run.socket.is_none());
    problems.extend(strays.map(|run| budget::stray(image, sockets, run, notation)));
    let mut list = Vec::new();
    for (index, socket) in sockets.iter().enumerate() {
        let runs: Vec<_> = runs.iter().filter(|run| run.socket == Some(index)).collect();
        let figures = measure(image, socket, &runs, notation, &mut problems);
        problems.extend(budget::overflow(image, socket, &figures, &runs, notation));
        if figures.free < spare && runs.is_empty() {
            problems.push(budget::spare_short(&figures, spare));
        }
        list.push(figures);
    }
    (Fit { fits: !problems.has_errors(), sockets: list }, problems)
}

/// The figures of a socket; `runs` are the bytes outside that belong to it.
fn measure(
    image: &Image,
    socket: &Socket,
    runs: &[&Outside],
    notation: Notation,
    problems: &mut Diagnostics,
) -> SocketFit {
    let taken = |at: &usize| image.byte(Address(*at as u16)).is_some();
    let program = socket.range().filter(taken).count();
    let check = socket.check.map_or(0, |check| {
        let start = check.at.index();
        (start..start + check.width()).filter(|at| !taken(at)).count()
    });
    let bytes = contents(socket, image, notation).unwrap_or_else(|problem| {
        problems.push(problem);
        unchecked_contents(socket, image)
    });
    let (start, end) = runs.iter().fold((socket.range().start, socket.range().end), |(start, end), run| {
        (start.min(run.range.start), end.max(run.range.end))
    });
    SocketFit {
        name: socket.name.clone(),
        part: socket.part.name.to_string(),
        base: socket.base.0,
        size: socket.span(),
        used: program + check,
        check,
        free: socket.span() - program - check,
        outside: runs.iter().map(|run| run.range.len()).sum(),
        cells: socket.part.words * socket.seats().len(),
        erased: erased_cells(socket, &bytes),
        routines: routines(image, start..end, notation),
    }
}

fn erased_cells(socket: &Socket, bytes: &[u8]) -> usize {
    let blank = socket.part.erased_word();
    split(socket, bytes).iter().flat_map(|part| &part.words).filter(|&&word| word == blank).count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::image::{Symbol, SymbolKind};
    use crate::rom::{Parts, SocketEntry};
    use crate::source::{Code, Origin, Position, SourceMap};

    fn image(base: u16, size: usize, labels: &[(&str, u16)]) -> Image {
        let source = SourceMap::default().add("test", "", Origin::Given);
        let mut image = Image::default();
        image.insert(Address(base), &vec![0; size], Position { source, offset: 0 }).unwrap();
        let label = |&(name, value): &(&str, u16)| Symbol { name: String::from(name), value, kind: SymbolKind::Label };
        image.symbols = labels.iter().map(label).collect();
        image
    }

    fn sockets(typed: &[&str]) -> Vec<Socket> {
        let socket = |text: &&str| Socket::new(&SocketEntry::parse(text)?, &Parts::default());
        typed.iter().map(socket).collect::<Result<_, _>>().unwrap()
    }

    #[test]
    fn a_program_of_512_bytes_fits_512_bytes_and_one_more_does_not() {
        let sockets = sockets(&["U7=2704@0o174000"]);
        let labels = [("START", 0o174000), ("READ", 0o174100), ("TABLE", 0o174700)];
        let (figures, problems) = fit(&image(0o174000, 512, &labels), &sockets, 0, Notation::Octal);
        assert!(figures.fits && problems.is_empty());
        assert_eq!((figures.sockets[0].free, figures.sockets[0].per_mille()), (0, 1000));
        let (figures, problems) = fit(&image(0o174000, 513, &labels), &sockets, 0, Notation::Octal);
        assert!(!figures.fits);
        let [problem] = &problems.iter().collect::<Vec<_>>()[..] else { panic!("{problems:?}") };
        assert_eq!(problem.code, Code::SocketOverflow);
        assert_eq!(problem.headline, "socket `U7` is over by 1 byte: it holds `512`, and `513` are wanted");
        let expected = [
            "1 byte lies past its end; the first that does not fit is 175000 in `TABLE+64`",
            "`U7` is a 2704 that serves 174000..174777",
            "the largest routines are READ 384, TABLE 65, START 64",
        ];
        assert_eq!(problem.notes, expected);
    }

    #[test]
    fn bytes_between_two_sockets_count_to_the_lower_and_neighbours_share_no_byte() {
        let apart = sockets(&["U7=82S123@0", "U8=82S123@64"]);
        let (figures, problems) = fit(&image(0, 96, &[]), &apart, 0, Notation::Octal);
        assert_eq!(figures.sockets.iter().map(|socket| socket.outside).collect::<Vec<_>>(), [32, 0]);
        assert_eq!(problems.len(), 1);
        let adjoining = sockets(&["U7=82S123@0", "U8=82S123@32"]);
        assert!(fit(&image(0, 64, &[]), &adjoining, 0, Notation::Octal).0.fits);
    }

    #[test]
    fn unused_and_blank_cells_need_no_programming() {
        let erased = |typed: &str| fit(&image(0, 10, &[]), &sockets(&[typed]), 0, Notation::Octal).0.sockets[0].erased;
        // Ten zeros: blank in a part that is shipped low, to be programmed in one that is erased to ones.
        assert_eq!(erased("U7=82S123@0"), 32);
        assert_eq!(erased("U7=82S123@0,inverted"), 22);
        assert_eq!(erased("U7=HM-7603@0"), 22);
        assert_eq!(erased("U7=HM-7603@0,fill=0"), 0);
    }
}
