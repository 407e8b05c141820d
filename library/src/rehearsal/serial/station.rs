//! A serial chip at its place: on a line, beside a clock.

use super::chip::{Frame, Lost, Refusal, SerialChip};
use super::feed::Feed;
use super::format::{Grid, Tick};
use super::receiver::{Arrival, next_arrival};
use super::seat::Seat;
use super::sender::{Sender, Sent};
use super::signal::Signal;
use crate::isa::TStates;
use crate::notation::Address;
use crate::rehearsal::incident::What;
use crate::rehearsal::setup::{SerialSetup, StatusWires};

/// A chip, its line, its receiver and its transmitter.
#[derive(Clone, Debug)]
pub struct Station {
    chip: Seat,
    /// How its status leads to the bus.
    wires: StatusWires,
    signal: Signal,
    /// The chip's clock as a multiple of the line's speed.
    clock: u8,
    /// Since when the receiver looks for a start bit; `None` while it is off.
    looks_since: Option<Tick>,
    pending: Option<Arrival>,
    /// The character now in the data register.
    held: usize,
    sender: Sender,
    margin: Option<Margin>,
    read: u64,
    /// The number of the character behind the last one that was read.
    heard: usize,
    /// The instruction by which the set-up last became another.
    set_by: Option<Address>,
}

/// How near a read came to losing a character.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Margin {
    /// T-states between the read and the completion of the next character.
    pub states: TStates,
    /// The same in per cent of a character time.
    pub per_cent: f64,
    /// The character that was read, from 0.
    pub character: usize,
    /// When it was read.
    pub at: TStates,
    /// The instruction that read it.
    pub pc: Address,
}

/// How a transmitter took a character.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Taken {
    /// Its buffer was free.
    Free,
    /// In place of one that had not been sent: that one is lost.
    Over,
    /// Not at all: the chip is not set up.
    Not,
    /// Its buffer was free, and its transmitter is off.
    Held,
}

/// What happens on a line that a program ought to know.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineEvent {
    /// A character was lost.
    Overrun(usize),
    /// A character came damaged.
    Garbled(usize),
}

impl LineEvent {
    /// The same as an incident.
    pub fn what(self, serial: usize) -> What {
        match self {
            LineEvent::Overrun(character) => What::Overrun { serial, character },
            LineEvent::Garbled(character) => What::Garbled { serial, character },
        }
    }
}

impl Station {
    pub fn new(setup: &SerialSetup, clock_hz: u64) -> Station {
        let format = setup.line.into();
        let mut station = Station {
            chip: Seat::new(setup.chip, format),
            wires: setup.wires,
            signal: Signal::new(Grid::new(clock_hz, setup.line.speed), format, setup.sender),
            clock: setup.clock,
            looks_since: None,
            pending: None,
            held: 0,
            sender: Sender::default(),
            margin: None,
            read: 0,
            heard: 0,
            set_by: None,
        };
        // The line was there before the machine was switched on; its chip was not.
        station.look(station.signal.grid.tick(TStates(0)));
        station
    }

    pub fn play(&mut self, feed: &Feed, at: TStates) -> usize {
        let first = self.signal.add(feed, self.signal.grid.tick(at));
        self.expect();
        first
    }

    pub fn replace(&mut self, character: usize, feed: &Feed) {
        self.signal.replace(character, feed);
        self.expect();
    }

    /// The line falls silent behind the character that passes; RESET reaches the chip.
    pub fn reset(&mut self, now: TStates) {
        let tick = self.signal.grid.tick(now);
        self.signal.end_at(tick);
        self.chip.reset();
        if self.chip.frame().is_none() {
            self.sender.reset();
        }
        self.look(tick);
    }

    /// The line, and the chip with it, is from now on so many ten-thousandths as fast as it is described.
    pub fn set_pace(&mut self, now: TStates, parts: u32) {
        self.signal.grid = self.signal.grid.at_pace(now, parts);
    }

    /// How many characters have begun.
    pub fn begun(&self, now: TStates) -> usize {
        self.signal.character_at(self.signal.grid.tick(now)).map_or(0, |last| last + 1)
    }

    /// Whether another goes on as this one does, as long as the same comes down its line.
    pub fn goes_on_like(&self, other: &Station) -> bool {
        self.chip == other.chip
            && (self.looks_since, self.pending, self.held) == (other.looks_since, other.pending, other.held)
            && self.sender.goes_on_like(&other.sender)
    }

    pub fn line_ends(&self) -> TStates {
        self.signal.grid.states(self.signal.end())
    }

    /// When a character of the line begins.
    pub fn begins(&self, character: usize) -> Option<TStates> {
        self.signal.start_of(character).map(|tick| self.signal.grid.states(tick))
    }

    pub fn margin(&self) -> Option<Margin> {
        self.margin
    }

    pub fn clear_margin(&mut self) {
        self.margin = None;
    }

    pub fn characters_read(&self) -> u64 {
        self.read
    }

    /// The number of the character behind the last one that was read.
    pub fn heard(&self) -> usize {
        self.heard
    }

    /// Whether a character waits.
    pub fn is_waiting(&self) -> bool {
        self.chip.is_waiting()
    }

    /// How a program has set the chip up; `None` while its receiver is off.
    pub fn frame(&self) -> Option<Frame> {
        self.chip.frame().filter(|_| self.chip.receives())
    }

    /// Whether a program has set the chip up and left its receiver off.
    pub fn is_off(&self) -> bool {
        self.chip.frame().is_some() && !self.chip.receives()
    }

