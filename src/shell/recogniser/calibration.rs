//! Probabilities that mean what they say: of all values heard with nine in ten, nine in ten should be right.

use crate::understand::heard::Heard;

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
}

impl Calibration {
    /// Leaves probabilities as they are.
    pub const NONE: Self = Self { slope: 1.0, offset: 0.0, noise: 0.0 };

    /// Fitted to the development half of the bench, quiet, at 10 and at 5 dB: in quiet the weights are less sure than they
    /// could be, in noise they are surer than they should be. See models/speech/CARD.md.
    pub const FITTED: Self = Self { slope: 0.579, offset: 1.345, noise: -1.068 };

    /// Gives the best candidate its calibrated probability; the others and the share outside divide the rest as before.
    /// `noisiness` lies between 0 and 1.
    pub fn apply(self, mut heard: Heard, noisiness: f32) -> Heard {
        /// Nothing is surer than this, either way.
        const SUREST: f32 = 1e-4;
        let Some((best, others)) = heard.candidates.split_first_mut() else { return heard };
        let before = best.probability.clamp(SUREST, 1.0 - SUREST);
        let odds = self.slope * (before / (1.0 - before)).ln() + self.offset + self.noise * noisiness;
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
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::understand::heard::Candidate;
    use crate::understand::intent::Intent;

    #[test]
    fn odds_are_scaled_and_the_rest_is_shared() {
        let candidate = |intent, probability| Candidate { words: String::new(), intent, probability };
        let heard = Heard {
            candidates: vec![candidate(Intent::Yes, 0.8), candidate(Intent::No, 0.1)],
            outside: 0.1,
            free: String::new(),
        };
        let check = |slope, offset, noisiness, expected: [f32; 3]| {
            let heard = Calibration { slope, offset, noise: 0.5_f32.ln() }.apply(heard.clone(), noisiness);
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
}
