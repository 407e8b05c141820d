//! The chip on a bench: an ideal drive, and a processor that is always quick enough.

use std::sync::LazyLock;

use coldwright::disk::Cell;
use coldwright::disk::{Disk, Form, Layout, Sectoring, bundled, write};
use coldwright::isa::TStates;
use coldwright::rehearsal::disk::fd1771::{Fd1771, Pins, Register, Trouble};

/// T-states of a byte.
pub const BYTE: u64 = 64;
/// Bytes of a turn.
pub const CELLS: u64 = 5208;
/// T-states of a turn.
pub const TURN: u64 = CELLS * BYTE;
/// T-states of a millisecond.
pub const MS: u64 = 2000;

/// An ideal drive.
pub struct Spindle {
    pub tracks: Vec<Vec<Cell>>,
    pub head: usize,
    pub turns: bool,
    pub ready: bool,
    pub protected: bool,
    pub fault: bool,
    /// Since when the head is loaded.
    pub loaded: Option<TStates>,
    /// How long the head takes to settle.
    pub settle: u64,
    /// T-states of a byte.
    pub byte: u64,
    /// When it stepped, and whether inward.
    pub steps: Vec<(u64, bool)>,
}

impl Spindle {
    /// T-states of a turn.
    fn turn(&self) -> u64 {
        CELLS * self.byte
    }
}

impl Pins for Spindle {
    fn ready(&self, _: TStates) -> bool {
        self.ready
    }

    fn track_zero(&self, _: TStates) -> bool {
        self.head == 0
    }

    fn protected(&self, _: TStates) -> bool {
        self.protected
    }

    fn write_fault(&self, _: TStates) -> bool {
        self.fault
    }

    fn index(&self, at: TStates) -> bool {
        self.turns && at.0 % self.turn() < 1700 * 2
    }

    fn next_index(&self, after: TStates) -> Option<TStates> {
        self.turns.then_some(TStates((after.0 / self.turn() + 1) * self.turn()))
    }

    fn settles(&self) -> Option<TStates> {
        self.loaded.map(|at| TStates(at.0 + self.settle))
    }

    fn load_head(&mut self, loaded: bool, at: TStates) {
        self.loaded = loaded.then_some(at);
    }

    fn step(&mut self, inward: bool, at: TStates) {
        self.steps.push((at.0, inward));
        self.head = if inward { self.head + 1 } else { self.head.saturating_sub(1) };
    }

    fn passing(&self, at: TStates) -> Option<u64> {
        self.turns.then_some(at.0 / self.byte)
    }

    fn begins(&self, cell: u64) -> TStates {
        TStates(cell * self.byte)
    }

    fn cells(&self) -> u64 {
        CELLS
    }

    fn read(&self, cell: u64) -> Option<Cell> {
        self.loaded?;
        self.tracks.get(self.head).map(|track| track[(cell % CELLS) as usize])
    }

    fn write(&mut self, cell: u64, content: Cell) {
        if self.loaded.is_some() && !self.protected {
            self.tracks[self.head][(cell % CELLS) as usize] = content;
        }
    }
}

/// One turn of a track as the bundled layout has it, every sector formatted.
pub fn turn_of(layout: &Layout, disk: &Disk, track: usize) -> Vec<Cell> {
    let Sectoring::Marks { count, preamble, gap } = &layout.sectoring else { panic!("sectors by marks") };
    let plain = |byte| Cell { byte, mark: false };
    let mut cells = Vec::new();
    for fill in preamble {
        let mark = fill.byte == 0xFC;
        cells.extend(std::iter::repeat_n(Cell { byte: fill.byte, mark }, fill.count));
    }
    for place in 0..*count {
        cells.extend(layout.sync.iter().flat_map(|fill| std::iter::repeat_n(plain(fill.byte), fill.count)));
        let sector = disk.sector(track * count + usize::from(layout.number_at(track, place) - layout.first));
        cells.extend(sector.iter().enumerate().map(|(at, &byte)| Cell { byte, mark: at == 0 || at == 24 }));
        cells.extend(gap.iter().flat_map(|fill| std::iter::repeat_n(plain(fill.byte), fill.count)));
    }
    cells.resize(CELLS as usize, plain(0xFF));
    cells
}

