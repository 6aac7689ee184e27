//! What the customer tells of the complaint moves what is believed before anything is found.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::id::{ComplaintId, PartId};
use crate::model::appliance::{Appliance, Fault, Origin, Part};

use super::Diagnosis;
use super::hypothesis::Hypothesis;
use super::trouble::Trouble;

/// An answer of the customer's.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Told {
    /// Does it come and go? `None` where nobody knows.
    Recurs(Option<bool>),
    /// A part that was replaced for it already; `None` where none was, as far as anybody knows.
    Replaced(Option<PartId>),
}

/// How often it is said to come and go: where a contact wavers, where a part has failed for good, and where nothing is
/// found to have failed (working values, no source).
const WAVERING: f64 = 0.6;
const FOR_GOOD: f64 = 0.1;
const NOTHING: f64 = 0.3;

/// How much less probable a fault is in a part that was replaced for the complaint: the new one is bad, badly fitted, or
/// the wrong one (a working value).
const RENEWED: f64 = 0.1;

impl Diagnosis {
    /// The same, where the customer told this too. The order of what is told does not matter; it is told before anything
    /// is found.
    #[must_use]
    pub fn told(&self, appliance: &Appliance, told: &Told) -> Self {
        let causes = self.trouble.hypotheses.iter().zip(&self.trouble.prior);
        let weighed: Vec<f64> = causes.map(|(cause, p)| p * likelihood(appliance, cause, told)).collect();
        let total: f64 = weighed.iter().sum();
        let prior = weighed.iter().map(|p| p / total).collect();
        let trouble = Trouble { prior, ..Trouble::clone(&self.trouble) };
        Self {
            history: self.history.iter().chain([told]).cloned().collect(),
            pairs: self.pairs.as_ref().map(|pairs| Arc::new(pairs.under(&trouble))),
            trouble: Arc::new(trouble),
            ..self.clone()
        }
    }

    /// What the customer told, in order.
    pub fn history(&self) -> &[Told] {
        &self.history
    }
}

/// How probable an answer is under a cause.
fn likelihood(appliance: &Appliance, cause: &Hypothesis, told: &Told) -> f64 {
    match told {
        Told::Recurs(None) | Told::Replaced(None) => 1.0,
        Told::Recurs(Some(true)) => recurs(appliance, cause),
        Told::Recurs(Some(false)) => 1.0 - recurs(appliance, cause),
        Told::Replaced(Some(part)) => {
            // What brought a fault about does so to the new part too.
            let root = cause.faults().last().and_then(|fault| appliance.fault(fault));
            if root.is_some_and(|fault| fault.part == *part) { RENEWED } else { 1.0 }
        }
    }
}

/// How probably a cause is said to come and go.
pub fn recurs(appliance: &Appliance, cause: &Hypothesis) -> f64 {
    let wavers = |fault| appliance.fault(fault).is_some_and(|fault| fault.wavers > 0.0);
    match cause {
        Hypothesis::AllGood => NOTHING,
        cause if cause.faults().any(wavers) => WAVERING,
        _ => FOR_GOOD,
    }
}

/// Would it tell anything whether a complaint comes and goes? It does where a contact that wavers may be behind it.
pub fn recurring_tells(appliance: &Appliance, complaint: &ComplaintId) -> bool {
    faults(appliance, complaint).any(|fault| fault.wavers > 0.0)
}

/// The parts that may be behind a complaint, and would have been replaced for it.
pub fn suspects<'a>(appliance: &'a Appliance, complaint: &ComplaintId) -> impl Iterator<Item = &'a Part> {
    let machine: Vec<&Fault> =
        faults(appliance, complaint).filter(|fault| fault.origin == Origin::Machine).collect();
    appliance.parts.iter().filter(move |part| machine.iter().any(|fault| fault.part == part.id))
}

fn faults<'a>(appliance: &'a Appliance, complaint: &ComplaintId) -> impl Iterator<Item = &'a Fault> {
    appliance.faults.iter().filter(move |fault| fault.weight.contains_key(complaint))
}
