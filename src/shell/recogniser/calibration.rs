//! Probabilities that mean what they say: of all values heard with nine in ten, nine in ten should be right.

use crate::understand::heard::{Candidate, Heard};
use crate::understand::intent::Intent;

/// A straight line in the logarithm of the odds (Platt scaling: Platt 1999, "Probabilistic outputs for support vector
/// machines", section 2), which lies lower in noise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Calibration {
    /// Below one where the weights are surer than they should be.
    pub slope: f32,
    /// Above zero where they are less sure than they should be.
    pub offset: f32,
    /// Added to the offset where it is noisy, in part where it is in part ([`noisiness`](crate::hear::level::noisiness)).
    pub noise: f32,
    /// Added for a reading of one word alone: drips and clanks make such words.
    pub alone: f32,
}

impl Calibration {
    /// Leaves probabilities as they are.
    pub const NONE: Self = Self { slope: 1.0, offset: 0.0, noise: 0.0, alone: 0.0 };

    /// Fitted to the development half of the bench, quiet, at 10 and at 5 dB: in quiet the weights are less sure than they
    /// could be, in noise they are surer than they should be. Those are clips of speech; the last number is from hours of
    /// noise without any, in which running water was taken for "tree" with up to 0.9. See models/speech/CARD.md.
    pub const FITTED: Self = Self { slope: 0.579, offset: 1.345, noise: -1.068, alone: -1.5 };

    /// Gives the best candidate its calibrated probability; the others and the share outside divide the rest as before.
    /// `noisiness` lies between 0 and 1.
    pub fn apply(self, mut heard: Heard, noisiness: f32) -> Heard {
        /// Nothing is surer than this, either way.
        const SUREST: f32 = 1e-4;
        let Some((best, others)) = heard.candidates.split_first_mut() else { return heard };
        let before = best.probability.clamp(SUREST, 1.0 - SUREST);
        let line = self.slope * (before / (1.0 - before)).ln() + self.offset + self.noise * noisiness;
        let odds = line + self.against(best);
        let after = (1.0 / (1.0 + (-odds).exp())).clamp(SUREST, 1.0 - SUREST);
        let rest = (1.0 - after) / (1.0 - before);
        best.probability = after;
        for other in others {
            other.probability *= rest;
        }
        heard.outside *= rest;
        heard.candidates.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        heard
    }

    /// What is added to the odds of a candidate for the kind of thing it is.
    pub fn against(self, candidate: &Candidate) -> f32 {
        let alone = matches!(candidate.intent, Intent::Report(_)) && !candidate.words.contains(' ');
        if alone { self.alone } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::understand::situation::Situation;

    #[test]
    fn odds_are_scaled_and_the_rest_is_shared() {
        let candidate = |intent, probability| Candidate { words: String::new(), intent, probability };
        let heard = Heard {
            candidates: vec![candidate(Intent::Yes, 0.8), candidate(Intent::No, 0.1)],
            outside: 0.1,
            free: String::new(),
        };
        let check = |slope, offset, noisiness, expected: [f32; 3]| {
            let calibration = Calibration { slope, offset, noise: 0.5_f32.ln(), alone: -9.0 };
            let heard = calibration.apply(heard.clone(), noisiness);
            let found = [heard.candidates[0].probability, heard.candidates[1].probability, heard.outside];
            assert!(found.iter().zip(expected).all(|(a, b)| (a - b).abs() < 1e-3), "{found:?}");
        };
        check(1.0, 0.0, 0.0, [0.8, 0.1, 0.1]);
        // Odds of four to one become two to one, and eight to one.
        check(0.5, 0.0, 0.0, [2.0 / 3.0, 1.0 / 6.0, 1.0 / 6.0]);
        check(1.0, 2.0_f32.ln(), 0.0, [8.0 / 9.0, 1.0 / 18.0, 1.0 / 18.0]);
        // Noise halves them.
        check(1.0, 0.0, 1.0, [2.0 / 3.0, 1.0 / 6.0, 1.0 / 6.0]);
        check(1.0, 2.0_f32.ln(), 1.0, [0.8, 0.1, 0.1]);
        let nothing = Heard { outside: 1.0, ..Heard::default() };
        assert_eq!(Calibration::NONE.apply(nothing.clone(), 1.0), nothing);
    }

    #[test]
    fn one_word_alone_counts_for_less_where_noise_could_have_made_it() {
        let calibration = Calibration { alone: 0.25_f32.ln(), ..Calibration::NONE };
        let check = |words: &str, intent, expected: f32| {
            let candidate = Candidate { words: words.to_owned(), intent, probability: 0.8 };
            let heard = Heard { candidates: vec![candidate], outside: 0.2, free: String::new() };
            let found = calibration.apply(heard, 0.0).candidates[0].probability;
            assert!((found - expected).abs() < 1e-3, "{words}: {found}");
        };
        let reading =
            |words: &str| crate::understand::typed(&crate::understand::open(&Situation::default()), words);
        let report = |words: &str| reading(words).candidates[0].intent.clone();
        check("three", report("three"), 0.5);
        check("three ohms", report("three ohms"), 0.8);
        check("yes", Intent::Yes, 0.8);
    }
}
