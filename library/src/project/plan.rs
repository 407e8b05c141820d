//! The checked plan of a chain: stages with their images, tapes, and the ways to start.

use std::sync::Arc;

use super::disk_drive::DiskDrive;
use super::entries::Placed;
use super::listed::{Id, Listed};
use super::machine::MachineSound;
use super::machine::{Machine, Serial};
use crate::assembler::{Assembly, Loader};
use crate::disk::Layout;
use crate::image::Image;
use crate::image::format::Format;
use crate::isa::decode;
use crate::notation::{Address, Notation};
use crate::panel;
use crate::rom::Socket;
use crate::source::{Diagnostic, Position, SourceId, SourceMap, Span};
use crate::tape::framing::Framing;

/// A chain, ready to be built or rehearsed.
pub struct Plan {
    /// Its name.
    pub name: String,
    /// The machine it runs on.
    pub machine: Machine,
    /// The file that describes the machine, as shown.
    pub machine_file: String,
    /// Seconds of the machine's time after which a stage counts as endless.
    pub limit: u32,
    /// Stages, in the order of the file.
    pub stages: Listed<Stage>,
    /// Tapes, in the order in which stages name them.
    pub tapes: Listed<Tape>,
    /// Disks, in the order of the file.
    pub disks: Listed<ChainDisk>,
    /// Formats in which the image of every stage is wanted.
    pub formats: Vec<Format>,
    /// Ways to start; at least one.
    pub starts: Listed<Start>,
}

/// One program of the chain.
pub struct Stage {
    /// Its name.
    pub name: String,
    /// The file it is made from, as shown.
    pub file: String,
    /// The text it is assembled from; none if it is made from a bare image.
    pub root: Option<SourceId>,
    /// Constants defined before the first line of the source.
    pub definitions: Vec<(String, u16)>,
    /// Where its name stands in the chain file.
    pub span: Span,
    /// Where it comes from.
    pub home: Home,
    /// Its bytes.
    pub image: Image,
    /// Where it starts.
    pub entry: Address,
    /// Whether the chain file says where, and not the program.
    pub entry_given: bool,
    /// Which of its bytes are instructions; none if it is made from a bare image.
    pub code: Option<CodeMap>,
    /// The assembly behind it; none if it is made from a bare image.
    pub assembly: Option<Arc<Assembly>>,
    /// How it expects the sense switches to stand.
    pub sense: Option<Placed<u8>>,
    /// Stages over which it may be loaded while they load it.
    pub over: Vec<Id<Stage>>,
    /// Machine cycles of the lights sheet that is wanted of it.
    pub lights: Option<u64>,
}

/// Where a stage comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum Home {
    /// It is deposited by hand; at most so many bytes.
    Panel(Option<usize>),
    /// It lies in sockets: in each of them the bytes that belong to its addresses.
    Sockets(Vec<Id<Socket>>),
    /// It is read from a tape.
    Tape {
        /// Which tape.
        tape: Id<Tape>,
        /// How it is written there.
        framing: Box<Framing>,
    },
    /// It is read from a disk.
    Disk {
        /// Which disk.
        disk: Id<ChainDisk>,
        /// The area of its layout that holds it.
        area: String,
    },
}

impl Home {
    /// The sockets in which it lies.
    pub fn sockets(&self) -> &[Id<Socket>] {
        if let Home::Sockets(sockets) = self { sockets } else { &[] }
    }
}

/// A tape of the chain.
#[derive(Clone, Debug, PartialEq)]
pub struct Tape {
    /// Its name.
    pub name: String,
    /// The serial interface through which it is read.
    pub serial: Id<Serial>,
    /// Seconds from the start of the stage that reads it to the first character.
    pub after: f64,
    /// How it is recorded, if that is wanted.
    pub sound: Option<MachineSound>,
    /// Frames of lettering, punched before what is read; empty if none is wanted.
    pub lettering: Vec<u8>,
}

/// A disk of the chain.
#[derive(Clone, Debug, PartialEq)]
pub struct ChainDisk {
    /// Its name.
    pub name: String,
    /// How it is made up.
    pub layout: Layout,
    /// The drive in which it lies.
    pub drive: Id<DiskDrive>,
    /// Whether it is protected from being written.
    pub protected: bool,
}

