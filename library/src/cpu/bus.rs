//! What the processor is wired to.

use crate::isa::{CycleKind, TStates};

/// The other side of the processor's pins: memory, ports, and whoever watches.
///
/// The first four methods move the bytes. The others have defaults that cost nothing: no interrupts, no wait states,
/// nobody watching. For each machine cycle the order of calls is [`begin`](Bus::begin), the byte moved, then
/// [`complete`](Bus::complete); halt acknowledge and the internal cycles of `DAD` move no byte.
pub trait Bus {
    /// The byte that memory puts on the bus for `address`.
    fn read(&mut self, address: u16) -> u8;

    /// Hands `byte` to memory at `address`.
    fn write(&mut self, address: u16, byte: u8);

    /// The byte that a device puts on the bus for input port `port`.
    fn input(&mut self, port: u8) -> u8;

    /// Hands `byte` to output port `port`.
    fn output(&mut self, port: u8, byte: u8);

    /// The INT input, sampled before each instruction while interrupts are enabled.
    #[inline]
    fn interrupt(&mut self) -> bool {
        false
    }

    /// A byte of the instruction that an interrupting device puts on the bus: called once for each byte of it. An
    /// undriven bus reads 377 octal, which is `RST 7`.
    #[inline]
    fn acknowledge(&mut self) -> u8 {
        0o377
    }

    /// A machine cycle enters T1 when the clock shows `at`. Its address (a port's number comes twice, in both bytes) is
    /// `None` for an internal cycle. Returns the wait states that the bus inserts between T2 and T3 (an internal
    /// cycle takes none); the byte moves in T3, two T-states and the wait states after `at`.
    #[inline]
    fn begin(&mut self, kind: CycleKind, address: Option<u16>, at: TStates) -> TStates {
        let _ = (kind, address, at);
        TStates(0)
    }

    /// The machine cycle has moved its byte.
    #[inline]
    fn complete(&mut self, cycle: MachineCycle) {
        let _ = cycle;
    }
}

/// A machine cycle as it went over the bus.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MachineCycle {
    /// What kind of transfer; gives the status byte.
    pub kind: CycleKind,
    /// The address bus; a port's number is in both bytes. `None` for an internal cycle.
    pub address: Option<u16>,
    /// The byte on the data bus; `None` where none is moved.
    pub data: Option<u8>,
    /// The clock when the cycle entered T1.
    pub at: TStates,
}
