//! What registers, flags and memory hold, as expressions over what they held before. Two that are the same expression are
//! equal in every state, which is what a proof rests on: what cannot be seen to be equal counts as different.

use hashbrown::HashMap;

/// An expression in a [`Values`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Value(u32);

/// A word that only the assembler knows, and so much added to it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub(super) struct Word {
    pub number: u32,
    pub on: u16,
}

/// A byte, or a bit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Node {
    /// A byte that is known.
    Byte(u8),
    /// A bit that is known.
    Bit(bool),
    /// What a place held at the beginning: registers by code, then flags.
    Start(u8),
    /// A byte of a word that only the assembler knows: high or low.
    Word(Word, bool),
    /// What the read of memory with this number gave.
    Loaded(u32),
    /// A sum of two bytes and a bit, modulo 256.
    Sum(Value, Value, Value),
    /// Its carry.
    Carry(Value, Value, Value),
    /// The carry out of its lower half.
    Half(Value, Value, Value),
    And(Value, Value),
    Or(Value, Value),
    Xor(Value, Value),
    /// All bits of a byte turned over.
    Not(Value),
    /// A bit turned over.
    Unless(Value),
    /// A bit of a byte.
    BitOf(Value, u8),
    /// Whether a byte is zero.
    Zero(Value),
    /// Whether a byte has an even number of ones.
    Even(Value),
    /// A byte turned to the left, the bit that comes in beside it.
    Left(Value, Value),
    /// A byte turned to the right, the bit that comes in beside it.
    Right(Value, Value),
    /// What DAA makes of a byte, carry and half carry: 0 the byte, 1 the carry, 2 the half carry.
    Decimal(Value, Value, Value, u8),
}

/// All expressions of a proof; equal ones are made once.
#[derive(Debug, Default)]
pub(super) struct Values {
    nodes: Vec<Node>,
    known: HashMap<Node, Value>,
}

impl Values {
    fn make(&mut self, node: Node) -> Value {
        let next = Value(self.nodes.len() as u32);
        let value = *self.known.entry(node).or_insert(next);
        if value == next {
            self.nodes.push(node);
        }
        value
    }

    fn node(&self, value: Value) -> Node {
        self.nodes[value.0 as usize]
    }

    pub fn byte(&mut self, byte: u8) -> Value {
        self.make(Node::Byte(byte))
    }

    pub fn bit(&mut self, bit: bool) -> Value {
        self.make(Node::Bit(bit))
    }

    /// What a place held at the beginning, by its number.
    pub fn start(&mut self, place: u8) -> Value {
        self.make(Node::Start(place))
    }

    pub fn word(&mut self, word: Word, high: bool) -> Value {
        self.make(Node::Word(word, high))
    }

    /// The word that two bytes are, the high one first.
    pub fn word_of(&self, (high, low): (Value, Value)) -> Option<Word> {
        match (self.node(high), self.node(low)) {
            (Node::Word(of, true), Node::Word(word, false)) if of == word => Some(word),
            _ => None,
        }
    }

    /// The word of which a byte is a half, and whether the high one.
    pub fn half_of(&self, value: Value) -> Option<(Word, bool)> {
        if let Node::Word(word, high) = self.node(value) { Some((word, high)) } else { None }
    }

    /// Whether an expression is made of a word that only the assembler knows.
    pub fn has_word(&self, value: Value) -> bool {
        match self.node(value) {
            Node::Word(..) => true,
            node => parts(node).into_iter().flatten().any(|part| self.has_word(part)),
        }
    }

    /// The sum of two pairs, the high bytes first, and its carry.
    pub fn add_pairs(&mut self, one: (Value, Value), other: (Value, Value)) -> ((Value, Value), Value) {
        let none = self.bit(false);
        let [low, carry, _] = self.add(one.1, other.1, none);
        let [high, carry, _] = self.add(one.0, other.0, carry);
        let known = |pair: (Value, Value)| Some([self.known_byte(pair.0)?, self.known_byte(pair.1)?]);
        let counted = self.word_of(one).zip(known(other)).or(self.word_of(other).zip(known(one)));
        match counted {
            // A word that is not known, with a number added, is counted from it: however the low byte carries.
            Some((word, by)) => {
                let word = Word { on: word.on.wrapping_add(u16::from_be_bytes(by)), ..word };
                ((self.word(word, true), self.word(word, false)), carry)
            }
            None => ((high, low), carry),
        }
    }

