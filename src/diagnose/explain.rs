//! Why we believe this, why this check, and what would follow from a finding: as values, not words.

use serde::Serialize;

use crate::id::{CheckId, RemedyId, StateId};

use super::Diagnosis;
use super::doubt::Doubt;
use super::evidence::{Alternative, Found};
use super::hypothesis::Hypothesis;
use super::plan::{self, Next};
use super::trouble::{Question, Showing, Shown, Trouble};
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
    /// The two causes that it tells most about, the one it tells more about first.
    pub tells: Vec<Hypothesis>,
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
    /// The most probable of the causes that it mends.
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
        let moved = |(check, found): (&CheckId, &Found)| {
            let without = self.with(self.evidence.without(check)).belief().log_odds(hypothesis)?;
            let mut found = found.alternatives.clone();
            found.sort_by(|a, b| b.probability.total_cmp(&a.probability));
            Some(Moved { check: check.clone(), found, log_odds: with - without })
        };
        let mut all: Vec<Moved> = self.evidence.iter().filter_map(moved).collect();
        all.sort_by(|a, b| b.log_odds.abs().total_cmp(&a.log_odds.abs()));
        all
    }

    /// How probable a hypothesis would be without what was found for these checks.
    pub fn without(&self, checks: &[&CheckId], hypothesis: &Hypothesis) -> f64 {
        let less = checks.iter().fold(self.evidence.clone(), |less, check| less.without(check));
        self.with(less).belief().of(hypothesis)
    }

    /// Why a check is worth doing now; `None` for a check of another machine. What was found for it is left out.
    pub fn why_check(&self, check: &CheckId, state: Option<&StateId>) -> Option<Reason> {
        let before = self.with(self.evidence.without(check));
        let trouble = before.considered();
        let question = trouble.question(check)?;
        let belief = before.belief().probabilities();
        let cost = trouble.cost(question, state, trouble.done(&before.evidence));
        Some(Reason {
            check: check.clone(),
            cost,
            gain: plan::gain(&trouble, &belief, question, cost),
            tells: tells(&trouble, &belief, question),
            outcomes: question.showings.iter().filter_map(|s| leads(&trouble, &belief, s)).collect(),
        })
    }

    /// What would change the mind: the check not yet made, and what it would have to show, after which another remedy
    /// would be tried first; the most probable of all. `None` if nothing that is left can.
    pub fn change_of_mind(&self) -> Option<(CheckId, Leads)> {
        let trouble = self.considered();
        let belief = self.belief().probabilities();
        let first = trouble.remedies[plan::best_remedy(&trouble, &belief)].as_ref();
        let open = |question: &&Question| self.evidence.of(&question.check).is_empty();
        let changes = |question: &Question| {
            let all = question.showings.iter().filter(|showing| showing.what != Shown::Else);
            let all = all.filter_map(|showing| leads(&trouble, &belief, showing));
            let others = all.filter(|leads| leads.remedy.as_ref() != first);
            others.map(|leads| (question.check.clone(), leads)).collect::<Vec<_>>()
        };
        let all = trouble.questions.iter().filter(open).flat_map(changes);
        all.reduce(|best, next| if next.1.probability > best.1.probability { next } else { best })
    }

    /// The findings that the belief has to call wrong readings: under the most probable hypothesis they are less
    /// probable than anything the check was expected to show. Worth taking again.
    pub fn unexplained(&self) -> Vec<CheckId> {
        let doubted = |(doubt, _): (Doubt, f64)| match doubt {
            Doubt::Unexplained(check) => Some(check),
            Doubt::LeadOpen | Doubt::OnVolts => None,
        };
        self.doubts().into_iter().filter_map(doubted).collect()
    }
}

/// Where something that a check shows leads; `None` if it cannot happen.
fn leads(trouble: &Trouble, belief: &[f64], showing: &Showing) -> Option<Leads> {
    let (after, probability) = value::after(belief, &showing.likelihood)?;
    let remedy = plan::best_remedy(trouble, &after);
    let cured = (0..after.len()).filter(|cause| trouble.cure[*cause] == remedy);
    let cause = cured.reduce(|best, next| if after[next] > after[best] { next } else { best })?;
    Some(Leads {
        what: showing.what.clone(),
        probability,
        remedy: trouble.remedies[remedy].clone(),
        cause: trouble.hypotheses[cause].clone(),
    })
}

/// The two hypotheses that a check moves furthest on average, whichever circuit is inside, furthest first.
fn tells(trouble: &Trouble, belief: &[f64], question: &Question) -> Vec<Hypothesis> {
    let mut moved: Vec<(&Hypothesis, f64)> = Vec::new();
    let after = question.showings.iter().filter_map(|s| value::after(belief, &s.likelihood));
    let after: Vec<(Vec<f64>, f64)> = after.collect();
    for (at, hypothesis) in trouble.hypotheses.iter().enumerate() {
        let by: f64 = after.iter().map(|(b, p)| p * (b[at] - belief[at]).abs()).sum();
        match moved.iter_mut().find(|(known, _)| *known == hypothesis) {
            Some((_, sum)) => *sum += by,
            None => moved.push((hypothesis, by)),
        }
    }
    moved.sort_by(|a, b| b.1.total_cmp(&a.1));
    moved.into_iter().take(2).map(|(hypothesis, _)| hypothesis.clone()).collect()
}
