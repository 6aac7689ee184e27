//! Samples to utterances: frames, voice activity, where an utterance begins and ends.
//!
//! Time is counted in samples, so a file replays to the same times as a microphone. Knows nothing of words.

pub mod activity;
pub mod endpoint;
pub mod frame;
pub mod level;
pub mod utterance;
