//! An utterance: a piece of sound in which somebody spoke.

use crate::time::Timestamp;

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
