//! One machine under one complaint: what can be the matter, what every check could show, what every remedy costs.
//!
//! Everything that does not depend on findings is worked out here, once.

use std::collections::BTreeMap;

use crate::id::{CheckId, ComplaintId, FaultId, RemedyId, StateId};
use crate::model::appliance::{Appliance, Check, CheckKind, Fault, Function, Prediction, State};
use crate::quantity::Unit;

use super::cost;
use super::evidence::Evidence;
use super::hypothesis::Hypothesis;
use super::likelihood::{self, Asked, BEEPER_OHMS, Spread, WRONG_READING};

/// "All good, or not electrical": its share of the belief before anything is found (common practice, no source).
pub const NOT_A_FAULT: f64 = 0.1;

/// One machine under one complaint.
#[derive(Clone, Debug)]
pub struct Trouble {
    /// What can be the matter: "all good" first, then the faults that can cause the complaint, in the file's order, each
    /// followed by itself with what may have brought it about; and the same again for every other circuit that may be
    /// inside.
    pub hypotheses: Vec<Hypothesis>,
    /// Belief before anything is found, as `hypotheses`; sums to one.
    pub prior: Vec<f64>,
    /// What can be done: nothing first, then the remedies of the faults. Where two are needed, that of the first fault
    /// stands for both.
    pub remedies: Vec<Option<RemedyId>>,
    /// Which others of `remedies` each of them does on the way: both of two.
    pub includes: Vec<Vec<usize>>,
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
    /// How often that would not settle, under each hypothesis.
    pub wavers: Vec<f64>,
    /// How many circuits may be inside: the hypotheses are that many times the same, "all good" first each time.
    pub inside: usize,
    /// The share of findings that say nothing of the machine.
    pub wrong: f64,
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
    /// A reading that does not settle.
    Unstable,
    /// Something that is nowhere near what any hypothesis predicts.
    Else,
}

impl Trouble {
    /// An appliance under a complaint.
    ///
    /// Under a complaint that no fault causes, everything but "all good" has no weight and is left out.
    pub fn new(appliance: &Appliance, complaint: &ComplaintId) -> Self {
        let (causes, weights): (Vec<Hypothesis>, Vec<f64>) = causes(appliance, complaint).unzip();
        let (prior, inside) = (prior(&weights), &appliance.candidates);
        let mut trouble = Self {
            hypotheses: Vec::new(),
            prior: inside.iter().flat_map(|c| prior.iter().map(|p| p * c.share)).collect(),
            remedies: vec![None],
            includes: vec![Vec::new()],
            cure: Vec::new(),
            attempt: vec![cost::attempt(None)],
            questions: questions(appliance, &causes),
            states: appliance.states.iter().map(|s| (s.id.clone(), s.clone())).collect(),
        };
        for cause in &causes {
            let remedies = cause.faults().filter_map(|fault| work(appliance, fault));
            let cure = trouble.remedy(&remedies.collect::<Vec<_>>());
            trouble.cure.push(cure);
        }
        trouble.cure = trouble.cure.repeat(inside.len());
        trouble.hypotheses = inside.iter().flat_map(|_| causes.clone()).collect();
        trouble
    }

    /// The index of what does all this, each with what trying it costs; a new one if need be.
    fn remedy(&mut self, work: &[(RemedyId, f64)]) -> usize {
        match work {
            [] => 0,
            [(id, cost)] => {
                let alone =
                    |at: &usize| self.includes[*at].is_empty() && self.remedies[*at].as_ref() == Some(id);
                let known = (0..self.remedies.len()).find(alone);
                known.unwrap_or_else(|| self.push(id, *cost, Vec::new()))
            }
            [(a, _), (b, _), ..] if a == b => self.remedy(&work[..1]),
            [first, second, ..] => {
                let includes: Vec<usize> =
                    [first, second].map(|one| self.remedy(std::slice::from_ref(one))).to_vec();
                let known = self.includes.iter().position(|known| *known == includes);
                let cost = first.1 + second.1 - cost::SECOND_VISIT;
                known.unwrap_or_else(|| self.push(&first.0, cost, includes))
            }
        }
    }

    fn push(&mut self, id: &RemedyId, cost: f64, includes: Vec<usize>) -> usize {
        self.remedies.push(Some(id.clone()));
        self.includes.push(includes);
        self.attempt.push(cost);
        self.remedies.len() - 1
    }

