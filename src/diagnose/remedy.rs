//! The remedy as the technician needs it: what is sold, the cause behind the part, how sure we are.

use std::fmt;

use serde::Serialize;

use crate::id::FaultId;
use crate::model::appliance::{Appliance, Remedy};

use super::hypothesis::Hypothesis;

/// The faults of a cause, each as a clause, as said; none where nothing electrical is wrong.
pub fn causes(hypothesis: &Hypothesis, appliance: &Appliance) -> Vec<String> {
    let name = |id: &FaultId| appliance.fault(id).map_or_else(|| id.to_string(), |fault| fault.name.clone());
    hypothesis.faults().map(name).collect()
}

/// What is to be done about a cause: the remedy of each of its faults, each once.
pub fn remedies<'a>(hypothesis: &Hypothesis, appliance: &'a Appliance) -> Vec<&'a Remedy> {
    let mut all: Vec<&Remedy> = Vec::new();
    for fault in hypothesis.faults().filter_map(|id| appliance.fault(id)) {
        let remedy = appliance.remedy(&fault.remedy);
        all.extend(remedy.filter(|remedy| all.iter().all(|known| known.id != remedy.id)));
    }
    all
}

/// Is the machine worth the repair?
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Worth {
    /// Repair it.
    Repair,
    /// Either may be right: the customer weighs it.
    Either,
    /// The money is better spent on a new one.
    Replace,
}

impl Worth {
    /// From the dearest price class of what is fitted, the machine's age and how long such machines last that nobody
    /// repairs, in years, and what the customer would rather have, if they said so.
    ///
    /// Nothing bought is always worth it; a small part while the machine is not half as old again as machines get; an
    /// assembly in its first half; a machine's worth of parts never. What is left in doubt is the customer's: their wish
    /// decides it, and nothing else (common practice).
    pub fn of(price: u8, age: f64, lasts: f64, wish: Option<Wish>) -> Self {
        let used = age / lasts;
        let worth = match price {
            0 => Self::Repair,
            1 if used <= 1.5 => Self::Repair,
            1 => Self::Either,
            2 if used <= 0.5 => Self::Repair,
            2 if used <= 1.0 => Self::Either,
            _ => Self::Replace,
        };
        match (worth, wish) {
            (Self::Either, Some(Wish::Keep)) => Self::Repair,
            (Self::Either, Some(Wish::New)) => Self::Replace,
            (worth, _) => worth,
        }
    }
}

/// What the customer would rather have.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Wish {
    /// The machine they have.
    Keep,
    /// A new one.
    New,
}

/// A probability as people say it. Rounded down: never surer than we are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Confidence {
    /// Less than one in ten.
    Unlikely,
    /// So many in ten.
    InTen(u8),
    /// At least nineteen in twenty.
    NineteenInTwenty,
    /// At least ninety-nine in a hundred.
    NinetyNineInHundred,
}

impl Confidence {
    /// The plain words nearest below a probability.
    pub fn of(probability: f64) -> Self {
        // Half a thousandth of slack: what prints as 0.900 is nine in ten.
        let p = probability + 0.0005;
        match p {
            p if p >= 0.99 => Self::NinetyNineInHundred,
            p if p >= 0.95 => Self::NineteenInTwenty,
            p if p >= 0.1 => Self::InTen((p * 10.0) as u8),
            _ => Self::Unlikely,
        }
    }
}

/// As said: "nine in ten".
impl fmt::Display for Confidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const WORDS: [&str; 10] =
            ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"];
        match self {
            Self::Unlikely => f.write_str("less than one in ten"),
            Self::InTen(n) => write!(f, "{} in ten", WORDS[usize::from(*n).min(9)]),
            Self::NineteenInTwenty => f.write_str("nineteen in twenty"),
            Self::NinetyNineInHundred => f.write_str("ninety-nine in a hundred"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn old_machines_are_worth_small_parts_and_wishes_decide_doubts() {
        use Wish::{Keep, New};
        use Worth::{Either, Repair, Replace};
        for (price, age, wish, worth) in [
            (0, 30.0, None, Repair),
            (1, 15.0, Some(New), Repair),
            (1, 20.0, None, Either),
            (2, 5.0, None, Repair),
            (2, 9.0, None, Either),
            (2, 9.0, Some(Keep), Repair),
            (2, 9.0, Some(New), Replace),
            (2, 13.0, Some(Keep), Replace),
            (3, 1.0, Some(Keep), Replace),
        ] {
            assert_eq!(Worth::of(price, age, 12.0, wish), worth, "{price} {age} {wish:?}");
        }
    }

    #[test]
    fn never_surer_than_it_is() {
        for (p, words) in [
            (0.0, "less than one in ten"),
            (0.5, "five in ten"),
            (0.899, "eight in ten"),
            (0.9, "nine in ten"),
            (0.949, "nine in ten"),
            (0.95, "nineteen in twenty"),
            (0.989, "nineteen in twenty"),
            (0.99, "ninety-nine in a hundred"),
            (1.0, "ninety-nine in a hundred"),
        ] {
            assert_eq!(Confidence::of(p).to_string(), words, "{p}");
        }
    }
}
