//! The least that finished repairs could cost on average, by dynamic programming over everything that could be asked and
//! shown; and what a policy costs in the same world.
//!
//! Exact where numbers are known by their cell only, as [`Trouble::questions`] cuts them. What can be asked grows beyond
//! all bounds with the number of checks, so a trouble is cut down to those that tell most.

use std::collections::BTreeMap;

use crate::diagnose::belief::Belief;
use crate::diagnose::cost::SECOND_VISIT;
use crate::diagnose::evidence::Evidence;
use crate::diagnose::likelihood::Asked;
use crate::diagnose::plan::{self, Next};
use crate::diagnose::trouble::{Question, Trouble};
use crate::diagnose::value;
use crate::id::{ComplaintId, StateId};
use crate::model::appliance::Prediction;
use crate::reading::Finding;

use super::policy::{Ours, Policy};
use super::round::Case;

/// A complaint's small trouble, what our planner costs in it, and the least that could be reached.
#[derive(Clone, Debug, PartialEq)]
pub struct Bound {
    /// The complaint.
    pub complaint: ComplaintId,
    /// How many checks it was cut down to, of how many.
    pub checks: (usize, usize),
    /// The cost of a finished repair, on average: ours.
    pub ours: f64,
    /// The same by the best way of all.
    pub least: f64,
}

impl Bound {
    /// Works a case out.
    pub fn of(case: &Case) -> Self {
        let whole = case.diagnosis.trouble();
        let small = small(whole);
        Self {
            complaint: case.complaint.clone(),
            checks: (small.questions.len(), whole.questions.len()),
            ours: of(&Ours, &small),
            least: least(&small),
        }
    }
}

/// So many different things may be known at the most.
const MOST_KNOWN: usize = 60_000;

/// What is less probable than this is not followed any further by a policy.
const NEGLIGIBLE: f64 = 1e-7;

/// A trouble small enough: numbers known by their cell, and only the checks that tell most, in the file's order.
pub fn small(trouble: &Trouble) -> Trouble {
    let in_cells: Vec<Question> = trouble.questions.iter().map(in_cells).collect();
    let told = |q: &Question| {
        let cost = trouble.cost(q, None, std::iter::empty());
        plan::gain(trouble, &trouble.prior, q, cost) + cost
    };
    let mut by_worth: Vec<(usize, f64)> = in_cells.iter().map(told).enumerate().collect();
    by_worth.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut known = 1;
    let mut kept: Vec<usize> = Vec::new();
    for (place, _) in by_worth {
        let more = known * (in_cells[place].showings.len() + 1);
        if more <= MOST_KNOWN {
            known = more;
            kept.push(place);
        }
    }
    kept.sort_unstable();
    let questions = kept.into_iter().map(|place| in_cells[place].clone()).collect();
    Trouble { questions, ..trouble.clone() }
}

/// The same check where only the cell of a number is told.
fn in_cells(question: &Question) -> Question {
    if matches!(question.asked, Asked::Outcome(_)) {
        return question.clone();
    }
    // A cell that nothing is ever in would only make the tables larger.
    let shown = question.showings.iter().filter(|s| s.likelihood.iter().any(|l| *l > 0.0));
    let shown: Vec<_> = shown.collect();
    let names = (0..shown.len()).map(|cell| format!("cell-{cell}")).collect();
    let row = |h: usize| Prediction::Outcomes(shown.iter().map(|s| s.likelihood[h]).collect());
    let rows = (0..question.predictions.len()).map(row).collect();
    let told = Question::new(question.check.clone(), question.state.clone(), Asked::Outcome(names), rows);
    Question {
        live: question.live,
        cost: question.cost,
        access: question.access.clone(),
        cost_again: question.cost_again,
        inside: question.inside,
        ..told
    }
}

/// The cost of a finished repair, on average, of the best way of all.
pub fn least(trouble: &Trouble) -> f64 {
    let nothing = vec![0; trouble.questions.len()];
    Table { trouble, known: BTreeMap::new() }.from(&trouble.prior, nothing, None) - SECOND_VISIT
}

/// What was shown of each check, counted from one; zero where it was not done. And the state that the machine is in.
type Known = (Vec<u8>, Option<StateId>);

/// The cost from everything that may be known, as far as it was worked out.
struct Table<'t> {
    trouble: &'t Trouble,
    known: BTreeMap<Known, f64>,
}

impl Table<'_> {
    fn from(&mut self, belief: &[f64], shown: Vec<u8>, state: Option<&StateId>) -> f64 {
        let key = (shown, state.cloned());
        if let Some(cost) = self.known.get(&key) {
            return *cost;
        }
        let trouble = self.trouble;
        let mut least = plan::cost_to_repair(trouble, belief);
        for (place, question) in trouble.questions.iter().enumerate().filter(|(place, _)| key.0[*place] == 0)
        {
            let done = trouble.questions.iter().zip(&key.0).filter(|(_, shown)| **shown > 0).map(|(q, _)| q);
            let mut cost = trouble.cost(question, state, done);
            for (at, showing) in question.showings.iter().enumerate() {
                // What cannot be better any more is not followed.
                if cost >= least {
                    break;
                }
                let Some((after, probability)) = value::after(belief, &showing.likelihood) else { continue };
                let mut then = key.0.clone();
                then[place] = at as u8 + 1;
                cost += probability * self.from(&after, then, Some(&question.state));
            }
            least = least.min(cost);
        }
        self.known.insert(key, least);
        least
    }
}

/// The cost of a finished repair, on average, of a policy, on a trouble that [`small`] made.
pub fn of(policy: &dyn Policy, trouble: &Trouble) -> f64 {
    follow(policy, trouble, &Evidence::default(), None, 1.0) - SECOND_VISIT
}

fn follow(
    policy: &dyn Policy,
    trouble: &Trouble,
    evidence: &Evidence,
    state: Option<&StateId>,
    reached: f64,
) -> f64 {
    let belief = Belief::given(trouble, evidence).probabilities();
    let Next::Check(check) = policy.next(trouble, evidence, &[], state) else {
        return plan::cost_to_repair(trouble, &belief);
    };
    let question = trouble.question(&check).expect("a policy asks what can be asked");
    let Asked::Outcome(names) = &question.asked else {
        unreachable!("numbers of a small trouble are known by their cells")
    };
    let mut cost = trouble.cost(question, state, trouble.done(evidence));
    for (name, showing) in names.iter().zip(&question.showings) {
        let Some((after, probability)) = value::after(&belief, &showing.likelihood) else { continue };
        cost += probability
            * if reached * probability < NEGLIGIBLE {
                plan::cost_to_repair(trouble, &after)
            } else {
                let more = evidence.with(&check, Finding::Outcome(name.clone()));
                follow(policy, trouble, &more, Some(&question.state), reached * probability)
            };
    }
    cost
}
