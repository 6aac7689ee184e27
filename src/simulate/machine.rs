//! A machine as it stands in somebody's kitchen: one fault or none, every part somewhere within its tolerance.

use std::collections::BTreeMap;

use crate::circuit::{Element, Meter};
use crate::diagnose::hypothesis::Hypothesis;
use crate::diagnose::remedy;
use crate::diagnose::trouble::Trouble;
use crate::id::{ElementId, FaultId, RemedyId};
use crate::model::appliance::{Appliance, Check, CheckKind, Function, Gauge, Measurement, Prediction, Site};
use crate::quantity::{Decimal, Prefix, Quantity, Unit};
use crate::reading::{Finding, Reading};

use super::dice::Dice;

/// A drawn machine, with the meter that is used on it.
#[derive(Clone, Debug)]
pub struct Machine<'a> {
    /// What it is a machine of.
    pub appliance: &'a Appliance,
    /// What is the matter, as a place among the trouble's hypotheses.
    pub cause: usize,
    faults: Vec<FaultId>,
    inside: usize,
    /// How far each part's value lies from nominal, in standard deviations.
    off: BTreeMap<ElementId, f64>,
    /// How far what moves together lies, by its number.
    together: BTreeMap<u8, f64>,
    leads_ohms: f64,
}

/// The 95 % interval of a value is this many standard deviations either way.
const NINETY_FIVE: f64 = 1.959_964;

impl<'a> Machine<'a> {
    /// A machine under a trouble: what is wrong with it by its frequency, the parts within their tolerance.
    pub fn draw(appliance: &'a Appliance, trouble: &Trouble, dice: &mut Dice) -> Self {
        let cause = dice.pick(&trouble.prior);
        Self::with(appliance, trouble, cause, dice)
    }

    /// The same with what is wrong given, as a place among the trouble's hypotheses.
    pub fn with(appliance: &'a Appliance, trouble: &Trouble, cause: usize, dice: &mut Dice) -> Self {
        let faults = trouble.hypotheses[cause].faults().cloned().collect();
        let inside = cause * appliance.candidates.len() / trouble.hypotheses.len();
        let mut machine = Self {
            appliance,
            cause,
            inside,
            off: BTreeMap::new(),
            together: BTreeMap::new(),
            leads_ohms: dice.share() * Meter::SERVICE.leads_ohms,
            faults,
        };
        if let Some(state) = appliance.states.first() {
            for element in appliance.circuit_with(inside, state, &machine.faults).elements {
                let normal = dice.normal();
                if let Some(group) = element.spread.together {
                    machine.together.entry(group).or_insert(normal);
                }
                machine.off.insert(element.id, normal);
            }
        }
        machine
    }

    /// Does what is done about a cause. What else is wrong stays wrong.
    pub fn mend(&mut self, cause: &Hypothesis, trouble: &Trouble) {
        let done: Vec<&RemedyId> =
            remedy::remedies(cause, self.appliance).into_iter().map(|remedy| &remedy.id).collect();
        let fault = |id: &FaultId| self.appliance.fault(id);
        self.faults.retain(|id| fault(id).is_some_and(|fault| !done.contains(&&fault.remedy)));
        let left = match self.faults.as_slice() {
            [] => Hypothesis::AllGood,
            [one] => Hypothesis::Fault(one.clone()),
            [first, second, ..] => Hypothesis::Both(first.clone(), second.clone()),
        };
        let each = trouble.hypotheses.len() / self.appliance.candidates.len();
        let first = self.inside * each;
        // A fault that cannot cause the complaint alone leaves the machine as good as mended.
        let place = trouble.hypotheses[first..first + each].iter().position(|h| *h == left);
        self.cause = first + place.unwrap_or(0);
    }

    /// Would a trial run show the complaint again?
    pub fn complains(&self, trouble: &Trouble) -> bool {
        trouble.hypotheses[self.cause] != Hypothesis::AllGood
    }

    /// What a check shows, the leads where they belong.
    pub fn shows(&self, check: &Check, trouble: &Trouble, dice: &mut Dice) -> Finding {
        match &check.kind {
            CheckKind::Measure(m) => self.meter_shows(check, m, &m.at, trouble, dice),
            CheckKind::Gauge(gauge) => self.instrument_shows(check, gauge, trouble, dice),
            CheckKind::Observe(observation) => {
                let question = trouble.question(&check.id);
                let odds = match question.map(|q| &q.predictions[self.cause]) {
                    Some(Prediction::Outcomes(odds)) => odds.as_slice(),
                    _ => &observation.otherwise,
                };
                Finding::Outcome(observation.outcomes[dice.pick(odds)].name.clone())
            }
        }
    }

