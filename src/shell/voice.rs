//! Turns a spoken line into sound, by running `espeak-ng`.
//!
//! Two voices: one for the routine, and one kept for hazards, which opens with a tone of its own and is louder.
//! Only words reach the synthesiser; a figure or a symbol is refused, so that nothing is read aloud in a way that
//! nobody chose. Knows nothing of prompts, devices or when to speak.
//!
//! Invariants: no line takes longer than [`LONGEST_WAIT`]; the cache never holds more than [`CACHE_SAMPLES`].

mod cache;
mod synthesiser;
mod tone;
mod words;

use std::sync::Arc;
use std::time::Duration;

use crate::say::Manner;

use cache::Cache;
pub use words::{LONGEST_LINE, NotWords, check_words};

/// The longest wait for one line to be rendered. A line takes some tens of milliseconds.
pub const LONGEST_WAIT: Duration = Duration::from_secs(10);

/// Most samples kept in the cache: about twelve minutes of speech, 32 MB.
pub const CACHE_SAMPLES: usize = 16 << 20;

/// Peak of a routine line, of full scale.
const ROUTINE_PEAK: f32 = 0.4;

/// Peak of a hazard, of full scale: 7.5 dB above the routine. Peak to mean differs from line to line by up to 3 dB.
const HAZARD_PEAK: f32 = 0.95;
/// A mono sound, 16-bit samples.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sound {
    /// Samples a second.
    pub rate: u32,
    /// The samples, in time order.
    pub samples: Vec<i16>,
}

impl Sound {
    /// How long it lasts.
    pub fn duration(&self) -> Duration {
        Duration::from_secs_f64(self.samples.len() as f64 / f64::from(self.rate.max(1)))
    }
}

/// Why a line could not be rendered.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
pub enum VoiceError {
    /// The synthesiser is not on this machine.
    #[error("`espeak-ng`, which speaks the prompts, cannot be run: {0}")]
    #[diagnostic(
        code(voice::missing),
        help("install it: `sudo apt-get install espeak-ng`, or run `make demo`")
    )]
    Missing(#[source] std::io::Error),
    /// The synthesiser ended with an error, or with something that is not a sound.
    #[error("`espeak-ng` could not speak \"{text}\": {reason}")]
    #[diagnostic(
        code(voice::failed),
        help(
            "try `espeak-ng -v en-us hello`; if it stays silent, reinstall `espeak-ng` and `espeak-ng-data`"
        )
    )]
    Failed {
        /// The line.
        text: String,
        /// What went wrong, in the synthesiser's words where it gave any.
        reason: String,
    },
    /// The line holds something that is not a word.
    #[error(transparent)]
    #[diagnostic(
        code(voice::not_words),
        help("write numbers, units and signs out as words before they are spoken")
    )]
    NotWords(#[from] NotWords),
}

/// One voice of the synthesiser.
struct Speaker {
    /// Language and variant, as `espeak-ng -v` takes it.
    name: &'static str,
    /// Words a minute.
    words_a_minute: u16,
    /// Pitch, 0 to 99.
    pitch: u8,
}

/// The settings of a manner.
fn speaker(manner: Manner) -> Speaker {
    match manner {
        Manner::Routine => Speaker { name: "en-us+f3", words_a_minute: 165, pitch: 45 },
        Manner::Hazard => Speaker { name: "en-us+m1", words_a_minute: 145, pitch: 55 },
    }
}

/// Renders lines, and remembers what it has rendered.
#[derive(Debug)]
pub struct Voice {
    cache: Cache,
}

impl Voice {
    /// A voice, once it is known that the synthesiser runs.
    ///
    /// # Errors
    /// [`VoiceError::Missing`] when `espeak-ng` cannot be run.
    pub fn new() -> Result<Self, VoiceError> {
        synthesiser::version().map_err(VoiceError::Missing)?;
        Ok(Self { cache: Cache::new(CACHE_SAMPLES) })
    }

    /// The sound of a line, in a manner. A line said before comes from memory.
    ///
    /// # Errors
    /// [`VoiceError`] when the text is not words, or when the synthesiser fails.
    pub fn render(&mut self, text: &str, manner: Manner) -> Result<Arc<Sound>, VoiceError> {
        check_words(text)?;
        if let Some(sound) = self.cache.get(manner, text) {
            return Ok(sound);
        }
        let spoken = synthesiser::speak(text, &speaker(manner), LONGEST_WAIT)
            .map_err(|reason| VoiceError::Failed { text: text.to_owned(), reason })?;
        let sound = Arc::new(finish(&spoken, manner));
        self.cache.put(manner, text, Arc::clone(&sound));
        Ok(sound)
    }
}

/// Brings a line to the level of its manner, and puts the tone before a hazard.
fn finish(spoken: &Sound, manner: Manner) -> Sound {
    match manner {
        Manner::Routine => Sound { rate: spoken.rate, samples: at_peak(&spoken.samples, ROUTINE_PEAK) },
        Manner::Hazard => {
            let mut samples = tone::hazard(spoken.rate, HAZARD_PEAK);
            samples.extend(at_peak(&spoken.samples, HAZARD_PEAK));
            Sound { rate: spoken.rate, samples }
        }
    }
}

/// The samples scaled so that the largest is `peak` of full scale. Silence stays silence.
fn at_peak(samples: &[i16], peak: f32) -> Vec<i16> {
    let largest = samples.iter().map(|s| s.unsigned_abs()).max().unwrap_or(0);
    if largest == 0 {
        return samples.to_vec();
    }
    let gain = peak * f32::from(i16::MAX) / f32::from(largest);
    samples.iter().map(|&s| (f32::from(s) * gain).round() as i16).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_brought_to_its_level() {
        for (samples, peak, wanted) in [
            (vec![], 0.5, vec![]),
            (vec![0, 0], 0.5, vec![0, 0]),
            (vec![100, -200, 50], 0.5, vec![8192, -16384, 4096]),
            (vec![i16::MIN, 0], 1.0, vec![-i16::MAX, 0]),
        ] {
            assert_eq!(at_peak(&samples, peak), wanted, "{samples:?} at {peak}");
        }
    }

    #[test]
    fn a_hazard_is_louder_and_opens_with_its_tone() {
        let spoken = Sound { rate: 22_050, samples: vec![1_000, -1_000] };
        let routine = finish(&spoken, Manner::Routine);
        let hazard = finish(&spoken, Manner::Hazard);
        let loudest = |s: &Sound| s.samples.iter().map(|s| s.unsigned_abs()).max();
        assert_eq!(routine.samples.len(), 2);
        assert!(hazard.samples.len() > 22_050 / 5, "no tone");
        assert!(loudest(&hazard) > loudest(&routine));
    }
}
