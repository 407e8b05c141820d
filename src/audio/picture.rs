//! `audio picture`: the sound around a time or a block, with what was decided on it.

use std::fs::File;
use std::io::{self, BufReader, Seek};
use std::path::PathBuf;
use std::time::Duration;

use clap::Args;

use super::listen::{clock, listen, unreadable};
use super::tones::{ToneOptions, Tones};
use crate::files;
use crate::framings::load_framing;
use crate::outputs::Outputs;
use crate::pages::{PaperWord, add_drawing};
use crate::report::Report;
use crate::tape::verdicts;
use crate::values;
use coldwright::audio::picture::look;
use coldwright::audio::{HeardByte, Modulation, Reading};
use coldwright::notation::Notation;
use coldwright::source::{Code, Diagnostic};
use coldwright::tape::framing::{Block, Framing, Slips, Verdict};
use coldwright::tape::recording::Recording;
use coldwright::tape::sound_picture::{Focus, Layout, draw};
use coldwright::tape::wrong_bit::WrongBit;

/// The most pages that are drawn; more is a slip in `--span`.
const MOST_PAGES: usize = 200;

/// Draw the sound around a time or a block: wave, bits with their edges, bytes
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright audio picture chimes.wav --at 12.5 -o look.pdf\n  \
    coldwright audio picture worn.wav --framing blocks --block 1 -o block-1.svg\n\n\
    With a framing alone it looks at the first damaged block.")]
pub struct Picture {
    /// The recording, a WAV file
    recording: PathBuf,
    #[command(flatten)]
    tones: ToneOptions,
    /// The time to look at; without it and without a block, the first damaged block or the first byte in doubt
    #[arg(long, value_name = "SECONDS", value_parser = values::seconds, conflicts_with_all = ["block", "damaged"])]
    at: Option<Duration>,
    /// Look at the block of this number, at a damaged one first: at its wrong bit or its least sure byte
    #[arg(long, value_name = "NUMBER", requires = "framing", conflicts_with = "damaged")]
    block: Option<u32>,
    /// Look at the damaged block that `audio read` names first, second, ...
    #[arg(long, value_name = "ORDINAL", requires = "framing", value_parser = clap::value_parser!(u32).range(1..))]
    damaged: Option<u32>,
    /// The framing, to find the block
    #[arg(long, value_name = "FRAMING")]
    framing: Option<String>,
    /// How much is shown, up to 60 seconds; else twelve characters. What is too long for a page goes on over several
    #[arg(long, value_name = "SECONDS", value_parser = values::seconds)]
    span: Option<Duration>,
    /// Where to draw it, by extension: .pdf, .html, .svg (a file a page); may be given several times
    #[arg(short, long = "output", value_name = "FILE", required = true)]
    outputs: Vec<PathBuf>,
    /// The paper of the pages, on its side
    #[arg(long, value_enum, default_value = "a4")]
    paper: PaperWord,
    /// How addresses and bytes are written: octal, split or hex; else as the machine file says
    #[arg(long = "notation", value_name = "NOTATION", value_parser = values::notation)]
    written: Option<Notation>,
    #[arg(skip)]
    notation: Notation,
}

impl Picture {
    pub(super) fn run(mut self, report: &mut Report) {
        self.notation = self.written.or_else(|| self.tones.notation()).unwrap_or_default();
        if let Err(problem) = self.draw(report) {
            report.problem(problem);
        }
    }

    fn draw(&self, report: &mut Report) -> Result<(), Diagnostic> {
        let Some(Tones { modulation, .. }) = self.tones.resolve(report) else { return Ok(()) };
        let framing = match &self.framing {
            Some(name) => match load_framing(name, self.notation, report) {
                Some(framing) => Some(framing),
                None => return Ok(()),
            },
            None => None,
        };
        // It is opened once: what comes from a pipe comes once.
        let mut file = files::open(&self.recording)?;
        let unread = |error: io::Error| files::unreadable(&self.recording, &error);
        let focus = self.focus(file.try_clone().map_err(unread)?, framing.as_ref(), &modulation, report)?;
        file.rewind().map_err(unread)?;
        let span = self.span.map_or(12.0 * modulation.character_seconds(), |span| span.as_secs_f64());
        let layout = Layout::new(span, &modulation, self.paper.size());
        if layout.pages() > MOST_PAGES {
            let headline = format!("{span} s are {} pages at this rate", layout.pages());
            let problem = Diagnostic::error(Code::SoundUnfit, headline);
            return Err(problem.with_help(format!("ask for a shorter `--span`: {MOST_PAGES} pages are the most")));
        }
        let from = (focus.seconds.unwrap_or(0.0) - layout.before_focus()).max(0.0);
        let picture = look(BufReader::new(file), &modulation, from, from + span, layout.columns());
        let picture = picture.map_err(|error| unreadable(&self.recording, &error))?;
        let title = self.recording.file_name().unwrap_or_default().to_string_lossy();
        let drawing = draw(&picture, &layout, &title, &focus, self.notation);
        let mut outputs = Outputs::default();
        for path in &self.outputs {
            add_drawing(&mut outputs, path, || &drawing, "")?;
        }
        outputs.commit(report)
    }

