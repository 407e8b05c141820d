//! What the processor is wired to: memory, ports and devices, with a watch on each.

use super::disk::{DiskStation, Diskette, Drive};
use super::incident::{Incident, Incidents, What};
use super::memory::{Memory, Noise, mark};
use super::records::{Arrival, Counts, LineUse, Output, Stack, StackUse, Strays, WentOut};
use super::serial::{Feed, Margin, Sent, Station};
use super::setup::{Setup, SetupError};
use super::slower::Slower;
use super::wiring::{Source, Wiring};
use crate::image::Image;
use crate::isa::{CycleKind, TStates};
use crate::notation::Address;

/// Memory, ports and devices.
#[derive(Clone, Debug)]
pub struct Board {
    /// The address space.
    pub memory: Memory,
    /// The byte on the sense switches.
    pub sense: u8,
    pub(super) wiring: Wiring,
    pub(super) stations: Vec<Station>,
    pub(super) disks: Vec<DiskStation>,
    /// Whether a port holds the processor.
    pub(super) holds: bool,
    pub(super) outputs: Vec<Output>,
    pub(super) incidents: Incidents,
    pub(super) counts: Counts,
    /// How often anything but a register has changed.
    pub(super) changes: u64,
    pub(super) next_event: TStates,
    /// Ports that were read although nothing is known of them but a name.
    pub(super) fixed_read: Box<[bool; 256]>,
    /// The port read last, and the instruction that read it.
    pub(super) last_input: Option<(u8, Address)>,
    /// What each port read last, and the instruction that read it.
    pub(super) last_reads: Box<[(u8, Address); 256]>,
    /// What each port was last given.
    pub(super) latched: Box<[Option<u8>; 256]>,
    /// A byte that a port has already changes nothing when it is put out again: so a loop that shows something comes to
    /// rest. How often it was put out is not counted then.
    pub latches: bool,
    pub(super) stack: Stack,
    /// The marks of a byte that may be run as an instruction.
    pub(super) runs: u16,
    pub(super) arrival: Option<Arrival>,
    pub(super) strays: Option<Strays>,
    /// The instruction that ran before it.
    pub(super) before: Address,
    /// The instruction now running, or that ran last.
    pub(super) pc: Address,
    pub(super) kind: CycleKind,
    /// When the present machine cycle moves its byte.
    pub(super) moves_at: TStates,
}

impl Board {
    pub(super) fn new(setup: &Setup, noise: &mut Noise) -> Result<Board, SetupError> {
        // To a line that is faster the machine is slower.
        let of_lines = setup.clock_hz * 100 / (100 + u64::from(setup.faster));
        Ok(Board {
            memory: setup.memory(noise),
            sense: setup.sense.map_or(0, |(_, value)| value),
            wiring: Wiring::new(setup)?,
            stations: setup.serial.iter().map(|serial| Station::new(serial, of_lines)).collect(),
            disks: setup.disks.iter().map(|disk| DiskStation::new(disk, setup.clock_hz, setup.slower)).collect(),
            holds: setup.slower != Slower::default()
                || setup.disks.iter().any(|disk| disk.controller.holds().is_some()),
            outputs: Vec::new(),
            incidents: Incidents::default(),
            counts: Counts::default(),
            changes: 0,
            next_event: TStates(u64::MAX),
            fixed_read: Box::new([false; 256]),
            last_input: None,
            last_reads: Box::new([(0, Address(0)); 256]),
            latched: Box::new([None; 256]),
            latches: false,
            stack: Stack::default(),
            runs: mark::KNOWN,
            arrival: None,
            strays: None,
            before: Address(0),
            pc: Address(0),
            kind: CycleKind::Fetch,
            moves_at: TStates(0),
        })
    }

    /// Sends characters down the line of a serial chip, from `at` on, or from the end of what is being sent already.
    /// Returns the number that the first of them has on that line.
    pub fn play(&mut self, serial: usize, feed: &Feed, at: TStates) -> usize {
        let first = self.stations[serial].play(feed, at);
        self.changed();
        first
    }

    /// A line, and its chip with it, is from now on so many ten-thousandths as fast as it is described.
    pub(super) fn set_pace(&mut self, serial: usize, now: TStates, parts: u32) {
        self.stations[serial].set_pace(now, parts);
        self.changed();
    }

    /// When the last character that was sent down a line ends.
    pub fn line_ends(&self, serial: usize) -> TStates {
        self.stations[serial].line_ends()
    }

    /// When a character of a line begins.
    pub fn begins(&self, serial: usize, character: usize) -> Option<TStates> {
        self.stations[serial].begins(character)
    }

