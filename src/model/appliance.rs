//! An appliance model, checked: names resolved, nothing left to doubt.
//!
//! What the meter would show is asked of [`Appliance::predict`]; everything else here is plain facts.

mod measurement;

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::circuit::Netlist;
use crate::hazard::Hazard;
use crate::id::{ApplianceId, CheckId, ComplaintId, FaultId, NodeId, PartId, PointId, RemedyId, StateId};
use crate::model::wiring::Wiring;
use crate::quantity::Unit;

pub use measurement::{Function, Measurement, Site};

/// A machine that can be diagnosed.
#[derive(Clone, Debug)]
pub struct Appliance {
    /// Its name in files and on the command line: `dryer-240`.
    pub id: ApplianceId,
    /// Its name as said: "electric dryer".
    pub name: String,
    /// The ways a technician may name it.
    pub say: Vec<String>,
    /// How many years such machines last that nobody repairs, where that is known.
    pub lasts: Option<f64>,
    /// How it is cut off, as said: "Unplug the dryer and keep the plug in sight."
    pub isolate: String,
    /// Where the meter is proved, as said: "the wall outlet".
    pub known_source: String,
    /// What the known source reads, in volts, at the least and at the most.
    pub known_source_volts: (f64, f64),
    /// The pairs of points that must read zero before the work counts as dead.
    pub prove_dead: Vec<(PointId, PointId)>,
    /// Where leads may go.
    pub points: Vec<Point>,
    /// What can be bought and fitted.
    pub parts: Vec<Part>,
    /// The states the machine can be put in.
    pub states: Vec<State>,
    /// What customers say is wrong.
    pub complaints: Vec<Complaint>,
    /// What can have failed, most trades' order of suspicion first.
    pub faults: Vec<Fault>,
    /// What can be done about it.
    pub remedies: Vec<Remedy>,
    /// What can be measured or looked at, in the order of the trade's checklist.
    pub checks: Vec<Check>,
    /// What must not be forgotten before leaving.
    pub closing: Vec<ClosingItem>,
    /// What this program does not do on this machine, as said.
    pub refuses: Vec<String>,
    /// What can be set without fitting a part.
    pub adjustments: Vec<Adjustment>,
    /// The circuits that may be inside, where that is not known: the file's own first, the only one if it is known.
    pub candidates: Vec<Candidate>,
    /// The circuit, in every state and under every fault.
    pub(crate) wiring: Wiring,
    /// What every check would show, with nothing wrong and under every fault; filled when the model is loaded.
    pub(crate) predictions: Predictions,
    /// The file's name and text.
    pub(crate) file: (Arc<str>, Arc<str>),
}

/// Check, then candidate and fault or none, to what is shown.
pub(crate) type Predictions = BTreeMap<CheckId, BTreeMap<(usize, Option<FaultId>), Prediction>>;

/// One of the circuits that may be inside a machine of this class.
#[derive(Clone, Debug)]
pub struct Candidate {
    /// Its name in the file; the appliance's own for the circuit as the file has it.
    pub id: String,
    /// Its name as said: "heater on the neutral side".
    pub name: String,
    /// The share of machines that have it; all shares sum to one.
    pub share: f64,
}

impl Appliance {
    /// What a check would show under a fault, or with nothing wrong.
    ///
    /// Asked of the circuit for measurements and of the file for observations and gauges. Everything was worked
    /// out when the model was loaded, so asking costs a look-up. A fault that the model does not know changes nothing.
    ///
    /// # Panics
    /// If the check is not one of this appliance's own.
    pub fn predict(&self, check: &Check, fault: Option<&FaultId>) -> Prediction {
        self.predict_in(0, check, fault)
    }