    /// What to look at.
    fn focus(
        &self,
        file: File,
        framing: Option<&Framing>,
        modulation: &Modulation,
        report: &Report,
    ) -> Result<Focus, Diagnostic> {
        if let Some(at) = self.at {
            let seconds = at.as_secs_f64();
            let about = format!("around {}", clock(seconds));
            return Ok(Focus { about, seconds: Some(seconds), wrong: None });
        }
        let heard = listen(&self.recording, file, modulation, report)?;
        let Some(framing) = framing else { return self.first_doubt(&heard) };
        let recording = Recording::new(framing, heard);
        let block = self.block_of(&recording)?;
        Ok(self.in_block(&recording, block))
    }

    /// The first byte in doubt, where no framing tells of blocks.
    fn first_doubt(&self, heard: &Reading) -> Result<Focus, Diagnostic> {
        let Some(byte) = heard.bytes.iter().find(|byte| byte.is_doubtful()) else {
            let headline = format!("no byte of `{}` was heard with doubt", self.recording.display());
            return Err(Diagnostic::error(Code::SoundUnfit, headline)
                .with_help("say what to look at: a time with `--at`, or a block with `--framing` and `--block`"));
        };
        let seconds = middle(byte);
        Ok(Focus {
            about: format!("the first byte in doubt, at {}", clock(seconds)),
            seconds: Some(seconds),
            wrong: None,
        })
    }

    fn block_of<'a>(&self, recording: &'a Recording) -> Result<&'a Block, Diagnostic> {
        let name = self.recording.display();
        let damaged: Vec<_> = recording.reading.blocks().filter(|block| !block.is_good()).collect();
        if let Some(number) = self.block {
            let numbered = |block: &&Block| block.number == Some(number);
            let found = recording.reading.blocks().filter(numbered).min_by_key(|block| block.is_good());
            return found.ok_or_else(|| {
                Diagnostic::error(Code::TapeDamaged, format!("no block {number} was found on `{name}`")).with_help(
                    "`coldwright audio read --framing` tells what was found and when; look there with `--at`",
                )
            });
        }
        let ordinal = self.damaged.unwrap_or(1) as usize;
        damaged.get(ordinal - 1).copied().ok_or_else(|| match damaged.len() {
            0 => Diagnostic::error(Code::SoundUnfit, format!("no block of `{name}` is damaged"))
                .with_help("say what to look at: a block with `--block`, or a time with `--at`"),
            1 => Diagnostic::error(Code::SoundUnfit, format!("`{name}` has 1 damaged block, not {ordinal}")),
            count => Diagnostic::error(Code::SoundUnfit, format!("`{name}` has {count} damaged blocks, not {ordinal}")),
        })
    }

    /// The wrong bit of a block if its check tells which one it is, else its least sure byte.
    fn in_block(&self, recording: &Recording, block: &Block) -> Focus {
        let words: Vec<_> = verdicts::line(block, self.notation).split_whitespace().map(str::to_owned).collect();
        let words = words.join(" ");
        if let Some(wrong) = wrong_bit(recording, block) {
            let seconds = wrong.middle();
            let about = format!("the one wrong bit of {words}, at {}", clock(seconds));
            return Focus { about, seconds: Some(seconds), wrong: Some(wrong) };
        }
        let bytes = recording.heard.bytes.get(block.range.clone()).unwrap_or_default();
        let weakest = bytes.iter().min_by(|one, other| one.margin().total_cmp(&other.margin()));
        let seconds = weakest.map_or(0.0, middle);
        let about = format!("the least sure byte of {words}, at {}", clock(seconds));
        Focus { about, seconds: Some(seconds), wrong: None }
    }
}

fn wrong_bit(recording: &Recording, block: &Block) -> Option<WrongBit> {
    let Verdict::Bad { slips: Slips::One(slip), .. } = &block.verdict else { return None };
    let edges = recording.heard.bytes.get(slip.offset)?.edges();
    let bit = usize::from(slip.bit);
    // The start bit comes first.
    Some(WrongBit { from: *edges.get(bit + 1)?, to: *edges.get(bit + 2)?, is_one: slip.right >> slip.bit & 1 == 1 })
}

fn middle(byte: &HeardByte) -> f64 {
    (byte.from + byte.to) / 2.0
}
