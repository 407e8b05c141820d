//! How a socket's pins are wired to the machine: which line goes where, and whether data passes an inverter.
//!
//! A [`Wiring`] is a bijection between (offset, byte) as the machine sees it and (word address, bits) at the pins. One
//! description serves both directions.

/// Lines in another order: pin `n` of the part is wired to line `self.0[n]` of the machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lines(Vec<u8>);

impl Lines {
    /// Pins wired straight, `count` of them.
    pub fn straight(count: usize) -> Lines {
        Lines((0..count as u8).collect())
    }

    /// An order of lines, from pin 0 up; none unless each of `count` lines stands in it once.
    pub fn new(order: &[u8], count: usize) -> Option<Lines> {
        let mut sorted = order.to_vec();
        sorted.sort_unstable();
        (sorted == Lines::straight(count).0).then(|| Lines(order.to_vec()))
    }

    /// Whether every pin is wired to the line of its own number.
    pub fn is_straight(&self) -> bool {
        self.0.iter().enumerate().all(|(pin, &line)| pin == usize::from(line))
    }

    /// What the pins show when the machine's lines show `value`.
    pub fn to_pins(&self, value: usize) -> usize {
        self.0.iter().enumerate().fold(0, |pins, (pin, &line)| pins | (value >> line & 1) << pin)
    }

    /// What the machine's lines show when the pins show `pins`.
    pub fn to_machine(&self, pins: usize) -> usize {
        self.0.iter().enumerate().fold(0, |value, (pin, &line)| value | (pins >> pin & 1) << line)
    }
}

/// The wiring of a socket.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wiring {
    /// Even and odd addresses lie in different parts.
    pub interleaved: bool,
    /// The data lines pass an inverter.
    pub inverted: bool,
    /// The eight data lines. For 4-bit parts, pins 0 to 3 are the low part's, 4 to 7 the high part's.
    pub data: Lines,
    /// The part's address lines; where parts are interleaved, line 0 is the machine's A1.
    pub address: Lines,
}

impl Wiring {
    /// Straight wiring of a part with so many address lines.
    pub fn straight(address_lines: usize) -> Wiring {
        Wiring {
            interleaved: false,
            inverted: false,
            data: Lines::straight(8),
            address: Lines::straight(address_lines),
        }
    }

    /// Where the byte at an offset into the socket lies: 1 for the odd lane, and the word address at the pins.
    pub fn place(&self, offset: usize) -> (usize, usize) {
        match self.interleaved {
            true => (offset & 1, self.address.to_pins(offset >> 1)),
            false => (0, self.address.to_pins(offset)),
        }
    }

    /// The eight data pins when the machine is to read `byte`.
    pub fn to_pins(&self, byte: u8) -> u8 {
        self.data.to_pins(usize::from(self.invert(byte))) as u8
    }

    /// The byte that the machine reads when the eight data pins show `pins`.
    pub fn to_machine(&self, pins: u8) -> u8 {
        self.invert(self.data.to_machine(usize::from(pins)) as u8)
    }

    fn invert(&self, byte: u8) -> u8 {
        if self.inverted { !byte } else { byte }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_crossed_pair_of_lines_swaps_its_bits_only() {
        let lines = Lines::new(&[1, 0, 2], 3).unwrap();
        assert_eq!([1, 2, 4, 7].map(|value| lines.to_pins(value)), [2, 1, 4, 7]);
        assert!((0..8).all(|value| lines.to_machine(lines.to_pins(value)) == value));
        assert!(!lines.is_straight() && Lines::straight(3).is_straight());
    }

    #[test]
    fn an_order_with_a_line_twice_missing_or_too_high_is_none() {
        for order in [&[0, 0, 2][..], &[0, 1], &[0, 1, 3], &[0, 1, 2, 3]] {
            assert_eq!(Lines::new(order, 3), None, "{order:?}");
        }
    }
}
