//! Many jobs added up, with 95 % intervals.

use crate::record::figures::Share;

use super::outcome::Outcome;

/// Many jobs added up.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tally {
    /// Jobs in which the remedy that cures was advised first.
    pub right: Share,
    /// How probable the advice was believed to be.
    pub claimed: Mean,
    /// Checks a job.
    pub checks: Mean,
    /// Live checks a job.
    pub live: Mean,
    /// Minutes of work a job.
    pub minutes: Mean,
    /// Wrong parts a job.
    pub wrong_parts: Mean,
    /// The cost of a finished repair, in minutes or what is worth as much.
    pub cost: Mean,
}

impl Tally {
    /// Adds a job.
    pub fn add(&mut self, outcome: &Outcome) {
        self.right.of += 1;
        self.right.count += u32::from(outcome.right);
        self.claimed.add(outcome.claimed);
        self.checks.add(f64::from(outcome.checks));
        self.live.add(f64::from(outcome.live));
        self.minutes.add(outcome.minutes);
        self.wrong_parts.add(f64::from(outcome.wrong_parts));
        self.cost.add(outcome.cost);
    }

    /// Adds the jobs of another.
    pub fn merge(&mut self, other: &Self) {
        self.right.count += other.right.count;
        self.right.of += other.right.of;
        self.claimed.merge(other.claimed);
        self.checks.merge(other.checks);
        self.live.merge(other.live);
        self.minutes.merge(other.minutes);
        self.wrong_parts.merge(other.wrong_parts);
        self.cost.merge(other.cost);
    }

    /// All jobs of several.
    pub fn of<'o>(outcomes: impl IntoIterator<Item = &'o Outcome>) -> Self {
        let mut tally = Self::default();
        for outcome in outcomes {
            tally.add(outcome);
        }
        tally
    }
}

/// A mean, gathered number by number.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Mean {
    count: f64,
    sum: f64,
    squares: f64,
}

impl Mean {
    /// One number more.
    pub fn add(&mut self, number: f64) {
        self.count += 1.0;
        self.sum += number;
        self.squares += number * number;
    }

    /// All numbers of another.
    pub fn merge(&mut self, other: Self) {
        self.count += other.count;
        self.sum += other.sum;
        self.squares += other.squares;
    }

    /// The mean; zero of nothing.
    pub fn mean(&self) -> f64 {
        if self.count > 0.0 { self.sum / self.count } else { 0.0 }
    }

    /// Half the width of its 95 % interval (normal approximation); infinite below two numbers.
    pub fn half_width(&self) -> f64 {
        if self.count < 2.0 {
            return f64::INFINITY;
        }
        let variance = (self.squares - self.sum * self.sum / self.count) / (self.count - 1.0);
        1.959_964 * (variance.max(0.0) / self.count).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mean_has_its_interval() {
        let mut mean = Mean::default();
        assert_eq!((mean.mean(), mean.half_width()), (0.0, f64::INFINITY));
        for number in [2.0, 4.0, 4.0, 4.0, 5.0, 5.0, 7.0, 9.0] {
            mean.add(number);
        }
        // Sample variance 32/7, so the standard error is √(32/56).
        assert!((mean.mean() - 5.0).abs() < 1e-12);
        assert!((mean.half_width() - 1.959_964 * (32.0_f64 / 56.0).sqrt()).abs() < 1e-9);
    }
}
