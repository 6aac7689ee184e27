//! A recogniser that does not listen: it says what a script tells it to, for tests of everything after it.

use std::collections::VecDeque;

use super::{Effort, Recogniser, RecogniserError};
use crate::understand::automaton::Automaton;
use crate::understand::heard::Heard;

/// Gives one line of its script for every utterance.
#[derive(Clone, Debug, Default)]
pub struct Scripted {
    script: VecDeque<Heard>,
}

impl Scripted {
    /// With this script.
    pub fn new(script: impl IntoIterator<Item = Heard>) -> Self {
        Self { script: script.into_iter().collect() }
    }
}

impl Recogniser for Scripted {
    fn recognise(
        &mut self,
        _samples: &[f32],
        _automaton: &Automaton,
    ) -> Result<(Heard, Effort), RecogniserError> {
        let heard = self.script.pop_front().ok_or(RecogniserError::ScriptOver)?;
        Ok((heard, Effort::default()))
    }
}
