//! From sound to what was heard under a situation: the recogniser, ready to be asked.

use std::path::Path;

use super::recogniser::{Effort, Recogniser};
use super::weights::{Manifest, Weights};
use crate::dialogue::Input;
use crate::hear::endpoint::Limits;
use crate::hear::filter::without_rumble;
use crate::hear::frame::RATE;
use crate::hear::level::Decibels;
use crate::hear::utterance::Utterance;
use crate::hear::utterances;
use crate::understand::automaton::Automaton;
use crate::understand::heard::Heard;
use crate::understand::progress::{Progress, progress};
use crate::understand::situation::{Care, Kind, Situation};
use crate::understand::try_open;

/// What the ear makes of an utterance.
#[derive(Clone, Debug, PartialEq)]
pub struct Opinion {
    /// What was heard, and what it may have been.
    pub heard: Heard,
    /// May more words follow?
    pub progress: Progress,
    /// Was the noise too loud for it to count? Then `heard` is not to be acted on.
    pub too_noisy: bool,
    /// How it sounded: samples at 16 kHz, one channel.
    pub sound: Vec<f32>,
}

impl From<Opinion> for Input {
    fn from(opinion: Opinion) -> Self {
        if opinion.too_noisy {
            return Self::TooNoisy { answered: opinion.heard.understood().is_some() };
        }
        Self::Heard(opinion.heard)
    }
}

/// Where a grammar is kept open: that of the stop words by itself, because it is wanted in between all the others.
const fn place(kind: Kind) -> usize {
    matches!(kind, Kind::StopOnly) as usize
}

/// Hears utterances under situations.
pub struct Ear {
    recogniser: Box<dyn Recogniser + Send>,
    manifest: Manifest,
    /// The grammars opened last: most utterances are heard under the same one as the utterance before.
    opened: [Option<(Situation, Automaton)>; 2],
    effort: Effort,
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
        Self { recogniser: Box::new(recogniser), manifest, opened: [None, None], effort: Effort::default() }
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
        let opened = &mut self.opened[place(situation.kind)];
        if !opened.as_ref().is_some_and(|(opened, _)| opened == situation) {
            let automaton = try_open(situation, |word| self.manifest.spelling(word).is_some())?;
            *opened = Some((situation.clone(), automaton));
        }
        let (_, automaton) = opened.as_ref().expect("the situation was opened just now");
        let heard;
        (heard, self.effort) = self.recogniser.recognise(samples, automaton)?;
        if situation.care == Care::Once {
            return Ok(heard);
        }
        // Another copy and another place in the window: what only chance made of the first is not made of both.
        let shifted = [&[0.0; RATE as usize / 100], &*without_rumble(samples)].concat();
        let (again, _) = self.recogniser.recognise(&shifted, automaton)?;
        Ok(heard.agreeing_with(&again))
    }

    /// What the last recognition took.
    pub const fn effort(&self) -> Effort {
        self.effort
    }

    /// The grammar that is open: of the last situation of this kind.
    pub fn automaton(&self, kind: Kind) -> Option<&Automaton> {
        let (situation, automaton) = self.opened[place(kind)].as_ref()?;
        (situation.kind == kind).then_some(automaton)
    }

    /// What an utterance means in a situation, whether more may follow, and whether the noise lets it count.
    ///
    /// # Errors
    /// As [`Self::hear`].
    pub fn judge(&mut self, utterance: &Utterance, situation: &Situation) -> miette::Result<Opinion> {
        let heard = self.hear(&utterance.samples, situation)?;
        let automaton = self.automaton(situation.kind).expect("the situation was opened to hear in it");
        let needed = match situation.care {
            Care::Twice => Some(Decibels::CAREFUL),
            Care::Once if heard.understood().is_none() => Some(Decibels::TOO_NOISY),
            Care::Once => None,
        };
        // Where the noise was never heard alone, nobody knows how loud it is.
        let enough = |needed| match utterance.signal_to_noise {
            Some(snr) => snr >= needed,
            None => situation.care == Care::Once,
        };
        let too_noisy = !heard.says_stop() && !needed.is_none_or(enough);
        let sound = utterance.samples.clone();
        Ok(Opinion { progress: progress(automaton, &heard), heard, too_noisy, sound })
    }

    /// What a recording means: all utterances in it, as one answer.
    /// `None` if nobody speaks.
    ///
    /// # Errors
    /// As [`Self::hear`].
    pub fn hear_recording(
        &mut self,
        samples: &[f32],
        situation: &Situation,
    ) -> miette::Result<Option<Heard>> {
        let spoken: Vec<f32> =
            utterances(samples, Limits::SHORT).into_iter().flat_map(|utterance| utterance.samples).collect();
        if spoken.is_empty() { Ok(None) } else { self.hear(&spoken, situation).map(Some) }
    }
}