    /// The same with one of the [`candidates`](Self::candidates) inside.
    ///
    /// # Panics
    /// If the check or the candidate is not one of this appliance's own.
    pub fn predict_in(&self, candidate: usize, check: &Check, fault: Option<&FaultId>) -> Prediction {
        let shown = self.predictions.get(&check.id).expect("a check of this appliance is predicted at load");
        shown
            .get(&(candidate, fault.cloned()))
            .or_else(|| shown.get(&(candidate, None)))
            .expect("a check is predicted with nothing wrong")
            .clone()
    }

    /// The circuit in a state, with nothing wrong or under a fault.
    pub fn circuit(&self, state: &State, fault: Option<&FaultId>) -> Netlist {
        self.circuit_in(0, state, fault)
    }

    /// The same with one of the [`candidates`](Self::candidates) inside; one that is not there is the file's own.
    pub fn circuit_in(&self, candidate: usize, state: &State, fault: Option<&FaultId>) -> Netlist {
        self.circuit_with(candidate, state, fault)
    }

    /// The same under any number of faults at once.
    pub fn circuit_with<'a>(
        &self,
        candidate: usize,
        state: &State,
        faults: impl IntoIterator<Item = &'a FaultId>,
    ) -> Netlist {
        self.wiring.circuit(candidate, state, faults)
    }

    /// The node of the circuit that a point is on.
    pub fn node(&self, point: &PointId) -> Option<&NodeId> {
        self.wiring.nodes.get(point)
    }

    /// The check of this name.
    pub fn check(&self, id: &CheckId) -> Option<&Check> {
        self.checks.iter().find(|c| c.id == *id)
    }

    /// The fault of this name.
    pub fn fault(&self, id: &FaultId) -> Option<&Fault> {
        self.faults.iter().find(|f| f.id == *id)
    }

    /// The remedy of this name.
    pub fn remedy(&self, id: &RemedyId) -> Option<&Remedy> {
        self.remedies.iter().find(|r| r.id == *id)
    }

    /// The point of this name.
    pub fn point(&self, id: &PointId) -> Option<&Point> {
        self.points.iter().find(|p| p.id == *id)
    }

    /// The state of this name.
    pub fn state(&self, id: &StateId) -> Option<&State> {
        self.states.iter().find(|s| s.id == *id)
    }

    /// The complaint of this name.
    pub fn complaint(&self, id: &ComplaintId) -> Option<&Complaint> {
        self.complaints.iter().find(|c| c.id == *id)
    }

    /// A point's name as said; as the file has it, if it is not one of this appliance's own.
    pub fn point_name(&self, id: &PointId) -> String {
        self.point(id).map_or_else(|| id.to_string(), |point| point.name.clone())
    }

    /// A part's name as said; as the file has it, if it is not one of this appliance's own.
    pub fn part_name(&self, id: &PartId) -> String {
        self.part(id).map_or_else(|| id.to_string(), |part| part.name.clone())
    }

    /// The part of this name.
    pub fn part(&self, id: &PartId) -> Option<&Part> {
        self.parts.iter().find(|p| p.id == *id)
    }
}

/// A screw, a lever, a spring: what can be set without fitting a part.
#[derive(Clone, Debug)]
pub struct Adjustment {
    /// Its name in the file.
    pub id: String,
    /// Its name as said: "fill screw".
    pub name: String,
    /// The remedy that turns it up.
    pub more: RemedyId,
    /// The remedy that turns it down.
    pub less: RemedyId,
    /// Which way does what, as said: "Clockwise for less water."
    pub direction: String,
    /// What may never be exceeded, as said: "Never more than one full turn either way."
    pub limit: String,
    /// The most turns either way.
    pub most_turns: f64,
    /// What a number of turns changes, smallest first.
    pub steps: Vec<AdjustmentStep>,
    /// Where the figures come from and which others are published.
    pub note: String,
}

/// What a number of turns of an adjustment changes.
#[derive(Clone, Debug, PartialEq)]
pub struct AdjustmentStep {
    /// Turns, one way.
    pub turns: f64,
    /// Water, in millilitres (cubic centimetres).
    pub millilitres: f64,
    /// Seconds that the valve stays open for it.
    pub seconds: f64,
}

