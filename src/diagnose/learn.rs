//! What finished jobs teach about how often each fault comes.
//!
//! The frequencies of a complaint's faults are a Dirichlet distribution. Its counts begin at the weights of the appliance
//! model, so that a weight of six is worth six jobs; every confirmed cause adds one to its fault. The belief before
//! anything is found follows the sums (its mean: Gelman and others, Bayesian Data Analysis, 3.4).

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::id::{ApplianceId, ComplaintId, FaultId};
use crate::model::appliance::{Appliance, Fault};

/// What one closed job may teach.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lesson {
    /// The machine.
    pub appliance: ApplianceId,
    /// What was complained of.
    pub complaint: ComplaintId,
    /// The cause advised last, by its name; perhaps none that is a fault.
    pub cause: String,
    /// What came of it.
    pub proof: Proof,
}

/// What came of the advised work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Proof {
    /// It was done, and the machine ran well afterwards: the cause was the right one.
    Confirmed,
    /// Nobody saw the machine run well.
    None,
    /// The shop was called back, and the callback confirmed a cause of its own.
    Corrected,
    /// The shop was called back, and nobody knows yet what it was.
    CalledBack,
}

/// How many jobs each fault gained, by appliance model and complaint. A share of a job is possible.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Learned {
    counts: BTreeMap<ApplianceId, BTreeMap<ComplaintId, BTreeMap<FaultId, f64>>>,
}

/// A fault's share of a complaint, before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// The fault.
    pub fault: FaultId,
    /// Its share by the appliance model, of one.
    pub shipped: f64,
    /// Its share by what is learned.
    pub learned: f64,
    /// The jobs it gained.
    pub jobs: f64,
}

impl Learned {
    /// What jobs teach about these machines. What names a machine, complaint or fault that is not there teaches nothing.
    ///
    /// A confirmed cause gains one job. After a callback the cause was none that the same remedy cures: the job is shared
    /// among the others by their weights, unless the callback itself confirmed one.
    pub fn of(lessons: &[Lesson], shelf: &[Arc<Appliance>]) -> Self {
        let mut learned = Self::default();
        for lesson in lessons {
            let appliance = shelf.iter().find(|a| a.id == lesson.appliance);
            let cause = appliance.and_then(|a| a.fault(&lesson.cause.as_str().into()));
            let Some((appliance, cause)) = appliance.zip(cause) else { continue };
            if !cause.weight.contains_key(&lesson.complaint) {
                continue;
            }
            match lesson.proof {
                Proof::Confirmed => learned.add(lesson, &cause.id, 1.0),
                Proof::CalledBack => {
                    let others: Vec<(&Fault, f64)> = others(appliance, cause, &lesson.complaint);
                    let total: f64 = others.iter().map(|(_, weight)| weight).sum();
                    for (fault, weight) in others {
                        learned.add(lesson, &fault.id, weight / total);
                    }
                }
                Proof::Corrected | Proof::None => {}
            }
        }
        learned
    }

    fn add(&mut self, lesson: &Lesson, fault: &FaultId, jobs: f64) {
        let of_machine = self.counts.entry(lesson.appliance.clone()).or_default();
        let of_complaint = of_machine.entry(lesson.complaint.clone()).or_default();
        *of_complaint.entry(fault.clone()).or_default() += jobs;
    }

    /// Is nothing learned?
    pub fn is_empty(&self) -> bool {
        self.counts.is_empty()
    }

    /// The names of the machines that something is learned about.
    pub fn machines(&self) -> impl Iterator<Item = &str> {
        self.counts.keys().map(ApplianceId::as_str)
    }

    /// The appliance with its weights as they are learned; itself where nothing is.
    #[must_use]
    pub fn apply(&self, appliance: &Arc<Appliance>) -> Arc<Appliance> {
        let Some(counts) = self.counts.get(&appliance.id) else { return Arc::clone(appliance) };
        let mut taught = Appliance::clone(appliance);
        for fault in &mut taught.faults {
            for (complaint, weight) in &mut fault.weight {
                *weight += counts.get(complaint).and_then(|of| of.get(&fault.id)).copied().unwrap_or(0.0);
            }
        }
        Arc::new(taught)
    }

    /// What is learned about an appliance: every fault of each complaint that something is learned about, in the file's
    /// order.
    pub fn changes(&self, appliance: &Arc<Appliance>) -> Vec<(ComplaintId, Vec<Change>)> {
        let taught = self.apply(appliance);
        let Some(counts) = self.counts.get(&appliance.id) else { return Vec::new() };
        let of_complaint = |(complaint, gained): (&ComplaintId, &BTreeMap<FaultId, f64>)| {
            let (before, after) = (shares(appliance, complaint), shares(&taught, complaint));
            let change = |((fault, shipped), (_, learned)): ((FaultId, f64), (FaultId, f64))| {
                let jobs = gained.get(&fault).copied().unwrap_or(0.0);
                Change { fault, shipped, learned, jobs }
            };
            (complaint.clone(), before.into_iter().zip(after).map(change).collect())
        };
        counts.iter().map(of_complaint).collect()
    }
}

/// The faults of a complaint that another remedy cures, with their weights.
fn others<'a>(appliance: &'a Appliance, cause: &Fault, complaint: &ComplaintId) -> Vec<(&'a Fault, f64)> {
    let weighed = appliance.faults.iter().filter_map(|f| Some((f, *f.weight.get(complaint)?)));
    weighed.filter(|(fault, weight)| fault.remedy != cause.remedy && *weight > 0.0).collect()
}

/// Every fault of a complaint with its share of all their weights.
fn shares(appliance: &Appliance, complaint: &ComplaintId) -> Vec<(FaultId, f64)> {
    let weighed = || appliance.faults.iter().filter_map(|f| Some((f, *f.weight.get(complaint)?)));
    let total: f64 = weighed().map(|(_, weight)| weight).sum();
    weighed().map(|(fault, weight)| (fault.id.clone(), weight / total)).collect()
}
