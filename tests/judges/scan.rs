//! A page as a scanner sees it: black and white at 100 dots an inch, with the places of its words.

use std::ops::Range;
use std::path::Path;

use crate::tool;

/// Dots an inch.
const DENSITY: f64 = 100.0;
/// White rows of dots above and below a band that is read.
const APART: usize = 6;
/// Points an inch.
const POINTS: f64 = 72.0;

/// A word of a page, in points from its upper left corner.
#[derive(Clone, Debug)]
pub struct Word {
    pub text: String,
    pub x: Range<f64>,
    pub y: Range<f64>,
}

impl Word {
    /// The middle, in points.
    pub fn middle(&self) -> (f64, f64) {
        (f64::midpoint(self.x.start, self.x.end), f64::midpoint(self.y.start, self.y.end))
    }
}

/// A scanned page.
pub struct Scan {
    width: usize,
    height: usize,
    black: Vec<bool>,
    pub words: Vec<Word>,
}

/// Scans the pages of `file` in `folder`; nothing where a tool is missing.
pub fn scan(folder: &Path, file: &str) -> Option<Vec<Scan>> {
    let density = DENSITY.to_string();
    tool::run("pdftoppm", &["-r", &density, "-mono", file, "scan"], folder)?;
    let boxes = tool::run("pdftotext", &["-bbox", file, "-"], folder)?;
    let mut pictures: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    pictures.retain(|path| path.extension().is_some_and(|extension| extension == "pbm"));
    pictures.sort();
    let pages = boxes.split("<page ").skip(1).zip(pictures);
    let scans = pages.map(|(page, picture)| {
        let scan = Scan::of(&std::fs::read(&picture).unwrap(), page.lines().filter_map(word).collect());
        std::fs::remove_file(picture).unwrap();
        scan
    });
    Some(scans.collect())
}

fn word(line: &str) -> Option<Word> {
    let rest = line.trim().strip_prefix("<word ")?;
    let (places, text) = rest.split_once('>')?;
    let places: Vec<f64> = places.split('"').skip(1).step_by(2).map(|place| place.parse().unwrap()).collect();
    let text = text.strip_suffix("</word>")?.to_owned();
    Some(Word { text, x: places[0]..places[2], y: places[1]..places[3] })
}

impl Scan {
    /// From the plain bits of a `P4` file.
    fn of(bits: &[u8], words: Vec<Word>) -> Scan {
        let head: Vec<_> = bits.split(u8::is_ascii_whitespace).take(3).collect();
        let number = |word: &[u8]| std::str::from_utf8(word).unwrap().parse::<usize>().unwrap();
        assert_eq!(head[0], b"P4");
        let (width, height) = (number(head[1]), number(head[2]));
        let rows = &bits[head.iter().map(|word| word.len() + 1).sum()..];
        let stride = width.div_ceil(8);
        let dot = |at: usize| rows[at / width * stride + at % width / 8] >> (7 - at % width % 8) & 1 == 1;
        Scan { width, height, black: (0..width * height).map(dot).collect(), words }
    }

    /// The part of a box, in points, that is black.
    pub fn ink(&self, x: Range<f64>, y: Range<f64>) -> f64 {
        let (columns, rows) = (dots(&x, self.width), dots(&y, self.height));
        let all = columns.len() * rows.len();
        let black = rows.flat_map(|row| columns.clone().map(move |column| row * self.width + column));
        black.filter(|at| self.black[*at]).count() as f64 / all as f64
    }

    /// What `tesseract` reads of octal digits in some bands of a column, one below the other; nothing where it is missing.
    pub fn octal(&self, folder: &Path, x: &Range<f64>, bands: &[Range<f64>]) -> Option<String> {
        let columns = dots(x, self.width);
        let white = || std::iter::repeat_n(None, APART);
        let rows: Vec<Option<usize>> =
            bands.iter().flat_map(|band| white().chain(dots(band, self.height).map(Some)).chain(white())).collect();
        let mut picture = format!("P5\n{} {}\n255\n", columns.len(), rows.len()).into_bytes();
        for row in rows {
            let is_black = |column| row.is_some_and(|row| self.black[row * self.width + column]);
            picture.extend(columns.clone().map(|column| if is_black(column) { 0 } else { 255 }));
        }
        std::fs::write(folder.join("column.pgm"), picture).unwrap();
        let digits = "tessedit_char_whitelist=01234567";
        tool::run("tesseract", &["column.pgm", "-", "--dpi", "100", "--psm", "6", "-c", digits], folder)
    }
}

fn dots(points: &Range<f64>, most: usize) -> Range<usize> {
    let dot = |at: f64| ((at * DENSITY / POINTS).round() as usize).min(most);
    dot(points.start)..dot(points.end)
}