    /// The tightest read of a serial chip's characters so far.
    pub fn margin(&self, serial: usize) -> Option<Margin> {
        self.stations[serial].margin()
    }

    /// Forgets the tightest read so far, at the start of a new stage.
    pub fn clear_margin(&mut self, serial: usize) {
        self.stations[serial].clear_margin();
    }

    /// The length of a character on a line in T-states.
    pub fn character_states(&self, serial: usize) -> f64 {
        self.stations[serial].character_states()
    }

    /// What a program has done with a serial chip so far, and what the chip has for it.
    pub fn line_use(&self, serial: usize) -> LineUse {
        let station = &self.stations[serial];
        LineUse {
            read: station.characters_read(),
            heard: station.heard(),
            is_waiting: station.is_waiting(),
            frame: station.frame(),
            is_off: station.is_off(),
            holds_back: station.holds_back(),
            refusal: station.refusal(),
            set_by: station.set_by(),
        }
    }

    /// A drive.
    pub fn drive(&self, disk: usize) -> &Drive {
        self.disks[disk].drive()
    }

    /// Puts a disk of the drive's layout into a drive.
    pub fn insert(&mut self, disk: usize, diskette: Diskette, at: TStates) {
        self.disks[disk].drive_mut().insert(diskette, at);
        self.disk_changed(disk);
    }

    /// Lets the door of a drive be opened at a moment.
    pub fn open(&mut self, disk: usize, at: TStates) {
        self.disks[disk].drive_mut().open(at);
        self.disk_changed(disk);
    }

    /// What was done to a drive may change what it shows.
    pub(super) fn disk_changed(&mut self, disk: usize) {
        if self.disks[disk].has_changed() {
            self.changed();
        }
        self.note_trouble(disk);
    }

    /// The characters that a serial chip sent.
    pub fn sent(&self, serial: usize) -> &[Sent] {
        self.stations[serial].sent()
    }

    /// What went out, by lines and ports.
    pub fn went_out(&self) -> WentOut {
        let bytes = |station: &Station| station.sent().iter().map(|sent| sent.byte).collect();
        let lines = self.stations.iter().map(bytes).collect();
        WentOut { lines, ports: self.outputs.iter().map(|output| (output.port, output.byte)).collect() }
    }

    /// The bytes that went to recorded output ports.
    pub fn outputs(&self) -> &[Output] {
        &self.outputs
    }

    /// The ports of which nothing is known but what they read, as far as they were read, with that byte.
    pub fn fixed_ports_read(&self) -> impl Iterator<Item = (u8, u8)> {
        let ports = self.wiring.sources.iter().zip(self.fixed_read.iter()).enumerate();
        ports.filter_map(|(port, (source, read))| match source {
            Source::Fixed(byte) if *read => Some((port as u8, *byte)),
            _ => None,
        })
    }

    /// What happened so far that should not have, in order.
    pub fn incidents(&self) -> &[Incident] {
        self.incidents.list()
    }

    /// Instructions and reads so far.
    #[inline]
    pub fn counts(&self) -> Counts {
        self.counts
    }

    /// The instruction that ran before the last one.
    pub fn instruction_before(&self) -> Address {
        self.before
    }

    /// The deepest use of the stack so far.
    pub fn deepest_stack(&self) -> Option<StackUse> {
        self.stack.deepest
    }

    /// The instruction that loaded the stack pointer last.
    pub fn stack_set_by(&self) -> Option<Address> {
        self.stack.set_by
    }

    /// A byte of the stack that was written over by something else, and the instruction that did it.
    pub fn stack_spoilt(&self) -> Option<(Address, Address)> {
        self.stack.spoilt
    }

    /// Forgets how deep the stack was, at the start of a new stage.
    pub fn clear_stack(&mut self) {
        self.stack.deepest = None;
    }

    /// Marks bytes that a program must not write over, or no longer.
    pub fn set_needed(&mut self, base: Address, size: usize, needed: bool) {
        for at in 0..size {
            self.memory.set_mark(base.wrapping_add(at as u16), mark::NEEDED, needed);
        }
    }

    /// Watches for the bytes of a program that is to be loaded: none of them may be run before its entry, nor be written
    /// over once it is there.
    pub fn expect(&mut self, image: &Image) {
        self.memory.expect(image);
        self.arrival = None;
        self.strays = None;
    }

    /// What was stored beside the program that is being loaded.
    pub fn strays(&self) -> Option<Strays> {
        self.strays
    }

    /// How many bytes of the program that is being loaded have come, and when.
    pub fn arrival(&self) -> Option<Arrival> {
        self.arrival
    }

    /// From now on only programs that were announced by [`Board::set_program`] may run.
    pub fn run_only_programs(&mut self) {
        self.runs |= mark::PROGRAM;
    }

