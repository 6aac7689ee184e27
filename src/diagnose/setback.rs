//! A remedy was carried out and the complaint is still there: that is a finding too.
//!
//! What the remedy mends is all but ruled out; of two faults at once the other is left. What was read before belongs to
//! a machine that is no more, so it goes into what is believed beforehand, and every check may be made again.

use std::sync::Arc;

use super::Diagnosis;
use super::belief::Belief;
use super::evidence::Evidence;
use super::hypothesis::Hypothesis;
use super::trouble::Trouble;

/// A remedy leaves its own fault behind this often: the new part is bad, or badly fitted (common practice, no source).
pub const BOTCHED: f64 = 0.03;

/// How far the findings are still trusted that led to a remedy which did not help; for the rest the frequencies of the
/// faults count, as if nothing had been found (a working value).
pub const TRUSTED: f64 = 0.5;

impl Diagnosis {
    /// The same machine after what mends `tried` was carried out and did not help. The leads stay proved.
    #[must_use]
    pub fn after(&self, tried: &Hypothesis) -> Self {
        let considered = self.considered();
        let belief = Belief::given(&considered, &self.evidence).probabilities();
        let found = remains(&considered, &belief, &self.trouble, tried);
        let before = remains(&self.trouble, &self.trouble.prior, &self.trouble, tried);
        let mixed = found.iter().zip(&before).map(|(f, b)| TRUSTED * f + (1.0 - TRUSTED) * b);
        let trouble = Trouble { prior: mixed.collect(), ..Trouble::clone(&self.trouble) };
        let mut evidence = Evidence::default();
        evidence.touch(self.evidence.touched().cloned());
        let setbacks = self.setbacks.iter().cloned().chain([(self.evidence.clone(), tried.clone())]);
        Self {
            history: self.history.clone(),
            setbacks: setbacks.collect(),
            pairs: self.pairs.as_ref().map(|pairs| Arc::new(pairs.under(&trouble))),
            trouble: Arc::new(trouble),
            evidence,
        }
    }
}

/// What is left of a belief over the causes of `from`, as a belief over those of `to`, which are among them.
fn remains(from: &Trouble, belief: &[f64], to: &Trouble, tried: &Hypothesis) -> Vec<f64> {
    let done = from.hypotheses.iter().position(|h| h == tried).map(|at| from.steps(from.cure[at]));
    let (each, circuits) = (to.hypotheses.len() / to.circuits(), from.circuits());
    let mut left = vec![0.0; to.hypotheses.len()];
    for (at, (cause, p)) in from.hypotheses.iter().zip(belief).enumerate() {
        let steps = from.steps(from.cure[at]);
        let is_done = |step: &usize| done.as_ref().is_some_and(|done| done.contains(step));
        let (rest, p) = match (steps.iter().position(|step| !is_done(step)), cause) {
            (None, _) => (cause.clone(), p * BOTCHED),
            (Some(open), Hypothesis::Both(first, second)) if steps.iter().any(is_done) => {
                (Hypothesis::Fault(if open == 0 { first } else { second }.clone()), *p)
            }
            (Some(_), _) => (cause.clone(), *p),
        };
        let inside = at * circuits / from.hypotheses.len() * each;
        // Two faults of which the other cannot cause the complaint alone are no longer possible.
        if let Some(place) = to.hypotheses[inside..inside + each].iter().position(|h| *h == rest) {
            left[inside + place] += p;
        }
    }
    let total: f64 = left.iter().sum();
    left.iter().map(|p| p / total).collect()
}
