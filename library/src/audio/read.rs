//! A recording back to bytes, window by window in bounded memory.

use std::io::Read;

use rayon::prelude::*;

use super::band::Band;
use super::front::FrontEnd;
use super::modulation::Modulation;
use super::progress::Progress;
use super::read_error::ReadError;
use super::reading::Reading;
use super::speed::{self, Found, Frames};
use super::stitch::{Placed, Stitch};
use super::wav::WavInput;
use super::window::{Demodulator, Window};

/// Windows that are decoded side by side.
const BATCH: usize = 4;

/// Reads a WAV file of any rate, width and number of channels; calls `progress` after every minute or so of recording.
///
/// Speed, levels, balance of the tones and the better channel are found anew for every window of some thirty seconds.
/// Memory is bounded by the window, not by the recording. The same recording gives the same reading on any machine with
/// any number of threads.
///
/// ```
/// use coldwright::audio::{Preset, Sound, read, write};
/// let preset = Preset::named("byte-300").ok_or("no such preset")?;
/// let mut wav = std::io::Cursor::new(Vec::new());
/// write(&mut wav, &[b"ring"], &preset.modulation, &preset.pauses, &Sound::default(), |_| ())?;
/// let reading = read(&wav.get_ref()[..], &preset.modulation, |_| ())?;
/// assert_eq!(reading.values(), b"ring");
/// assert!(!reading.bytes.iter().any(|byte| byte.is_doubtful()));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn read<R: Read>(
    wav: R,
    modulation: &Modulation,
    mut progress: impl FnMut(Progress),
) -> Result<Reading, ReadError> {
    let mut recording = Recording::new(WavInput::new(wav)?, modulation)?;
    let mut stitch = Stitch::new(recording.held.candidates());
    loop {
        let more = recording.fill()?;
        let held = &recording.held;
        let spans = held.windows(more);
        let windows: Vec<_> = spans.par_iter().map(|span| held.decode(span, None)).collect();
        for (span, placed) in spans.iter().zip(windows) {
            let footing = placed.is_loose().then(|| stitch.footing(placed.start)).flatten();
            stitch.add(footing.map_or(placed, |footing| held.decode(span, Some(footing))));
        }
        let facts = recording.input.facts();
        let of = facts.told.map(|samples| samples as f64 / f64::from(facts.sample_rate));
        progress(Progress { seconds: stitch.done, of });
        if !more {
            return Ok(stitch.finish(recording.input.facts().clone()));
        }
        recording.held.advance();
    }
}

/// Decodes filtered channels as one window; gives the candidate that was the best one, too.
pub(super) fn decode_one(channels: Vec<Vec<f32>>, modulation: &Modulation, band: Band) -> (usize, Window) {
    let to = channels[0].len();
    let mut held = Held::new(channels.len(), modulation, band);
    held.channels = channels;
    let placed = held.decode(&Span { from: 0, core_from: 0, core_to: to, to }, None);
    (placed.candidate, placed.window)
}

/// A window's place in the samples that are held, and its core, which no other window has.
#[derive(Clone)]
struct Span {
    from: usize,
    core_from: usize,
    core_to: usize,
    to: usize,
}

/// A recording under way.
struct Recording<R> {
    input: WavInput<R>,
    fronts: Vec<FrontEnd>,
    raw: Vec<Vec<f32>>,
    held: Held,
}

impl<R: Read> Recording<R> {
    fn new(input: WavInput<R>, modulation: &Modulation) -> Result<Recording<R>, ReadError> {
        let channels = usize::from(input.facts().channels);
        let band = Band::new(modulation, input.facts().sample_rate)?;
        Ok(Recording {
            input,
            fronts: (0..channels).map(|_| FrontEnd::new(&band)).collect(),
            raw: vec![Vec::new(); channels],
            held: Held::new(channels, modulation, band),
        })
    }

