//! Recognition: an utterance and a grammar to meanings with probabilities.
//!
//! The weights give the probability of every token after those before it. A best-first search walks the grammar's
//! automaton, spelled in tokens, and finds complete utterances in the order of their probability. Utterances that
//! mean the same are one candidate.

pub mod calibration;
pub mod decoder;
pub mod scripted;
pub mod search;
pub mod spelling;
pub mod threads;
#[cfg(feature = "whisper")]
pub mod whisper;

use std::time::Duration;

use crate::understand::automaton::Automaton;
use crate::understand::heard::Heard;

/// Whoever turns an utterance into meanings.
pub trait Recogniser {
    /// What `samples` (16 kHz, one channel, −1 to 1) mean under a grammar, and what it took to find out.
    fn recognise(
        &mut self,
        samples: &[f32],
        automaton: &Automaton,
    ) -> Result<(Heard, Effort), RecogniserError>;
}

/// What it took to recognise an utterance.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Effort {
    /// The window, in frames of 20 ms.
    pub window: u32,
    /// Sound to the encoder's states.
    pub encode: Duration,
    /// The encoder's states to meanings.
    pub decode: Duration,
    /// How often the decoder was asked what may come next.
    pub asked: usize,
    /// Did the bound on asking end the search?
    pub bound_met: bool,
}

/// Why an utterance could not be recognised.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
pub enum RecogniserError {
    /// A grammar has a word that the weights cannot write.
    #[error("the weights do not know the word `{word}`")]
    #[diagnostic(
        code(recogniser::unknown_word),
        help(
            "use a word of models/speech/words.txt in the grammar, or a spoken name of the appliance model"
        )
    )]
    UnknownWord {
        /// The word.
        word: String,
    },
    /// whisper.cpp failed.
    #[error("the recogniser failed while it {doing}: {why}")]
    #[diagnostic(code(recogniser::failed), help("is there memory left? Start the program again"))]
    Failed {
        /// What it was doing.
        doing: &'static str,
        /// What it said.
        why: String,
    },
    /// This build has no recogniser.
    #[error("this build has no recogniser")]
    #[diagnostic(
        code(recogniser::not_built),
        help("build with the feature `whisper`: cargo build --release")
    )]
    NotBuilt,
    /// A scripted recogniser has nothing left.
    #[error("the script has no utterance left")]
    #[diagnostic(code(recogniser::script_over))]
    ScriptOver,
}
