//! How a disk turns: from moments to angles and back, exactly.
//!
//! An angle is counted in parts of a turn, so many that holes and byte cells begin at whole ones, and on from turn to turn. A
//! moment is a T-state: what happens between two of them has happened at the second. Nothing is added up, so nothing drifts.

use crate::disk::{Layout, Sectoring};
use crate::isa::TStates;

/// A spindle that turns evenly.
#[derive(Clone, Debug)]
pub struct Spindle {
    /// T-states of a turn, as a fraction.
    states: u128,
    per: u128,
    /// Parts of a turn.
    parts: u128,
    /// Where the head stands at the first T-state, in parts behind the beginning of the index hole.
    begins: u128,
    /// Parts of a byte cell.
    byte: u128,
    /// Stretches of a turn, each with cells of its own, and cells of each.
    stretches: u128,
    cells: u128,
    /// Parts from the index hole to the first stretch.
    first: u128,
}

/// Thousandths: speeds and times of a layout are exact to these.
const THOUSANDTHS: f64 = 1000.0;

/// Thousandths of a per cent that are the whole.
const WHOLE: i64 = 100_000;

/// By how much a drive may be told to be off, in thousandths of a per cent either way: half its speed.
pub const MOST_OFF: i64 = WHOLE / 2;

impl Spindle {
    /// A drive for disks of a layout in a machine of so many T-states a second, which turns too fast by so many thousandths
    /// of a per cent (up to [`MOST_OFF`] either way). `start` is where in a turn it stands at power-on, of 2 to the 32.
    pub fn new(layout: &Layout, clock_hz: u64, off: i64, start: u32) -> Spindle {
        let rpm = thousandths(layout.turn.rpm);
        let byte_ns = thousandths(layout.turn.byte_us);
        let speed = rpm * (WHOLE + off.clamp(-MOST_OFF, MOST_OFF)) as u128;
        // T-states of a turn: 60 seconds over turns a minute.
        let (states, per) = reduced(u128::from(clock_hz) * 60 * 1000 * WHOLE as u128, speed);
        // A byte's share of a turn at the right speed: nanoseconds times turns of a minute.
        let (share, of) = reduced(byte_ns * rpm, 60_000_000_000 * 1000);
        let stretches = layout.stretches() as u128;
        let parts = multiple(of, 2 * stretches);
        let by_holes = matches!(layout.sectoring, Sectoring::Holes(_));
        Spindle {
            states,
            per,
            parts,
            begins: (u128::from(start) * parts) >> 32,
            byte: parts / of * share,
            stretches,
            cells: layout.stretch_cells() as u128,
            // Halfway between the last hole and hole 0. Source: MPI 40 Series manual, by the reference.
            first: if by_holes { parts / (2 * stretches) } else { 0 },
        }
    }

    /// Byte cells of a turn.
    pub fn cells(&self) -> u64 {
        (self.stretches * self.cells) as u64
    }

    /// Byte cells of a stretch: from hole to hole, or of the turn.
    pub fn stretch_cells(&self) -> u64 {
        self.cells as u64
    }

    /// Stretches of a turn.
    pub fn stretches(&self) -> u64 {
        self.stretches as u64
    }

    /// The cell that passes at a moment, counted on from turn to turn.
    pub fn passing(&self, at: TStates) -> u64 {
        let behind_first = self.angle(at) + self.parts - self.first;
        let (turn, within) = (behind_first / self.parts, behind_first % self.parts);
        let stretch = within * self.stretches / self.parts;
        let cell = (within - stretch * self.stretch()) / self.byte.max(1);
        ((turn * self.stretches + stretch) * self.cells + cell.min(self.cells - 1)) as u64
    }

    /// When a cell begins to pass; zero if it began before power-on.
    pub fn begins(&self, cell: u64) -> TStates {
        let (stretch, cell) = (u128::from(cell) / self.cells, u128::from(cell) % self.cells);
        self.moment((stretch * self.stretch() + cell * self.byte + self.first).checked_sub(self.parts))
    }

