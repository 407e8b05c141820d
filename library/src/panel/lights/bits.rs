//! Bits of which it may not be known whether they are one: where they come from, and what logic makes of them.

/// A bit: known, or open. An open one is a variable, as it is or complemented, so that what is the same unknown stays so:
/// `XRA A` makes zero of any byte.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Bit(u32);

/// Eight bits, bit 0 first.
pub type Byte = [Bit; 8];
/// Sixteen bits, bit 0 first.
pub type Word = [Bit; 16];

impl Bit {
    pub const ZERO: Bit = Bit(0);
    pub const ONE: Bit = Bit(1);

    /// Its value, if that is known.
    pub fn known(self) -> Option<bool> {
        (self.0 < 2).then_some(self.0 == 1)
    }

    pub fn is_open(self) -> bool {
        self.0 >= 2
    }

    /// What it depends on if it is open, and whether it is the complement of that.
    pub fn variable(self) -> Option<(u32, bool)> {
        self.is_open().then_some((self.0 >> 1, self.0 & 1 == 1))
    }

    /// The complement if `really`, else the bit as it is.
    pub fn flipped(self, really: bool) -> Bit {
        Bit(self.0 ^ u32::from(really))
    }
}

impl std::ops::Not for Bit {
    type Output = Bit;
    fn not(self) -> Bit {
        self.flipped(true)
    }
}

impl From<bool> for Bit {
    fn from(value: bool) -> Bit {
        Bit(u32::from(value))
    }
}

/// The bits of a known value.
pub fn bits<const N: usize>(value: u16) -> [Bit; N] {
    std::array::from_fn(|bit| Bit::from(value >> bit & 1 == 1))
}

/// The value of bits, open ones as zero, and which of them are open.
pub fn split(bits: &[Bit]) -> (u16, u16) {
    bits.iter().rev().fold((0, 0), |(value, open), bit| {
        (value << 1 | u16::from(bit.known() == Some(true)), open << 1 | u16::from(bit.is_open()))
    })
}

/// The value of bits if all are known.
pub fn value(bits: &[Bit]) -> Option<u16> {
    let (value, open) = split(bits);
    (open == 0).then_some(value)
}

/// A word of two bytes.
pub fn word(high: Byte, low: Byte) -> Word {
    std::array::from_fn(|bit| if bit < 8 { low[bit] } else { high[bit - 8] })
}

/// High and low byte of a word.
pub fn halves(word: Word) -> (Byte, Byte) {
    (std::array::from_fn(|bit| word[bit + 8]), std::array::from_fn(|bit| word[bit]))
}

/// Where an open bit comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Origin {
    /// A port, read at a step.
    Port {
        /// Its number.
        port: u8,
        /// The number of the row in which it was read.
        step: u64,
    },
    /// Memory that nobody filled.
    Memory(u16),
    /// An address at which no memory answers, or nobody knows what does.
    Blank(u16),
    /// A register that nothing has set: its letter, or `SP`.
    Register(&'static str),
    /// Flags that nothing has set.
    Flags,
}

/// What decides an open bit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Cause {
    /// Where it comes from; `None` if from several places.
    pub origin: Option<Origin>,
    /// The one bit of it that decides; `None` if several do.
    pub bit: Option<u8>,
}

struct Variable {
    cause: Cause,
    /// What a run that has to go one way takes it to be.
    taken: bool,
}

/// Every open bit of a run.
#[derive(Default)]
pub struct Unknowns {
    variables: Vec<Variable>,
}

impl Unknowns {
    fn fresh(&mut self, cause: Cause, taken: bool) -> Bit {
        self.variables.push(Variable { cause, taken });
        Bit((self.variables.len() as u32) << 1)
    }

    /// New open bits of one origin, taken to be `value`.
    pub fn open<const N: usize>(&mut self, origin: Option<Origin>, value: u16) -> [Bit; N] {
        std::array::from_fn(|bit| {
            let cause = Cause { origin, bit: origin.map(|_| bit as u8) };
            self.fresh(cause, value >> bit & 1 == 1)
        })
    }

    /// What decides a bit.
    pub fn cause(&self, bit: Bit) -> Option<Cause> {
        let (variable, _) = bit.variable()?;
        Some(self.variables[variable as usize - 1].cause)
    }

