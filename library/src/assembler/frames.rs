//! The texts being read, innermost last, and the conditionals open in them.

use std::sync::Arc;

use crate::source::{SourceId, Span};

/// Ends a text on old media.
pub(super) const CONTROL_Z: u8 = 0x1A;

/// What kind of text a frame reads.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A file, with what tells it from others.
    File(String),
    /// The expansion of a macro or repetition.
    Expansion,
}

/// A text being read.
#[derive(Clone, Debug)]
pub(super) struct Frame {
    pub source: SourceId,
    pub text: Arc<String>,
    /// Offset of the next line, or `None` behind the last.
    pub next: Option<u32>,
    pub kind: Kind,
    /// Whether it is a file with a control-Z anywhere in it.
    pub has_control_z: bool,
    /// Whether a `!` stands anywhere in it, which may part statements.
    pub has_bang: bool,
    /// How many conditionals were open when it began.
    conditionals: usize,
}

/// An open IF.
#[derive(Clone, Copy, Debug)]
pub(super) struct Conditional {
    /// Whether its lines are assembled now.
    pub active: bool,
    /// Whether the text around it is assembled.
    outer: bool,
    /// Whether ELSE has been met.
    pub in_else: bool,
    /// The IF.
    pub span: Span,
}

/// All open texts and conditionals.
#[derive(Default)]
pub(super) struct Frames {
    list: Vec<Frame>,
    conditionals: Vec<Conditional>,
    /// How many of the texts are expansions.
    expansions: usize,
}

impl Frames {
    /// Starts to read a text. The caller has seen to it that there are not too many.
    pub fn push(&mut self, source: SourceId, text: Arc<String>, kind: Kind) {
        let conditionals = self.conditionals.len();
        self.expansions += usize::from(kind == Kind::Expansion);
        let holds = |byte| memchr::memchr(byte, text.as_bytes()).is_some();
        let (has_control_z, has_bang) = (kind != Kind::Expansion && holds(CONTROL_Z), holds(b'!'));
        self.list.push(Frame { source, text, next: Some(0), kind, has_control_z, has_bang, conditionals });
    }

    /// The text being read.
    pub fn top(&mut self) -> Option<&mut Frame> {
        self.list.last_mut()
    }

    /// How many texts are open.
    pub fn depth(&self) -> usize {
        self.list.len()
    }

    /// How many of them are files, and how many expansions.
    pub fn depths(&self) -> (usize, usize) {
        (self.list.len() - self.expansions, self.expansions)
    }

    /// The open files from the outermost to the innermost.
    pub fn files(&self) -> impl Iterator<Item = (&str, SourceId)> {
        self.list.iter().filter_map(|frame| match &frame.kind {
            Kind::File(identity) => Some((identity.as_str(), frame.source)),
            Kind::Expansion => None,
        })
    }

    /// Ends the innermost text; returns the conditionals left open in it.
    pub fn pop(&mut self) -> Vec<Conditional> {
        let Some(frame) = self.list.pop() else { return Vec::new() };
        self.expansions -= usize::from(frame.kind == Kind::Expansion);
        self.conditionals.split_off(frame.conditionals.min(self.conditionals.len()))
    }

    /// Ends the innermost expansion early, with its conditionals. Returns false if the innermost text is a file.
    pub fn leave_expansion(&mut self) -> bool {
        let expansion = self.list.last().is_some_and(|frame| frame.kind == Kind::Expansion);
        if expansion {
            self.pop();
        }
        expansion
    }

    /// Ends all expansions up to the innermost file.
    pub fn leave_all_expansions(&mut self) {
        while self.leave_expansion() {}
    }

    /// Ends the innermost file here, and all expansions in it.
    pub fn end_file(&mut self) {
        self.leave_all_expansions();
        if let Some(file) = self.list.last_mut() {
            file.next = None;
        }
    }

    /// Whether lines are assembled now.
    pub fn active(&self) -> bool {
        self.conditionals.last().is_none_or(|conditional| conditional.active)
    }

    /// Opens a conditional.
    pub fn open(&mut self, holds: bool, span: Span) {
        let outer = self.active();
        self.conditionals.push(Conditional { active: outer && holds, outer, in_else: false, span });
    }

    /// Turns the innermost conditional over to its ELSE branch.
    ///
    /// # Errors
    /// The conditional that has an ELSE already, or `None` if none is open in this text.
    pub fn turn(&mut self) -> Result<(), Option<Conditional>> {
        let least = self.list.last().map_or(0, |frame| frame.conditionals);
        if self.conditionals.len() <= least {
            return Err(None);
        }
        match self.conditionals.last_mut() {
            Some(conditional) if !conditional.in_else => {
                conditional.in_else = true;
                conditional.active = conditional.outer && !conditional.active;
                Ok(())
            }
            other => Err(other.copied()),
        }
    }

    /// Closes the innermost conditional. Returns false if none is open in this text.
    pub fn close(&mut self) -> bool {
        let least = self.list.last().map_or(0, |frame| frame.conditionals);
        self.conditionals.len() > least && self.conditionals.pop().is_some()
    }
}
