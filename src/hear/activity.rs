//! Is anybody speaking? A score a frame.
//!
//! The detector is `earshot`, a small neural network whose weights are inside its crate. It wants 256 samples at a
//! time; frames have 320, so some frames are scored twice and the higher score counts.

use super::frame::Frame;

/// Scores frames.
#[derive(Default)]
pub struct Activity {
    detector: earshot::Detector,
    waiting: Vec<f32>,
    last: f32,
}

impl Activity {
    const HOP: usize = 256;

    /// Takes the next frame; gives the probability that it holds speech.
    pub fn score(&mut self, frame: &Frame) -> f32 {
        self.waiting.extend_from_slice(&frame.samples);
        let hops = self.waiting.len() / Self::HOP;
        let scores = self.waiting.chunks_exact(Self::HOP).map(|hop| self.detector.predict_f32(hop));
        // A frame completes at least one hop, since it is longer than one.
        self.last = scores.fold(0.0, f32::max);
        self.waiting.drain(..hops * Self::HOP);
        self.last
    }
}
