//! Fits, comparisons and labels as plain text, for a terminal and for paper.

use std::fmt::Write;

use super::compare::Change;
use super::figures::{Fit, SocketFit};
use super::part_file::PartFile;
use super::socket::Socket;
use super::split::PartImage;
use super::table::{Known, cautions};
use super::text;
use crate::image::Image;
use crate::notation::{Address, Notation};

/// Marks in a bar.
const MARKS: usize = 64;

/// A fit as text: per socket its figures, a bar by address, and its largest routines, `most` of them.
pub fn fit_text(fit: &Fit, image: &Image, sockets: &[Socket], notation: Notation, most: usize) -> String {
    let mut out = String::new();
    for (figures, socket) in fit.sockets.iter().zip(sockets) {
        figures_text(&mut out, figures, socket, notation);
        let _ = writeln!(out, "  |{}|", bar(image, socket));
        let _ = writeln!(out, "   each mark {}: # used, + in part, . free", text::bytes(socket.span().div_ceil(MARKS)));
        for routine in figures.routines.iter().take(most) {
            let at = notation.address(Address(routine.address));
            let _ = writeln!(
                out,
                "  {at}  {:<20} {:>5}  {:>5}",
                routine.name,
                routine.size,
                per_cent(routine.size * 1000 / figures.size)
            );
        }
        if figures.routines.len() > most {
            let rest: usize = figures.routines[most..].iter().map(|routine| routine.size).sum();
            let _ = writeln!(out, "  {} more, {}", figures.routines.len() - most, text::bytes(rest));
        }
        out.push('\n');
    }
    out.push_str(if fit.fits { "everything fits\n" } else { "does not fit\n" });
    out
}

fn figures_text(out: &mut String, figures: &SocketFit, socket: &Socket, notation: Notation) {
    let SocketFit { name, part, size, used, check, free, outside, cells, erased, .. } = figures;
    let place = socket.place(notation);
    let _ = writeln!(out, "{name}  {part}  {place}  {}", text::bytes(*size));
    let check = if *check == 0 { String::new() } else { format!(" ({check} of them the check)") };
    let share = per_cent(figures.per_mille());
    let _ = writeln!(out, "  used {used}{check}, free {free}, {share} full; {erased} of {cells} cells stay erased");
    if *outside > 0 {
        let _ = writeln!(out, "  {} of the program outside", text::bytes(*outside));
    }
}

fn per_cent(per_mille: usize) -> String {
    format!("{}.{}%", per_mille / 10, per_mille % 10)
}

/// A bar by address: `#` for a stretch that is used, `+` for one used in part, `.` for a free one.
fn bar(image: &Image, socket: &Socket) -> String {
    let (base, step) = (socket.base.index(), socket.span().div_ceil(MARKS));
    let stretch = |from: usize| {
        let used = (from..from + step).filter(|&at| image.byte(Address((base + at) as u16)).is_some()).count();
        match used {
            0 => '.',
            used if used == step => '#',
            _ => '+',
        }
    };
    (0..socket.span()).step_by(step).map(stretch).collect()
}

/// Changes as text, one a line.
pub fn changes_text(changes: &[Change]) -> String {
    if changes.is_empty() {
        return "nothing grew or shrank\n".into();
    }
    let mut out = String::new();
    for change in changes {
        let size = |size: Option<usize>| size.map_or("-".into(), |size| size.to_string());
        let word = match (change.before, change.after) {
            (None, _) => "new",
            (_, None) => "gone",
            _ if change.growth() > 0 => "grew",
            _ => "shrank",
        };
        let what = change.routine.as_deref().map_or_else(|| change.socket.clone(), |name| format!("  {name}"));
        let (before, after) = (size(change.before), size(change.after));
        let _ = writeln!(out, "{what:<22} {word:<6} {before:>5} -> {after:>5}  {:+}", change.growth());
    }
    out
}

/// The label of one part: short enough to stick on it. The order of three supplies goes with the part, for whoever seats
/// it next.
pub fn label(title: &str, socket: &Socket, part: &PartImage, notation: Notation) -> String {
    let (place, sum) = (socket.place(notation), notation.word(part.sum()));
    let three = socket.part.known.is_some_and(Known::has_three_supplies);
    let order = if three { "-5 V first on, last off\n" } else { "" };
    format!("{title}\n{}  {}\n{place}\nsum {sum}\n{order}", part.name, socket.part.name)
}