    /// Reads until a batch with its margins is held; false at the end of the recording.
    fn fill(&mut self) -> Result<bool, ReadError> {
        const PIECE: usize = 1 << 15;
        while !self.held.is_full() {
            self.raw.iter_mut().for_each(Vec::clear);
            let got = self.input.read(PIECE, &mut self.raw)?;
            let channels = self.fronts.iter_mut().zip(&self.raw).zip(&mut self.held.channels);
            channels.for_each(|((front, raw), held)| front.push(raw, held));
            if got < PIECE {
                self.fronts.iter_mut().zip(&mut self.held.channels).for_each(|(front, held)| front.finish(held));
                return Ok(false);
            }
        }
        Ok(true)
    }
}

/// Filtered samples of each channel around the batch of windows that comes next.
struct Held {
    channels: Vec<Vec<f32>>,
    /// Place of the first held sample in the recording.
    base: usize,
    /// Where the next batch's first core begins.
    next: usize,
    core: usize,
    /// Samples before and behind a core that are decoded with it.
    margin: usize,
    demodulator: Demodulator,
}

impl Held {
    fn new(channels: usize, modulation: &Modulation, band: Band) -> Held {
        // Enough around a core for speed and framing to have settled when it begins.
        let margin = (2.0_f64.max(16.0 * modulation.character_seconds()) * band.working_rate()) as usize;
        let demodulator = Demodulator::new(*modulation, band);
        Held { channels: vec![Vec::new(); channels], base: 0, next: 0, core: 15 * margin, margin, demodulator }
    }

    fn is_full(&self) -> bool {
        self.base + self.channels[0].len() >= self.next + BATCH * self.core + self.margin
    }

    /// Signals to choose from: the channels, and the sum of two.
    fn candidates(&self) -> usize {
        self.channels.len() + usize::from(self.channels.len() == 2)
    }

    fn windows(&self, more: bool) -> Vec<Span> {
        let held = self.channels[0].len();
        let first = self.next - self.base;
        let end = if more { first + BATCH * self.core } else { held };
        let starts = (first..end.max(first + 1)).step_by(self.core);
        starts
            .map(|core_from| {
                let core_to = (core_from + self.core).min(end);
                let (from, to) = (core_from.saturating_sub(self.margin), (core_to + self.margin).min(held));
                Span { from, core_from, core_to, to }
            })
            .collect()
    }

    /// Lets go of what no later window needs.
    fn advance(&mut self) {
        self.next += BATCH * self.core;
        let unneeded = (self.next - self.base).saturating_sub(self.margin);
        self.channels.iter_mut().for_each(|held| drop(held.drain(..unneeded)));
        self.base += unneeded;
    }

    fn decode(&self, span: &Span, footing: Option<f64>) -> Placed {
        let rate = self.demodulator.band.working_rate();
        let seconds = |place: usize| (self.base + place) as f64 / rate;
        let (candidate, signal, speed) = self.best_candidate(span);
        let window = self.demodulator.decode(&signal, &speed, footing);
        Placed { start: seconds(span.from), core: (seconds(span.core_from), seconds(span.core_to)), candidate, window }
    }

    /// The channel, or the sum of two, whose power lies in the tones to the greatest part.
    fn best_candidate(&self, span: &Span) -> (usize, Vec<f32>, Found) {
        let tried = |candidate| {
            let signal = self.candidate(candidate, span);
            let found = speed::search(&signal, &self.demodulator.modulation, &self.demodulator.band, Frames::Long);
            (candidate, signal, found)
        };
        let better =
            |best: (_, _, Found), other: (_, _, Found)| if other.2.score > best.2.score { other } else { best };
        (1..self.candidates()).map(tried).fold(tried(0), better)
    }

    fn candidate(&self, candidate: usize, span: &Span) -> Vec<f32> {
        match self.channels.get(candidate) {
            Some(channel) => channel[span.from..span.to].to_vec(),
            None => {
                let pairs = self.channels[0][span.from..span.to].iter().zip(&self.channels[1][span.from..span.to]);
                pairs.map(|(left, right)| 0.5 * (left + right)).collect()
            }
        }
    }
}
