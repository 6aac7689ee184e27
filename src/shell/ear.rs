//! The ear: sound in, what was meant out.

use crate::hear::endpoint::{Endpointer, Limits};
use crate::hear::frame::{Framer, RATE};
use crate::hear::utterance::Utterance;
use crate::understand::automaton::Automaton;
use crate::understand::heard::Heard;

use super::recogniser::Recogniser;
use super::recogniser::whisper::Whisper;
use super::weights::Weights;

/// A recogniser with its weights loaded and warmed.
pub struct Ear {
    recogniser: Whisper,
}

impl Ear {
    /// Loads the shipped weights.
    pub fn open() -> miette::Result<Self> {
        Ok(Self { recogniser: Whisper::new(&Weights::load(&Weights::folder())?)? })
    }

    /// What a recording means: everything from the first utterance in it to the end of the last, as one answer.
    /// `None` if nobody speaks.
    pub fn hear(&mut self, samples: &[f32], automaton: &Automaton) -> miette::Result<Option<Heard>> {
        let mut framer = Framer::new(RATE, 1)?;
        let mut endpointer = Endpointer::new(Limits::SHORT);
        let mut frames = framer.push(samples);
        frames.extend(framer.flush());
        let mut utterances: Vec<Utterance> = frames.iter().filter_map(|frame| endpointer.push(frame)).collect();
        utterances.extend(endpointer.flush());
        let (Some(first), Some(last)) = (utterances.first(), utterances.last()) else { return Ok(None) };
        let index = |at: crate::time::Timestamp| (at.as_millis() * u64::from(RATE) / 1000) as usize;
        let (begin, end) = (index(first.begin), index(last.end()).min(samples.len()));
        Ok(Some(self.recogniser.recognise(&samples[begin.min(end)..end], automaton)?))
    }

    /// What an utterance means.
    pub fn recognise(&mut self, utterance: &Utterance, automaton: &Automaton) -> miette::Result<Heard> {
        Ok(self.recogniser.recognise(&utterance.samples, automaton)?)
    }
}

/// Frames of a microphone, cut into utterances as they come.
#[cfg(feature = "audio")]
pub struct Live {
    framer: Framer,
    endpointer: Endpointer,
    ready: std::collections::VecDeque<Utterance>,
    buffer: Vec<f32>,
}

#[cfg(feature = "audio")]
impl Live {
    /// For a microphone of so many samples a second.
    pub fn new(rate: u32) -> miette::Result<Self> {
        Ok(Self {
            framer: Framer::new(rate, 1)?,
            endpointer: Endpointer::new(Limits::SHORT),
            ready: std::collections::VecDeque::new(),
            buffer: Vec::new(),
        })
    }

    /// Reads what the microphone heard since the last call; an utterance if one is complete.
    pub fn next(&mut self, mic: &mut super::mic::Mic) -> Option<Utterance> {
        self.buffer.clear();
        mic.read(&mut self.buffer);
        for frame in self.framer.push(&self.buffer) {
            self.ready.extend(self.endpointer.push(&frame));
        }
        self.ready.pop_front()
    }
}
