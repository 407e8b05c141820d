//! What can go wrong with a part and its wiring, as a map of bytes and a map of addresses.

/// A fault that says of every byte what becomes of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Change {
    /// A data line that always reads 0 or 1.
    DataStuck(u8, bool),
    /// Two data lines that changed places.
    DataCrossed(u8, u8),
    /// A data line that reads the other way round.
    DataInverted(u8),
    /// All data lines.
    AllInverted,
    /// The high and the low four bits.
    Nibbles,
    /// The data lines in another order: which line's bit each line reads, from line 0 on.
    DataOrder([u8; 8]),
    /// An address line that is always 0 or 1.
    AddressStuck(u8, bool),
    /// Two address lines that changed places.
    AddressCrossed(u8, u8),
    /// Blocks of so many bytes, a power of two, that changed places with their neighbours.
    BlocksChanged(u8),
    /// Everything lies so many bytes higher, or lower.
    Shifted(i32),
    /// Two blocks of so many bytes, a power of two, that changed places: their first addresses.
    Exchanged(u8, u16, u16),
}

impl Change {
    /// What becomes of a byte.
    pub fn byte(self, byte: u8) -> u8 {
        match self {
            Change::DataStuck(bit, true) => byte | 1 << bit,
            Change::DataStuck(bit, false) => byte & !(1 << bit),
            Change::DataCrossed(one, other) => crossed(byte.into(), one, other) as u8,
            Change::DataInverted(bit) => byte ^ 1 << bit,
            Change::AllInverted => !byte,
            Change::Nibbles => byte.rotate_left(4),
            Change::DataOrder(order) => (0..8).fold(0, |all, line| all | (byte >> order[line] & 1) << line),
            _ => byte,
        }
    }

    /// What a byte was before, of a change that can be undone.
    pub fn byte_before(self, byte: u8) -> u8 {
        match self {
            Change::DataOrder(order) => (0..8).fold(0, |all, line| all | (byte >> line & 1) << order[line]),
            // Any other is undone by itself.
            change => change.byte(byte),
        }
    }

    /// The address whose byte is read at an address; none beyond memory.
    pub fn address(self, at: usize) -> Option<usize> {
        Some(match self {
            Change::AddressStuck(bit, true) => at | 1 << bit,
            Change::AddressStuck(bit, false) => at & !(1 << bit),
            Change::AddressCrossed(one, other) => usize::from(crossed(at as u16, one, other)),
            Change::BlocksChanged(bit) => at ^ 1 << bit,
            Change::Shifted(by) => usize::try_from(i32::try_from(at).ok()? - by).ok().filter(|at| *at < 0x1_0000)?,
            Change::Exchanged(size, one, other) => {
                let (block, within) = ((at >> size << size) as u16, at & ((1 << size) - 1));
                let other = match block {
                    block if block == one => other,
                    block if block == other => one,
                    block => block,
                };
                usize::from(other) + within
            }
            _ => at,
        })
    }

    /// Whether it changes bytes, and not where they are.
    pub fn is_of_data(self) -> bool {
        matches!(
            self,
            Change::DataStuck(..)
                | Change::DataCrossed(..)
                | Change::DataInverted(_)
                | Change::AllInverted
                | Change::Nibbles
                | Change::DataOrder(_)
        )
    }

    /// Whether what was before can be told from what is after.
    pub fn can_be_undone(self) -> bool {
        !matches!(self, Change::DataStuck(..) | Change::AddressStuck(..))
    }

    /// How unlikely it is beforehand, in bits: how many there are of its kind, and how rare the kind is.
    pub fn bits(self) -> f64 {
        match self {
            Change::AllInverted | Change::Nibbles => 3.0,
            Change::DataStuck(..) | Change::BlocksChanged(_) => 6.0,
            Change::DataInverted(_) | Change::AddressStuck(..) => 7.0,
            Change::DataCrossed(..) => 7.0,
            Change::AddressCrossed(..) => 9.0,
            // One of the 8! orders.
            Change::DataOrder(_) => 6.0 + 40_320f64.log2(),
            Change::Shifted(by) => 9.0 + f64::from(by.abs()).log2(),
            Change::Exchanged(size, ..) => 6.0 + 2.0 * (16.0 - f64::from(size)),
        }
    }
}

/// A number with two of its bits changed over.
fn crossed(number: u16, one: u8, other: u8) -> u16 {
    let differ = (number >> one ^ number >> other) & 1;
    number ^ (differ << one | differ << other)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn another_order_of_lines_is_undone_by_the_order_back() {
        let order = Change::DataOrder([4, 6, 5, 7, 0, 2, 1, 3]);
        let turned = Change::DataOrder([1, 2, 3, 4, 5, 6, 7, 0]);
        assert_eq!(order.byte(0b0000_0001), 0b0001_0000);
        assert_eq!(turned.byte(0b0000_0001), 0b1000_0000);
        for byte in 0..=255u8 {
            assert_eq!(order.byte_before(order.byte(byte)), byte);
            assert_eq!(turned.byte_before(turned.byte(byte)), byte);
            assert_eq!(turned.byte(byte), byte.rotate_right(1));
        }
    }

    #[test]
    fn what_can_be_undone_is_undone_by_itself() {
        let changes = [
            Change::DataCrossed(1, 6),
            Change::DataInverted(3),
            Change::AllInverted,
            Change::Nibbles,
            Change::AddressCrossed(0, 9),
            Change::BlocksChanged(5),
            Change::Exchanged(4, 0x20, 0x70),
        ];
        for change in changes {
            for at in 0..0x400 {
                let there = change.address(at).and_then(|at| change.address(at));
                assert_eq!(there, Some(at), "{change:?}");
            }
            for byte in 0..=255 {
                assert_eq!(change.byte(change.byte(byte)), byte, "{change:?}");
            }
        }
    }
}
