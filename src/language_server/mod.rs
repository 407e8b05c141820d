//! `language-server`: what an editor asks while sources and chains are written, over standard input and output.
//!
//! The answers are those of `coldwright::language`; here are the protocol, and the texts that are open. `wire` frames
//! messages, `positions` counts as editors do, `documents` holds what is open, `desk` reads files as the editor has them,
//! `workspace` keeps what was made of them, `requests` finds the answer, and `answers`, `beside` and `changes` put it into
//! the words of the protocol; `shorter` looks for shorter forms.

mod answers;
mod beside;
mod changes;
mod desk;
mod documents;
mod positions;
mod requests;
mod server;
mod shorter;
mod wire;
mod workspace;

use std::io;

use clap::Args;

use super::report::Report;
use server::Server;

/// Answer an editor about sources and chain files while they are written
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright language-server\n  coldwright language-server --stdio\n\n\
    An editor starts it and speaks the Language Server Protocol with it over standard input and output. A source is\n\
    assembled as the chain builds it whose `coldwright.toml` lies in its folder or above, and by itself if none does.\n\
    docs/editors.md shows what to put into the settings of an editor.")]
pub struct LanguageServer {
    /// Speak over standard input and output, which is what is done anyway
    #[arg(long)]
    stdio: bool,
}

impl LanguageServer {
    pub(super) fn run(self, report: &mut Report) {
        let messages = wire::incoming(io::stdin());
        let mut server = Server::new(wire::Outgoing::new(io::stdout()));
        if !server.serve(&messages) {
            report.fail();
        }
    }
}
