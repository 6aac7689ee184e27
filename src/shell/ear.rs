//! From sound to what was heard under a situation: the recogniser, ready to be asked.

use std::path::Path;

use super::recogniser::Recogniser;
use super::weights::{Manifest, Weights};
use crate::hear::endpoint::Limits;
use crate::hear::frame::RATE;
use crate::hear::utterances;
use crate::time::Timestamp;
use crate::understand::automaton::Automaton;
use crate::understand::heard::Heard;
use crate::understand::situation::Situation;
use crate::understand::try_open;

/// Hears utterances under situations.
pub struct Ear {
    recogniser: Box<dyn Recogniser + Send>,
    manifest: Manifest,
    /// The grammar opened last: most utterances are heard under the same one as the utterance before.
    opened: Option<(Situation, Automaton)>,
}

impl Ear {
    /// Loads the weights from where they lie (see [`Weights::folder`]).
    ///
    /// # Errors
    /// What is wrong with the weights, or that this build has no recogniser.
    pub fn open() -> miette::Result<Self> {
        Self::load(&Weights::folder())
    }

    /// Loads the weights from a folder.
    #[cfg(feature = "whisper")]
    pub fn load(folder: &Path) -> miette::Result<Self> {
        let weights = Weights::load(folder)?;
        let whisper = super::recogniser::whisper::Whisper::new(&weights)?;
        Ok(Self::with(whisper, weights.manifest))
    }

    /// Loads the weights from a folder.
    #[cfg(not(feature = "whisper"))]
    pub fn load(folder: &Path) -> miette::Result<Self> {
        let _checked = Weights::load(folder)?;
        Err(super::recogniser::RecogniserError::NotBuilt.into())
    }

    /// With another recogniser, such as a scripted one.
    pub fn with(recogniser: impl Recogniser + Send + 'static, manifest: Manifest) -> Self {
        Self { recogniser: Box::new(recogniser), manifest, opened: None }
    }

    /// What is known of the weights: the words that may be said, first of all.
    pub const fn manifest(&self) -> &Manifest {
        &self.manifest
    }

    /// What an utterance (16 kHz, one channel) means in a situation.
    ///
    /// # Errors
    /// A name in the situation that the weights cannot write, or a failure of the recogniser.
    pub fn hear(&mut self, samples: &[f32], situation: &Situation) -> miette::Result<Heard> {
        if !self.opened.as_ref().is_some_and(|(opened, _)| opened == situation) {
            let automaton = try_open(situation, |word| self.manifest.spelling(word).is_some())?;
            self.opened = Some((situation.clone(), automaton));
        }
        let (_, automaton) = self.opened.as_ref().expect("the situation was opened just now");
        Ok(self.recogniser.recognise(samples, automaton)?)
    }

    /// What a recording means: everything from the first utterance in it to the end of the last, as one answer.
    /// `None` if nobody speaks.
    ///
    /// # Errors
    /// As [`Self::hear`].
    pub fn hear_recording(
        &mut self,
        samples: &[f32],
        situation: &Situation,
    ) -> miette::Result<Option<Heard>> {
        let spoken = utterances(samples, Limits::SHORT);
        let (Some(first), Some(last)) = (spoken.first(), spoken.last()) else { return Ok(None) };
        let index = |at: Timestamp| (at.as_millis() * u64::from(RATE) / 1000) as usize;
        let end = index(last.end()).min(samples.len());
        self.hear(&samples[index(first.begin).min(end)..end], situation).map(Some)
    }
}