    pub fn loaded(&mut self, number: u32) -> Value {
        self.make(Node::Loaded(number))
    }

    pub fn known_byte(&self, value: Value) -> Option<u8> {
        if let Node::Byte(byte) = self.node(value) { Some(byte) } else { None }
    }

    pub fn known_bit(&self, value: Value) -> Option<bool> {
        if let Node::Bit(bit) = self.node(value) { Some(bit) } else { None }
    }

    /// Two bytes in an order that is the same whichever came first, one that is known behind the other.
    fn ordered(&self, a: Value, b: Value) -> (Value, Value) {
        let key = |value: Value| (self.known_byte(value).is_some(), value);
        if key(a) <= key(b) { (a, b) } else { (b, a) }
    }

    fn is_not_of(&self, a: Value, b: Value) -> bool {
        self.node(a) == Node::Not(b) || self.node(b) == Node::Not(a)
    }

    /// `a + b + carry`: the byte, the carry, and the carry out of the lower half.
    pub fn add(&mut self, a: Value, b: Value, carry: Value) -> [Value; 3] {
        let (a, b) = self.ordered(a, b);
        [self.sum(a, b, carry), self.carry(a, b, carry), self.half(a, b, carry)]
    }

    fn sum(&mut self, a: Value, b: Value, carry: Value) -> Value {
        if let Some(bit) = self.known_bit(carry) {
            if self.is_not_of(a, b) {
                return self.byte(if bit { 0 } else { 0xFF });
            }
            if let Some(second) = self.known_byte(b) {
                let plus = second.wrapping_add(bit.into());
                return match self.node(a) {
                    Node::Byte(first) => self.byte(first.wrapping_add(plus)),
                    _ if plus == 0 => a,
                    // (x + k) + plus is x + (k + plus).
                    Node::Sum(x, k, none) if self.known_bit(none) == Some(false) && self.known_byte(k).is_some() => {
                        let k = self.known_byte(k).unwrap_or_default();
                        let (k, none) = (self.byte(k.wrapping_add(plus)), self.bit(false));
                        self.sum(x, k, none)
                    }
                    _ => {
                        let (plus, none) = (self.byte(plus), self.bit(false));
                        self.make(Node::Sum(a, plus, none))
                    }
                };
            }
        }
        self.make(Node::Sum(a, b, carry))
    }

    fn carry(&mut self, a: Value, b: Value, carry: Value) -> Value {
        if let Some(bit) = self.known_bit(carry) {
            if self.is_not_of(a, b) {
                return self.bit(bit);
            }
            if let Some(second) = self.known_byte(b) {
                match (self.known_byte(a), u16::from(second) + u16::from(bit)) {
                    (Some(first), plus) => return self.bit(u16::from(first) + plus > 0xFF),
                    (None, 0) => return self.bit(false),
                    (None, 0x100) => return self.bit(true),
                    _ => {}
                }
            }
        }
        self.make(Node::Carry(a, b, carry))
    }

    fn half(&mut self, a: Value, b: Value, carry: Value) -> Value {
        if let Some(bit) = self.known_bit(carry) {
            if self.is_not_of(a, b) {
                return self.bit(bit);
            }
            if let Some(second) = self.known_byte(b) {
                match (self.known_byte(a), (second & 0xF) + u8::from(bit)) {
                    (Some(first), plus) => return self.bit((first & 0xF) + plus > 0xF),
                    (None, 0) => return self.bit(false),
                    (None, 0x10) => return self.bit(true),
                    _ => {}
                }
            }
        }
        self.make(Node::Half(a, b, carry))
    }

    pub fn and(&mut self, a: Value, b: Value) -> Value {
        let (a, b) = self.ordered(a, b);
        match (self.known_byte(a), self.known_byte(b)) {
            (Some(a), Some(b)) => self.byte(a & b),
            (None, Some(0)) => b,
            (None, Some(0xFF)) => a,
            _ if a == b => a,
            _ => self.make(Node::And(a, b)),
        }
    }

