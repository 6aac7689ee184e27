//! The remedy as the technician needs it: what is sold, the cause behind the part, how sure we are.

use std::fmt;

use serde::Serialize;

use crate::id::RemedyId;
use crate::model::appliance::{Appliance, Remedy};

use super::hypothesis::Hypothesis;
use super::plan::Next;

/// A remedy with its cause and how sure it is.
#[derive(Clone, Debug)]
pub struct Advice<'a> {
    /// What to replace or adjust, how it is sold, the cause behind it; `None` where nothing electrical is wrong.
    pub remedy: Option<&'a Remedy>,
    /// The cause, as said; `None` where nothing electrical is wrong.
    pub fault: Option<&'a str>,
    /// How sure it is.
    pub confidence: Confidence,
}

impl<'a> Advice<'a> {
    /// What is advised, looked up in the appliance model; `None` if nothing is advised.
    pub fn of(next: &Next, appliance: &'a Appliance) -> Option<Self> {
        let Next::Advise { remedy, hypothesis, probability } = next else {
            return None;
        };
        Some(Self {
            remedy: remedy.as_ref().and_then(|id: &RemedyId| appliance.remedy(id)),
            fault: fault_name(hypothesis, appliance),
            confidence: Confidence::of(*probability),
        })
    }
}

fn fault_name<'a>(hypothesis: &Hypothesis, appliance: &'a Appliance) -> Option<&'a str> {
    appliance.fault(hypothesis.fault()?).map(|fault| fault.name.as_str())
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
