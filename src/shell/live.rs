//! What a microphone hears, cut into utterances as it comes.

use std::collections::VecDeque;

use miette::IntoDiagnostic;

use crate::hear::endpoint::{Endpointer, Limits};
use crate::hear::frame::Framer;
use crate::hear::utterance::Utterance;

use super::mic::Mic;

/// Frames of a microphone, cut into utterances as they come.
pub struct Live {
    framer: Framer,
    endpointer: Endpointer,
    ready: VecDeque<Utterance>,
    buffer: Vec<f32>,
}

impl Live {
    /// For a microphone of so many samples a second.
    pub fn new(rate: u32) -> miette::Result<Self> {
        Ok(Self {
            framer: Framer::new(rate, 1).into_diagnostic()?,
            endpointer: Endpointer::new(Limits::SHORT),
            ready: VecDeque::new(),
            buffer: Vec::new(),
        })
    }

    /// Reads what the microphone heard since the last call; an utterance if one is complete.
    pub fn next(&mut self, mic: &mut Mic) -> Option<Utterance> {
        self.buffer.clear();
        mic.read(&mut self.buffer);
        for frame in self.framer.push(&self.buffer) {
            self.ready.extend(self.endpointer.push(&frame));
        }
        self.ready.pop_front()
    }
}
