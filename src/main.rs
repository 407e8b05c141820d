//! The `coldwright` program: one file per command. Only this crate touches files, the environment, the terminal and the
//! exit code; what there is to know is in the library of the same name.

mod assemble;
mod booklet;
mod build;
mod built;

mod audio;
mod capture;
mod card;
mod chain;
mod check;
mod compare;
mod completions;
mod convert;
mod diagnose;
mod disk;
mod disassemble;
mod explain;
mod faults;
mod files;
mod fit;
mod format;
mod framings;
mod guide;
mod identity;
mod index_page;
mod input;
mod inspect;
mod kept;
mod language_server;
mod layouts;
mod lights;
mod limits;
mod live_page;
mod manual;
mod named;
mod new;
mod next_steps;
mod notation_options;
mod outputs;
mod pages;
mod panel_options;
mod part_folder;
mod parts;
mod played;
mod port;
mod ports;
mod progress;
mod readings;
mod receive;
mod rehearse;
mod report;
mod send;
mod sheet;
mod shared_sources;
mod shorten;
mod sockets;
mod source_file;
mod stop;
mod tape;
mod values;
mod watch;
mod wrapped;

use std::io::{self, Write};
use std::process::ExitCode;

use clap::{CommandFactory, Parser, Subcommand};

use report::{Manner, Report};

/// The arguments of the program.
#[derive(Debug, Parser)]
#[command(name = "coldwright", version, about, max_term_width = 100)]
#[command(after_help = "Examples:\n  coldwright new tower\n  coldwright rehearse examples/belfry\n\n\
    Exit codes: 0 done, 1 the work failed and it was said why, 2 wrong usage.")]
pub struct Arguments {
    #[command(subcommand)]
    command: Command,
    /// Print results and problems as JSON, one object a line
    #[arg(long, global = true, display_order = 900)]
    json: bool,
    /// Print each problem on one line: file:line:column: severity: text [code]
    #[arg(long, global = true, display_order = 901, conflicts_with = "json")]
    brief: bool,
}

#[derive(Debug, Subcommand)]
enum Command {
    New(new::New),
    Check(check::Check),
    Build(build::Build),
    Booklet(booklet::Booklet),
    Rehearse(rehearse::Rehearse),
    Faults(faults::Faults),
    Limits(limits::Limits),
    Diagnose(diagnose::Diagnose),
    Assemble(assemble::Assemble),
    Inspect(inspect::Inspect),
    Convert(convert::Convert),
    Disassemble(disassemble::Disassemble),
    Compare(compare::Compare),
    Fit(fit::Fit),
    Shorten(shorten::Shorten),
    Format(format::Format),
    LanguageServer(language_server::LanguageServer),
    Parts(parts::Parts),
    Sheet(sheet::Sheet),
    Lights(lights::Lights),
    Card(card::Card),
    Guide(guide::Guide),
    Tape(tape::Tape),
    Disk(disk::Disk),
    Audio(audio::Audio),
    Send(send::Send),
    Receive(receive::Receive),
    Ports(ports::Ports),
    Explain(explain::Explain),
    Completions(completions::Completions),
    Manual(manual::Manual),
}

/// Parses the arguments of the process and runs the command. A usage error ends the process with exit code 2.
fn main() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(said) => return told(&said),
    };
    let mut report = Report::new(match (arguments.json, arguments.brief) {
        (true, _) => Manner::Json,
        (_, true) => Manner::Brief,
        _ => Manner::Full,
    });
    match arguments.command {
        Command::Assemble(command) => command.run(&mut report),
        Command::Audio(command) => command.run(&mut report),
        Command::Disk(command) => command.run(&mut report),
        Command::Inspect(command) => command.run(&mut report),
        Command::Convert(command) => command.run(&mut report),
        Command::Disassemble(command) => command.run(&mut report),
        Command::Compare(command) => command.run(&mut report),
        Command::Format(command) => command.run(&mut report),
        Command::LanguageServer(command) => command.run(&mut report),
        Command::Fit(command) => command.run(&mut report),
        Command::Shorten(command) => command.run(&mut report),
        Command::Parts(command) => command.run(&mut report),
        Command::Sheet(command) => command.run(&mut report),
        Command::Lights(command) => command.run(&mut report),
        Command::Card(command) => command.run(&mut report),
        Command::Guide(command) => command.run(&mut report),
        Command::Explain(command) => command.run(&mut report),
        Command::Completions(command) => command.run(Arguments::command(), &mut report),
        Command::Manual(command) => command.run(Arguments::command(), &mut report),
        Command::Ports(command) => command.run(&mut report),
        Command::Receive(command) => command.run(&mut report),
        Command::Send(command) => command.run(&mut report),
        Command::New(command) => command.run(&mut report),
        Command::Build(command) => command.run(&mut report),
        Command::Booklet(command) => command.run(&mut report),
        Command::Check(command) => command.run(&mut report),
        Command::Rehearse(command) => command.run(&mut report),
        Command::Faults(command) => command.run(&mut report),
        Command::Limits(command) => command.run(&mut report),
        Command::Diagnose(command) => command.run(&mut report),
        Command::Tape(command) => command.run(&mut report),
    }
    report.status().into()
}

/// Prints what is wrong with the arguments, or the help that they ask for: exit code 2, or 0 if it could be printed.
fn told(said: &clap::Error) -> ExitCode {
    let printed = said.print().and_then(|()| io::stdout().flush());
    if said.use_stderr() {
        return ExitCode::from(2);
    }
    let mut report = Report::new(Manner::Full);
    if let Err(error) = printed {
        report.unprinted(&error);
    }
    report.status().into()
}
