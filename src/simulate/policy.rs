//! Ways to choose the next check: ours, and those it has to beat.
//!
//! All read the same belief off the same findings and end alike: with the best remedy once it is clear, or once nothing
//! is left to ask. They differ in what they ask for next.

use crate::diagnose::belief::Belief;
use crate::diagnose::evidence::Evidence;
use crate::diagnose::plan::{self, Next};
use crate::diagnose::trouble::{Question, Trouble};
use crate::diagnose::value;
use crate::id::{CheckId, StateId};

/// A way to choose the next check. The state is the one the machine is in, if it is known.
pub trait Policy: Sync {
    /// Its name in tables.
    fn name(&self) -> &'static str;

    /// One more check, or the remedy. Checks that were skipped or have a finding are left out.
    fn next(
        &self,
        trouble: &Trouble,
        evidence: &Evidence,
        skipped: &[CheckId],
        state: Option<&StateId>,
    ) -> Next;
}

/// The policies that ours is compared with, in the order of the tables.
pub const OTHERS: [&dyn Policy; 4] = [&Checklist, &ProbableFirst, &ProbabilityOverCost, &MostInformation];

/// The planner of this program.
#[derive(Clone, Copy, Debug)]
pub struct Ours;

impl Policy for Ours {
    fn name(&self) -> &'static str {
        "ours"
    }

    fn next(
        &self,
        trouble: &Trouble,
        evidence: &Evidence,
        skipped: &[CheckId],
        state: Option<&StateId>,
    ) -> Next {
        plan::next(trouble, evidence, skipped, state)
    }
}

/// The trade's checklist: every check in the order of the model's file.
#[derive(Clone, Copy, Debug)]
pub struct Checklist;

impl Policy for Checklist {
    fn name(&self) -> &'static str {
        "checklist"
    }

    fn next(&self, trouble: &Trouble, evidence: &Evidence, skipped: &[CheckId], _: Option<&StateId>) -> Next {
        until_clear(trouble, evidence, skipped, |_, open| open.into_iter().next())
    }
}

/// The most probable fault first, by the check that tells most about it.
#[derive(Clone, Copy, Debug)]
pub struct ProbableFirst;

impl Policy for ProbableFirst {
    fn name(&self) -> &'static str {
        "most probable"
    }

    fn next(&self, trouble: &Trouble, evidence: &Evidence, skipped: &[CheckId], _: Option<&StateId>) -> Next {
        until_clear(trouble, evidence, skipped, |belief, open| {
            let by_fault = suspects(belief).into_iter().map(|(fault, _)| best_about(belief, fault, &open));
            by_fault.flatten().next()
        })
    }
}

/// The fault with the largest probability over the cost of its check (the P/C order of Kadane and Simon 1977).
#[derive(Clone, Copy, Debug)]
pub struct ProbabilityOverCost;

impl Policy for ProbabilityOverCost {
    fn name(&self) -> &'static str {
        "p over c"
    }

    fn next(
        &self,
        trouble: &Trouble,
        evidence: &Evidence,
        skipped: &[CheckId],
        state: Option<&StateId>,
    ) -> Next {
        until_clear(trouble, evidence, skipped, |belief, open| {
            let with_ratio = |(fault, p): (usize, f64)| {
                let check = best_about(belief, fault, &open)?;
                let cost = trouble.cost(check, state, trouble.done(evidence));
                Some((check, p / cost.max(f64::MIN_POSITIVE)))
            };
            largest(suspects(belief).into_iter().filter_map(with_ratio))
        })
    }
}

/// The check that tells most about the remedy, whatever it costs.
#[derive(Clone, Copy, Debug)]
pub struct MostInformation;

impl Policy for MostInformation {
    fn name(&self) -> &'static str {
        "information"
    }

    fn next(&self, trouble: &Trouble, evidence: &Evidence, skipped: &[CheckId], _: Option<&StateId>) -> Next {
        until_clear(trouble, evidence, skipped, |belief, open| {
            most(open.into_iter().map(|q| (q, information(belief, q, |b| trouble.by_remedy(b)))))
        })
    }
}

/// Below so many nats a check tells nothing.
const NOTHING: f64 = 1e-4;

/// Asks on until one remedy is clear or nothing is left to ask.
fn until_clear<'t>(
    trouble: &'t Trouble,
    evidence: &Evidence,
    skipped: &[CheckId],
    choose: impl FnOnce(&[f64], Vec<&'t Question>) -> Option<&'t Question>,
) -> Next {
    let belief = Belief::given(trouble, evidence).probabilities();
    let clear = trouble.by_remedy(&belief).iter().any(|p| *p >= plan::CLEARLY);
    let open: Vec<&Question> = plan::open(trouble, evidence, skipped).collect();
    let next = if clear { None } else { choose(&belief, open) };
    next.map_or_else(|| plan::conclude(trouble, &belief), |question| Next::Check(question.check.clone()))
}

/// The hypotheses with their probabilities, most probable first.
fn suspects(belief: &[f64]) -> Vec<(usize, f64)> {
    let mut all: Vec<(usize, f64)> = belief.iter().copied().enumerate().collect();
    all.sort_by(|a, b| b.1.total_cmp(&a.1));
    all
}

/// The check that tells most about one hypothesis against all others; `None` if none tells anything.
fn best_about<'t>(belief: &[f64], fault: usize, open: &[&'t Question]) -> Option<&'t Question> {
    let about = |b: &[f64]| vec![b[fault], 1.0 - b[fault]];
    most(open.iter().map(|q| (*q, information(belief, q, about))))
}

/// The check that tells most, if it tells anything.
fn most<'t>(all: impl Iterator<Item = (&'t Question, f64)>) -> Option<&'t Question> {
    largest(all.filter(|(_, nats)| *nats > NOTHING))
}

/// The check with the largest number, the first of equals.
fn largest<'t>(all: impl Iterator<Item = (&'t Question, f64)>) -> Option<&'t Question> {
    all.reduce(|best, next| if next.1 > best.1 { next } else { best }).map(|(question, _)| question)
}

/// How much a check is expected to tell, in nats, of what a belief is gathered into.
fn information(belief: &[f64], question: &Question, gather: impl Fn(&[f64]) -> Vec<f64>) -> f64 {
    let entropy = |b: &[f64]| -gather(b).into_iter().filter(|p| *p > 0.0).map(|p| p * p.ln()).sum::<f64>();
    let likelihoods = question.showings.iter().map(|s| s.likelihood.as_slice());
    entropy(belief) - value::expected_cost_after(belief, likelihoods, entropy)
}
