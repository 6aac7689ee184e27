//! What was found, one check at a time. The order in which it was found is not kept: it does not matter.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::id::CheckId;
use crate::quantity::Unit;
use crate::reading::Finding;

use super::likelihood::Asked;
use super::trouble::Trouble;

/// A finding that may have been meant.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Alternative {
    /// What was found.
    pub finding: Finding,
    /// How probable it is that this was meant.
    pub probability: f64,
}

/// What was found for a check.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Found {
    /// The findings that may have been meant; their probabilities sum to one.
    pub alternatives: Vec<Alternative>,
    /// Was it taken again, and the same?
    pub again: bool,
}

/// The findings of a job. A later finding for a check replaces the one before; the same one confirms it.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Evidence {
    found: BTreeMap<CheckId, Found>,
    /// What the meter showed with its leads touched together.
    touched: Option<Finding>,
}

impl Evidence {
    /// Takes a finding for sure.
    pub fn accept(&mut self, check: CheckId, finding: Finding) {
        self.put(check, vec![Alternative { finding, probability: 1.0 }]);
    }

    /// Takes several findings, one of which was meant; their probabilities are scaled to sum to one.
    ///
    /// Alternatives without a positive probability are left out; if none is left, nothing changes and the answer is
    /// `false`.
    pub fn accept_any(&mut self, check: CheckId, alternatives: Vec<Alternative>) -> bool {
        let usable = |a: &Alternative| a.probability.is_finite() && a.probability > 0.0;
        let mut usable: Vec<Alternative> = alternatives.into_iter().filter(usable).collect();
        let total: f64 = usable.iter().map(|a| a.probability).sum();
        if usable.is_empty() || !total.is_finite() {
            return false;
        }
        for alternative in &mut usable {
            alternative.probability /= total;
        }
        self.put(check, usable);
        true
    }

    fn put(&mut self, check: CheckId, alternatives: Vec<Alternative>) {
        let before = self.found.get(&check).map(|found| likeliest(&found.alternatives));
        let again = before.is_some_and(|before| before == likeliest(&alternatives));
        self.found.insert(check, Found { alternatives, again });
    }

    /// Takes what the meter showed with its leads touched together; `None` forgets it, for other leads.
    pub fn touch(&mut self, shown: Option<Finding>) {
        self.touched = shown;
    }

    /// What the meter showed with its leads touched together.
    pub const fn touched(&self) -> Option<&Finding> {
        self.touched.as_ref()
    }

    /// Takes back what was found for a check; `false` if nothing was.
    pub fn retract(&mut self, check: &CheckId) -> bool {
        self.found.remove(check).is_some()
    }

    /// This evidence and one finding more.
    #[must_use]
    pub fn with(&self, check: &CheckId, finding: Finding) -> Self {
        let mut more = self.clone();
        more.accept(check.clone(), finding);
        more
    }

    /// This evidence without what was found for a check.
    #[must_use]
    pub fn without(&self, check: &CheckId) -> Self {
        let mut less = self.clone();
        less.retract(check);
        less
    }

    /// What was found for a check, or nothing.
    pub fn of(&self, check: &CheckId) -> &[Alternative] {
        self.found.get(check).map_or(&[], |found| found.alternatives.as_slice())
    }

    /// The checks with a finding, by name.
    pub fn checks(&self) -> impl Iterator<Item = &CheckId> {
        self.found.keys()
    }

    /// What was found for the questions of a trouble, each with its question's place there, as the machine alone would show
    /// it: without what the leads have, once that is known.
    pub fn of_machine(&self, trouble: &Trouble) -> Vec<(usize, Found)> {
        let asked = |(check, found): (&CheckId, &Found)| {
            let place = trouble.questions.iter().position(|question| question.check == *check)?;
            let mut found = found.clone();
            for alternative in &mut found.alternatives {
                alternative.finding =
                    self.without_leads(&alternative.finding, &trouble.questions[place].asked);
            }
            Some((place, found))
        };
        self.found.iter().filter_map(asked).collect()
    }

    /// A finding without what the leads have, if it is ohms and that is known.
    pub fn without_leads(&self, finding: &Finding, asked: &Asked) -> Finding {
        match &self.touched {
            Some(Finding::Reading(touched)) if *asked == Asked::Number(Unit::Ohms) => {
                finding.clone().without_leads(*touched)
            }
            _ => finding.clone(),
        }
    }

    /// Every check with what was found for it, by name.
    pub fn iter(&self) -> impl Iterator<Item = (&CheckId, &Found)> {
        self.found.iter()
    }

    /// How many checks have a finding.
    pub fn len(&self) -> usize {
        self.found.len()
    }

    /// Was nothing found yet?
    pub fn is_empty(&self) -> bool {
        self.found.is_empty()
    }
}

/// The finding most probably meant, the first of equals.
fn likeliest(alternatives: &[Alternative]) -> Option<&Finding> {
    let better = |best: &Alternative, next: &Alternative| next.probability > best.probability;
    let likeliest = alternatives.iter().reduce(|best, next| if better(best, next) { next } else { best });
    likeliest.map(|alternative| &alternative.finding)
}