    /// Whether a program has set the chip up, if only to refuse; a hard-wired one always is.
    pub fn is_set_up(&self) -> bool {
        self.chip.frame().is_some() || self.chip.refusal().is_some()
    }

    /// How a program has set the chip up, if that is none for start-stop characters.
    pub fn refusal(&self) -> Option<Refusal> {
        self.chip.refusal()
    }

    /// Whether a character waits in a transmitter that is off.
    pub fn holds_back(&self) -> bool {
        !self.sender.state().buffer_empty && !self.chip.sends()
    }

    /// The instruction by which the set-up last became another.
    pub fn set_by(&self) -> Option<Address> {
        self.set_by
    }

    pub fn character_states(&self) -> f64 {
        self.signal.grid.bit_states() * f64::from(self.signal.format.half_bits()) / 2.0
    }

    pub fn sent(&self) -> &[Sent] {
        self.sender.sent()
    }

    /// When the chip will next change by itself.
    pub fn next_event(&self) -> Option<TStates> {
        let arrival = self.pending.map(|arrival| arrival.at);
        arrival.into_iter().chain(self.sender.next_event()).min().map(|tick| self.signal.grid.states(tick))
    }

    /// Lets happen what is due up to and including `now`.
    pub fn settle(&mut self, now: TStates, mut tell: impl FnMut(LineEvent, TStates)) {
        let grid = self.signal.grid;
        while let Some(at) = self.next_event().filter(|&at| at <= now) {
            match self.pending {
                Some(arrival) if grid.states(arrival.at) == at => self.arrive(arrival, |event| tell(event, at)),
                _ => self.sent_one(),
            }
        }
    }

    fn arrive(&mut self, arrival: Arrival, mut tell: impl FnMut(LineEvent)) {
        let lost = self.chip.receive(arrival.received);
        match lost {
            Some(Lost::Waiting) => tell(LineEvent::Overrun(self.held)),
            Some(Lost::New) => tell(LineEvent::Overrun(arrival.character)),
            None => {}
        }
        if lost != Some(Lost::New) {
            self.held = arrival.character;
        }
        if arrival.received.framing_error || arrival.received.parity_error {
            tell(LineEvent::Garbled(arrival.character));
        }
        self.looks_since = Some(arrival.at);
        self.expect();
    }

    fn sent_one(&mut self) {
        if let Some(at) = self.sender.next_event() {
            self.sender.complete();
            self.shift(at);
        }
    }

    pub fn status(&self) -> u8 {
        self.wires.lead(self.chip.status(self.sender.state()))
    }

    /// Reads the received data at `now`; says whether a character was waiting.
    pub fn read_data(&mut self, now: TStates, pc: Address) -> (u8, bool) {
        let (byte, fresh) = self.chip.take();
        if fresh {
            self.read += 1;
            self.heard = self.held + 1;
            self.measure(now, pc);
        }
        (byte, fresh)
    }

    fn measure(&mut self, now: TStates, pc: Address) {
        let Some(next) = self.pending else { return };
        let states = TStates(self.signal.grid.states(next.at).0.saturating_sub(now.0));
        if self.margin.is_none_or(|margin| states < margin.states) {
            let per_cent = states.0 as f64 * 100.0 / self.character_states();
            self.margin = Some(Margin { states, per_cent, character: self.held, at: now, pc });
        }
    }

    /// Writes a character to be sent.
    pub fn write_data(&mut self, byte: u8, now: TStates) -> Taken {
        if self.chip.frame().is_none() {
            return Taken::Not;
        }
        let free = self.sender.put(byte);
        self.shift(self.signal.grid.tick(now));
        match free {
            true if self.chip.sends() => Taken::Free,
            true => Taken::Held,
            false => Taken::Over,
        }
    }

    /// Writes to the control register. A change of set-up starts the receiver anew, wherever the line is just then. Says
    /// whether a character was cut off that waited or was being sent.
    pub fn control(&mut self, byte: u8, now: TStates, pc: Address) -> bool {
        let listening = |chip: &dyn SerialChip| chip.frame().filter(|_| chip.receives());
        let before = listening(&*self.chip);
        let set = (self.chip.frame(), self.chip.refusal());
        self.chip.control(byte);
        if (self.chip.frame(), self.chip.refusal()) != set {
            self.set_by = Some(pc);
        }
        let tick = self.signal.grid.tick(now);
        let cut = self.chip.frame().is_none() && self.sender.is_busy();
        if self.chip.frame().is_none() {
            self.sender.reset();
        }
        if listening(&*self.chip) != before {
            self.look(tick);
        }
        self.shift(tick);
        cut
    }

    fn look(&mut self, from: Tick) {
        self.looks_since = self.chip.receives().then_some(from);
        self.expect();
    }

    fn expect(&mut self) {
        self.pending = self
            .looks_since
            .zip(self.chip.frame())
            .and_then(|(from, frame)| next_arrival(&self.signal, frame.format, self.bit(frame), from));
    }

    fn shift(&mut self, now: Tick) {
        let Some(frame) = self.chip.frame().filter(|_| self.chip.sends()) else { return };
        let length = Tick(self.bit(frame).0 / 2 * u128::from(frame.format.half_bits()));
        self.sender.shift(now, length, self.signal.grid);
    }

    fn bit(&self, frame: Frame) -> Tick {
        self.signal.grid.chip_bit(frame.divisor, self.clock)
    }
}
