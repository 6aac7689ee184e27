//! Turns a spoken line into sound, by running `espeak-ng`.
//!
//! Two voices: one for the routine, and one kept for hazards, which opens with a tone of its own and is louder.
//! Only words reach the synthesiser; a figure or a symbol is refused, so that nothing is read aloud in a way that
//! nobody chose. Knows nothing of prompts, devices or when to speak.
//!
//! Invariants: no line takes longer than [`LONGEST_WAIT`]; the cache never holds more than [`CACHE_SAMPLES`].

mod cache;
mod synthesiser;
pub mod system;
mod tone;
mod words;

use std::sync::Arc;
use std::time::Duration;

use crate::hear::level::Decibels;
use crate::say::{Manner, Voice as Steps};

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

/// A step of loudness over the noise, in decibels.
const LIFT_STEP: f32 = 3.0;

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
fn speaker(manner: Manner, pace: f32) -> Speaker {
    let paced = |words_a_minute: f32| (words_a_minute * pace) as u16;
    match manner {
        Manner::Routine => Speaker { name: "en-us+f3", words_a_minute: paced(165.0), pitch: 45 },
        Manner::Hazard => Speaker { name: "en-us+m1", words_a_minute: paced(145.0), pitch: 55 },
    }
}

/// How fast and how loud we speak, as multiples of the usual.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Delivery {
    /// Words a minute.
    pub pace: f32,
    /// Level of the routine voice. That of hazards is not lowered.
    pub level: f32,
}

impl Delivery {
    /// The least and the most of both.
    pub const LIMITS: (f32, f32) = (0.5, 2.0);

    /// The same, some steps slower or faster, softer or louder: a sixth of the pace a step, 3 dB of the level.
    #[must_use]
    pub fn turned(self, steps: Steps) -> Self {
        let pace = self.pace * (7.0_f32 / 6.0).powi(steps.pace.into());
        let level = self.level * 10.0_f32.powf(0.15 * f32::from(steps.volume));
        Self { pace, level }.within_limits()
    }

    /// The same within what can be understood.
    #[must_use]
    pub fn within_limits(self) -> Self {
        let (least, most) = Self::LIMITS;
        Self { pace: self.pace.clamp(least, most), level: self.level.clamp(least, most) }
    }
}

impl Default for Delivery {
    fn default() -> Self {
        Self { pace: 1.0, level: 1.0 }
    }
}

/// Renders lines, and remembers what it has rendered.
#[derive(Debug)]
pub struct Voice {
    delivery: Delivery,
    /// By how many steps hazards are lifted over the noise.
    lift: u8,
    cache: Cache,
}

impl Voice {
    /// A voice, once it is known that the synthesiser runs.
    ///
    /// # Errors
    /// [`VoiceError::Missing`] when `espeak-ng` cannot be run.
    pub fn new() -> Result<Self, VoiceError> {
        synthesiser::version().map_err(VoiceError::Missing)?;
        Ok(Self { delivery: Delivery::default(), lift: 0, cache: Cache::new(CACHE_SAMPLES) })
    }

    /// Speaks so from now on.
    pub fn deliver(&mut self, delivery: Delivery) {
        let delivery = delivery.within_limits();
        if delivery != self.delivery {
            *self = Self { delivery, lift: self.lift, cache: Cache::new(CACHE_SAMPLES) };
        }
    }

    /// How it speaks now.
    pub const fn delivery(&self) -> Delivery {
        self.delivery
    }

    /// The tone that opens a hazard, alone.
    pub fn tone() -> Sound {
        const RATE: u32 = 22_050;
        Sound { rate: RATE, samples: tone::hazard(RATE, HAZARD_PEAK) }
    }

    /// Lifts hazards over the noise from now on, in steps of 3 dB.
    pub fn lift(&mut self, lift: Decibels) {
        self.lift = (lift.0.clamp(0.0, Decibels::MOST_LIFT.0) / LIFT_STEP).ceil() as u8;
    }

