//! The options that describe a socket map, shared by the commands that need one.

use std::path::{Path, PathBuf};

use clap::Args;

use super::{files, values};
use coldwright::notation::Notation;
use coldwright::project::Machine;
use coldwright::rom::{PartEntry, Parts, Socket, SocketEntry};
use coldwright::source::{Diagnostics, Origin, SourceMap};

/// Sockets and parts as options.
#[derive(Args, Debug)]
pub struct SocketOptions {
    /// A socket: its name, the part seated in it, and its first address; after that, how it is wired and filled
    #[arg(long = "socket", value_name = "NAME=PART@BASE[,...]", required_unless_present = "machine")]
    #[arg(long_help = "A socket: its name, the part seated in it, and its first address. May be followed by\n  \
        ,interleaved          even and odd addresses lie in different parts\n  \
        ,inverted             the data lines pass an inverter\n  \
        ,data=1.0.2.3.4.5.6.7 the machine's line at each data pin, from pin 0 up\n  \
        ,address=1.0.2...     the machine's line at each address pin, from pin 0 up\n  \
        ,fill=0o166           what the machine reads where there is no byte; several with full stops between\n  \
        ,check=sum8@0o177777  a check: sum8, xor8, or another by its name, such as crc-16/xmodem\n\
        A 4-bit part means a pair of them, high and low.")]
    sockets: Vec<String>,
    /// The machine file, whose sockets are taken too
    #[arg(long, value_name = "FILE")]
    machine: Option<PathBuf>,
    /// A part of your own: its words, its bits (4 or 8) and how an unprogrammed cell reads
    #[arg(long = "part", value_name = "NAME=WORDSxBITS,erased=0|1")]
    parts: Vec<String>,
    /// How addresses and bytes are written: octal, split or hex; else as the machine file says
    #[arg(long, value_parser = values::notation)]
    notation: Option<Notation>,
}

/// What the options name, read.
pub struct SocketMap {
    /// The sockets.
    pub sockets: Vec<Socket>,
    /// How addresses and bytes are written.
    pub notation: Notation,
}

impl SocketOptions {
    /// The socket map; none if one of the options was refused.
    pub(super) fn resolve(&self, sources: &mut SourceMap) -> (Option<SocketMap>, Diagnostics) {
        match self.machine.as_deref().map(|path| read_machine(path, sources)).transpose() {
            Ok(machine) => SocketMap::of(&self.sockets, &self.parts, machine.as_ref(), self.notation),
            Err(mut problems) => {
                problems.append(SocketMap::of(&self.sockets, &self.parts, None, self.notation).1);
                (None, problems)
            }
        }
    }
}

impl SocketMap {
    /// The sockets that texts describe, and those of a machine.
    pub(super) fn of(
        texts: &[String],
        parts_of_own: &[String],
        machine: Option<&Machine>,
        notation: Option<Notation>,
    ) -> (Option<SocketMap>, Diagnostics) {
        let (mut problems, mut parts, mut sockets) = (Diagnostics::default(), Parts::default(), Vec::new());
        for text in parts_of_own {
            let added = PartEntry::parse(text).and_then(|entry| parts.add(&entry));
            problems.extend(added.err());
        }
        sockets.extend(machine.iter().flat_map(|machine| machine.sockets.iter().cloned()));
        // A socket whose part was refused would only be refused for the same reason.
        let all_parts = !problems.has_errors();
        for text in texts {
            match SocketEntry::parse(text).and_then(|entry| all_parts.then(|| Socket::new(&entry, &parts)).transpose())
            {
                Ok(socket) => sockets.extend(socket),
                Err(problem) => problems.push(problem),
            }
        }
        let refused = problems.has_errors();
        let of_machine = machine.map(|machine| machine.panel.notation);
        let notation = notation.or(of_machine).unwrap_or_default();
        ((!refused).then_some(SocketMap { sockets, notation }), problems)
    }
}

/// Reads a machine file.
///
/// # Errors
/// All problems of the file.
pub(super) fn read_machine(path: &Path, sources: &mut SourceMap) -> Result<Machine, Diagnostics> {
    let bytes = files::read(path).map_err(|problem| Diagnostics::from_iter([problem]))?;
    let id = sources.add(path.display().to_string(), bytes, Origin::Given);
    Machine::read(sources, id)
}
