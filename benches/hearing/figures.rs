//! The arithmetic of the bench: quantiles, draws, calibration. Knows no sound.

/// The value below which a share of the values lies; nothing of no values.
pub fn quantile(values: &[f64], share: f64) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let place = (sorted.len().saturating_sub(1) as f64 * share).round() as usize;
    sorted.get(place).copied()
}

/// FNV-1a, 64 bit: a fixed number for a name, the same on every machine.
pub fn hash(name: &str) -> u64 {
    let step = |hash: u64, byte: u8| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
    name.bytes().fold(0xcbf2_9ce4_8422_2325, step)
}

/// A sequence that looks random and repeats: splitmix64 (Steele, Lea, Flood 2014).
#[derive(Clone, Debug)]
pub struct Draw(pub u64);

impl Draw {
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// From zero up to, without, a bound.
    pub fn below(&mut self, bound: usize) -> usize {
        (self.bits() % bound.max(1) as u64) as usize
    }

    /// Between 0 and 1.
    pub fn share(&mut self) -> f32 {
        (self.bits() >> 40) as f32 / (1_u64 << 24) as f32
    }

    /// White noise: between −1 and 1.
    pub fn white(&mut self) -> f32 {
        2.0 * self.share() - 1.0
    }

    /// So many of the values at most, drawn without order.
    pub fn some<T>(&mut self, mut values: Vec<T>, most: usize) -> Vec<T> {
        for place in (1..values.len()).rev() {
            values.swap(place, self.below(place + 1));
        }
        values.truncate(most);
        values
    }
}

/// What was said to be how probable, how noisy it was (0 to 1), and whether it was right.
pub type Said = (f64, f64, bool);

/// A straight line in the logarithm of the odds (Platt 1999, section 2), which noise moves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    pub slope: f64,
    pub offset: f64,
    pub noise: f64,
}

impl Line {
    pub const NONE: Self = Self { slope: 1.0, offset: 0.0, noise: 0.0 };

    fn odds(probability: f64) -> f64 {
        let p = probability.clamp(1e-4, 1.0 - 1e-4);
        (p / (1.0 - p)).ln()
    }

    fn probability(odds: f64) -> f64 {
        1.0 / (1.0 + (-odds).exp())
    }

    pub fn applied(self, probability: f64, noisiness: f64) -> f64 {
        Self::probability(self.slope * Self::odds(probability) + self.offset + self.noise * noisiness)
    }

    pub fn undone(self, probability: f64, noisiness: f64, against: f64) -> f64 {
        let odds = Self::odds(probability) - self.offset - self.noise * noisiness - against;
        Self::probability(odds / self.slope)
    }

    /// The line under which what happened is most probable: Newton's steps on the log-likelihood, with a little pull
    /// towards leaving things as they are, so that it exists also where everything is right.
    pub fn fitted(said: &[Said]) -> Self {
        const PULL: f64 = 0.01;
        let mut line = Self::NONE;
        for _ in 0..50 {
            let mut up = [-PULL * (line.slope - 1.0), -PULL * line.offset, -PULL * line.noise];
            let mut bend = [[0.0; 3]; 3];
            (0..3).for_each(|n| bend[n][n] = PULL);
            for (probability, noisiness, right) in said {
                let x = [Self::odds(*probability), 1.0, *noisiness];
                let p = line.applied(*probability, *noisiness);
                for a in 0..3 {
                    up[a] += (f64::from(u8::from(*right)) - p) * x[a];
                    (0..3).for_each(|b| bend[a][b] += p * (1.0 - p) * x[a] * x[b]);
                }
            }
            // Steps are bounded: far from the end Newton's may be too long.
            let [slope, offset, noise] = solved(bend, up).map(|step| step.clamp(-0.5, 0.5));
            line =
                Self { slope: line.slope + slope, offset: line.offset + offset, noise: line.noise + noise };
        }
        line
    }
}

/// The solution of three equations whose matrix is symmetric and positive: Gauss's elimination needs no pivot.
fn solved(mut matrix: [[f64; 3]; 3], mut right: [f64; 3]) -> [f64; 3] {
    for at in 0..3 {
        for below in at + 1..3 {
            let share = matrix[below][at] / matrix[at][at];
            (at..3).for_each(|column| matrix[below][column] -= share * matrix[at][column]);
            right[below] -= share * right[at];
        }
    }
    for at in (0..3).rev() {
        let known: f64 = (at + 1..3).map(|column| matrix[at][column] * right[column]).sum();
        right[at] = (right[at] - known) / matrix[at][at];
    }
    right
}