    /// The sound of a line, in a manner. A line said before comes from memory.
    ///
    /// # Errors
    /// [`VoiceError`] when the text is not words, or when the synthesiser fails.
    pub fn render(&mut self, text: &str, manner: Manner) -> Result<Arc<Sound>, VoiceError> {
        check_words(text)?;
        let steps = if manner == Manner::Hazard { self.lift } else { 0 };
        if let Some(sound) = self.cache.get(manner, steps, text) {
            return Ok(sound);
        }
        let spoken = synthesiser::speak(text, &speaker(manner, self.delivery.pace), LONGEST_WAIT)
            .map_err(|reason| VoiceError::Failed { text: text.to_owned(), reason })?;
        let sound = Arc::new(finish(&spoken, manner, self.delivery.level, steps));
        self.cache.put(manner, steps, text, Arc::clone(&sound));
        Ok(sound)
    }
}

/// Brings a line to the level of its manner, and puts the tone before a hazard, which is lifted by so many steps.
fn finish(spoken: &Sound, manner: Manner, level: f32, steps: u8) -> Sound {
    match manner {
        Manner::Routine => {
            let peak = (ROUTINE_PEAK * level).min(HAZARD_PEAK);
            Sound { rate: spoken.rate, samples: at_peak(&spoken.samples, peak) }
        }
        Manner::Hazard => {
            let mut samples = tone::hazard(spoken.rate, HAZARD_PEAK);
            samples.extend(lifted(&at_peak(&spoken.samples, HAZARD_PEAK), steps));
            Sound { rate: spoken.rate, samples }
        }
    }
}

/// Louder by so many steps, at the same peak: what would stand above it is bent down to it. Words bear that well: even cut
/// off at all their peaks they are understood (Licklider 1946, from memory).
fn lifted(samples: &[i16], steps: u8) -> Vec<i16> {
    if steps == 0 {
        return samples.to_vec();
    }
    let peak = HAZARD_PEAK * f32::from(i16::MAX);
    let gain = 10_f32.powf(LIFT_STEP * f32::from(steps) / 20.0);
    let bent = |sample: f32| peak * (gain * sample / peak).tanh() / gain.tanh();
    samples.iter().map(|&sample| bent(f32::from(sample)).round() as i16).collect()
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
    fn the_voice_turns_by_steps_within_limits() {
        let usual = Delivery::default();
        assert_eq!(usual.turned(Steps::default()), usual);
        let turned = usual.turned(Steps { pace: -1, volume: 2 });
        assert!((turned.pace - 6.0 / 7.0).abs() < 1e-6 && (turned.level - 1.995).abs() < 1e-3, "{turned:?}");
        let fast = Delivery { pace: 2.0, level: 0.5 };
        assert_eq!(fast.turned(Steps { pace: 2, volume: -2 }), fast);
    }

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
    fn what_is_lifted_keeps_its_peak() {
        let line = [0, 1_000, -4_000, 12_000, -31_129];
        assert_eq!(lifted(&line, 0), line);
        for steps in 1..=3 {
            let louder = lifted(&line, steps);
            assert!(louder.iter().all(|sample| sample.unsigned_abs() <= 31_130), "{louder:?}");
            assert_eq!(louder[0], 0);
            // What is far below the peak gains all of it, or a little more.
            let gained = 20.0 * (f32::from(louder[1]) / f32::from(line[1])).log10();
            assert!((0.0..1.2).contains(&(gained - 3.0 * f32::from(steps))), "{steps} steps: {gained} dB");
        }
    }

    #[test]
    fn a_hazard_is_louder_and_opens_with_its_tone() {
        let spoken = Sound { rate: 22_050, samples: vec![1_000, -1_000] };
        let routine = finish(&spoken, Manner::Routine, 1.0, 0);
        let hazard = finish(&spoken, Manner::Hazard, 1.0, 0);
        let loudest = |s: &Sound| s.samples.iter().map(|s| s.unsigned_abs()).max();
        assert_eq!(hazard, finish(&spoken, Manner::Hazard, 0.5, 0), "a hazard is not lowered");
        assert_eq!(
            loudest(&finish(&spoken, Manner::Routine, 2.0, 0)),
            loudest(&routine).map(|peak| 2 * peak)
        );
        assert_eq!(routine.samples.len(), 2);
        assert!(hazard.samples.len() > 22_050 / 5, "no tone");
        assert!(loudest(&hazard) > loudest(&routine));
    }
}
