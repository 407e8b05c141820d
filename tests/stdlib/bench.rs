//! A machine with a serial chip, and library files assembled into it.

use coldwright::assembler::{Options, STDLIB, StdlibOnly, assemble};
use coldwright::image::Image;
use coldwright::isa::{Pair, Register, TStates};
use coldwright::notation::Address;
use coldwright::rehearsal::{
    ChipSetup, Feed, Machine, SerialSetup, Setup, StatusBit, StatusLayout, StatusWires, Stop, What,
};
use coldwright::source::{Origin, Renderer, Severity, SourceMap, Style};

pub const STATUS: u8 = 0o211;
pub const DATA: u8 = 0o210;
pub const LAMPS: u8 = 0o156;
pub const SENSE: u8 = 0o304;
pub const KNOBS: u8 = 0o60;

/// The constants that the library files ask for.
pub const CONSTANTS: &str = "
SERST   EQU     211Q
SERDT   EQU     210Q
SERFMT  EQU     25Q
SERMOD  EQU     316Q
SERRX   EQU     100Q
SERTX   EQU     2
LDPORT  EQU     156Q
LDSTK   EQU     7000H
KIPAGE  EQU     1
EXIN    EQU     60Q
EXOUT   EQU     156Q
SNSPRT  EQU     304Q
";

/// A chip with the library file for it and what its file needs besides.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Chip {
    Mc6850,
    I8251,
    UartHigh,
    UartLow,
}

impl Chip {
    pub const ALL: [Chip; 4] = [Chip::Mc6850, Chip::I8251, Chip::UartHigh, Chip::UartLow];

    pub fn file(self) -> &'static str {
        match self {
            Chip::Mc6850 => "mc6850",
            Chip::I8251 => "i8251",
            Chip::UartHigh | Chip::UartLow => "uart",
        }
    }

    /// The constants, those of the chip included.
    pub fn constants(self) -> String {
        let low = if self == Chip::UartLow { "102Q" } else { "0" };
        format!("{CONSTANTS}SERLOW  EQU     {low}\n")
    }

    fn setup(self) -> ChipSetup {
        let inverted = self == Chip::UartLow;
        match self {
            Chip::Mc6850 => ChipSetup::Mc6850,
            Chip::I8251 => ChipSetup::I8251,
            Chip::UartHigh | Chip::UartLow => ChipSetup::HardWired(StatusLayout {
                data_available: StatusBit { bit: 6, inverted },
                buffer_empty: Some(StatusBit { bit: 1, inverted }),
                overrun: None,
                framing_error: None,
                parity_error: None,
            }),
        }
    }
}

/// A program in a machine.
pub struct Bench {
    pub machine: Machine,
    pub image: Image,
}

/// Assembles a source; panics with its problems, warnings included.
pub fn image(source: &str) -> Image {
    let mut sources = SourceMap::default();
    let root = sources.add("bench.asm", source, Origin::Given);
    let mut assembly = assemble(&mut sources, root, &Options::default(), &mut StdlibOnly);
    assembly.export_symbols();
    let problems = std::mem::take(&mut assembly.diagnostics).sorted(&sources);
    let mut renderer = Renderer::new(&sources, Style::default());
    let bad = problems.iter().filter(|problem| problem.severity != Severity::Note);
    let text: String = bad.map(|problem| renderer.render(problem)).collect();
    assert!(text.is_empty(), "{text}");
    assembly.image
}

impl Bench {
    /// A machine of 2 MHz and 32 KiB with a chip on a line of 9600 baud, and a program in it.
    pub fn new(chip: Chip, source: &str) -> Bench {
        Bench::on_line(chip, "9600 8N2", source)
    }

    pub fn on_line(chip: Chip, line: &str, source: &str) -> Bench {
        let serial = SerialSetup {
            chip: chip.setup(),
            status: STATUS,
            control: Some(STATUS),
            data_in: DATA,
            data_out: DATA,
            line: line.parse().unwrap(),
            clock: 16,
            sender: None,
            wires: StatusWires::default(),
        };
        let setup = Setup {
            seed: 7,
            clock_hz: 2_000_000,
            ram: vec![(Address(0), 0x8000)],
            serial: vec![serial],
            sense: Some((SENSE, 0)),
            inputs: vec![(KNOBS, 0o123)],
            outputs: vec![LAMPS],
            ..Setup::default()
        };
        let mut machine = Machine::new(&setup).unwrap();
        let image = image(source);
        for extent in image.extents() {
            for (at, &byte) in extent.bytes.iter().enumerate() {
                machine.deposit(extent.base.wrapping_add(at as u16), byte);
            }
        }
        Bench { machine, image }
    }