    /// What the meter shows wherever it is put, set as the measurement wants it.
    pub fn meter_shows(
        &self,
        check: &Check,
        measurement: &Measurement,
        at: &Site,
        trouble: &Trouble,
        dice: &mut Dice,
    ) -> Finding {
        if self.wavers(check, trouble, dice) {
            return Finding::Reading(Reading::Unstable);
        }
        let (function, meter) = (measurement.function, measurement.meter());
        let circuit = self.appliance.circuit_at(self.inside, check, measurement, &self.faults);
        let solved = circuit.varied(|element| self.factor(element)).solve(function.current());
        let solved = solved.expect("parts within tolerance leave a circuit as sound as it was");
        let exact = self.appliance.meter_shows(&solved, measurement, at).nominal();
        let most = function.mode().map_or(meter.most_amps, |mode| meter.most(mode));
        let half_width = function.mode().map_or_else(
            || meter.amps_half_width(exact.min(most)),
            |mode| meter.half_width(mode, exact.min(most)),
        );
        let beside = match function.unit() {
            Unit::Ohms => self.leads_ohms,
            Unit::Volts => meter.pickup_volts * dice.share(),
            _ => 0.0,
        };
        let value = (exact + half_width * (2.0 * dice.share() - 1.0) + beside).max(0.0);
        Finding::Reading(match function {
            Function::Continuity if meter.beeps(value) => Reading::Closed,
            Function::Continuity => Reading::Overload,
            _ if value > most => Reading::Overload,
            _ => Reading::Value(said(value, function.unit())),
        })
    }

    /// Does what is wrong keep the reading of a check from settling?
    fn wavers(&self, check: &Check, trouble: &Trouble, dice: &mut Dice) -> bool {
        let share = trouble.question(&check.id).map_or(0.0, |question| question.wavers[self.cause]);
        share > 0.0 && dice.falls(share)
    }

    /// What the meter shows with its leads touched together.
    pub fn leads_together(&self) -> Quantity {
        said(self.leads_ohms, Unit::Ohms)
    }

    /// Another instrument, within what the file gives it.
    fn instrument_shows(&self, check: &Check, gauge: &Gauge, trouble: &Trouble, dice: &mut Dice) -> Finding {
        let (low, high) = match trouble.question(&check.id).map(|q| &q.predictions[self.cause]) {
            Some(Prediction::Value { low, high, .. }) => (*low, *high),
            _ => gauge.otherwise,
        };
        let value = f64::midpoint(low, high) + dice.normal() * (high - low) / (2.0 * NINETY_FIVE);
        let value = if low >= 0.0 { value.max(0.0) } else { value };
        Finding::Reading(Reading::Value(said(value, gauge.unit)))
    }

    /// What an element's nominal value is multiplied by in this machine: log-normal between the ends of its interval.
    fn factor(&self, element: &Element) -> f64 {
        let spread = element.spread;
        let group = spread.together.and_then(|group| self.together.get(&group));
        let normal = group.or_else(|| self.off.get(&element.id)).copied().unwrap_or(0.0);
        let width = if normal < 0.0 { spread.down } else { spread.up };
        (normal * width / NINETY_FIVE).exp()
    }
}

/// A value as a technician says it off the display: about three digits, kilo and mega where they fit, degrees whole.
pub fn said(value: f64, unit: Unit) -> Quantity {
    let (shown, prefix) = match value.abs() {
        n if n >= 1e6 => (value / 1e6, Prefix::Mega),
        n if n >= 1e3 => (value / 1e3, Prefix::Kilo),
        _ => (value, Prefix::One),
    };
    let whole = matches!(unit, Unit::Fahrenheit | Unit::Celsius | Unit::Degrees | Unit::Seconds);
    let places = usize::from(shown.abs() < 100.0 && !whole);
    let number: Decimal = format!("{shown:.places$}").parse().expect("a formatted number of a few digits");
    let number = if number.digits() == 0 { Decimal::whole(0) } else { number };
    Quantity { number, prefix, unit: Some(unit) }
}