    /// Which cell of its turn a cell is.
    pub fn of_turn(&self, cell: u64) -> usize {
        (cell % self.cells()) as usize
    }

    /// The stretch that passes at a moment, counted on from turn to turn.
    pub fn stretch_at(&self, at: TStates) -> u64 {
        self.passing(at) / self.stretch_cells()
    }

    /// When a stretch begins to pass, its hole with it.
    pub fn stretch_begins(&self, stretch: u64) -> TStates {
        self.begins(stretch * self.stretch_cells())
    }

    /// Whether a hole that is so many parts long, and begins each turn with the index, lies over the head.
    pub fn in_index(&self, at: TStates, length: u128) -> bool {
        self.angle(at) % self.parts < length
    }

    /// When the index hole next begins to pass, after a moment.
    pub fn next_index(&self, after: TStates) -> TStates {
        let turn = self.angle(after) / self.parts + 1;
        self.moment(Some(turn * self.parts))
    }

    /// When the index hole, so many parts long, next begins or ends after a moment.
    pub fn next_index_edge(&self, after: TStates, length: u128) -> TStates {
        let turn = self.angle(after) / self.parts;
        let edges = [turn * self.parts + length, (turn + 1) * self.parts];
        let later = edges.into_iter().map(|edge| self.moment(Some(edge))).find(|&edge| edge > after);
        later.unwrap_or_else(|| self.next_index(after))
    }

    /// Whether the hole of a stretch, so many parts long, lies over the head.
    pub fn in_hole(&self, at: TStates, length: u128) -> bool {
        let behind_first = self.angle(at) + self.parts - self.first;
        behind_first % self.stretch() < length
    }

    /// When the hole of a stretch, so many parts long, next begins or ends after a moment.
    pub fn next_hole_edge(&self, after: TStates, length: u128) -> TStates {
        let stretch = (self.angle(after) + self.parts - self.first) / self.stretch();
        let begins = |stretch: u128| (stretch * self.stretch() + self.first).checked_sub(self.parts);
        let edges = [begins(stretch).map(|at| at + length), begins(stretch + 1)];
        let later = edges.into_iter().map(|edge| self.moment(edge)).find(|&edge| edge > after);
        later.unwrap_or_else(|| self.moment(begins(stretch + 2)))
    }

    /// Parts of a turn that pass in so many microseconds at the right speed; `layout` is that of the spindle.
    pub fn parts_of_us(&self, us: f64, layout: &Layout) -> u128 {
        thousandths(us) * thousandths(layout.turn.rpm) * self.parts / (60_000_000_000 * 1000)
    }

    fn stretch(&self) -> u128 {
        self.parts / self.stretches
    }

    /// Parts that have passed at a moment since the index hole that passed last before power-on.
    fn angle(&self, at: TStates) -> u128 {
        let scaled = u128::from(at.0) * self.per;
        let (turns, rest) = (scaled / self.states, scaled % self.states);
        turns * self.parts + rest * self.parts / self.states + self.begins
    }

    /// The first moment at which an angle has been reached.
    fn moment(&self, angle: Option<u128>) -> TStates {
        let Some(passed) = angle.and_then(|angle| angle.checked_sub(self.begins)) else { return TStates(0) };
        let (turns, part) = (passed / self.parts, passed % self.parts);
        let (whole, rest) = (turns * self.states / self.per, turns * self.states % self.per);
        let more = (rest * self.parts + part * self.states).div_ceil(self.parts * self.per);
        TStates(u64::try_from(whole + more).unwrap_or(u64::MAX))
    }
}

fn thousandths(value: f64) -> u128 {
    // Not less than one: nothing is divided by zero.
    (value * THOUSANDTHS).round().max(1.0) as u128
}

fn common(a: u128, b: u128) -> u128 {
    if b == 0 { a } else { common(b, a % b) }
}

fn reduced(over: u128, under: u128) -> (u128, u128) {
    let by = common(over, under);
    (over / by, under / by)
}

