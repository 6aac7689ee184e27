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

    /// Was the decoder asked this already?
    pub fn knows(&self, so_far: &[TokenId]) -> bool {
        self.said.contains_key(so_far)
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

/// Scores to natural logarithms of probabilities, the share that fitting spread evenly over all tokens taken off.
///
/// Weights fitted with label smoothing give every token a floor of probability; left in, it would let every wrong
/// utterance of a long number look possible.
pub fn log_probabilities(scores: &[f32], label_smoothing: f32) -> LogProbabilities {
    /// What is left to a token at the floor.
    const LEAST: f32 = 1e-9;
    let highest = scores.iter().copied().fold(f32::MIN, f32::max);
    let sum: f32 = scores.iter().map(|score| (score - highest).exp()).sum();
    let floor = label_smoothing / scores.len() as f32;
    let sharpen =
        |score: &f32| (((score - highest).exp() / sum - floor) / (1.0 - label_smoothing)).max(LEAST).ln();
    scores.iter().map(sharpen).map(|log| log.min(0.0)).collect()
}
