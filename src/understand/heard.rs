//! What the recogniser made of an utterance: values with probabilities, best first.

use serde::{Deserialize, Serialize};

use super::intent::Intent;

/// An utterance, recognised under a situation.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Heard {
    /// Different meanings, best first; two ways of saying one thing are one candidate. Probabilities include
    /// the share outside: they and `outside` sum to at most one.
    pub candidates: Vec<Candidate>,
    /// The share of the probability that lies outside the grammar (a remark, another word, noise).
    pub outside: f32,
    /// What a decode without any grammar wrote, for the log.
    pub free: String,
}

/// One meaning, with the words that said it best.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Candidate {
    /// The words, as written by the grammar.
    pub words: String,
    /// What they mean.
    pub intent: Intent,
    /// How probable it is that this was meant.
    pub probability: f32,
}

impl Heard {
    /// Below this probability of the best candidate the answer is "not understood", never a guess.
    pub const WORKING_THRESHOLD: f32 = 0.5;

    /// The best candidate, if it is probable enough to be acted on.
    pub fn understood(&self) -> Option<&Candidate> {
        self.candidates.first().filter(|best| best.probability >= Self::WORKING_THRESHOLD)
    }

    /// One sure candidate: what typed words and keys give.
    pub fn surely(words: &str, intent: Intent) -> Self {
        let candidate = Candidate { words: words.to_owned(), intent, probability: 1.0 };
        Self { candidates: vec![candidate], outside: 0.0, free: words.to_owned() }
    }
}
