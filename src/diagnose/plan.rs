//! What to do next: one more check, or a remedy.
//!
//! The cost to a finished repair, from a belief on, is that of trying remedies in their best order (`repair`). A check
//! is worth what it takes off that cost, less its own minutes and danger. The best few checks are compared again with
//! one further check after each of their outcomes (two-step look-ahead, bounded). Going to a state and opening a cover cost
//! once, so what shares them is asked together.

use serde::Serialize;

use crate::id::{CheckId, RemedyId, StateId};

use super::belief::Belief;
use super::evidence::Evidence;
use super::hypothesis::Hypothesis;
use super::repair;
use super::trouble::{Question, Trouble};
use super::value;

/// From this probability on a remedy is clearly the best, whatever a further check costs.
pub const CLEARLY: f64 = 0.98;

/// Below this probability of the best remedy, with nothing left to ask, we say that we cannot tell.
pub const LIKELY: f64 = 0.5;

/// What rounding may take off a sum of probabilities.
const ROUNDING: f64 = 1e-9;

/// A check without live parts is preferred if it brings at least this share of the best live one.
const DEAD_FIRST: f64 = 0.5;

/// How many checks are looked at two steps ahead.
const SECOND_LOOK: usize = 6;

/// An outcome less probable than this is no reason to check.
const WORTH_A_CHECK: f64 = 0.002;

/// What to do next.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Next {
    /// One more check.
    Check(CheckId),
    /// One remedy is clearly best, or no check can change which one is.
    Advise {
        /// The remedy; `None` where nothing electrical is wrong.
        remedy: Option<RemedyId>,
        /// The most probable cause that it cures.
        hypothesis: Hypothesis,
        /// How probable it is that the remedy cures the complaint.
        probability: f64,
    },
    /// No check is left that could change the answer, and no remedy is likely enough.
    NothingTells {
        /// The remedies that remain, most probable first; `None` is "nothing electrical".
        remaining: Vec<(Option<RemedyId>, f64)>,
    },
}

/// A check that may be worth doing.
#[derive(Clone, Copy, Debug)]
pub struct Candidate<'a> {
    /// The check.
    pub question: &'a Question,
    /// What it costs from where the machine is: minutes, change of state, danger.
    pub cost: f64,
    /// What it takes off the cost to a finished repair, less its own cost.
    pub gain: f64,
}

/// The next check, or the remedy. `skipped` checks and those with a finding are left out.
pub fn next(trouble: &Trouble, evidence: &Evidence, skipped: &[CheckId], state: Option<&StateId>) -> Next {
    let belief = Belief::given(trouble, evidence).probabilities();
    let best = best_remedy(trouble, &belief);
    let probability = trouble.by_remedy(&belief)[best];
    if probability < CLEARLY {
        let candidates = candidates(trouble, &belief, evidence, skipped, state);
        if let Some(check) = choose(trouble, &belief, evidence, candidates) {
            return Next::Check(check.check.clone());
        }
    }
    conclude(trouble, &belief)
}

/// The remedy where nothing more is asked.
pub fn conclude(trouble: &Trouble, belief: &[f64]) -> Next {
    let best = best_remedy(trouble, belief);
    let surer = |best: usize, next: usize| {
        if trouble.mended_by(next, belief) > trouble.mended_by(best, belief) { next } else { best }
    };
    // Where a part alone is too doubtful, it may be sure together with what brought its failure about.
    let best = if trouble.mended_by(best, belief) < LIKELY - ROUNDING {
        (0..trouble.remedies.len()).fold(best, surer)
    } else {
        best
    };
    if trouble.mended_by(best, belief) < LIKELY - ROUNDING {
        nothing_tells(trouble, belief)
    } else {
        advise(trouble, belief, best)
    }
}

/// The questions without a finding that were not skipped, in the file's order.
pub fn open<'a>(
    trouble: &'a Trouble,
    evidence: &Evidence,
    skipped: &[CheckId],
) -> impl Iterator<Item = &'a Question> {
    trouble.questions.iter().filter(|q| evidence.of(&q.check).is_empty() && !skipped.contains(&q.check))
}

/// Every check that can change the remedy, with what it would bring, in the file's order.
pub fn candidates<'a>(
    trouble: &'a Trouble,
    belief: &[f64],
    evidence: &Evidence,
    skipped: &[CheckId],
    state: Option<&StateId>,
) -> Vec<Candidate<'a>> {
    let candidate = |question: &'a Question| {
        let cost = trouble.cost(question, state, trouble.done(evidence));
        Candidate { question, cost, gain: gain(trouble, belief, question, cost) }
    };
    open(trouble, evidence, skipped).filter(|q| can_change(trouble, belief, q)).map(candidate).collect()
}

