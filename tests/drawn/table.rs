//! `numbers.txt`: what is drawn, how, and for which files.

use std::fmt;

use super::Generator;
use super::found::Kind;

/// Files that share their numbers.
pub struct Place {
    /// A path; what is drawn for it depends on this name.
    pub name: &'static str,
    /// Other paths that say the same numbers.
    also: Vec<&'static str>,
    pub items: Vec<Item>,
}

/// A line of the table.
pub struct Item {
    pub name: &'static str,
    how: &'static str,
    pub value: &'static str,
}

/// What was drawn.
pub enum Drawn {
    Port(u16),
    /// Of status and of data: an even number and the next, in the one order or the other.
    Ports(u16, u16),
    /// Of four registers: a multiple of four and the three numbers behind it.
    Four(u16),
    Bit(u16),
    Level(&'static str),
    Code(u16),
    Sense(u16),
    Page(u16),
    Text(char),
    /// Not drawn: the name says why.
    Given(Kind, Vec<u16>),
}

pub fn places() -> Vec<Place> {
    let mut places: Vec<Place> = Vec::new();
    for line in include_str!("numbers.txt").lines().filter(|line| !line.is_empty() && !line.starts_with('#')) {
        let Some(place) = places.last_mut().filter(|_| line.starts_with(' ')) else {
            places.push(Place { name: line, also: Vec::new(), items: Vec::new() });
            continue;
        };
        let line = line.trim();
        match line.strip_prefix("also ") {
            Some(paths) => place.also.extend(paths.split(' ')),
            None => {
                let columns: Vec<_> = line.split("  ").map(str::trim).filter(|column| !column.is_empty()).collect();
                let [name, how, value] = columns[..] else { panic!("{line}") };
                place.items.push(Item { name, how, value });
            }
        }
    }
    places
}

impl Place {
    /// Whether a file says the numbers of this place.
    pub fn holds(&self, path: &str) -> bool {
        let begins = |name: &str| path.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with('/'));
        begins(self.name) || self.also.iter().any(|name| begins(name))
    }

    /// The numbers of its items, in their order. One that an earlier item has is drawn again.
    pub fn draw(&self) -> Vec<Drawn> {
        let mut drawn: Vec<Drawn> = Vec::new();
        for item in &self.items {
            let mut generator = Generator::of(&format!("{}: {}", self.name, item.name));
            let next = (0..10_000).map(|_| item.draw(&mut generator)).find(|next| {
                !drawn.iter().any(|earlier| earlier.clashes(next))
                    && (item.how.starts_with("given") || next.numbers(Kind::Code).into_iter().all(is_far_from_blank))
            });
            drawn.push(next.unwrap_or_else(|| panic!("{}, {}: nothing is left to draw", self.name, item.name)));
        }
        drawn
    }
}

/// Whether a code differs from blank tape and from rubouts in two holes or more.
fn is_far_from_blank(code: u16) -> bool {
    (2..=6).contains(&code.count_ones())
}

impl Item {
    fn draw(&self, generator: &mut Generator) -> Drawn {
        let (how, range) = self.how.split_once(' ').unwrap_or((self.how, ""));
        let range = |usual: std::ops::RangeInclusive<u16>| match range.split_once("..") {
            Some((low, high)) => u16::from_str_radix(low, 8).unwrap()..=u16::from_str_radix(high, 8).unwrap(),
            None => usual,
        };
        match how {
            "port" => Drawn::Port(generator.draw(0..=255)),
            "pair" => {
                let even = 2 * generator.draw(0..=127);
                if generator.draw(0..=1) == 0 { Drawn::Ports(even, even + 1) } else { Drawn::Ports(even + 1, even) }
            }
            "four" => Drawn::Four(4 * generator.draw(0..=63)),
            "bit" => Drawn::Bit(generator.draw(range(0..=7))),
            "level" => Drawn::Level(["high", "low"][usize::from(generator.draw(0..=1))]),
            "code" => Drawn::Code(generator.draw(0o200..=0o377)),
            "sense" => Drawn::Sense(generator.draw(range(1..=255))),
            "page" => Drawn::Page(generator.draw(range(1..=255)) << 8),
            "letter" => Drawn::Text(char::from(b'G' + generator.draw(0..=19) as u8)),
            "given" => {
                let kind = match self.how.rsplit(' ').next() {
                    Some("port") => Kind::Port,
                    Some("code") => Kind::Code,
                    _ => Kind::Bit,
                };
                Drawn::Given(kind, self.value.split(' ').map(|number| super::found::number(number).unwrap()).collect())
            }
            "sign" => Drawn::Text(char::from(b"!#$%&*+-./<=>?@"[usize::from(generator.draw(0..=14))])),
            _ => panic!("{}: drawn as {how}?", self.name),
        }
    }
}

impl Drawn {
    /// Whether two items of one place cannot both have these.
    fn clashes(&self, other: &Drawn) -> bool {
        match (self, other) {
            (Drawn::Given(..), _) | (_, Drawn::Given(..)) => false,
            (Drawn::Text(one), Drawn::Text(other)) => one == other,
            _ => Kind::ALL.iter().any(|&kind| {
                let numbers = other.numbers(kind);
                self.numbers(kind).iter().any(|number| numbers.contains(number))
            }),
        }
    }

    /// Its numbers of a kind.
    pub fn numbers(&self, wanted: Kind) -> Vec<u16> {
        let (kind, numbers) = match *self {
            Drawn::Given(kind, ref numbers) => (kind, numbers.clone()),
            Drawn::Port(port) => (Kind::Port, vec![port]),
            Drawn::Ports(status, data) => (Kind::Port, vec![status, data]),
            Drawn::Four(first) => (Kind::Port, (first..first + 4).collect()),
            Drawn::Bit(bit) => (Kind::Bit, vec![bit]),
            Drawn::Code(code) => (Kind::Code, vec![code]),
            Drawn::Sense(byte) => (Kind::Sense, vec![byte]),
            Drawn::Level(_) | Drawn::Page(_) | Drawn::Text(_) => return Vec::new(),
        };
        if kind == wanted { numbers } else { Vec::new() }
    }
}

impl fmt::Display for Drawn {
    fn fmt(&self, out: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Drawn::Port(number) | Drawn::Sense(number) | Drawn::Page(number) => write!(out, "{number:#o}"),
            Drawn::Ports(status, data) => write!(out, "{status:#o} {data:#o}"),
            Drawn::Four(first) => {
                write!(out, "{first:#o} {:#o} {:#o} {:#o}", first + 1, first + 2, first + 3)
            }
            Drawn::Bit(bit) => write!(out, "{bit}"),
            Drawn::Level(level) => write!(out, "{level}"),
            Drawn::Code(code) => write!(out, "0o{code:03o}"),
            Drawn::Given(Kind::Bit, numbers) => {
                write!(out, "{}", numbers.iter().map(u16::to_string).collect::<Vec<_>>().join(" "))
            }
            Drawn::Given(_, numbers) => {
                write!(out, "{}", numbers.iter().map(|number| format!("{number:#o}")).collect::<Vec<_>>().join(" "))
            }
            Drawn::Text(letter) => write!(out, "{letter}"),
        }
    }
}
