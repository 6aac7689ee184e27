//! An utterance: a piece of sound in which somebody spoke.

use std::time::Duration;

use crate::time::Timestamp;

use super::endpoint::GLIMPSE;
use super::frame::RATE;
use super::level::Decibels;

/// A piece of sound in which somebody spoke, with some sound before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct Utterance {
    /// Samples at 16 kHz, one channel. Long silences between words are shortened.
    pub samples: Vec<f32>,
    /// When its first sample was taken.
    pub begin: Timestamp,
    /// When the last frame of speech ended; what comes after is tail.
    pub speech_end: Timestamp,
    /// When its last sample was taken.
    pub end: Timestamp,
    /// How far the speech stood above the noise; `None` where no noise was heard before it.
    pub signal_to_noise: Option<Decibels>,
    /// Was it cut because it reached the longest length?
    pub cut: bool,
}

impl Utterance {
    /// The last [`GLIMPSE`] of it.
    pub(super) fn last_of(mut self) -> Self {
        let longest = GLIMPSE.as_millis() as usize * RATE as usize / 1_000;
        let earlier = self.samples.len().saturating_sub(longest);
        self.samples.drain(..earlier);
        self.begin = self.begin.after(Duration::from_millis(earlier as u64 * 1_000 / u64::from(RATE)));
        self
    }
}