    /// A machine with library files behind a call of `routine` and a halt.
    pub fn calling(chip: Chip, routine: &str, files: &[&str]) -> Bench {
        let includes: String = files.iter().map(|file| format!("        INCLUDE '{file}.asm'\n")).collect();
        let source = format!(
            "{}        ORG     0\n        LXI     SP,7000H\n        CALL    {routine}\nDONE:   HLT\n        ORG     100H\n{includes}        END\n",
            chip.constants()
        );
        Bench::new(chip, &source)
    }

    /// Where a label stands.
    pub fn label(&self, name: &str) -> Address {
        let found = self.image.symbols.iter().find(|symbol| symbol.name.eq_ignore_ascii_case(name));
        Address(found.unwrap_or_else(|| panic!("no label {name}")).value)
    }

    pub fn set(&mut self, pair: Pair, value: u16) -> &mut Bench {
        self.machine.cpu.registers.set_pair(pair, value);
        self
    }

    pub fn pair(&self, pair: Pair) -> u16 {
        self.machine.cpu.registers.pair(pair)
    }

    pub fn a(&self) -> u8 {
        self.machine.cpu.registers.get(Register::A)
    }

    pub fn put(&mut self, base: u16, bytes: &[u8]) -> &mut Bench {
        for (at, &byte) in bytes.iter().enumerate() {
            self.machine.deposit(Address(base + at as u16), byte);
        }
        self
    }

    /// Runs a program made by [`Bench::calling`] to its halt; the T-states of the routine, its return included.
    pub fn call(&mut self) -> u64 {
        let before = self.machine.cpu.clock.0;
        let done = self.label("DONE");
        self.machine.examine(Address(0));
        self.machine.set_stop(done, true);
        assert_eq!(self.run(50_000_000), Stop::Reached(done));
        self.assert_quiet();
        self.machine.cpu.clock.0 - before - 10 - 17
    }

    /// Nothing bad happened. A read of data that nobody sent is how a UART is emptied.
    pub fn assert_quiet(&self) {
        let bad = self.machine.board.incidents().iter();
        let bad: Vec<_> = bad.filter(|incident| !matches!(incident.what, What::ReadsNothing { .. })).collect();
        assert!(bad.is_empty(), "{bad:?}");
    }

    pub fn run(&mut self, states: u64) -> Stop {
        let deadline = TStates(self.machine.cpu.clock.0 + states);
        self.machine.run(deadline, &mut ())
    }

    pub fn play(&mut self, bytes: &[u8]) {
        let now = self.machine.cpu.clock;
        self.machine.board.play(0, &Feed::new(bytes), now);
    }

    /// What the program showed at the lamps.
    pub fn lamps(&self) -> Vec<u8> {
        self.machine.board.outputs().iter().filter(|output| output.port == LAMPS).map(|output| output.byte).collect()
    }

    /// What went out on the line, after giving it time.
    pub fn sent(&mut self) -> Vec<u8> {
        self.machine.wait(TStates(1_000_000));
        self.machine.board.sent(0).iter().map(|sent| sent.byte).collect()
    }

    /// Bytes from a label to another.
    pub fn size(&self, from: &str, to: &str) -> u16 {
        self.label(to).0 - self.label(from).0
    }
}

/// The header of a library file.
pub fn header(file: &str) -> &'static str {
    let text = STDLIB.iter().find(|entry| entry.name == format!("{file}.asm")).expect("a library file").text;
    &text[..text.find("\n\n").expect("a header")]
}

/// Checks the row of a routine in the table of its header: bytes, then T-states.
pub fn assert_stated(file: &str, routine: &str, bytes: impl ToString, states: impl ToString) {
    let start = format!("; {routine} ");
    let row = header(file).lines().find(|line| line.starts_with(&start)).unwrap_or_else(|| panic!("{file}: {routine}"));
    let words: Vec<_> = row.split(|c: char| c.is_whitespace() || c == ',').collect();
    let (bytes, states) = (bytes.to_string(), states.to_string());
    let at = words.iter().position(|word| *word == bytes).unwrap_or_else(|| panic!("{bytes} bytes: {row}"));
    assert!(words[at + 1..].contains(&states.as_str()), "{states} T-states: {row}");
}