    pub fn or(&mut self, a: Value, b: Value) -> Value {
        let (a, b) = self.ordered(a, b);
        match (self.known_byte(a), self.known_byte(b)) {
            (Some(a), Some(b)) => self.byte(a | b),
            (None, Some(0)) => a,
            (None, Some(0xFF)) => b,
            _ if a == b => a,
            _ => self.make(Node::Or(a, b)),
        }
    }

    pub fn xor(&mut self, a: Value, b: Value) -> Value {
        let (a, b) = self.ordered(a, b);
        match (self.known_byte(a), self.known_byte(b)) {
            (Some(a), Some(b)) => self.byte(a ^ b),
            (None, Some(0)) => a,
            (None, Some(0xFF)) => self.not(a),
            _ if a == b => self.byte(0),
            _ => self.make(Node::Xor(a, b)),
        }
    }

    pub fn not(&mut self, a: Value) -> Value {
        match self.node(a) {
            Node::Byte(byte) => self.byte(!byte),
            Node::Not(inner) => inner,
            _ => self.make(Node::Not(a)),
        }
    }

    pub fn unless(&mut self, bit: Value) -> Value {
        match self.node(bit) {
            Node::Bit(bit) => self.bit(!bit),
            Node::Unless(inner) => inner,
            _ => self.make(Node::Unless(bit)),
        }
    }

    pub fn bit_of(&mut self, byte: Value, bit: u8) -> Value {
        match self.node(byte) {
            Node::Byte(byte) => self.bit(byte >> bit & 1 == 1),
            _ => self.make(Node::BitOf(byte, bit)),
        }
    }

    pub fn zero(&mut self, byte: Value) -> Value {
        match self.node(byte) {
            Node::Byte(byte) => self.bit(byte == 0),
            _ => self.make(Node::Zero(byte)),
        }
    }

    pub fn even(&mut self, byte: Value) -> Value {
        match self.node(byte) {
            Node::Byte(byte) => self.bit(byte.count_ones() % 2 == 0),
            _ => self.make(Node::Even(byte)),
        }
    }

    pub fn left(&mut self, byte: Value, bit: Value) -> Value {
        match (self.known_byte(byte), self.known_bit(bit)) {
            (Some(byte), Some(bit)) => self.byte(byte << 1 | u8::from(bit)),
            // A byte turned with a nought is the byte added to itself.
            (None, Some(false)) => self.sum(byte, byte, bit),
            _ => self.make(Node::Left(byte, bit)),
        }
    }

    pub fn right(&mut self, byte: Value, bit: Value) -> Value {
        match (self.known_byte(byte), self.known_bit(bit)) {
            (Some(byte), Some(bit)) => self.byte(byte >> 1 | u8::from(bit) << 7),
            _ => self.make(Node::Right(byte, bit)),
        }
    }

    /// What DAA makes: the byte, the carry, the half carry.
    pub fn decimal(&mut self, byte: Value, carry: Value, half: Value) -> [Value; 3] {
        [0, 1, 2].map(|which| self.make(Node::Decimal(byte, carry, half, which)))
    }

    /// The places whose beginning an expression depends on, as bits by their numbers.
    pub fn places(&self, value: Value) -> u16 {
        match self.node(value) {
            Node::Start(place) => 1 << place,
            node => parts(node).into_iter().flatten().fold(0, |all, part| all | self.places(part)),
        }
    }
}

/// What an expression is made of.
fn parts(node: Node) -> [Option<Value>; 3] {
    match node {
        Node::Byte(_) | Node::Bit(_) | Node::Start(_) | Node::Word(..) | Node::Loaded(_) => [None; 3],
        Node::Sum(a, b, c) | Node::Carry(a, b, c) | Node::Half(a, b, c) | Node::Decimal(a, b, c, _) => {
            [Some(a), Some(b), Some(c)]
        }
        Node::And(a, b) | Node::Or(a, b) | Node::Xor(a, b) | Node::Left(a, b) | Node::Right(a, b) => {
            [Some(a), Some(b), None]
        }
        Node::Not(a) | Node::Unless(a) | Node::BitOf(a, _) | Node::Zero(a) | Node::Even(a) => [Some(a), None, None],
    }
}