/// The tracks of a formatted disk.
static FORMATTED: LazyLock<Vec<Vec<Cell>>> = LazyLock::new(|| {
    let layout = bundled("marks-26").unwrap();
    let disk = write::formatted(&layout, Form::Whole);
    (0..77).map(|track| turn_of(&layout, &disk, track)).collect()
});

/// The chip, its drive and the time.
pub struct Bench {
    pub chip: Fd1771,
    pub drive: Spindle,
    pub now: u64,
}

impl Bench {
    /// A chip that has done its restore, with the head on track 0 of a formatted disk of 77 tracks.
    pub fn new() -> Bench {
        let mut bench = Bench::just_reset(0);
        bench.ends();
        bench.drive.steps.clear();
        bench
    }

    /// A chip just let go from master reset, with the head on a track.
    pub fn just_reset(head: usize) -> Bench {
        let tracks = FORMATTED.clone();
        let mut drive = Spindle {
            tracks,
            head,
            turns: true,
            ready: true,
            protected: false,
            fault: false,
            loaded: None,
            settle: 35 * MS,
            byte: BYTE,
            steps: Vec::new(),
        };
        let chip = Fd1771::new(2_000_000, false, &mut drive);
        Bench { chip, drive, now: 0 }
    }

    /// Lets time pass.
    pub fn wait(&mut self, states: u64) {
        self.now += states;
        self.chip.settle(TStates(self.now), &mut self.drive);
    }

    pub fn read(&mut self, register: Register) -> u8 {
        self.chip.read(register, TStates(self.now), &self.drive)
    }

    pub fn write(&mut self, register: Register, byte: u8) {
        self.chip.write(register, byte, TStates(self.now), &mut self.drive);
    }

    pub fn command(&mut self, byte: u8) {
        self.write(Register::Command, byte);
    }

    pub fn status(&mut self) -> u8 {
        self.read(Register::Command)
    }

    /// The status, and INTRQ stays as it is.
    pub fn seen(&self) -> u8 {
        self.chip.peek(Register::Command, TStates(self.now), &self.drive)
    }

    pub fn trouble(&mut self) -> Vec<Trouble> {
        self.chip.take_trouble().into_iter().map(|(_, trouble)| trouble).collect()
    }

    /// To the next change of the chip; says whether there is one.
    pub fn passes(&mut self) -> bool {
        let next = self.chip.next_event(&self.drive);
        if let Some(at) = next {
            assert!(at.0 >= self.now, "an event in the past");
            self.now = at.0;
            self.chip.settle(at, &mut self.drive);
        }
        next.is_some()
    }

    /// To the end of a command, serving no request; the T-states that it took.
    pub fn ends(&mut self) -> u64 {
        let from = self.now;
        while self.chip.is_busy() && self.passes() {}
        assert!(self.chip.intrq() && !self.chip.is_busy());
        self.now - from
    }

    /// The bytes of a command that reads, each fetched at once.
    pub fn reads(&mut self, command: u8) -> Vec<u8> {
        self.command(command);
        let mut bytes = Vec::new();
        while self.chip.is_busy() && self.passes() {
            if self.chip.drq() {
                bytes.push(self.read(Register::Data));
            }
        }
        bytes
    }

    /// A command that writes, each byte given at once; returns how many were asked for.
    pub fn writes(&mut self, command: u8, bytes: &[u8]) -> usize {
        self.command(command);
        let mut asked = 0;
        loop {
            if self.chip.drq() {
                if let Some(&byte) = bytes.get(asked) {
                    self.write(Register::Data, byte);
                }
                asked += 1;
            }
            if !self.chip.is_busy() || !self.passes() {
                return asked;
            }
        }
    }

    /// Puts the head and the registers to a track and a sector.
    pub fn stand(&mut self, track: u8, sector: u8) {
        self.drive.head = usize::from(track);
        self.write(Register::Track, track);
        self.write(Register::Sector, sector);
    }

    /// A cell of the track under the head.
    pub fn cell(&mut self, at: u64) -> &mut Cell {
        &mut self.drive.tracks[self.drive.head][at as usize]
    }
}

/// The cell of the ID mark of a sector of the bundled layout, which stand in rising order.
pub fn id_cell(sector: u8) -> u64 {
    73 + 6 + 188 * (u64::from(sector) - 1)
}

/// The cell of its data mark.
pub fn data_cell(sector: u8) -> u64 {
    id_cell(sector) + 24
}
