//! What the board keeps of a run: counts, outputs, the stack, the lines, what is being loaded.

use super::serial::{Frame, Refusal};
use crate::isa::TStates;
use crate::notation::{Address, Notation, counted};

/// A byte that went to a recorded output port.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Output {
    /// When.
    pub at: TStates,
    /// The port.
    pub port: u8,
    /// The byte.
    pub byte: u8,
    /// The instruction.
    pub pc: Address,
}

/// Counts of a run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Instructions run.
    pub instructions: u64,
    /// Reads of input ports.
    pub inputs: u64,
    /// Reads of received data although no character waited.
    pub in_vain: u64,
}

impl Counts {
    #[inline]
    pub(super) fn since(self, earlier: Counts) -> Counts {
        Counts {
            instructions: self.instructions - earlier.instructions,
            inputs: self.inputs - earlier.inputs,
            in_vain: self.in_vain - earlier.in_vain,
        }
    }
}

/// The loading of a program, as far as it got.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Arrival {
    /// When the first byte was stored.
    pub first: TStates,
    /// When the last one was.
    pub last: TStates,
    /// How many bytes are there.
    pub count: usize,
}

/// What has become of a serial line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LineUse {
    /// Characters that were read.
    pub read: u64,
    /// The number on the line of the character behind the last one that was read.
    pub heard: usize,
    /// A character waits.
    pub is_waiting: bool,
    /// How a program has set the chip up; `None` while its receiver is off.
    pub frame: Option<Frame>,
    /// It has set the chip up, and left its receiver off.
    pub is_off: bool,
    /// A character waits in its transmitter, which is off.
    pub holds_back: bool,
    /// How it has set it up, if that is no way to receive or send start-stop characters.
    pub refusal: Option<Refusal>,
    /// The instruction by which the set-up last became another.
    pub set_by: Option<Address>,
}

/// How far the stack grew.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StackUse {
    /// Where the stack pointer was set: the address above the first byte pushed.
    pub top: Address,
    /// The lowest address pushed to.
    pub lowest: Address,
    /// The instruction that pushed it.
    pub pc: Address,
    /// Bytes by which it rose above `top`: more was taken from it than put there.
    pub above: u16,
    /// Bytes from `top` down to the last byte pushed; less than one above it.
    pub(super) at: i32,
}

impl StackUse {
    /// How deep it grew, and whether it rose above its top.
    pub fn words(self, notation: Notation) -> String {
        let (lowest, top) = (notation.address(self.lowest), notation.address(self.top));
        let bytes = |count: u16| counted(u64::from(count), "byte");
        let deep = match self.depth() {
            0 => format!("nothing below {top}, where it was set"),
            depth => format!("{}, down to {lowest}", bytes(depth)),
        };
        match self.above {
            0 => deep,
            above => format!("{deep}; it rose {} above {top}: more was taken from it than put there", bytes(above)),
        }
    }

    /// A stack that was set so that the first byte goes to an address.
    pub(super) fn set(first: Address, pc: Address) -> StackUse {
        let top = first.wrapping_add(1);
        StackUse { top, lowest: top, pc, above: 0, at: 0 }
    }

    /// The same stack after a push to an address.
    pub(super) fn pushed(self, address: Address, pc: Address) -> StackUse {
        let before = self.top.0.wrapping_sub(self.at as u16);
        let at = self.at + i32::from(before.wrapping_sub(address.0) as i16);
        match at {
            1.. if at >= i32::from(self.depth()) => StackUse { lowest: address, pc, at, ..self },
            1.. => StackUse { at, ..self },
            _ => StackUse { above: self.above.max((1 - at) as u16), at, ..self },
        }
    }

    /// Bytes used at the deepest.
    pub fn depth(&self) -> u16 {
        self.top.0.wrapping_sub(self.lowest.0)
    }
}

/// The watch on the stack.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Stack {
    /// The stack pointer was loaded since the last push, by this instruction.
    pub loaded: Option<Address>,
    /// The instruction that loaded it last.
    pub set_by: Option<Address>,
    /// The stack as deep as it grew since it was set.
    pub present: Option<StackUse>,
    /// The deepest of all.
    pub deepest: Option<StackUse>,
    /// A byte on it that was written over by something else than the stack, with the instruction that did.
    pub spoilt: Option<(Address, Address)>,
}

/// Bytes that a program stored where nothing of the chain lies, while it was to load another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Strays {
    /// The lowest address.
    pub low: Address,
    /// The highest.
    pub high: Address,
    /// How many stores there were.
    pub count: u64,
}

/// What a machine put out, by its lines and its ports.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WentOut {
    /// Characters by serial interface, in the order of the machine file.
    pub lines: Vec<Vec<u8>>,
    /// Ports with their bytes, in order, as far as they are kept.
    pub ports: Vec<(u8, u8)>,
}

impl WentOut {
    /// Whether two machines put out the same. One of them may have got a little further in the time that it was watched.
    pub fn is_like(&self, other: &WentOut) -> bool {
        let lines = self.lines.iter().zip(&other.lines).all(|(one, other)| is_alike(one, other));
        self.lines.len() == other.lines.len() && lines && is_alike(&self.ports, &other.ports)
    }
}

fn is_alike<T: PartialEq>(one: &[T], other: &[T]) -> bool {
    let least = one.len().min(other.len());
    let further = one.len().max(other.len()) - least;
    one[..least] == other[..least] && further <= least / 10
}
