//! Chance, the same on every machine and in every order: one stream a job, and within it one a purpose.

use chacha20::ChaCha8Rng;
use chacha20::rand_core::{Rng, SeedableRng};

/// What the chance of one job hangs on.
#[derive(Clone, Debug)]
pub struct Chance {
    seed: [u8; 32],
    job: u64,
}

impl Chance {
    /// Which job of which machine, under a seed.
    pub fn new(seed: u64, machine: &str, job: u64) -> Self {
        let mut bytes = [0; 32];
        let (number, name) = bytes.split_at_mut(8);
        number.copy_from_slice(&seed.to_le_bytes());
        for (place, byte) in name.iter_mut().zip(machine.bytes()) {
            *place = byte;
        }
        Self { seed: bytes, job }
    }

    /// The dice for one purpose of the job: what is thrown for one does not move another.
    pub fn dice(&self, purpose: u16) -> Dice {
        let mut generator = ChaCha8Rng::from_seed(self.seed);
        generator.set_stream(self.job << 16 | u64::from(purpose));
        Dice(generator)
    }
}

/// A stream of chance.
#[derive(Debug)]
pub struct Dice(ChaCha8Rng);

impl Dice {
    /// Evenly from zero up to, but not one.
    pub fn share(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Does something of this probability happen?
    pub fn falls(&mut self, probability: f64) -> bool {
        self.share() < probability
    }

    /// One of `n` numbers from zero, each as likely.
    pub fn below(&mut self, n: usize) -> usize {
        ((self.share() * n as f64) as usize).min(n.saturating_sub(1))
    }

    /// A place, by the weights there; the first if all are zero.
    pub fn pick(&mut self, weights: &[f64]) -> usize {
        let mut left = self.share() * weights.iter().sum::<f64>();
        let there = weights.iter().position(|weight| {
            left -= weight;
            left < 0.0
        });
        there.unwrap_or(0)
    }

    /// From the standard normal distribution (Box and Muller 1958).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.share()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.share()).cos()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn throws(seed: u64, machine: &str, job: u64, purpose: u16) -> Vec<f64> {
        let mut dice = Chance::new(seed, machine, job).dice(purpose);
        (0..4).map(|_| dice.share()).collect()
    }

    #[test]
    fn every_purpose_of_every_job_has_its_own_stream() {
        let first = throws(1, "dryer", 1, 1);
        assert_eq!(first, throws(1, "dryer", 1, 1));
        for other in [(2, "dryer", 1, 1), (1, "washer", 1, 1), (1, "dryer", 2, 1), (1, "dryer", 1, 2)] {
            assert_ne!(first, throws(other.0, other.1, other.2, other.3), "{other:?}");
        }
    }

    #[test]
    fn what_is_thrown_has_the_right_moments() {
        let mut dice = Chance::new(7, "x", 0).dice(0);
        let n = 20_000;
        let normals: Vec<f64> = (0..n).map(|_| dice.normal()).collect();
        let mean = normals.iter().sum::<f64>() / f64::from(n);
        let variance = normals.iter().map(|z| (z - mean).powi(2)).sum::<f64>() / f64::from(n);
        assert!(mean.abs() < 0.03 && (variance - 1.0).abs() < 0.05, "{mean} {variance}");
        let picked = (0..n).filter(|_| dice.pick(&[1.0, 3.0]) == 1).count() as f64 / f64::from(n);
        assert!((picked - 0.75).abs() < 0.02, "{picked}");
        assert!((0..n).all(|_| dice.below(3) < 3));
    }
}
