//! What one finding says of the circuit it was taken from: in limits, out of limits, or cannot tell.
//!
//! Judged by conformance probability (JCGM 106:2012, clause 7), not by a bare comparison: near a limit the answer is
//! "cannot tell". Where the expected value is only what machines of the class usually have, the answer is never
//! "out of limits", but at most "odd".

use serde::{Deserialize, Serialize};

use crate::model::appliance::{Prediction, Provenance};
use crate::quantity::{Quantity, Unit};
use crate::reading::{Finding, Reading};

use super::likelihood::{Asked, BEEPER_OHMS, floor, step_in, value_in};
use super::normal;
use super::trouble::Question;

/// What a finding says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// As it must be when nothing is wrong.
    InLimits,
    /// Not as it must be.
    OutOfLimits,
    /// No path where there must be one.
    Open,
    /// Nearly no resistance where there must be some.
    Shorted,
    /// Unusual for machines of this class; the sheet of this one decides.
    Odd,
    /// Too near a limit, or not a finding of this check.
    CannotTell,
}

/// A decision is taken from this conformance probability on (the default of ISO 14253-1:2017).
pub const SURE: f64 = 0.95;

/// A hand-held meter's usual accuracy, as a share of the reading (1 % is the example of one sheet for 120 V).
const ACCURACY: f64 = 0.01;

/// A reading this many times the expected one is a path that is not there; one part in this many, a short.
const DECIDEDLY: f64 = 20.0;

/// No path worth the name (insulation after repair: at least 1 MΩ, DIN VDE 0701-0702:2008).
const NO_PATH_OHMS: f64 = 1e6;

/// Standard uncertainty of an accuracy band of ± `half_width`: rectangular (GUM, JCGM 100:2008, 4.3.7).
pub fn rectangular(half_width: f64) -> f64 {
    half_width / 3_f64.sqrt()
}

/// Probability that the true value lies within limits: the measured value, its standard uncertainty, and the limits,
/// infinite where there is none (JCGM 106:2012, 7.2–7.4).
pub fn conformance(measured: f64, uncertainty: f64, low: f64, high: f64) -> f64 {
    normal::mass(measured, uncertainty, low, high)
}

/// The limit to accept up to, so that a true value at most `tolerance` is meant with a guard band of `r` expanded
/// uncertainties (JCGM 106:2012, 8.3; U = 2u).
pub fn acceptance_limit(tolerance: f64, uncertainty: f64, r: f64) -> f64 {
    tolerance - r * 2.0 * uncertainty
}

/// What a finding says, against what the check shows when nothing is wrong. Where several circuits may be inside, what is
/// right in one of them is not wrong.
pub fn of(finding: &Finding, question: &Question) -> Verdict {
    let verdict = against(finding, question, question.healthy());
    let right = |healthy| against(finding, question, healthy) == Verdict::InLimits;
    if verdict != Verdict::InLimits && question.healthy_in_each().any(right) {
        Verdict::CannotTell
    } else {
        verdict
    }
}

fn against(finding: &Finding, question: &Question, healthy: &Prediction) -> Verdict {
    match (finding, &question.asked, healthy) {
        (Finding::Outcome(name), Asked::Outcome(names), Prediction::Outcomes(p)) => {
            let index = names.iter().position(|n| n == name);
            index.and_then(|i| p.get(i)).map_or(Verdict::CannotTell, |p| usual(*p))
        }
        (Finding::Reading(reading), Asked::Number(unit), healthy) => reading_of(*reading, *unit, healthy),
        (Finding::Reading(reading), Asked::Beep, healthy) => beep_of(*reading, healthy),
        _ => Verdict::CannotTell,
    }
}

/// An outcome by its probability when nothing is wrong.
fn usual(p: f64) -> Verdict {
    if p >= 0.5 {
        Verdict::InLimits
    } else if p <= 1.0 - SURE {
        Verdict::OutOfLimits
    } else {
        Verdict::CannotTell
    }
}

/// What must be shown: most likely, at the least, at the most, and whether only the class is known.
#[derive(Clone, Copy)]
struct Band {
    nominal: f64,
    low: f64,
    high: f64,
    class: bool,
}

fn reading_of(reading: Reading, unit: Unit, healthy: &Prediction) -> Verdict {
    let band = match *healthy {
        Prediction::Value { nominal, low, high, provenance } => {
            Band { nominal, low, high, class: provenance == Provenance::ClassDefault }
        }
        Prediction::Overload => return where_none_must_be(reading, unit),
        Prediction::Outcomes(_) => return Verdict::CannotTell,
    };
    match reading {
        Reading::Value(quantity) => number(quantity, unit, band),
        Reading::Overload if unit == Unit::Ohms => Verdict::Open,
        Reading::Closed if unit == Unit::Ohms && band.nominal <= BEEPER_OHMS => Verdict::InLimits,
        Reading::Closed if unit == Unit::Ohms && band.low > BEEPER_OHMS => Verdict::Shorted,
        Reading::Overload | Reading::Closed | Reading::Unstable => Verdict::CannotTell,
    }
}

/// A beep or none. None where there is a path of more ohms than make it beep is as it must be.
fn beep_of(reading: Reading, healthy: &Prediction) -> Verdict {
    match (reading, healthy) {
        (Reading::Overload, Prediction::Value { low, .. }) if *low > BEEPER_OHMS => Verdict::InLimits,
        _ => reading_of(reading, Unit::Ohms, healthy),
    }
}

/// A reading where there must be no path.
fn where_none_must_be(reading: Reading, unit: Unit) -> Verdict {
    match reading {
        Reading::Overload => Verdict::InLimits,
        Reading::Closed => Verdict::Shorted,
        Reading::Unstable => Verdict::CannotTell,
        Reading::Value(quantity) => match value_in(quantity, unit) {
            None => Verdict::CannotTell,
            Some(ohms) if ohms >= NO_PATH_OHMS => Verdict::InLimits,
            Some(ohms) if ohms <= BEEPER_OHMS => Verdict::Shorted,
            Some(_) => Verdict::OutOfLimits,
        },
    }
}

/// A number where a number must be.
fn number(quantity: Quantity, unit: Unit, band: Band) -> Verdict {
    let (Some(value), Some(step)) = (value_in(quantity, unit), step_in(quantity, unit)) else {
        return Verdict::CannotTell;
    };
    let uncertainty = rectangular(ACCURACY * value.abs())
        .hypot(rectangular(step / 2.0))
        .hypot(floor(unit))
        .max(f64::MIN_POSITIVE);
    let nothing = nothing(unit);
    let (low, high) = if band.nominal <= nothing {
        (f64::NEG_INFINITY, band.high.max(nothing))
    } else {
        (band.low, band.high)
    };
    let conforms = conformance(value, uncertainty, low, high);
    let expected = band.nominal.max(nothing);
    if conforms >= SURE {
        Verdict::InLimits
    } else if conforms > 1.0 - SURE {
        Verdict::CannotTell
    } else if unit == Unit::Ohms && value >= DECIDEDLY * expected {
        Verdict::Open
    } else if unit == Unit::Ohms && value <= (expected / DECIDEDLY).max(nothing) {
        Verdict::Shorted
    } else if band.class {
        Verdict::Odd
    } else {
        Verdict::OutOfLimits
    }
}

/// What still counts as nothing: ohms of a contact (sheets: good below 1 Ω, dirty above 2 Ω), volts across one
/// (common practice). Other instruments have no such thing.
const fn nothing(unit: Unit) -> f64 {
    match unit {
        Unit::Ohms => 1.5,
        Unit::Volts => 3.0,
        _ => f64::NEG_INFINITY,
    }
}
