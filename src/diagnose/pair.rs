//! Two faults at once: considered only where no single one explains what was found.
//!
//! Every fault that can cause the complaint may have any other beside it. What the checks would show then costs a circuit
//! to solve, so only the few pairs are asked for of which one or the other explains each finding best; what was asked for
//! is kept. A fault that another brought about is no matter of this: the appliance model names it, and it is always
//! considered.

use std::fmt::Debug;
use std::sync::{Arc, OnceLock};

use crate::id::{ComplaintId, FaultId, RemedyId};
use crate::model::appliance::{Appliance, Prediction};

use super::belief;
use super::evidence::{Evidence, Found};
use super::hypothesis::Hypothesis;
use super::trouble::{self, More, Trouble};

/// A machine with one fault has another that has nothing to do with it this often (common practice, no source).
pub const SECOND_FAULT: f64 = 0.03;

/// No more pairs are considered at a time.
pub const MOST: usize = 12;

/// What shows two faults at once, and which faults there are.
pub trait Machine: Debug + Send + Sync {
    /// Every fault with its share of all, whatever the complaint.
    fn shares(&self) -> Vec<(FaultId, f64)>;

    /// What every question's check shows under one fault, in each circuit that may be inside.
    fn alone(&self, fault: &FaultId) -> Vec<Vec<Prediction>>;

    /// The same under two at once; `None` where that cannot be told.
    fn both(&self, a: &FaultId, b: &FaultId) -> Option<Vec<Vec<Prediction>>>;

    /// What mends a fault, and what trying that costs.
    fn work(&self, fault: &FaultId) -> Option<(RemedyId, f64)>;
}

impl Machine for Appliance {
    fn shares(&self) -> Vec<(FaultId, f64)> {
        let most = |weights: &std::collections::BTreeMap<ComplaintId, f64>| {
            weights.values().copied().fold(0.0, f64::max)
        };
        let total: f64 = self.faults.iter().map(|fault| most(&fault.weight)).sum();
        self.faults.iter().map(|fault| (fault.id.clone(), most(&fault.weight) / total)).collect()
    }

    fn alone(&self, fault: &FaultId) -> Vec<Vec<Prediction>> {
        let circuits = 0..self.candidates.len();
        let shown = |inside| self.checks.iter().map(|c| self.predict_in(inside, c, Some(fault))).collect();
        circuits.map(shown).collect()
    }

    fn both(&self, a: &FaultId, b: &FaultId) -> Option<Vec<Vec<Prediction>>> {
        (0..self.candidates.len()).map(|inside| self.predict_both(inside, a, b)).collect()
    }

    fn work(&self, fault: &FaultId) -> Option<(RemedyId, f64)> {
        trouble::work(self, fault)
    }
}

/// The pairs of faults that may be behind a trouble.
#[derive(Debug)]
pub struct Pairs {
    machine: Arc<dyn Machine>,
    faults: Arc<[Single]>,
    all: Vec<Pair>,
}

/// A fault, with what the checks show under it alone.
#[derive(Debug)]
struct Single {
    id: FaultId,
    /// Its share of all faults.
    share: f64,
    alone: Vec<Vec<Prediction>>,
}

#[derive(Debug)]
struct Pair {
    /// Which two of the faults, in their order.
    of: (usize, usize),
    /// How probable, beside single causes that sum to one.
    weight: f64,
    /// What every check shows, in each circuit that may be inside; worked out when first asked for.
    shown: OnceLock<Option<Vec<Vec<Prediction>>>>,
}

impl Pairs {
    /// The pairs of a machine's faults of which at least one can cause the complaint by itself.
    pub fn new(trouble: &Trouble, machine: impl Machine + 'static) -> Self {
        let single = |(id, share): (FaultId, f64)| Single { alone: machine.alone(&id), id, share };
        let faults = machine.shares().into_iter().map(single).collect();
        Self::of(trouble, Arc::new(machine), faults)
    }

