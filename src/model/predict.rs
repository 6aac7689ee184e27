//! What every check of an appliance would show, under every fault: worked out once, when the model is loaded.
//!
//! Many checks look at the same circuit, so each circuit is solved once.

use std::collections::BTreeMap;

use crate::circuit::{Band, Current, Edit, Flaw, Meter, Netlist, Shown, Solution};
use crate::id::{ElementId, FaultId, StateId};
use crate::model::appliance::{
    Appliance, Check, CheckKind, Gauge, Measurement, Observation, Prediction, Predictions, Provenance, Site,
};

/// An element decides where a reading comes from if one per cent of its value moves the reading by this many.
const MATERIAL: f64 = 0.05;

/// What distinguishes one circuit to be solved from another.
type Which = (usize, StateId, Vec<FaultId>, Vec<ElementId>, Current);

/// Fills the table of predictions.
///
/// # Errors
/// What is wrong with the circuit, should a state or a fault make it unsolvable.
pub(super) fn predictions(appliance: &Appliance) -> Result<Predictions, Vec<Flaw>> {
    let mut solved: BTreeMap<Which, Solution> = BTreeMap::new();
    let mut predictions = Predictions::new();
    for check in &appliance.checks {
        let row = predictions.entry(check.id.clone()).or_default();
        let faults = || std::iter::once(None).chain(appliance.faults.iter().map(|f| Some(f.id.clone())));
        let candidates = 0..appliance.candidates.len();
        for (candidate, fault) in candidates.flat_map(|c| faults().map(move |fault| (c, fault))) {
            let shown = match &check.kind {
                CheckKind::Measure(measurement) => {
                    let which = (candidate, fault.as_slice());
                    let solution = solution(appliance, check, measurement, which, &mut solved)?;
                    measured(appliance, measurement, solution)
                }
                CheckKind::Observe(observation) => {
                    let given = fault.as_ref().and_then(|fault| observation.given.get(fault));
                    Prediction::Outcomes(given.unwrap_or(&observation.otherwise).clone())
                }
                CheckKind::Gauge(gauge) => gauged(gauge, fault.as_ref()),
            };
            row.insert((candidate, fault), shown);
        }
    }
    Ok(predictions)
}

fn solution<'a>(
    appliance: &Appliance,
    check: &Check,
    measurement: &Measurement,
    (candidate, faults): (usize, &[FaultId]),
    solved: &'a mut BTreeMap<Which, Solution>,
) -> Result<&'a Solution, Vec<Flaw>> {
    let current = measurement.function.current();
    let which = (candidate, check.state.clone(), faults.to_vec(), measurement.lifts.clone(), current);
    if !solved.contains_key(&which) {
        let circuit = appliance.circuit_at(candidate, check, measurement, faults);
        solved.insert(which.clone(), circuit.solve(current)?);
    }
    Ok(solved.get(&which).expect("it was put there above"))
}

fn measured(appliance: &Appliance, measurement: &Measurement, solution: &Solution) -> Prediction {
    match appliance.meter_shows(solution, measurement, &measurement.at) {
        Shown::Overload => Prediction::Overload,
        Shown::Value(band) => {
            let provenance = provenance(appliance, &band);
            Prediction::Value { nominal: band.nominal, low: band.low, high: band.high, provenance }
        }
    }
}

/// The weakest of the elements that move the reading; what a fault put in is nobody's figure.
fn provenance(appliance: &Appliance, band: &Band) -> Provenance {
    let material = band.influence.iter().filter(|(_, share)| share.abs() > MATERIAL);
    let from = material.map(|(element, _)| {
        appliance.wiring.provenance.get(element).copied().unwrap_or(Provenance::ClassDefault)
    });
    from.max().unwrap_or(Provenance::Computed)
}

fn gauged(gauge: &Gauge, fault: Option<&FaultId>) -> Prediction {
    let given = fault.and_then(|fault| gauge.given.get(fault));
    let (low, high) = *given.unwrap_or(&gauge.otherwise);
    Prediction::Value { nominal: f64::midpoint(low, high), low, high, provenance: gauge.provenance }
}

impl Appliance {
    /// What every check would show with two faults at once, in the order of the checks, with one of the
    /// [`candidates`](Self::candidates) inside.
    ///
    /// Measurements are asked of the circuit with both. An observation shows what both say of it: the odds of an outcome
    /// move by what each fault alone makes of them. Another instrument shows what the fault does that moves it furthest.
    /// `None` where the two together leave nothing to be solved, as a supply that they short.
    pub fn predict_both(&self, candidate: usize, a: &FaultId, b: &FaultId) -> Option<Vec<Prediction>> {
        let both = [a.clone(), b.clone()];
        let mut solved = BTreeMap::new();
        let shown = |check: &Check| match &check.kind {
            CheckKind::Measure(measurement) => {
                let solution = solution(self, check, measurement, (candidate, &both), &mut solved).ok()?;
                Some(measured(self, measurement, solution))
            }
            CheckKind::Observe(observation) => Some(Prediction::Outcomes(observation.under_both(a, b))),
            CheckKind::Gauge(gauge) => Some(gauged(gauge, Some(gauge.further(a, b)))),
        };
        self.checks.iter().map(shown).collect()
    }
}