    /// What a run takes a bit to be.
    pub fn taken(&self, bit: Bit) -> bool {
        match bit.variable() {
            None => bit == Bit::ONE,
            Some((variable, complement)) => self.variables[variable as usize - 1].taken != complement,
        }
    }

    /// A bit that several others decide in a way that is not kept.
    fn mixed(&mut self, of: &[Bit], taken: bool) -> Bit {
        let mut origins = of.iter().filter_map(|&bit| self.cause(bit)).map(|cause| cause.origin);
        let first = origins.next().flatten();
        let origin = first.filter(|first| origins.all(|origin| origin == Some(*first)));
        self.fresh(Cause { origin, bit: None }, taken)
    }

    /// One of the bits, it is not known which.
    pub fn either(&mut self, a: Bit, b: Bit) -> Bit {
        if a == b { a } else { self.mixed(&[a, b], self.taken(a)) }
    }

    pub fn and(&mut self, a: Bit, b: Bit) -> Bit {
        match () {
            () if a == Bit::ZERO || b == Bit::ZERO || a == !b => Bit::ZERO,
            () if a == Bit::ONE || a == b => b,
            () if b == Bit::ONE => a,
            () => self.mixed(&[a, b], self.taken(a) && self.taken(b)),
        }
    }

    pub fn or(&mut self, a: Bit, b: Bit) -> Bit {
        !self.and(!a, !b)
    }

    pub fn exclusive_or(&mut self, a: Bit, b: Bit) -> Bit {
        match (a.known(), b.known()) {
            (Some(a), _) => b.flipped(a),
            (_, Some(b)) => a.flipped(b),
            _ if a == b => Bit::ZERO,
            _ if a == !b => Bit::ONE,
            _ => self.mixed(&[a, b], self.taken(a) != self.taken(b)),
        }
    }

    /// What at least two of three bits are.
    fn majority(&mut self, a: Bit, b: Bit, c: Bit) -> Bit {
        match () {
            () if a == b || a == c => a,
            () if b == c => b,
            () if a == !b => c,
            () if a == !c => b,
            () if b == !c => a,
            () => {
                let ones = [a, b, c].into_iter().filter(|&bit| self.taken(bit)).count();
                self.mixed(&[a, b, c], ones > 1)
            }
        }
    }

    /// Whether any of the bits is one.
    fn any(&mut self, bits: &[Bit]) -> Bit {
        let mut open: Vec<Bit> = Vec::new();
        for &bit in bits {
            if bit == Bit::ONE || open.contains(&!bit) {
                return Bit::ONE;
            }
            if bit.is_open() && !open.contains(&bit) {
                open.push(bit);
            }
        }
        match open[..] {
            [] => Bit::ZERO,
            [one] => one,
            _ => {
                let taken = open.iter().any(|&bit| self.taken(bit));
                self.mixed(&open, taken)
            }
        }
    }

    /// The sum of two numbers and a carry; the sum's bits, and the carry out of each.
    pub fn add<const N: usize>(&mut self, a: [Bit; N], b: [Bit; N], carry: Bit) -> ([Bit; N], [Bit; N]) {
        let (mut sum, mut carries) = ([Bit::ZERO; N], [Bit::ZERO; N]);
        let mut carry = carry;
        for at in 0..N {
            let half = self.exclusive_or(a[at], b[at]);
            sum[at] = self.exclusive_or(half, carry);
            carry = self.majority(a[at], b[at], carry);
            carries[at] = carry;
        }
        (sum, carries)
    }

    /// Bits combined one by one.
    pub fn each(&mut self, a: Byte, b: Byte, logic: impl Fn(&mut Unknowns, Bit, Bit) -> Bit) -> Byte {
        std::array::from_fn(|bit| logic(self, a[bit], b[bit]))
    }

    /// The low byte of PSW after `result`: sign, zero, auxiliary carry, parity, carry; bit 1 is one, bits 3 and 5 zero.
    pub fn flags(&mut self, result: Byte, auxiliary: Bit, carry: Bit) -> Byte {
        let zero = !self.any(&result);
        let odd = result.into_iter().reduce(|a, b| self.exclusive_or(a, b)).unwrap_or(Bit::ZERO);
        [carry, Bit::ONE, !odd, Bit::ZERO, auxiliary, Bit::ZERO, zero, result[7]]
    }
}