/// Where a lead goes.
#[derive(Clone, Debug)]
pub struct Point {
    /// Its name in the file: `L`, `element-1`.
    pub id: PointId,
    /// The name we say: "L", "element one".
    pub name: String,
    /// Every name we understand, ours first.
    pub say: Vec<String>,
    /// Where it is, in one short sentence.
    pub place: String,
}

/// A part of the machine.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its name in the file.
    pub id: PartId,
    /// Its name as said: "heating element".
    pub name: String,
    /// The ways a technician may name it who reads out its rating plate; empty if it has none worth reading.
    pub say: Vec<String>,
}

/// A state the machine can be put in.
#[derive(Clone, Debug)]
pub struct State {
    /// Its name in the file.
    pub id: StateId,
    /// Its name as said: "unplugged", "running with heat called".
    pub name: String,
    /// Is the supply on?
    pub energised: bool,
    /// What the technician does to get there, as said.
    pub make: String,
    /// Minutes to get there from the machine at rest.
    pub minutes: f64,
    /// What is dangerous in this state and where, as said: "Two hundred forty volts at the terminal block."
    pub danger: Option<String>,
    /// What is bridged for this state and how, as said; put in and taken out only at dead work.
    pub jumper: Option<String>,
}

/// What a customer says is wrong.
#[derive(Clone, Debug)]
pub struct Complaint {
    /// Its name in the file.
    pub id: ComplaintId,
    /// Its name as said: "no heat".
    pub name: String,
    /// The ways it may be said, ours first.
    pub say: Vec<String>,
}

/// A part and how it failed.
#[derive(Clone, Debug)]
pub struct Fault {
    /// Its name in the file.
    pub id: FaultId,
    /// The part that failed.
    pub part: PartId,
    /// As said: "the heating element is open".
    pub name: String,
    /// Relative frequency under each complaint it can cause, 1 rare to 10 common.
    pub weight: BTreeMap<ComplaintId, f64>,
    /// What mends it.
    pub remedy: RemedyId,
    /// Where it comes from.
    pub origin: Origin,
    /// The faults that may have brought it about, each with the share of cases in which it did.
    pub brought_by: BTreeMap<FaultId, f64>,
    /// How often a reading that it moves keeps moving by itself: a burnt terminal, worn brushes. Below one.
    pub wavers: f64,
}

/// Where a fault comes from, and so whether anything of the machine is to be repaired.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Origin {
    /// The machine: a part that wore or broke.
    Machine,
    /// What the house brings to it: power, water, a drain, a vent.
    House,
    /// How it is used: set, loaded, cleaned, shut.
    Use,
}

/// What to replace or adjust.
#[derive(Clone, Debug)]
pub struct Remedy {
    /// Its name in the file.
    pub id: RemedyId,
    /// As said: "Replace the heating element."
    pub say: String,
    /// How it is sold, as said: "Sold with its housing as one assembly."
    pub sold: Option<String>,
    /// The cause behind the part to look for, as said.
    pub cause: Option<String>,
    /// A caution that belongs to this work, as said.
    pub caution: Option<String>,
    /// Minutes of work.
    pub minutes: f64,
    /// Price of what is fitted, in classes: 0 nothing, 1 small part, 2 assembly, 3 a machine's worth.
    pub price: u8,
}

/// One thing to do and report.
#[derive(Clone, Debug)]
pub struct Check {
    /// Its name in the file.
    pub id: CheckId,
    /// For the screen and the report: "Element, end to end".
    pub title: String,
    /// What is to be done and reported.
    pub kind: CheckKind,
    /// The state the machine must be in.
    pub state: StateId,
    /// Minutes from that state to the reading taken.
    pub minutes: f64,
    /// What can hurt.
    pub hazards: Vec<Hazard>,
    /// What must be done first, as said: "Lift one wire off the element."
    pub before: Option<String>,
    /// Why it must be live, as said; present exactly where the state is energised and the check is a measurement.
    pub why_live: Option<String>,
}