impl Measurement {
    /// The meter as it is set for this.
    pub fn meter(&self) -> Meter {
        let most_ohms = self.most_ohms.unwrap_or(f64::INFINITY).min(Meter::SERVICE.most_ohms);
        Meter { most_ohms, ..Meter::SERVICE }
    }
}

impl Observation {
    /// Probability of each outcome under two faults: proportional to what each makes of it, over what it is with nothing
    /// wrong, which both count.
    fn under_both(&self, a: &FaultId, b: &FaultId) -> Vec<f64> {
        let under = |fault| self.given.get(fault).unwrap_or(&self.otherwise);
        let odds = under(a).iter().zip(under(b)).zip(&self.otherwise).map(|((a, b), good)| a * b / good);
        let odds: Vec<f64> = odds.collect();
        let total: f64 = odds.iter().sum();
        odds.into_iter().map(|p| p / total).collect()
    }
}

impl Gauge {
    /// The one of two faults that moves it further from what it shows with nothing wrong.
    fn further<'a>(&self, a: &'a FaultId, b: &'a FaultId) -> &'a FaultId {
        let middle = |(low, high): (f64, f64)| f64::midpoint(low, high);
        let far = |fault: &FaultId| {
            let given = self.given.get(fault).copied().unwrap_or(self.otherwise);
            (middle(given) - middle(self.otherwise)).abs()
        };
        if far(b) > far(a) { b } else { a }
    }
}

impl Prediction {
    /// Would one reading settle which of two predictions it came from? Numbers whose bands do not meet, a number against
    /// overload, outcomes of which some set is at least a fifth likelier under one than under the other.
    pub fn differs(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Value { low, high, .. }, Self::Value { low: other_low, high: other_high, .. }) => {
                low > other_high || other_low > high
            }
            (Self::Overload, Self::Overload) => false,
            (Self::Outcomes(ours), Self::Outcomes(theirs)) => {
                let apart: f64 = ours.iter().zip(theirs).map(|(a, b)| (a - b).abs()).sum();
                apart / 2.0 >= 0.2
            }
            _ => true,
        }
    }
}

impl Appliance {
    /// The circuit that a measurement is taken from: one of the candidates, in the check's state, with what is lifted off.
    ///
    /// # Panics
    /// If the check is not one of this appliance's own.
    pub fn circuit_at<'a>(
        &self,
        candidate: usize,
        check: &Check,
        measurement: &Measurement,
        faults: impl IntoIterator<Item = &'a FaultId>,
    ) -> Netlist {
        let state = self.state(&check.state).expect("a sound model knows its states");
        let lifted: Vec<Edit> = measurement.lifts.iter().cloned().map(Edit::Open).collect();
        self.wiring.circuit(candidate, state, faults).edited(&lifted)
    }

    /// What the meter shows on a solved circuit of this appliance, set as a measurement wants it and put here.
    ///
    /// # Panics
    /// If it is put on points or round an element that are not this appliance's own.
    pub fn meter_shows(&self, solution: &Solution, measurement: &Measurement, at: &Site) -> Shown {
        let node = |point| self.node(point).expect("a sound model knows the nodes of its points");
        let meter = measurement.meter();
        let shown = match (at, measurement.function.mode()) {
            (Site::Across(from, to), Some(mode)) => solution.probe(mode, node(from), node(to), &meter),
            (Site::Around { element, .. }, _) => solution.clamp(element, &meter),
            (Site::Across(..), None) => None,
        };
        shown.expect("a sound model puts its meter on nodes and round elements of its circuit")
    }

    /// Can this check tell two faults apart, or a fault from nothing wrong?
    pub fn tells_apart(&self, check: &Check, a: Option<&FaultId>, b: Option<&FaultId>) -> bool {
        self.predict(check, a).differs(&self.predict(check, b))
    }

    /// Pairs of faults under one complaint that no check can tell apart.
    pub fn twins(&self) -> Vec<(FaultId, FaultId)> {
        let mut twins = Vec::new();
        for (nth, a) in self.faults.iter().enumerate() {
            for b in &self.faults[nth + 1..] {
                let together = a.weight.keys().any(|complaint| b.weight.contains_key(complaint));
                if together && !self.checks.iter().any(|c| self.tells_apart(c, Some(&a.id), Some(&b.id))) {
                    twins.push((a.id.clone(), b.id.clone()));
                }
            }
        }
        twins
    }
}
