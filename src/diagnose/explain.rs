//! Why we believe this, why this check, and what would follow from a finding: as values, not words.

use serde::Serialize;

use crate::id::{CheckId, RemedyId, StateId};

use super::Diagnosis;
use super::evidence::Alternative;
use super::hypothesis::Hypothesis;
use super::plan::{self, Next};
use super::trouble::{Question, Showing, Shown};
use super::value;
use super::verdict::Verdict;

/// A finding and how far it moved the belief in a hypothesis.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Moved {
    /// The check.
    pub check: CheckId,
    /// What was found, most probable first.
    pub found: Vec<Alternative>,
    /// Natural logarithm of the odds for the hypothesis with this finding, less without it: above zero it speaks
    /// for the hypothesis, below zero against it.
    pub log_odds: f64,
}

/// Why a check is worth doing.
#[derive(Clone, Debug, PartialEq)]
pub struct Reason {
    /// The check.
    pub check: CheckId,
    /// What it costs from where the machine is, in minutes or what is worth as much.
    pub cost: f64,
    /// What it takes off the cost to a finished repair, less its own cost.
    pub gain: f64,
    /// What it may show, and where that leads.
    pub outcomes: Vec<Leads>,
}

/// What a check may show, and where that leads.
#[derive(Clone, Debug, PartialEq)]
pub struct Leads {
    /// What is shown.
    pub what: Shown,
    /// How probable that is.
    pub probability: f64,
    /// The remedy that would be tried first then; `None` is "nothing electrical".
    pub remedy: Option<RemedyId>,
    /// The most probable cause then.
    pub cause: Hypothesis,
}

/// What accepting a finding leads to.
#[derive(Clone, Debug, PartialEq)]
pub struct Consequence {
    /// What the finding says of the circuit.
    pub verdict: Verdict,
    /// What would be done next.
    pub next: Next,
}

impl Consequence {
    /// Do both lead to the same verdict and the same next step? Then which one was meant changes nothing.
    pub fn agrees_with(&self, other: &Self) -> bool {
        self.verdict == other.verdict
            && match (&self.next, &other.next) {
                (Next::Check(a), Next::Check(b)) => a == b,
                (Next::Advise { remedy: a, .. }, Next::Advise { remedy: b, .. }) => a == b,
                (Next::NothingTells { .. }, Next::NothingTells { .. }) => true,
                _ => false,
            }
    }
}

impl Diagnosis {
    /// Which findings moved the belief in a hypothesis, furthest first: each is left out once.
    pub fn why(&self, hypothesis: &Hypothesis) -> Vec<Moved> {
        let Some(with) = self.belief().log_odds(hypothesis) else {
            return vec![];
        };
        let moved = |(check, found): (&CheckId, &[Alternative])| {
            let without = self.with(self.evidence.without(check)).belief().log_odds(hypothesis)?;
            let mut found = found.to_vec();
            found.sort_by(|a, b| b.probability.total_cmp(&a.probability));
            Some(Moved { check: check.clone(), found, log_odds: with - without })
        };
        let mut all: Vec<Moved> = self.evidence.iter().filter_map(moved).collect();
        all.sort_by(|a, b| b.log_odds.abs().total_cmp(&a.log_odds.abs()));
        all
    }

    /// Why a check is worth doing now; `None` for a check of another machine. What was found for it is left out.
    pub fn why_check(&self, check: &CheckId, state: Option<&StateId>) -> Option<Reason> {
        let trouble = self.trouble();
        let question = trouble.question(check)?;
        let before = self.with(self.evidence.without(check));
        let belief = before.belief().probabilities();
        let leads = |showing: &Showing| {
            let (after, probability) = value::after(&belief, &showing.likelihood)?;
            let likeliest = |best: usize, next: usize| if after[next] > after[best] { next } else { best };
            let cause = (0..after.len()).reduce(likeliest)?;
            Some(Leads {
                what: showing.what.clone(),
                probability,
                remedy: trouble.remedies[plan::best_remedy(trouble, &after)].clone(),
                cause: trouble.hypotheses[cause].clone(),
            })
        };
        let cost = trouble.cost(question, state, trouble.done(&before.evidence));
        Some(Reason {
            check: check.clone(),
            cost,
            gain: plan::gain(trouble, &belief, question, cost),
            outcomes: question.showings.iter().filter_map(leads).collect(),
        })
    }

    /// The findings that the belief has to call wrong readings: under the most probable hypothesis they are less
    /// probable than anything the check was expected to show. Worth taking again.
    pub fn unexplained(&self) -> Vec<CheckId> {
        let belief = self.belief();
        let trouble = self.trouble();
        let explains = |found: &[Alternative], question: &Question| {
            let likelihood = super::belief::likelihoods(found, question);
            let wrong = wrong_share(found, question);
            let weighted = likelihood.iter().zip(belief.probabilities());
            weighted.map(|(l, p)| p * wrong / l).sum::<f64>() < 0.5
        };
        let unexplained = |(check, found): (&CheckId, &[Alternative])| {
            let question = trouble.question(check)?;
            (!explains(found, question)).then(|| check.clone())
        };
        self.evidence.iter().filter_map(unexplained).collect()
    }
}

/// How probable what was found is as a wrong reading.
fn wrong_share(found: &[Alternative], question: &Question) -> f64 {
    found.iter().map(|a| a.probability * super::likelihood::wrong_reading(&a.finding, &question.asked)).sum()
}
