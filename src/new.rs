//! `new`: a chain to start from.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::outputs::Outputs;
use super::report::Report;
use coldwright::project::{NewChip, NewFraming, Wish, scaffold};
use coldwright::source::{Code, Diagnostic};

/// Make a chain that builds and rehearses at once, to be changed into your own
#[derive(Args, Debug)]
#[command(
    after_help = "Examples:\n  coldwright new tower\n  coldwright new shed --chip uart --rom --framing intel-hex"
)]
pub struct New {
    /// The folder to make; its last part becomes the name of the chain
    #[arg(value_name = "DIR")]
    name: PathBuf,
    /// The serial chip through which tapes are read
    #[arg(long, value_enum, default_value = "mc6850")]
    chip: ChipArgument,
    /// Start from a boot ROM instead of a key-in loader
    #[arg(long)]
    rom: bool,
    /// How the payload stands on its tape
    #[arg(long, value_enum, default_value = "blocks")]
    framing: FramingArgument,
}

/// Chips by the words of the machine file.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum ChipArgument {
    /// Motorola MC6850
    Mc6850,
    /// Intel 8251
    #[value(name = "i8251")]
    I8251,
    /// A hard-wired UART
    Uart,
}

/// Framings for which the library has a second-stage loader.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum FramingArgument {
    /// Numbered, checked blocks
    Blocks,
    /// Intel HEX text
    IntelHex,
    /// S-record text
    SRecord,
}

impl New {
    pub(super) fn run(self, report: &mut Report) {
        let shown = self.name.display().to_string();
        let refuse = |why: String| Diagnostic::error(Code::FileUnwritable, format!("cannot make `{shown}`: {why}"));
        let name = self.name.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let is_plain = |letter: char| letter.is_alphanumeric() || "-_ ".contains(letter);
        if name.is_empty() || !name.chars().all(is_plain) {
            return report.problem(refuse("a name is letters, digits, `-`, `_` and blanks".into()));
        }
        if self.name.exists() {
            return report.problem(refuse("it exists already".into()).with_help("take another name"));
        }
        let mut outputs = Outputs::default();
        for (file, text) in scaffold(&self.wish(name)) {
            outputs.add(self.name.join(file), text);
        }
        match outputs.commit_in(&self.name, report) {
            Ok(()) => report.print(format!(
                "made `{shown}`; it builds and rehearses as it stands: coldwright rehearse {shown}\n\
                 describe your own machine in `machine.toml` and, for the programs, in `ports.asm`\n"
            )),
            Err(problem) => report.problem(problem),
        }
    }

    fn wish(&self, name: String) -> Wish {
        let chip = match self.chip {
            ChipArgument::Mc6850 => NewChip::Mc6850,
            ChipArgument::I8251 => NewChip::I8251,
            ChipArgument::Uart => NewChip::Uart,
        };
        let framing = match self.framing {
            FramingArgument::Blocks => NewFraming::Blocks,
            FramingArgument::IntelHex => NewFraming::IntelHex,
            FramingArgument::SRecord => NewFraming::SRecord,
        };
        Wish { name, chip, rom: self.rom, framing }
    }
}
