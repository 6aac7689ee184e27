//! What may come next: the weights' probabilities of tokens, asked for at most once each.

use std::collections::BTreeMap;
use std::rc::Rc;

use super::RecogniserError;
use crate::shell::weights::TokenId;

/// Natural logarithms of the probability of every token.
pub type LogProbabilities = Rc<[f32]>;

/// Gives the probability of every token after those so far.
pub trait Decoder {
    /// Natural logarithms of the probability of every token after `so_far`.
    fn next(&mut self, so_far: &[TokenId]) -> Result<LogProbabilities, RecogniserError>;
}

/// Remembers what a decoder said during one utterance, and counts how often it was asked.
pub struct Remembering<D> {
    decoder: D,
    said: BTreeMap<Vec<TokenId>, LogProbabilities>,
}

impl<D: Decoder> Remembering<D> {
    /// Nothing was said yet.
    pub const fn new(decoder: D) -> Self {
        Self { decoder, said: BTreeMap::new() }
    }

    /// How often the decoder itself was asked.
    pub fn asked(&self) -> usize {
        self.said.len()
    }
}

impl<D: Decoder> Decoder for Remembering<D> {
    fn next(&mut self, so_far: &[TokenId]) -> Result<LogProbabilities, RecogniserError> {
        if let Some(said) = self.said.get(so_far) {
            return Ok(said.clone());
        }
        let said = self.decoder.next(so_far)?;
        self.said.insert(so_far.to_vec(), said.clone());
        Ok(said)
    }
}

/// Scores to natural logarithms of probabilities that sum to one.
pub fn log_softmax(scores: &[f32]) -> LogProbabilities {
    let highest = scores.iter().copied().fold(f32::MIN, f32::max);
    let sum: f32 = scores.iter().map(|score| (score - highest).exp()).sum();
    let log_sum = highest + sum.ln();
    scores.iter().map(|score| score - log_sum).collect()
}
