//! How probable a finding is, given what a check would show.
//!
//! A number is the interval that its last digit leaves open, and its probability is the predicted distribution's mass
//! over that interval; so a number, an overload and an outcome weigh on one scale. Every finding may also be a
//! *wrong reading* (lead not in the hole, misread, misheard), so nothing is ever impossible.

use crate::model::appliance::{Prediction, Provenance};
use crate::quantity::{Quantity, Unit};
use crate::reading::{Finding, Reading};

use super::normal;

/// The share of findings that say nothing about the machine: lead not in the hole, misread, misheard.
///
/// A working value: 1 % wrong readings accepted and 2–3 % misplaced leads. What spoils many readings at once is another
/// thing ([`super::instrument`]).
pub const WRONG_READING: f64 = 0.03;

/// The share of readings that do not settle though the circuit is sound: any can be touched badly (common practice).
const TOUCHED_BADLY: f64 = 0.01;

/// A beeper sounds below some tens of ohms (common practice; meters differ from 20 to 80 Ω).
pub(super) const BEEPER_OHMS: f64 = 40.0;

/// What leads and contacts add to ohms, and pick-up to volts, one standard deviation (common practice: leads
/// 0.1–0.4 Ω, open leads a few tenths of a volt).
const LEADS_OHMS: f64 = 0.3;
const PICK_UP_VOLTS: f64 = 0.5;

/// Class defaults are known to a factor of four either way (inlet valves of one class differ tenfold).
const CLASS_LOG_SD: f64 = std::f64::consts::LN_2;

/// A band wider than this factor is wide in proportion, not in steps.
const DECADES: f64 = 3.0;

/// What is asked for: a number in a unit, or one of some outcomes.
#[derive(Clone, Debug, PartialEq)]
pub enum Asked {
    /// A number; readings without a unit are in this one.
    Number(Unit),
    /// Whether a continuity range beeps; a number of ohms says that too.
    Beep,
    /// One of these outcomes, by name, in the order of the model.
    Outcome(Vec<String>),
}

/// Probability of a finding under a prediction, where `wrong` is the share of findings that say nothing.
///
/// A finding that does not fit the question (an outcome that it does not have, volts where ohms were asked) tells
/// nothing: it is equally probable under every prediction.
pub fn likelihood(finding: &Finding, prediction: &Prediction, asked: &Asked, wrong: f64) -> f64 {
    match (finding, asked) {
        (Finding::Outcome(name), Asked::Outcome(names)) => {
            let index = names.iter().position(|n| n == name);
            index.map_or(WRONG_READING, |index| outcome(index, names.len(), prediction, wrong))
        }
        (Finding::Reading(reading), Asked::Number(unit)) => shown(*reading, prediction, *unit, wrong),
        (Finding::Reading(Reading::Overload), Asked::Beep) => beep(false, prediction, wrong),
        (Finding::Reading(reading), Asked::Beep) => shown(*reading, prediction, Unit::Ohms, wrong),
        _ => WRONG_READING,
    }
}

/// Probability that a reading does not settle, where the machine itself makes it waver so often; taken again and the
/// same, it would have to be touched badly twice.
pub fn unsettled(wavers: f64, again: bool) -> f64 {
    let touched = if again { TOUCHED_BADLY * TOUCHED_BADLY } else { TOUCHED_BADLY };
    wavers + (1.0 - wavers) * touched
}

/// Probability of the outcome at `index`, of `count`.
pub fn outcome(index: usize, count: usize, prediction: &Prediction, wrong: f64) -> f64 {
    let right = match prediction {
        Prediction::Outcomes(p) => p.get(index).copied().unwrap_or(0.0),
        Prediction::Value { .. } | Prediction::Overload => 1.0 / count as f64,
    };
    mix(right, 1.0 / count as f64, wrong)
}

/// The part of a finding's probability, the same under every prediction, that is owed to wrong readings.
pub fn wrong_reading(finding: &Finding, asked: &Asked, wrong: f64) -> f64 {
    let nothing_right = match asked {
        Asked::Outcome(names) => Prediction::Outcomes(vec![0.0; names.len()]),
        Asked::Number(_) | Asked::Beep => Prediction::Outcomes(vec![]),
    };
    likelihood(finding, &nothing_right, asked, wrong)
}

