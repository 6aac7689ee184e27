//! One machine under one complaint: what can be the matter, what every check could show, what every remedy costs.
//!
//! Everything that does not depend on findings is worked out here, once.

use std::collections::BTreeMap;

use crate::id::{CheckId, ComplaintId, RemedyId, StateId};
use crate::model::appliance::{Appliance, Check, CheckKind, Function, Prediction, State};
use crate::quantity::Unit;

use super::cost;
use super::evidence::Evidence;
use super::hypothesis::Hypothesis;
use super::likelihood::{self, Asked, BEEPER_OHMS, Spread};

/// "All good, or not electrical": its share of the belief before anything is found (common practice, no source).
pub const NOT_A_FAULT: f64 = 0.1;

/// One machine under one complaint.
#[derive(Clone, Debug)]
pub struct Trouble {
    /// What can be the matter: "all good" first, then the faults that can cause the complaint, in the file's order; and
    /// the same again for every other circuit that may be inside.
    pub hypotheses: Vec<Hypothesis>,
    /// Belief before anything is found, as `hypotheses`; sums to one.
    pub prior: Vec<f64>,
    /// What can be done: nothing first, then the remedies of the faults.
    pub remedies: Vec<Option<RemedyId>>,
    /// Which of `remedies` cures each of `hypotheses`.
    pub cure: Vec<usize>,
    /// What trying each of `remedies` costs, in minutes or what is worth as much.
    pub attempt: Vec<f64>,
    /// What can be asked, in the file's order.
    pub questions: Vec<Question>,
    /// The states, for what going from one to another costs.
    pub states: BTreeMap<StateId, State>,
}

/// A check as the diagnosis sees it.
#[derive(Clone, Debug)]
pub struct Question {
    /// The check.
    pub check: CheckId,
    /// The state that the machine must be in.
    pub state: StateId,
    /// Do leads go near live parts?
    pub live: bool,
    /// What it costs in that state, in minutes or what is worth as much.
    pub cost: f64,
    /// What must be opened or lifted first, as said.
    pub access: Option<String>,
    /// What it costs where that is done already.
    pub cost_again: f64,
    /// What is asked for.
    pub asked: Asked,
    /// What it would show under each hypothesis.
    pub predictions: Vec<Prediction>,
    /// How many circuits may be inside: the hypotheses are that many times the same, "all good" first each time.
    pub inside: usize,
    /// What it may show, cut into as many different things as the hypotheses tell apart.
    pub showings: Vec<Showing>,
}

/// One of the different things that a check may show.
#[derive(Clone, Debug, PartialEq)]
pub struct Showing {
    /// What is shown.
    pub what: Shown,
    /// How probable it is under each hypothesis.
    pub likelihood: Vec<f64>,
}

/// What is shown.
#[derive(Clone, Debug, PartialEq)]
pub enum Shown {
    /// A number between the first and the second, about the third.
    Number(f64, f64, f64),
    /// More than the meter can show.
    Overload,
    /// This outcome, by its name.
    Outcome(String),
    /// Something that is nowhere near what any hypothesis predicts.
    Else,
}

impl Trouble {
    /// An appliance under a complaint.
    ///
    /// Under a complaint that no fault causes, everything but "all good" has no weight and is left out.
    pub fn new(appliance: &Appliance, complaint: &ComplaintId) -> Self {
        let mut causes = vec![Hypothesis::AllGood];
        let mut weights = vec![];
        let mut remedies = vec![None];
        let mut cure = vec![0];
        for fault in &appliance.faults {
            let weight = fault.weight.get(complaint).copied().unwrap_or(0.0);
            if weight <= 0.0 {
                continue;
            }
            causes.push(Hypothesis::Fault(fault.id.clone()));
            weights.push(weight);
            let wanted = Some(fault.remedy.clone());
            let known = remedies.iter().position(|r| *r == wanted);
            cure.push(known.unwrap_or(remedies.len()));
            if known.is_none() {
                remedies.push(wanted);
            }
        }
        let find = |id: &Option<RemedyId>| id.as_ref().and_then(|id| appliance.remedy(id));
        let (prior, inside) = (prior(&weights), &appliance.candidates);
        Self {
            prior: inside.iter().flat_map(|c| prior.iter().map(|p| p * c.share)).collect(),
            attempt: remedies.iter().map(|id| cost::attempt(find(id))).collect(),
            questions: appliance.checks.iter().filter_map(|c| Question::of(appliance, c, &causes)).collect(),
            states: appliance.states.iter().map(|s| (s.id.clone(), s.clone())).collect(),
            hypotheses: inside.iter().flat_map(|_| causes.clone()).collect(),
            remedies,
            cure: cure.repeat(inside.len()),
        }
    }

    /// The question that a check asks.
    pub fn question(&self, check: &CheckId) -> Option<&Question> {
        self.questions.iter().find(|q| q.check == *check)
    }

    /// What a check costs from where the machine is: the state it is in, and the checks done, whose covers are off.
    pub fn cost<'a>(
        &self,
        question: &Question,
        state: Option<&StateId>,
        mut done: impl Iterator<Item = &'a Question>,
    ) -> f64 {
        let open = question.access.is_some() && done.any(|d| d.access == question.access);
        self.change(state, &question.state) + if open { question.cost_again } else { question.cost }
    }

    /// The questions with a finding.
    pub fn done<'a>(&'a self, evidence: &'a Evidence) -> impl Iterator<Item = &'a Question> {
        evidence.checks().filter_map(|check| self.question(check))
    }

    /// What going to a state costs from where the machine is.
    fn change(&self, from: Option<&StateId>, to: &StateId) -> f64 {
        let from = from.and_then(|id| self.states.get(id));
        self.states.get(to).map_or(0.0, |to| cost::change(from, to))
    }

    /// A belief over `hypotheses`, gathered by what cures them.
    pub fn by_remedy(&self, belief: &[f64]) -> Vec<f64> {
        let mut gathered = vec![0.0; self.remedies.len()];
        for (p, cure) in belief.iter().zip(&self.cure) {
            gathered[*cure] += p;
        }
        gathered
    }
}