impl CheckKind {
    /// An outcome as it is said first; its name where nothing is known of it.
    pub fn outcome<'a>(&'a self, name: &'a str) -> &'a str {
        let Self::Observe(observation) = self else { return name };
        let known = observation.outcomes.iter().find(|outcome| outcome.name == name);
        known.and_then(|outcome| outcome.say.first()).map_or(name, String::as_str)
    }

    /// Is this one of the outcomes that can be seen?
    pub fn has_outcome(&self, name: &str) -> bool {
        matches!(self, Self::Observe(observation) if observation.outcomes.iter().any(|outcome| outcome.name == name))
    }
}

impl Check {
    /// The two points that leads go to; `None` where nothing is touched.
    pub const fn points(&self) -> Option<(&PointId, &PointId)> {
        match &self.kind {
            CheckKind::Measure(measurement) => measurement.points(),
            CheckKind::Observe(_) | CheckKind::Gauge(_) => None,
        }
    }
}

/// What is to be done and reported.
#[derive(Clone, Debug)]
pub enum CheckKind {
    /// A meter.
    Measure(Measurement),
    /// Something to look at, listen to or try.
    Observe(Observation),
    /// Another instrument: a thermometer, a clock. The circuit does not predict it; the file does.
    Gauge(Gauge),
}

/// Something to look at, listen to or try.
#[derive(Clone, Debug)]
pub struct Observation {
    /// As asked: "Does the drum turn?"
    pub question: String,
    /// What can be seen.
    pub outcomes: Vec<Outcome>,
    /// Probability of each outcome (as `outcomes`) when nothing is wrong, or for faults not named in `given`.
    pub otherwise: Vec<f64>,
    /// Probability of each outcome under a fault.
    pub given: BTreeMap<FaultId, Vec<f64>>,
}

/// One thing that can be seen.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// Its name in the file.
    pub name: String,
    /// The ways it may be said, ours first.
    pub say: Vec<String>,
}

/// A thermometer, a clock, a measuring cup.
#[derive(Clone, Debug)]
pub struct Gauge {
    /// As asked: "Freezer air temperature?"
    pub question: String,
    /// The unit a reading without one is in.
    pub unit: Unit,
    /// What is read, at the least and at the most, when nothing is wrong or for faults not named in `given`.
    pub otherwise: (f64, f64),
    /// What is read under a fault.
    pub given: BTreeMap<FaultId, (f64, f64)>,
    /// Where the figures come from.
    pub provenance: Provenance,
}

/// Something that must not be forgotten before leaving.
#[derive(Clone, Debug)]
pub struct ClosingItem {
    /// Its name in the file.
    pub id: String,
    /// As said: "Fill tube back in its cup."
    pub say: String,
    /// May it be answered "does not apply"?
    pub optional: bool,
}

impl ClosingItem {
    /// The item that says that the machine ran well, by its name in every file: what was advised is confirmed by it.
    pub const TRIAL_RUN: &str = "test-run";
}

/// Where an expected value comes from, and so what may be said of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Provenance {
    /// Rating plate or the model's own technical sheet.
    Plate,
    /// Computed, as V²/P.
    Computed,
    /// What machines of this class usually have: can say open, shorted or odd, never "out of limits".
    ClassDefault,
}

/// What a check would show.
#[derive(Clone, Debug, PartialEq)]
pub enum Prediction {
    /// A number: most likely value and the band that parts' tolerance and the meter's accuracy allow
    /// (a 95 % interval), in the unit of the check without prefix.
    Value {
        /// Most likely.
        nominal: f64,
        /// Lower end of the band.
        low: f64,
        /// Upper end of the band.
        high: f64,
        /// Where the values of the parts come from: the weakest on the path.
        provenance: Provenance,
    },
    /// More than the meter can show.
    Overload,
    /// Probability of each outcome of an observation, in the order of the model.
    Outcomes(Vec<f64>),
}