/// What a check takes off the cost to a finished repair, less its own cost.
pub fn gain(trouble: &Trouble, belief: &[f64], question: &Question, cost: f64) -> f64 {
    let after = value::expected_cost_after(belief, likelihoods(question), |b| cost_to_repair(trouble, b));
    cost_to_repair(trouble, belief) - after - cost
}

/// Which of the trouble's remedies to try first.
pub fn best_remedy(trouble: &Trouble, belief: &[f64]) -> usize {
    repair::best_order(&trouble.by_remedy(belief), &trouble.attempt)[0]
}

/// What it costs on average to finish the repair by trying alone.
pub fn cost_to_repair(trouble: &Trouble, belief: &[f64]) -> f64 {
    let p = trouble.by_remedy(belief);
    let order = repair::best_order(&p, &trouble.attempt);
    repair::expected_cost(&order, &p, &trouble.attempt, &vec![0.0; p.len()])
}

fn likelihoods(question: &Question) -> impl Iterator<Item = &[f64]> {
    question.showings.iter().map(|s| s.likelihood.as_slice())
}

/// Is there something that the check may well show after which another remedy would be tried first?
pub fn can_change(trouble: &Trouble, belief: &[f64], question: &Question) -> bool {
    let best = best_remedy(trouble, belief);
    likelihoods(question)
        .filter_map(|l| value::after(belief, l))
        .any(|(b, probability)| probability >= WORTH_A_CHECK && best_remedy(trouble, &b) != best)
}

/// The check that brings most; `None` if none brings anything.
fn choose<'a>(
    trouble: &Trouble,
    belief: &[f64],
    evidence: &Evidence,
    mut candidates: Vec<Candidate<'a>>,
) -> Option<&'a Question> {
    candidates.sort_by(|a, b| b.gain.total_cmp(&a.gain));
    let all = candidates.clone();
    candidates.truncate(SECOND_LOOK);
    for candidate in &mut candidates {
        candidate.gain = second_look(trouble, belief, evidence, candidate, &all);
    }
    let best_of = |live: &dyn Fn(bool) -> bool| {
        let better =
            |best: Candidate<'a>, next: Candidate<'a>| if next.gain > best.gain + 1e-9 { next } else { best };
        candidates.iter().filter(|c| live(c.question.live) && c.gain > 0.0).copied().reduce(better)
    };
    let best = best_of(&|_| true)?;
    let dead = best_of(&|live| !live).filter(|dead| dead.gain >= DEAD_FIRST * best.gain);
    Some(dead.unwrap_or(best).question)
}

/// What a check brings if after each of its outcomes the best one of the others may follow.
fn second_look(
    trouble: &Trouble,
    belief: &[f64],
    evidence: &Evidence,
    first: &Candidate,
    all: &[Candidate],
) -> f64 {
    let then_costs = |second: &'_ Question| {
        let done = trouble.done(evidence).chain(std::iter::once(first.question));
        trouble.cost(second, Some(&first.question.state), done)
    };
    let others: Vec<(&Question, f64)> = all
        .iter()
        .filter(|c| c.question.check != first.question.check)
        .map(|c| (c.question, then_costs(c.question)))
        .collect();
    let finish = |b: &[f64]| {
        let then = |(second, cost): &(&Question, f64)| {
            cost + value::expected_cost_after(b, likelihoods(second), |b| cost_to_repair(trouble, b))
        };
        others.iter().map(then).fold(cost_to_repair(trouble, b), f64::min)
    };
    let after = value::expected_cost_after(belief, likelihoods(first.question), finish);
    cost_to_repair(trouble, belief) - after - first.cost
}

fn advise(trouble: &Trouble, belief: &[f64], remedy: usize) -> Next {
    let mut cured = (0..belief.len()).filter(|h| trouble.cure[*h] == remedy);
    let first = cured.next().expect("every remedy cures something");
    let cause = cured.fold(first, |best, h| if belief[h] > belief[best] { h } else { best });
    Next::Advise {
        remedy: trouble.remedies[remedy].clone(),
        hypothesis: trouble.hypotheses[cause].clone(),
        probability: trouble.mended_by(remedy, belief),
    }
}

fn nothing_tells(trouble: &Trouble, belief: &[f64]) -> Next {
    let mut remaining: Vec<_> = trouble.remedies.iter().cloned().zip(trouble.by_remedy(belief)).collect();
    remaining.sort_by(|a, b| b.1.total_cmp(&a.1));
    Next::NothingTells { remaining }
}