/// A way to start.
#[derive(Clone, Debug, PartialEq)]
pub struct Start {
    /// What it is called; empty if there is only one.
    pub name: String,
    /// Its stages in the order in which they run; never empty.
    pub stages: Vec<Id<Stage>>,
    /// Sockets that are empty.
    pub empty: Vec<Id<Socket>>,
    /// How the sense switches stand.
    pub sense: u8,
}

impl Start {
    /// Its programs that read a tape, with the line that it comes down, in their order.
    pub fn loaders(&self, plan: &Plan) -> Vec<(Id<Stage>, Id<Serial>)> {
        let reads = |pair: &[Id<Stage>]| match plan.stages[pair[1]].home {
            Home::Tape { tape, .. } => Some((pair[0], plan.tapes[tape].serial)),
            _ => None,
        };
        self.stages.windows(2).filter_map(reads).collect()
    }
}

/// Which addresses, at run time, hold instructions.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct CodeMap {
    /// First bytes of instructions, rising.
    pub opcodes: Vec<u16>,
    /// Ports that an `IN` reads or an `OUT` writes, with the places of the instructions.
    pub ports: Vec<PortUse>,
}

/// An instruction that names a port.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PortUse {
    /// The port.
    pub port: u8,
    /// Whether it is an `OUT`.
    pub output: bool,
    /// Of what an `IN` reads, the bits that the instruction behind it leaves; 0 if that is no `ANI`.
    pub tested: u8,
    /// Where it stands.
    pub span: Span,
}

/// Where a plan's files come from.
pub trait Files: Loader {
    /// The name under which the file is shown, and its bytes; `path` is relative to the chain file.
    ///
    /// # Errors
    /// A diagnostic if it cannot be read.
    fn read(&mut self, path: &str) -> Result<(String, Vec<u8>), Diagnostic>;
}

impl Plan {
    /// By what everything of the chain is told to belong together: the bytes of all stages, in the order of the file.
    pub fn check(&self) -> panel::Check {
        panel::Check::of(self.stages.iter().flat_map(|stage| stage.image.extents()).map(|extent| extent.bytes))
    }

    /// Where a stage comes from, in words.
    pub fn home_words(&self, home: &Home) -> String {
        match home {
            Home::Panel(_) => "toggled in".into(),
            Home::Sockets(numbers) => {
                let names: Vec<_> = numbers.iter().map(|&number| self.machine.sockets[number].name.as_str()).collect();
                format!("in socket{} {}", if names.len() > 1 { "s" } else { "" }, names.join(" and "))
            }
            Home::Disk { disk, area } => format!("on disk {} in area {area}", self.disks[*disk].name),
            Home::Tape { tape, framing } => format!("on tape {} as {}", self.tapes[*tape].name, framing.name),
        }
    }

    /// Whether a tape of the chain is recorded as sound.
    pub fn is_recorded(&self) -> bool {
        self.tapes.iter().any(|tape| tape.sound.is_some())
    }
}

impl CodeMap {
    /// Whether an address holds the first byte of an instruction.
    pub fn is_opcode(&self, address: Address) -> bool {
        self.opcodes.binary_search(&address.0).is_ok()
    }

    /// Where the instruction begins of which an address holds a further byte, if it holds one.
    pub fn begins_before(&self, image: &Image, address: Address) -> Option<Address> {
        let before = self.opcodes.partition_point(|&at| at < address.0);
        let begins = Address(*self.opcodes.get(before.checked_sub(1)?)?);
        let length = decode(image.byte(begins)?).length;
        (!self.is_opcode(address) && address.0 - begins.0 < u16::from(length)).then_some(begins)
    }
}

impl Stage {
    /// The stage with what its source says beside each instruction; what has no source is written in `notation`.
    pub fn program(&self, sources: &SourceMap, notation: Notation) -> panel::Program {
        match self.assembly {
            Some(_) => panel::Program::from_source(self.name.clone(), self.image.clone(), sources),
            None => panel::Program::from_bytes(self.name.clone(), self.image.clone(), notation),
        }
    }

    /// The place in a source that made the byte at an address.
    pub fn made_by(&self, address: Address) -> Option<Position> {
        self.image.made_by(address)
    }
}