    /// The same machine under another trouble: what is probable alone makes its pairs probable.
    #[must_use]
    pub fn under(&self, trouble: &Trouble) -> Self {
        Self::of(trouble, Arc::clone(&self.machine), Arc::clone(&self.faults))
    }

    fn of(trouble: &Trouble, machine: Arc<dyn Machine>, faults: Arc<[Single]>) -> Self {
        let causes = |id: &FaultId| -> f64 {
            let this = |h: &Hypothesis| matches!(h, Hypothesis::Fault(fault) if fault == id);
            trouble.hypotheses.iter().zip(&trouble.prior).filter(|(h, _)| this(h)).map(|(_, p)| p).sum()
        };
        let prior: Vec<f64> = faults.iter().map(|fault| causes(&fault.id)).collect();
        let known = |a: &FaultId, b: &FaultId| {
            let both = |h: &Hypothesis| *h == Hypothesis::Both(a.clone(), b.clone());
            trouble.hypotheses.iter().any(|h| both(h) || *h == Hypothesis::Both(b.clone(), a.clone()))
        };
        let mut all = Vec::new();
        for (a, first) in faults.iter().enumerate() {
            for (b, second) in faults.iter().enumerate().skip(a + 1) {
                let weight = SECOND_FAULT * (prior[a] * second.share + prior[b] * first.share);
                if weight > 0.0 && !known(&first.id, &second.id) {
                    all.push(Pair { of: (a, b), weight, shown: OnceLock::new() });
                }
            }
        }
        Self { machine, faults, all }
    }

    /// The trouble, and beside its causes the pairs that explain the evidence best, [`MOST`] at the most.
    pub fn beside(&self, trouble: &Trouble, evidence: &Evidence) -> Trouble {
        let more: Vec<More<'_>> =
            self.likeliest(trouble, evidence).into_iter().filter_map(|pair| self.more(pair)).collect();
        trouble.clone().with(&more)
    }

    fn more<'a>(&'a self, pair: &'a Pair) -> Option<More<'a>> {
        let (a, b) = (&self.faults[pair.of.0].id, &self.faults[pair.of.1].id);
        let shown = pair.shown.get_or_init(|| self.machine.both(a, b)).as_ref()?;
        let hypothesis = Hypothesis::Both(a.clone(), b.clone());
        let work = [a, b].into_iter().filter_map(|fault| self.machine.work(fault)).collect();
        Some(More { hypothesis, weight: pair.weight, shown, work })
    }

    /// Largest first: the pair's weight, times how probable each finding is under the one of the two that explains it
    /// better, in the circuit where that comes out largest. Equals stay in the file's order.
    fn likeliest(&self, trouble: &Trouble, evidence: &Evidence) -> Vec<&Pair> {
        let logs: Vec<Vec<Vec<f64>>> = self.faults.iter().map(|f| f.logs(trouble, evidence)).collect();
        let score = |pair: &Pair| {
            let (a, b) = (&logs[pair.of.0], &logs[pair.of.1]);
            let inside = a.iter().zip(b).map(|(a, b)| a.iter().zip(b).map(|(a, b)| a.max(*b)).sum::<f64>());
            pair.weight.ln() + inside.fold(f64::NEG_INFINITY, f64::max)
        };
        let mut scored: Vec<(f64, &Pair)> = self.all.iter().map(|pair| (score(pair), pair)).collect();
        scored.sort_by(|a, b| b.0.total_cmp(&a.0));
        scored.into_iter().take(MOST).map(|(_, pair)| pair).collect()
    }
}

impl Single {
    /// Natural logarithm of the probability of each finding, in each circuit that may be inside.
    fn logs(&self, trouble: &Trouble, evidence: &Evidence) -> Vec<Vec<f64>> {
        let found = evidence.of_machine(trouble);
        let log = |shown: &Vec<Prediction>, (nth, found): &(usize, Found)| {
            belief::under(&shown[*nth], 0.0, found, &trouble.questions[*nth]).ln()
        };
        self.alone.iter().map(|shown| found.iter().map(|f| log(shown, f)).collect()).collect()
    }
}