    /// The same with more causes: each with its weight beside the others, which sum to one; what each check shows under
    /// it, one column for each circuit that may be inside; and its work, each with what trying it costs.
    #[must_use]
    pub(super) fn with(mut self, more: &[More<'_>]) -> Self {
        let circuits = self.circuits();
        let each = self.hypotheses.len() / circuits;
        let total = 1.0 + more.iter().map(|m| m.weight).sum::<f64>();
        let cures: Vec<usize> = more.iter().map(|m| self.remedy(&m.work)).collect();
        let mut prior = Vec::new();
        for chunk in self.prior.chunks(each) {
            let share: f64 = chunk.iter().sum();
            prior.extend(chunk.iter().map(|p| p / total));
            prior.extend(more.iter().map(|m| share * m.weight / total));
        }
        let causes: Vec<Hypothesis> = more.iter().map(|m| m.hypothesis.clone()).collect();
        self.hypotheses = interleave(&self.hypotheses, each, |_| causes.clone());
        self.cure = interleave(&self.cure, each, |_| cures.clone());
        self.prior = prior;
        for (nth, question) in self.questions.iter_mut().enumerate() {
            let shown = |inside: usize| more.iter().map(|m| m.shown[inside][nth].clone()).collect();
            question.predictions = interleave(&question.predictions, each, shown);
            question.wavers = interleave(&question.wavers, each, |_| vec![0.0; more.len()]);
            question.cut();
        }
        self
    }

    /// How many circuits may be inside.
    pub(super) fn circuits(&self) -> usize {
        self.questions.first().map_or(1, |question| question.inside)
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

    /// What one of `remedies` consists of: itself, or the two that it does on the way.
    pub fn steps(&self, remedy: usize) -> Vec<usize> {
        let includes = &self.includes[remedy];
        if includes.is_empty() { vec![remedy] } else { includes.clone() }
    }

    /// How probable it is that one of `remedies` mends the machine, by itself or by what it does on the way.
    pub fn mended_by(&self, remedy: usize, belief: &[f64]) -> f64 {
        let p = self.by_remedy(belief);
        p[remedy] + self.includes[remedy].iter().map(|other| p[*other]).sum::<f64>()
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

/// A cause beside those that a trouble has.
pub(super) struct More<'a> {
    pub(super) hypothesis: Hypothesis,
    pub(super) weight: f64,
    pub(super) shown: &'a [Vec<Prediction>],
    pub(super) work: Vec<(RemedyId, f64)>,
}

/// Every chunk of so many, and after each the rest that belongs to it.
fn interleave<T: Clone>(all: &[T], each: usize, rest: impl Fn(usize) -> Vec<T>) -> Vec<T> {
    let chunks = all.chunks(each).enumerate();
    chunks.flat_map(|(nth, chunk)| chunk.iter().cloned().chain(rest(nth))).collect()
}

/// The causes of a complaint with their weights, "all good" first. A fault that another may have brought about stands
/// there alone and with each of those.
fn causes(appliance: &Appliance, complaint: &ComplaintId) -> impl Iterator<Item = (Hypothesis, f64)> {
    let of = move |fault: &Fault| {
        let weight = fault.weight.get(complaint).copied().unwrap_or(0.0);
        let alone = 1.0 - fault.brought_by.values().sum::<f64>();
        let behind = fault
            .brought_by
            .iter()
            .map(|(other, share)| (Hypothesis::Both(fault.id.clone(), other.clone()), share * weight));
        let alone = std::iter::once((Hypothesis::Fault(fault.id.clone()), alone * weight));
        alone.chain(behind).filter(|(_, weight)| *weight > 0.0).collect::<Vec<_>>()
    };
    std::iter::once((Hypothesis::AllGood, 0.0)).chain(appliance.faults.iter().flat_map(of))
}

/// What mends a fault, and what trying that costs.
pub(super) fn work(appliance: &Appliance, fault: &FaultId) -> Option<(RemedyId, f64)> {
    let remedy = appliance.remedy(&appliance.fault(fault)?.remedy)?;
    Some((remedy.id.clone(), cost::attempt(Some(remedy))))
}

/// "All good" and the weights, scaled to sum to one.
fn prior(weights: &[f64]) -> Vec<f64> {
    let total: f64 = weights.iter().sum();
    if total <= 0.0 {
        return vec![1.0];
    }
    let faults = weights.iter().skip(1).map(|w| (1.0 - NOT_A_FAULT) * w / total);
    std::iter::once(NOT_A_FAULT).chain(faults).collect()
}

/// What every check asks, and what it shows under every cause in every circuit that may be inside.
fn questions(appliance: &Appliance, causes: &[Hypothesis]) -> Vec<Question> {
    let circuits = 0..appliance.candidates.len();
    // Both at once is not in the appliance's table.
    let both: Vec<Vec<Option<Vec<Prediction>>>> = circuits
        .map(|inside| causes.iter().map(|cause| predict_both(appliance, inside, cause)).collect())
        .collect();
    let ask = |(nth, check): (usize, &Check)| {
        let under = |(inside, cause): (usize, usize)| match &both[inside][cause] {
            Some(shown) => shown[nth].clone(),
            None => appliance.predict_in(inside, check, causes[cause].faults().next()),
        };
        let all = (0..both.len()).flat_map(|inside| (0..causes.len()).map(move |cause| (inside, cause)));
        let question = Question::of(appliance, check, all.map(under).collect())?;
        let meter = matches!(check.kind, CheckKind::Measure(_));
        let waver = |cause: usize| waver(appliance, &causes[cause % causes.len()]);
        Some(if meter { question.wavering(waver) } else { question })
    };
    appliance.checks.iter().enumerate().filter_map(ask).collect()
}

/// How often what a cause moves does not settle.
fn waver(appliance: &Appliance, cause: &Hypothesis) -> f64 {
    cause.faults().filter_map(|id| appliance.fault(id)).map(|fault| fault.wavers).fold(0.0, f64::max)
}

/// What every check shows under two faults at once; `None` for other causes, and where that cannot be solved.
fn predict_both(appliance: &Appliance, inside: usize, cause: &Hypothesis) -> Option<Vec<Prediction>> {
    let Hypothesis::Both(a, b) = cause else { return None };
    appliance.predict_both(inside, a, b)
}

impl Question {
    /// What a check asks, with what it shows under each hypothesis; `None` if its state is not one of the appliance's.
    fn of(appliance: &Appliance, check: &Check, predictions: Vec<Prediction>) -> Option<Self> {
        let state = appliance.state(&check.state)?;
        let asked = match &check.kind {
            CheckKind::Measure(m) if m.function == Function::Continuity => Asked::Beep,
            CheckKind::Measure(m) => Asked::Number(m.function.unit()),
            CheckKind::Gauge(g) => Asked::Number(g.unit),
            CheckKind::Observe(o) => Asked::Outcome(o.outcomes.iter().map(|o| o.name.clone()).collect()),
        };
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
        let mut question = Self {
            check,
            state,
            live: false,
            cost: 0.0,
            access: None,
            cost_again: 0.0,
            asked,
            wavers: vec![0.0; predictions.len()],
            predictions,
            inside: 1,
            wrong: WRONG_READING,
            showings: Vec::new(),
        };
        question.cut();
        question
    }

    /// The same, where a reading of the meter that a hypothesis moves may not settle: so often under each.
    #[must_use]
    pub fn wavering(mut self, share: impl Fn(usize) -> f64) -> Self {
        let each = self.predictions.len() / self.inside;
        let moved = |at: usize| self.predictions[at].differs(&self.predictions[at / each * each]);
        let shares = (0..self.predictions.len()).map(|at| if moved(at) { share(at) } else { 0.0 });
        self.wavers = shares.collect();
        self.cut();
        self
    }

    /// Cuts what may be shown anew.
    fn cut(&mut self) {
        self.showings = showings(&self.asked, &self.predictions, self.wrong);
        if self.wavers.iter().any(|share| *share > 0.0) {
            let unstable: Vec<f64> = self.wavers.iter().map(|w| likelihood::unsettled(*w, false)).collect();
            for showing in &mut self.showings {
                showing.likelihood.iter_mut().zip(&unstable).for_each(|(l, u)| *l *= 1.0 - u);
            }
            self.showings.push(Showing { what: Shown::Unstable, likelihood: unstable });
        }
    }

    /// The same where another share of findings says nothing of the machine.
    #[must_use]
    pub fn wrong(mut self, share: f64) -> Self {
        self.wrong = share;
        self.cut();
        self
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
fn showings(asked: &Asked, predictions: &[Prediction], wrong: f64) -> Vec<Showing> {
    match asked {
        Asked::Outcome(names) => {
            let showing = |(index, name): (usize, &String)| Showing {
                what: Shown::Outcome(name.clone()),
                likelihood: predictions
                    .iter()
                    .map(|p| likelihood::outcome(index, names.len(), p, wrong))
                    .collect(),
            };
            names.iter().enumerate().map(showing).collect()
        }
        Asked::Number(unit) => numbers(*unit, predictions, wrong),
        Asked::Beep => [(true, Shown::Number(0.0, BEEPER_OHMS, 0.0)), (false, Shown::Overload)]
            .map(|(sounds, what)| Showing {
                what,
                likelihood: predictions.iter().map(|p| likelihood::beep(sounds, p, wrong)).collect(),
            })
            .into(),
    }
}

/// About every number that is predicted, an overload, and whatever else may be shown.
fn numbers(unit: Unit, predictions: &[Prediction], wrong: f64) -> Vec<Showing> {
    let under = |l: &dyn Fn(&Prediction) -> f64| predictions.iter().map(l).collect();
    let about = |(low, centre, high): (f64, f64, f64)| Showing {
        what: Shown::Number(low, high, centre),
        likelihood: under(&|p| likelihood::between(low, high, p, unit, wrong)),
    };
    let overload =
        Showing { what: Shown::Overload, likelihood: under(&|p| likelihood::overload(p, unit, wrong)) };
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
