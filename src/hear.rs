//! Samples to utterances: frames, voice activity, where an utterance begins and ends.
//!
//! Time is counted in samples, so a file replays to the same times as a microphone. Knows nothing of words.

pub mod activity;
pub mod endpoint;
pub mod filter;
pub mod frame;
pub mod level;
pub mod utterance;

use endpoint::{Endpointer, Event, Limits};
use frame::Framer;
use utterance::Utterance;

/// The utterances of a whole sound at 16 kHz in one channel.
pub fn utterances(samples: &[f32], limits: Limits) -> Vec<Utterance> {
    let mut framer = Framer::new(frame::RATE, 1).expect("our own rate in one channel is a sound");
    let mut endpointer = Endpointer::new(limits);
    let mut frames = framer.push(samples);
    frames.extend(framer.flush());
    let ended = |event| match event {
        Event::Ended(utterance) => Some(utterance),
        Event::Glimpse(_) | Event::Paused(_) => None,
    };
    let mut found: Vec<Utterance> =
        frames.iter().filter_map(|frame| endpointer.push(frame).and_then(ended)).collect();
    found.extend(endpointer.flush());
    found
}