fn multiple(a: u128, b: u128) -> u128 {
    a / common(a, b) * b
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::disk::bundled;

    const CLOCK: u64 = 2_000_000;

    fn holes(off: i64, start: u32) -> Spindle {
        Spindle::new(&bundled("holes-32").unwrap(), CLOCK, off, start)
    }

    /// Common practice: 32 sectors at 360 turns a minute are 5.208 ms each, here 10416 2/3 T-states.
    #[test]
    fn a_sector_of_32_takes_5_208_milliseconds_to_one_t_state() {
        let spindle = holes(0, 0x1234_5678);
        let begins: Vec<_> = (100..100 + 97).map(|stretch| spindle.stretch_begins(stretch).0).collect();
        for pair in begins.windows(2) {
            assert!([10_416, 10_417].contains(&(pair[1] - pair[0])), "{pair:?}");
        }
        assert_eq!(begins[96] - begins[0], 1_000_000, "three turns are half a second, without drift");
    }

    #[test]
    fn a_day_of_turns_does_not_drift() {
        let spindle = holes(0, 0);
        let day = 24 * 3600 * 6 * 32;
        assert_eq!(spindle.stretch_begins(32 + day).0 - spindle.stretch_begins(32).0, 24 * 3600 * CLOCK);
    }

    #[test]
    fn a_byte_is_64_t_states_behind_its_hole() {
        let spindle = holes(0, 0);
        let hole = spindle.stretch_begins(64);
        for cell in 0..162 {
            let begins = spindle.begins(64 * 162 + cell).0;
            assert!((hole.0 + 64 * cell - 1..=hole.0 + 64 * cell).contains(&begins), "{cell}");
        }
        // 3 per cent slow: a byte takes 65.98 T-states.
        let slow = holes(-3000, 0);
        let hundred = slow.begins(162 * 64 + 100).0 - slow.begins(162 * 64).0;
        assert!((6597..=6598).contains(&hundred), "{hundred}");
    }

    #[test]
    fn moments_and_cells_agree() {
        for (name, off, start) in [("holes-32", 0, 7), ("holes-32", 1717, 1 << 31), ("marks-26", -1999, 3_000_000_000)]
        {
            let spindle = Spindle::new(&bundled(name).unwrap(), CLOCK, off, start);
            let first = spindle.passing(TStates(0)) + 1;
            for cell in first..first + 12_000 {
                let begins = spindle.begins(cell);
                assert_eq!(spindle.passing(begins), cell, "{name}");
                assert_eq!(spindle.passing(TStates(begins.0 - 1)), cell - 1, "{name}");
            }
        }
    }

    #[test]
    fn the_index_hole_lies_between_the_last_hole_and_the_first() {
        let spindle = holes(0, 0);
        let index = spindle.next_index(TStates(1));
        let zero = spindle.stretch_begins(64);
        assert_eq!((index.0, zero.0), (333_334, 333_334 + 5208));
        let length = spindle.parts_of_us(1700.0, &bundled("holes-32").unwrap());
        assert!(spindle.in_index(index, length) && !spindle.in_index(TStates(index.0 - 1), length));
        let edge = spindle.next_index_edge(index, length);
        assert_eq!(edge.0 - index.0, 3400);
        assert!(!spindle.in_index(edge, length) && spindle.in_index(TStates(edge.0 - 1), length));
        assert_eq!(spindle.next_index_edge(edge, length), spindle.next_index(edge));
    }

    #[test]
    fn edges_of_sector_holes_are_where_their_levels_change() {
        let spindle = holes(500, 99_999_999);
        let length = spindle.parts_of_us(400.0, &bundled("holes-32").unwrap());
        let mut at = TStates(0);
        for _ in 0..200 {
            let level = spindle.in_hole(at, length);
            let edge = spindle.next_hole_edge(at, length);
            assert_eq!(spindle.in_hole(TStates(edge.0 - 1), length), level);
            assert_eq!(spindle.in_hole(edge, length), !level);
            at = edge;
        }
    }
}