/// What begins the cautions of every page of labels.
const CAUTIONS: &str = "Cautions for ";

/// Whether a file is such a page as [`labels_page`] makes, of whatever program.
pub fn is_labels_page(bytes: &[u8]) -> bool {
    bytes.split(|&byte| byte == b'\n').any(|line| line.starts_with(CAUTIONS.as_bytes()))
}

/// The page that goes with the part files of a socket: each part's label, how it is wired, and the part's cautions.
pub fn labels_page<'a>(
    title: &str,
    socket: &Socket,
    files: impl IntoIterator<Item = &'a PartFile>,
    notation: Notation,
) -> String {
    let mut out = String::new();
    for PartFile { part, .. } in files {
        let blank = part.words.iter().filter(|&&word| word == socket.part.erased_word()).count();
        let (program, organisation) = (part.words.len() - blank, socket.part.organisation());
        let _ = writeln!(out, "{}", label(title, socket, part, notation));
        let _ = writeln!(out, "({organisation}: to program {program}, stay erased {blank})\n");
    }
    let wiring = wiring_lines(socket, notation);
    if !wiring.is_empty() {
        let _ = writeln!(out, "{}\n", wiring.join("\n"));
    }
    let _ = writeln!(out, "{CAUTIONS}{} in {}:", socket.part.name, socket.name);
    for caution in cautions(socket.part.known) {
        out.push_str(&text::item(&caution));
    }
    out.push('\n');
    out
}

/// What is not straight about a socket, and its check.
pub fn wiring_lines(socket: &Socket, notation: Notation) -> Vec<String> {
    let wiring = &socket.wiring;
    let said = [
        (wiring.inverted, "The data lines are inverted: the file holds what the pins show."),
        (!wiring.data.is_straight(), "The data lines are crossed: the file holds what the pins show."),
        (!wiring.address.is_straight(), "The address lines are crossed: the file is in the order of the pins."),
        (wiring.interleaved, "Even and odd addresses lie in different parts."),
    ];
    let check = socket
        .check
        .map(|check| format!("A check lies in the socket: {} at {}.", check.kind.name(), notation.address(check.at)));
    said.into_iter().filter(|(is, _)| *is).map(|(_, line)| line.to_owned()).chain(check).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rom::{PartFormat, Parts, SocketEntry, contents, part_files};

    #[test]
    fn a_page_has_a_label_for_each_part_the_wiring_and_the_cautions() {
        let entry = SocketEntry::parse("U7=82S123@0o177000,inverted,check=sum8@0o177037").unwrap();
        let socket = Socket::new(&entry, &Parts::default()).unwrap();
        let files =
            part_files(&socket, &contents(&socket, &Image::default(), Notation::Octal).unwrap(), PartFormat::Raw)
                .unwrap();
        let page = labels_page("rooster", &socket, &files, Notation::Octal);
        let start = "rooster\nU7  82S123\n177000..177037\nsum 000340\n\n\
                     (32 x 8: to program 1, stay erased 31)\n\n\
                     The data lines are inverted: the file holds what the pins show.\n\
                     A check lies in the socket: sum8 at 177037.\n\n\
                     Cautions for 82S123 in U7:\n- Power off, plug out, and wait";
        assert!(page.starts_with(start), "{page}");
        assert!(page.contains("A blown fuse does not come back") && !page.contains("ultraviolet"));
        assert!(page.lines().all(|line| line.len() <= 78));
    }

    #[test]
    fn three_supplies_and_ultraviolet_are_cautioned_for() {
        let socket = Socket::new(&SocketEntry::parse("U7=2708@0").unwrap(), &Parts::default()).unwrap();
        let files =
            part_files(&socket, &contents(&socket, &Image::default(), Notation::Octal).unwrap(), PartFormat::Raw)
                .unwrap();
        let page = labels_page("rooster", &socket, &files, Notation::Octal);
        assert!(page.starts_with("rooster\nU7  2708\n000000..001777\nsum 176000\n-5 V first on, last off\n"), "{page}");
        for caution in ["-5 V comes on first", "ultraviolet", "Confirm both against the maker's own"] {
            assert!(page.replace("\n ", "").contains(caution), "{caution}: {page}");
        }
    }
}
