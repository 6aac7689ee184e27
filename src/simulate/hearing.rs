//! How what is said reaches the program: heard rightly, wrongly or not at all, with a probability that knows something of it.
//!
//! Each row is a part of what `make bench-hear` prints of readings: so many clips whose best candidate had this probability,
//! and so many of them were right. In all but one at each level that were not, what was said was another candidate.

use crate::quantity::{Decimal, Quantity};
use crate::reading::{Finding, Reading};
use crate::understand::confusion;

use super::dice::Dice;

/// How well is heard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hearing {
    rows: &'static [Row],
}

/// Clips whose best candidate had about the same probability.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Row {
    /// The mean probability.
    said: f32,
    /// How many of them were right.
    right: u32,
    /// How many they were.
    of: u32,
}

/// What was heard of a finding.
#[derive(Clone, Debug, PartialEq)]
pub struct Caught {
    /// What is taken for the best.
    pub best: (Finding, f32),
    /// What else is among the candidates.
    pub other: Option<(Finding, f32)>,
}

impl Row {
    const fn of(said: f32, right: u32, of: u32) -> Self {
        Self { said, right, of }
    }
}

impl Hearing {
    /// Everything is heard.
    pub const PERFECT: Self = Self { rows: &[Row::of(1.0, 1, 1)] };

    /// A quiet room: 360 readings and numbers by synthetic voices and people.
    pub const QUIET: Self = Self {
        rows: &[
            Row::of(0.8365, 9, 14),
            Row::of(0.9480, 26, 30),
            Row::of(0.9824, 58, 58),
            Row::of(0.9965, 258, 258),
        ],
    };

    /// A kitchen at work: the same 10 dB above the noise.
    pub const KITCHEN: Self = Self {
        rows: &[
            Row::of(0.3303, 1, 3),
            Row::of(0.6559, 8, 13),
            Row::of(0.8133, 29, 37),
            Row::of(0.9477, 61, 64),
            Row::of(0.9821, 75, 75),
            Row::of(0.9957, 168, 168),
        ],
    };

    /// What is heard of a finding. What is seen has no easily confused neighbour, and is heard as it is said.
    pub fn catch(&self, finding: &Finding, dice: &mut Dice) -> Caught {
        let surely = Caught { best: (finding.clone(), 1.0), other: None };
        // All is thrown whether it counts or not, so that jobs stay alike.
        let (place, right) = (dice.pick(&self.weights()), dice.share());
        let Row { said, right: rightly, of } = self.rows[place];
        let Some(neighbour) = neighbour(finding, dice) else { return surely };
        let left = 1.0 - said;
        let right = right * f64::from(of) < f64::from(rightly);
        let (best, other) = if right { (finding.clone(), neighbour) } else { (neighbour, finding.clone()) };
        Caught { best: (best, said), other: (left > 0.0).then_some((other, left)) }
    }

    fn weights(&self) -> Vec<f64> {
        self.rows.iter().map(|row| f64::from(row.of)).collect()
    }
}

/// A reading that is taken for this one by eye or ear: of its confusion class, or with another digit; `None` for what is seen.
pub fn neighbour(finding: &Finding, dice: &mut Dice) -> Option<Finding> {
    let Finding::Reading(reading) = finding else { return None };
    let class = confusion::rivals(*reading);
    let digit = match reading {
        Reading::Value(quantity) => other_digit(*quantity, dice),
        Reading::Overload | Reading::Closed | Reading::Unstable => None,
    };
    let in_class = dice.falls(0.5);
    let chosen = class.get(dice.below(class.len())).copied();
    let chosen = if in_class { chosen.or(digit) } else { digit.or(chosen) };
    chosen.map(Finding::Reading)
}

/// The same reading with one digit taken for another.
fn other_digit(quantity: Quantity, dice: &mut Dice) -> Option<Reading> {
    let number = quantity.number;
    let long = number.digits().to_string().len();
    let unit = 10_u64.pow(u32::try_from(dice.below(long)).ok()?);
    let digit = number.digits() / unit % 10;
    let other = (digit + 1 + dice.below(9) as u64) % 10;
    let digits = number.digits() - digit * unit + other * unit;
    let number = Decimal::new(number.is_negative(), digits, number.places())?;
    Some(Reading::Value(Quantity { number, ..quantity }))
}

#[cfg(test)]
mod tests {
    use super::super::dice::Chance;
    use super::*;
    use crate::quantity::Unit;

    fn ohms(number: &str) -> Finding {
        Finding::Reading(Reading::Value(Quantity::new(number.parse().unwrap(), Unit::Ohms)))
    }

    #[test]
    fn as_much_is_heard_as_was_measured() {
        let mut dice = Chance::new(1, "hearing", 0).dice(0);
        for (hearing, least, most) in
            [(Hearing::PERFECT, 1.0, 1.0), (Hearing::QUIET, 0.97, 1.0), (Hearing::KITCHEN, 0.94, 0.99)]
        {
            let said = ohms("71.5");
            let caught: Vec<Caught> = (0..4000).map(|_| hearing.catch(&said, &mut dice)).collect();
            let right = caught.iter().filter(|caught| caught.best.0 == said).count() as f64 / 4000.0;
            assert!((least..=most).contains(&right), "{hearing:?}: {right}");
            for Caught { best, other } in caught {
                let sum = best.1 + other.as_ref().map_or(0.0, |(_, probability)| *probability);
                assert!(sum <= 1.0 + f32::EPSILON, "{sum}");
                assert!(other.is_none_or(|(other, _)| other != best.0));
            }
        }
    }

    #[test]
    fn what_is_seen_is_heard() {
        let mut dice = Chance::new(1, "hearing", 1).dice(0);
        let seen = Finding::Outcome("turns".to_owned());
        assert_eq!(Hearing::KITCHEN.catch(&seen, &mut dice).best, (seen, 1.0));
    }

    #[test]
    fn a_neighbour_is_another_reading() {
        let mut dice = Chance::new(1, "hearing", 2).dice(0);
        for number in ["0", "7", "71.5", "230", "1047"] {
            for _ in 0..200 {
                let other = neighbour(&ohms(number), &mut dice).unwrap();
                assert_ne!(other, ohms(number));
            }
        }
    }
}
