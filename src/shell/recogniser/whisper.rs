//! The real recogniser: our weights run by whisper.cpp through its low-level calls.
//!
//! One context a window, made from the file in memory; the window is chosen by the utterance's length. `full` cannot
//! be used: it assumes the stock token numbers. `get_logits` gives the first row of the last call, so after a call of
//! several tokens it is stale: the last token is always fed alone.

use std::time::{Duration, Instant};

use whisper_rs::{WhisperContext, WhisperContextParameters, WhisperError, WhisperState};

use super::calibration::Calibration;
use super::decoder::{Decoder, LogProbabilities, Remembering, log_probabilities};
use super::search::{Found, Meaning, Settings, search};
use super::spelling::Spelled;
use super::threads::Threads;
use super::{Effort, Recogniser, RecogniserError};
use crate::hear::frame::FRAME;
use crate::hear::level::noisiness;
use crate::shell::weights::{Manifest, TokenId, Weights};
use crate::understand::automaton::Automaton;
use crate::understand::heard::Heard;
use crate::understand::meaning;

/// Our weights, ready in every window.
pub struct Whisper {
    manifest: Manifest,
    windows: Vec<Window>,
    settings: Settings,
    threads: Threads,
}

struct Window {
    frames: u32,
    state: WhisperState,
}

/// What was found in an utterance, and how long each stage took.
#[derive(Clone, Debug, Default)]
pub struct Timed {
    /// What was found.
    pub found: Found,
    /// The window, in frames of 20 ms.
    pub window: u32,
    /// Sound to the encoder's states.
    pub encode: Duration,
    /// The encoder's states to meanings.
    pub decode: Duration,
}

impl Whisper {
    /// Makes a context for every window of the weights and runs each once, so that the first utterance is as fast
    /// as the others.
    pub fn new(weights: &Weights) -> Result<Self, RecogniserError> {
        whisper_rs::install_logging_hooks();
        let mut windows = Vec::new();
        for frames in weights.manifest.windows.iter().copied() {
            let mut parameters = WhisperContextParameters::default();
            parameters.flash_attn(false).use_gpu(false);
            let context = WhisperContext::new_from_buffer_with_params(&weights.cut_to(frames), parameters);
            let state = context.and_then(|context| context.create_state()).map_err(failed("was loaded"))?;
            windows.push(Window { frames, state });
        }
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        let threads = Threads::at_most(cores.min(Self::MOST_THREADS));
        let mut whisper =
            Self { manifest: weights.manifest.clone(), windows, settings: Settings::default(), threads };
        for window in &mut whisper.windows {
            encode(window, &[0.0; FRAME], whisper.threads.now())?;
        }
        Ok(whisper)
    }

    /// More threads than this do not make so small a model faster.
    const MOST_THREADS: usize = 4;

    /// Other settings for the search.
    #[must_use]
    pub fn with_settings(self, settings: Settings) -> Self {
        Self { settings, ..self }
    }

    /// What is known of the weights.
    pub const fn manifest(&self) -> &Manifest {
        &self.manifest
    }

    /// Recognises an utterance; `meaning` says what a row of tags means.
    pub fn find(
        &mut self,
        samples: &[f32],
        automaton: &Automaton,
        meaning: Meaning,
    ) -> Result<Timed, RecogniserError> {
        let begin = Instant::now();
        let wanted = self.manifest.window_for(samples.len());
        let window = self.windows.iter_mut().find(|window| window.frames == wanted);
        let window = window.expect("there is a context for every window of the manifest");
        encode(window, samples, self.threads.now())?;
        let encode = begin.elapsed();
        self.threads.took(wanted, encode);
        let begin = Instant::now();
        let special = self.manifest.special;
        let head = [special.start, special.no_timestamps];
        let label_smoothing = self.manifest.label_smoothing;
        let cache = Cache { state: &mut window.state, label_smoothing, head, fed: Vec::new() };
        let spelled = Spelled::new(automaton, &self.manifest)?;
        let mut found =
            search(&spelled, &mut Remembering::new(cache), &self.manifest, self.settings, meaning)?;
        found.heard = Calibration::FITTED.apply(found.heard, noisiness(samples));
        Ok(Timed { found, window: wanted, encode, decode: begin.elapsed() })
    }
}

fn failed(doing: &'static str) -> impl Fn(WhisperError) -> RecogniserError {
    move |why| RecogniserError::Failed { doing, why: why.to_string() }
}

fn encode(window: &mut Window, samples: &[f32], threads: usize) -> Result<(), RecogniserError> {
    // whisper.cpp mirrors the first 200 samples without looking how many there are.
    let mut samples = samples.to_vec();
    samples.resize(samples.len().max(2 * FRAME), 0.0);
    window.state.pcm_to_mel(&samples, threads).map_err(failed("took the sound in"))?;
    window.state.encode(0, threads).map_err(failed("encoded the sound"))
}

/// The decoder with its cache: only what differs from the last question is fed.
struct Cache<'w> {
    state: &'w mut WhisperState,
    label_smoothing: f32,
    /// Fed before every utterance.
    head: [TokenId; 2],
    /// What lies in the cache now.
    fed: Vec<TokenId>,
}

impl Cache<'_> {
    /// A token is too little work to share: whisper.cpp's threads wait for each other by spinning, and where another
    /// program keeps a core busy two of them take many times as long as one.
    const THREADS: usize = 1;
}

impl Decoder for Cache<'_> {
    fn next(&mut self, so_far: &[TokenId]) -> Result<LogProbabilities, RecogniserError> {
        let wanted = [&self.head, so_far].concat();
        let last = wanted.len() - 1;
        let common = self.fed.iter().zip(&wanted[..last]).take_while(|(a, b)| a == b).count();
        let failed = failed("decoded the sound");
        if common < last {
            self.state.decode(&wanted[common..last], common, Self::THREADS).map_err(&failed)?;
        }
        self.state.decode(&wanted[last..], last, Self::THREADS).map_err(&failed)?;
        self.fed = wanted;
        let scores = self.state.get_logits().map_err(&failed)?;
        Ok(log_probabilities(scores, self.label_smoothing))
    }
}

impl Recogniser for Whisper {
    fn recognise(
        &mut self,
        samples: &[f32],
        automaton: &Automaton,
    ) -> Result<(Heard, Effort), RecogniserError> {
        let Timed { found, window, encode, decode } = self.find(samples, automaton, &meaning)?;
        let effort = Effort { window, encode, decode, asked: found.asked, bound_met: found.bound_met };
        Ok((found.heard, effort))
    }
}