fn shown(reading: Reading, prediction: &Prediction, unit: Unit, wrong: f64) -> f64 {
    match reading {
        Reading::Value(quantity) => match interval(quantity, unit) {
            Some((low, high)) => between(low, high, prediction, unit, wrong),
            None => WRONG_READING,
        },
        Reading::Overload => overload(prediction, unit, wrong),
        Reading::Closed if unit == Unit::Ohms => {
            between(f64::NEG_INFINITY, BEEPER_OHMS, prediction, unit, wrong)
        }
        Reading::Unstable => TOUCHED_BADLY,
        // A beeper says nothing about volts.
        Reading::Closed => WRONG_READING,
    }
}

/// Probability that the beeper sounds, or that it does not.
pub fn beep(sounds: bool, prediction: &Prediction, wrong: f64) -> f64 {
    let below = |p| between(f64::NEG_INFINITY, BEEPER_OHMS, p, Unit::Ohms, wrong);
    match (sounds, prediction) {
        (true, prediction) => below(prediction),
        // What predicts nothing leaves only the wrong readings.
        (false, Prediction::Outcomes(_)) => wrong - below(prediction),
        (false, prediction) => 1.0 - below(prediction),
    }
}

/// Probability of a number between `low` and `high`, in the unit without prefix.
pub fn between(low: f64, high: f64, prediction: &Prediction, unit: Unit, wrong: f64) -> f64 {
    mix(Spread::of(prediction, unit).mass(low, high), wrong_between(low, high, unit), wrong)
}

/// Probability of an overload.
pub fn overload(prediction: &Prediction, unit: Unit, wrong: f64) -> f64 {
    let right = match prediction {
        Prediction::Overload if unit == Unit::Ohms => 1.0 - NEARLY_OVERLOAD,
        Prediction::Overload => 1.0,
        Prediction::Value { .. } | Prediction::Outcomes(_) => 0.0,
    };
    mix(right, WrongReading::of(unit).overload, wrong)
}

/// A finding is right, or one of the share of those that say nothing.
fn mix(right: f64, nothing: f64, wrong: f64) -> f64 {
    (1.0 - wrong) * right + wrong * nothing
}

/// What the last digit of a quantity leaves open, in `unit`; `None` if it is in a unit of another kind.
fn interval(quantity: Quantity, unit: Unit) -> Option<(f64, f64)> {
    let (value, half) = (quantity.value(), quantity.resolution() / 2.0);
    Some((convert(value - half, quantity.unit, unit)?, convert(value + half, quantity.unit, unit)?))
}

/// A quantity in `unit` without prefix; `None` if it is in a unit of another kind.
pub fn value_in(quantity: Quantity, unit: Unit) -> Option<f64> {
    convert(quantity.value(), quantity.unit, unit)
}

/// What one step of the last digit is worth, in `unit` without prefix.
pub fn step_in(quantity: Quantity, unit: Unit) -> Option<f64> {
    interval(quantity, unit).map(|(low, high)| high - low)
}

fn convert(value: f64, from: Option<Unit>, to: Unit) -> Option<f64> {
    let degrees = |unit| matches!(unit, Unit::Degrees | Unit::Celsius | Unit::Fahrenheit);
    match (from, to) {
        (None, _) => Some(value),
        (Some(from), to) if from == to => Some(value),
        (Some(Unit::Celsius), Unit::Fahrenheit) => Some(value * 1.8 + 32.0),
        (Some(Unit::Fahrenheit), Unit::Celsius) => Some((value - 32.0) / 1.8),
        (Some(from), to) if degrees(from) && degrees(to) => Some(value),
        _ => None,
    }
}

/// A meter that should show an overload shows a huge number instead, this often.
const NEARLY_OVERLOAD: f64 = 0.05;
/// Such a number is at least this many ohms.
const NEARLY_OVERLOAD_OHMS: (f64, f64) = (1e6, 1e8);

/// A predicted number as a distribution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Spread {
    /// Symmetric in the number.
    Linear { mean: f64, sd: f64 },
    /// Symmetric in its logarithm.
    Log { mean: f64, sd: f64 },
    /// Spread evenly over the decades of a huge number, this share of the time.
    Huge { share: f64 },
    /// Not a number.
    None,
}