/// "All good" and the weights, scaled to sum to one.
fn prior(weights: &[f64]) -> Vec<f64> {
    let total: f64 = weights.iter().sum();
    if total <= 0.0 {
        return vec![1.0];
    }
    std::iter::once(NOT_A_FAULT).chain(weights.iter().map(|w| (1.0 - NOT_A_FAULT) * w / total)).collect()
}

impl Question {
    /// What a check asks; `None` if its state is not one of the appliance's.
    fn of(appliance: &Appliance, check: &Check, causes: &[Hypothesis]) -> Option<Self> {
        let state = appliance.state(&check.state)?;
        let asked = match &check.kind {
            CheckKind::Measure(m) if m.function == Function::Continuity => Asked::Beep,
            CheckKind::Measure(m) => Asked::Number(m.function.unit()),
            CheckKind::Gauge(g) => Asked::Number(g.unit),
            CheckKind::Observe(o) => Asked::Outcome(o.outcomes.iter().map(|o| o.name.clone()).collect()),
        };
        let inside = 0..appliance.candidates.len();
        let under =
            |inside| causes.iter().map(move |cause| appliance.predict_in(inside, check, cause.fault()));
        let predictions = inside.flat_map(under).collect();
        let (cost, cost_again) = cost::check(check, state);
        Some(Self {
            live: state.energised && check.points().is_some(),
            cost,
            cost_again,
            access: check.before.clone(),
            inside: appliance.candidates.len(),
            ..Self::new(check.id.clone(), state.id.clone(), asked, predictions)
        })
    }

    /// A check in a state that asks for something and shows something under each hypothesis, "all good" first; not
    /// live, and free of cost.
    pub fn new(check: CheckId, state: StateId, asked: Asked, predictions: Vec<Prediction>) -> Self {
        let showings = showings(&asked, &predictions);
        Self {
            check,
            state,
            live: false,
            cost: 0.0,
            access: None,
            cost_again: 0.0,
            asked,
            predictions,
            inside: 1,
            showings,
        }
    }

    /// What the check shows when nothing is wrong: "all good" is the first hypothesis.
    pub fn healthy(&self) -> &Prediction {
        &self.predictions[0]
    }

    /// What it shows when nothing is wrong, in each circuit that may be inside.
    pub fn healthy_in_each(&self) -> impl Iterator<Item = &Prediction> {
        self.predictions.chunks(self.predictions.len() / self.inside).filter_map(<[_]>::first)
    }
}

/// Cuts what a check may show into as many things as the predictions tell apart.
fn showings(asked: &Asked, predictions: &[Prediction]) -> Vec<Showing> {
    match asked {
        Asked::Outcome(names) => {
            let showing = |(index, name): (usize, &String)| Showing {
                what: Shown::Outcome(name.clone()),
                likelihood: predictions.iter().map(|p| likelihood::outcome(index, names.len(), p)).collect(),
            };
            names.iter().enumerate().map(showing).collect()
        }
        Asked::Number(unit) => numbers(*unit, predictions),
        Asked::Beep => [(true, Shown::Number(0.0, BEEPER_OHMS, 0.0)), (false, Shown::Overload)]
            .map(|(sounds, what)| Showing {
                what,
                likelihood: predictions.iter().map(|p| likelihood::beep(sounds, p)).collect(),
            })
            .into(),
    }
}

/// About every number that is predicted, an overload, and whatever else may be shown.
fn numbers(unit: Unit, predictions: &[Prediction]) -> Vec<Showing> {
    let under = |l: &dyn Fn(&Prediction) -> f64| predictions.iter().map(l).collect();
    let about = |(low, centre, high): (f64, f64, f64)| Showing {
        what: Shown::Number(low, high, centre),
        likelihood: under(&|p| likelihood::between(low, high, p, unit)),
    };
    let overload = Showing { what: Shown::Overload, likelihood: under(&|p| likelihood::overload(p, unit)) };
    let mut all: Vec<Showing> = cells(unit, predictions).into_iter().map(about).collect();
    all.push(overload);
    let left = |at: usize| 1.0 - all.iter().map(|s| s.likelihood[at]).sum::<f64>();
    let likelihood = (0..predictions.len()).map(|at| left(at).max(0.0)).collect();
    all.push(Showing { what: Shown::Else, likelihood });
    all
}

/// Where each predicted number lies: at the least, most likely, at the most; cut halfway between two neighbours.
fn cells(unit: Unit, predictions: &[Prediction]) -> Vec<(f64, f64, f64)> {
    let mut cells: Vec<_> = predictions.iter().filter_map(|p| Spread::of(p, unit).reach()).collect();
    cells.sort_by(|a, b| a.1.total_cmp(&b.1));
    cells.dedup_by(|b, a| {
        let same = (a.1 - b.1).abs() <= 1e-3 * a.1.abs();
        if same {
            *a = (a.0.min(b.0), a.1, a.2.max(b.2));
        }
        same
    });
    // By decades, where the two are decades apart.
    let halfway = |a: f64, b: f64| f64::midpoint(a.asinh(), b.asinh()).sinh();
    let edges: Vec<f64> = cells.windows(2).map(|pair| halfway(pair[0].1, pair[1].1)).collect();
    for (i, edge) in edges.into_iter().enumerate() {
        cells[i].2 = cells[i].2.min(edge);
        cells[i + 1].0 = cells[i + 1].0.max(edge);
    }
    cells
}