    /// From now on a program may do whatever it does: a run ends only where it executes what memory happened to hold at
    /// power-on, or is held by a port for ever. Incidents are no longer kept.
    pub fn bear_everything(&mut self) {
        self.incidents.borne = true;
    }

    /// Puts other characters on a line from one of its characters on, which has not begun.
    pub fn replace(&mut self, serial: usize, character: usize, feed: &Feed) {
        self.stations[serial].replace(character, feed);
        self.changed();
    }

    /// Ends what is sent down all lines with the characters that have begun, and resets the chips that have a pin for it.
    pub fn reset(&mut self, now: TStates) {
        self.stations.iter_mut().for_each(|station| station.reset(now));
        self.changed();
    }

    /// How many characters of a line have begun.
    pub fn begun(&self, serial: usize, now: TStates) -> usize {
        self.stations[serial].begun(now)
    }

    /// Whether another machine's devices go on as these do, as long as the same comes down their lines. Of drives that is
    /// said only if nobody has touched them.
    pub fn goes_on_like(&self, other: &Board) -> bool {
        let lines = self.stations.iter().zip(&other.stations);
        let untouched = |board: &Board| board.disks.iter().all(|disk| disk.drive().is_untouched());
        self.stations.len() == other.stations.len()
            && lines.into_iter().all(|(one, other)| one.goes_on_like(other))
            && untouched(self)
            && untouched(other)
            && self.latched == other.latched
    }

    /// Announces a byte that belongs to a program.
    pub fn set_program(&mut self, address: Address) {
        self.memory.set_mark(address, mark::PROGRAM, true);
    }

    /// Says which bytes the running program consists of.
    pub fn set_running(&mut self, image: &Image) {
        self.memory.clear_mark(mark::RUNNING);
        for extent in image.extents() {
            for at in 0..extent.bytes.len() {
                self.memory.set_mark(extent.base.wrapping_add(at as u16), mark::RUNNING, true);
            }
        }
    }

    /// Marks a byte as data, or as the first of an instruction.
    pub fn set_data(&mut self, address: Address, data: bool) {
        self.memory.set_mark(address, mark::DATA, data);
    }

    /// Lets the devices do what they do up to and including `now`.
    pub fn settle(&mut self, now: TStates) {
        if now < self.next_event {
            return;
        }
        for (serial, station) in self.stations.iter_mut().enumerate() {
            let (incidents, pc) = (&mut self.incidents, self.pc);
            station.settle(now, |event, at| {
                incidents.note(Incident { what: event.what(serial), pc, at });
            });
        }
        self.disks.iter_mut().for_each(|disk| disk.settle(now));
        (0..self.disks.len()).for_each(|disk| self.note_trouble(disk));
        self.changed();
    }

    #[inline]
    pub(super) fn next_event(&self) -> TStates {
        self.next_event
    }

    #[inline]
    pub(super) fn changes(&self) -> u64 {
        self.changes
    }

    /// What a port read last.
    pub(super) fn last_read(&self, port: u8) -> u8 {
        self.last_reads[usize::from(port)].0
    }

    /// The instruction that read a port last.
    pub(super) fn last_reader(&self, port: u8) -> Address {
        self.last_reads[usize::from(port)].1
    }

    pub(super) fn last_input(&self) -> Option<(u8, Address)> {
        self.last_input
    }

    #[inline]
    pub(super) fn take_fatal(&mut self) -> Option<Incident> {
        self.incidents.take_fatal()
    }

    pub(super) fn add_counts(&mut self, counts: Counts, times: u64) {
        self.counts.instructions += counts.instructions * times;
        self.counts.inputs += counts.inputs * times;
        self.counts.in_vain += counts.in_vain * times;
    }

    #[inline]
    pub(super) fn begin_instruction(&mut self, pc: Address) {
        self.before = self.pc;
        self.pc = pc;
        self.counts.instructions += 1;
    }

    /// A device changed: the next event is another.
    pub(super) fn changed(&mut self) {
        self.changes += 1;
        self.look_ahead();
    }

    /// When a device next changes by itself.
    pub(super) fn look_ahead(&mut self) {
        let lines = self.stations.iter().filter_map(Station::next_event);
        let events = lines.chain(self.disks.iter().filter_map(DiskStation::next_event));
        self.next_event = events.min().unwrap_or(TStates(u64::MAX));
    }

    /// Tells what a disk controller ran into.
    pub(super) fn note_trouble(&mut self, disk: usize) {
        for (at, trouble) in self.disks[disk].take_trouble() {
            self.incidents.note(Incident { what: What::Disk { disk, trouble }, pc: self.pc, at });
        }
    }
}