impl Spread {
    pub(super) fn of(prediction: &Prediction, unit: Unit) -> Self {
        match *prediction {
            Prediction::Value { nominal, low, high, provenance } => {
                Self::of_band(nominal, low, high, provenance, unit)
            }
            Prediction::Overload if unit == Unit::Ohms => Self::Huge { share: NEARLY_OVERLOAD },
            Prediction::Overload | Prediction::Outcomes(_) => Self::None,
        }
    }

    /// A 95 % band: ± 1.96 standard deviations about the nominal value.
    fn of_band(nominal: f64, low: f64, high: f64, provenance: Provenance, unit: Unit) -> Self {
        const Z95: f64 = 1.959_964;
        let floor = floor(unit);
        let class = provenance == Provenance::ClassDefault && unit == Unit::Ohms;
        // A class default near zero is a contact: what varies is the leads.
        let class = class && nominal > 3.0 * floor;
        if low > 0.0 && nominal > 0.0 && (class || high / low > DECADES) {
            let sd = (high / low).ln() / (2.0 * Z95);
            let sd = if class { sd.max(CLASS_LOG_SD) } else { sd };
            return Self::Log { mean: nominal.ln(), sd: sd.hypot(floor / nominal) };
        }
        Self::Linear { mean: nominal, sd: ((high - low) / (2.0 * Z95)).hypot(floor) }
    }

    /// Where nearly all of it lies: at the least, most likely, at the most; `None` if it is no number.
    pub(super) fn reach(self) -> Option<(f64, f64, f64)> {
        const NEARLY_ALL: f64 = 4.0;
        match self {
            Self::Linear { mean, sd } => Some((mean - NEARLY_ALL * sd, mean, mean + NEARLY_ALL * sd)),
            Self::Log { mean, sd } => {
                Some(((mean - NEARLY_ALL * sd).exp(), mean.exp(), (mean + NEARLY_ALL * sd).exp()))
            }
            Self::Huge { .. } => {
                let (least, most) = NEARLY_OVERLOAD_OHMS;
                Some((least, (least * most).sqrt(), most))
            }
            Self::None => None,
        }
    }

    /// Probability of a number above `low`, at most `high`.
    fn mass(self, low: f64, high: f64) -> f64 {
        let ln = |x: f64| if x > 0.0 { x.ln() } else { f64::NEG_INFINITY };
        match self {
            Self::Linear { mean, sd } => normal::mass(mean, sd, low, high),
            Self::Log { mean, sd } => normal::mass(mean, sd, ln(low), ln(high)),
            Self::Huge { share } => {
                let (least, most) = NEARLY_OVERLOAD_OHMS;
                let decades = ln(high.clamp(least, most)) - ln(low.clamp(least, most));
                share * decades.max(0.0) / (most / least).ln()
            }
            Self::None => 0.0,
        }
    }
}

/// What leads, contacts and pick-up add to any number, one standard deviation.
pub(super) const fn floor(unit: Unit) -> f64 {
    match unit {
        Unit::Ohms => LEADS_OHMS,
        Unit::Volts => PICK_UP_VOLTS,
        _ => 0.0,
    }
}

/// What a wrong reading looks like.
struct WrongReading {
    /// The share that shows an overload: ohms with a lead in the air.
    overload: f64,
    /// The share that shows nearly nothing: volts with a lead in the air.
    nothing: f64,
}

impl WrongReading {
    const fn of(unit: Unit) -> Self {
        match unit {
            Unit::Ohms => Self { overload: 0.5, nothing: 0.0 },
            Unit::Volts => Self { overload: 0.02, nothing: 0.5 },
            _ => Self { overload: 0.02, nothing: 0.0 },
        }
    }
}

/// Wrong numbers spread evenly over decades, either sign, from about a unit to a hundred million.
fn wrong_between(low: f64, high: f64, unit: Unit) -> f64 {
    const MOST: f64 = 1e8;
    let WrongReading { overload, nothing } = WrongReading::of(unit);
    // The negative half is a tenth: meters in the hands of this trade rarely show a minus sign.
    let at = |x: f64| if x >= 0.0 { x.min(MOST).asinh() } else { -0.1 * (-x).min(MOST).asinh() };
    let all = at(f64::INFINITY) - at(f64::NEG_INFINITY);
    let anywhere = (at(high) - at(low)).max(0.0) / all;
    nothing * normal::mass(0.0, 1.0, low, high) + (1.0 - overload - nothing) * anywhere
}
