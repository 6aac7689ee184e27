//! How loud the noise is, and how far speech stands above it.
//!
//! The noise level is the running level of the frames without speech; it follows slowly, so that a machine that
//! starts is noticed within a second or two and a single clank is not.

use super::frame::{FRAME, Frame, root_mean_square};

/// A ratio of levels, in decibels.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Decibels(pub f32);

impl Decibels {
    /// Below this, recognition fails so often that the technician should know (measured: exact readings fall under eight
    /// in ten where the noise is 5 dB below a whole clip, which is about 8 dB below its speech alone, the breaths left
    /// out; see models/speech/CARD.md).
    pub const TOO_NOISY: Self = Self(8.0);
    /// Below this no answer is taken on which somebody's safety hangs.
    pub const CAREFUL: Self = Self(10.0);

    /// The noise of a quiet room, of full scale, where nobody has measured it: what usual microphones make of it.
    pub const QUIET_ROOM: Self = Self(-50.0);
    /// No warning is lifted further than this over the noise: ears must be spared, and a loudspeaker cannot do more.
    pub const MOST_LIFT: Self = Self(9.0);

    /// Of a root mean square over another.
    fn ratio(level: f32, reference: f32) -> Self {
        Self(20.0 * (level.max(NoiseLevel::FLOOR) / reference.max(NoiseLevel::FLOOR)).log10())
    }
}

/// The running level of noise.
#[derive(Clone, Copy, Debug, Default)]
pub struct NoiseLevel {
    level: Option<f32>,
}

impl NoiseLevel {
    /// Before any frame was heard.
    pub const UNHEARD: Self = Self { level: None };
    /// Nothing is quieter than half the last bit of a 16-bit sample.
    const FLOOR: f32 = 1.0 / 65_536.0;
    /// The share of a new frame: a time constant of one second.
    const SHARE: f32 = 0.02;

    /// Takes a frame that holds no speech.
    pub fn hear(&mut self, frame: &Frame) {
        let now = frame.level();
        self.level = Some(self.level.map_or(now, |before| before + Self::SHARE * (now - before)));
    }

    /// Does a frame stand out of the noise, by 3 dB at least? Yes where no noise was heard yet.
    pub fn is_below(&self, frame: &Frame) -> bool {
        self.level.is_none_or(|noise| frame.level() >= noise * std::f32::consts::SQRT_2)
    }

    /// Learns the noise anew from a long sound in which it was never heard alone: the level under which a fifth of it
    /// lies, or what it is at most.
    pub fn learn(&mut self, samples: &[f32], at_most: f32) {
        let mut levels: Vec<f32> = samples.chunks_exact(FRAME).map(root_mean_square).collect();
        levels.sort_by(f32::total_cmp);
        self.level = levels.get(levels.len() / 5).map(|level| level.min(at_most)).or(self.level);
    }

    /// Root mean square of the noise; `None` until a frame without speech was heard.
    pub const fn level(&self) -> Option<f32> {
        self.level
    }

    /// The same, of full scale.
    pub fn decibels(&self) -> Option<Decibels> {
        self.level.map(|level| Decibels::ratio(level, 1.0))
    }

    /// How much louder a warning is said now than in the noise in which it was found loud enough: as much as the noise has
    /// risen, up to [`Decibels::MOST_LIFT`], and never softer. So it stands as far above the noise as it did then.
    pub fn lift(&self, usual: Decibels) -> Decibels {
        let risen = self.decibels().map_or(0.0, |now| now.0 - usual.0);
        Decibels(risen.clamp(0.0, Decibels::MOST_LIFT.0))
    }

    /// How far speech of this level (noise included) stands above the noise.
    pub fn signal_to_noise(&self, speech: f32) -> Option<Decibels> {
        let noise = self.level?;
        // Powers add, so the noise's own is taken off what was measured during speech.
        let clean = (speech * speech - noise * noise).max(0.0).sqrt();
        Some(Decibels::ratio(clean, noise))
    }
}

/// How noisy an utterance is: 0 where its speech stands 25 dB or more out of the noise, 1 where it does by 10 dB or less,
/// evenly between. The noise is the level under which a tenth of its frames lie, speech that over which a tenth do, so it
/// can be told of a lone utterance with its pre-roll.
pub fn noisiness(samples: &[f32]) -> f32 {
    const QUIET: f32 = 25.0;
    const NOISY: f32 = 10.0;
    let mut levels: Vec<f32> = samples.chunks_exact(FRAME).map(root_mean_square).collect();
    levels.sort_by(f32::total_cmp);
    let Some(last) = levels.len().checked_sub(1) else { return 0.0 };
    let noise = NoiseLevel { level: Some(levels[last / 10]) };
    let Some(Decibels(above)) = noise.signal_to_noise(levels[last * 9 / 10]) else { return 0.0 };
    ((QUIET - above) / (QUIET - NOISY)).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_warning_rises_with_the_noise_up_to_its_cap() {
        let usual = Decibels(-50.0);
        let lift = |decibels: f32| {
            let mut noise = NoiseLevel::UNHEARD;
            noise.hear(&Frame { index: 0, samples: [10_f32.powf(decibels / 20.0); FRAME] });
            noise.lift(usual).0
        };
        for (noise, wanted) in
            [(-90.0, 0.0), (-50.0, 0.0), (-47.0, 3.0), (-44.5, 5.5), (-41.0, 9.0), (-10.0, 9.0), (0.0, 9.0)]
        {
            assert!((lift(noise) - wanted).abs() < 0.01, "{noise} dB: {}", lift(noise));
        }
        assert_eq!(NoiseLevel::UNHEARD.lift(usual), Decibels(0.0));
    }

    #[test]
    fn an_utterance_is_noisy_where_its_speech_hardly_stands_out() {
        // Half a second of noise, one of speech with the noise under it, half a second of noise: 100 frames.
        let utterance = |above: f32| {
            let (noise, speech) = (0.01, 0.01 * 10_f32.powf(above / 20.0));
            let both = speech.hypot(noise);
            [vec![noise; 8_000], vec![both; 16_000], vec![noise; 8_000]].concat()
        };
        for (above, expected) in [(40.0, 0.0), (25.0, 0.0), (17.5, 0.5), (10.0, 1.0), (0.0, 1.0)] {
            let found = noisiness(&utterance(above));
            assert!((found - expected).abs() < 1e-3, "{above} dB: {found}");
        }
        assert_eq!(noisiness(&[]), 0.0);
        assert_eq!(noisiness(&[vec![0.0; 8_000], vec![0.1; 8_000]].concat()), 0.0);
    }
}
