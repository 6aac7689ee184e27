//! What is believed: a probability for every hypothesis, summing to one.
//!
//! Findings are independent of each other once the fault and the state of the meter are known, so the belief is the prior
//! times the likelihoods, summed over what can be the matter with the meter, scaled. It is computed anew from all evidence
//! each time; nothing is undone.

use super::evidence::{Alternative, Evidence, Found};
use super::hypothesis::Hypothesis;
use super::instrument::Instrument;
use super::likelihood::{Asked, WRONG_READING, likelihood, unsettled};
use super::trouble::{Question, Trouble};
use crate::model::appliance::Prediction;
use crate::quantity::Unit;
use crate::reading::{Finding, Reading};

/// A probability for every hypothesis.
#[derive(Clone, Debug, PartialEq)]
pub struct Belief {
    hypotheses: Vec<Hypothesis>,
    /// Natural logarithms, so that a long job does not run out of digits: one row for each state of the meter.
    log: [Vec<f64>; Instrument::ALL.len()],
}

impl Belief {
    /// What follows from the evidence. Findings for checks of other machines are left out.
    pub fn given(trouble: &Trouble, evidence: &Evidence) -> Self {
        let found = evidence.of_machine(trouble);
        let mut log = Instrument::ALL.map(|instrument| {
            let start = (instrument.prior() * touched(instrument, evidence)).ln();
            let mut log: Vec<f64> = trouble.prior.iter().map(|p| start + p.ln()).collect();
            for (place, found) in &found {
                let under = likelihoods(found, &trouble.questions[*place], instrument);
                for (log, l) in log.iter_mut().zip(under) {
                    *log += l.ln();
                }
            }
            log
        });
        let most = log.iter().flatten().copied().fold(f64::NEG_INFINITY, f64::max);
        let total = most + log.iter().flatten().map(|l| (l - most).exp()).sum::<f64>().ln();
        for l in log.iter_mut().flatten() {
            *l -= total;
        }
        Self { hypotheses: trouble.hypotheses.clone(), log }
    }

    /// The probabilities, in the order of the trouble's hypotheses.
    pub fn probabilities(&self) -> Vec<f64> {
        (0..self.hypotheses.len()).map(|at| self.at(at)).collect()
    }

    /// The same with the meter standing so, summing to how probable that is.
    pub fn with(&self, instrument: Instrument) -> Vec<f64> {
        self.log[instrument as usize].iter().map(|l| l.exp()).collect()
    }

    /// How probable it is that the meter stands so.
    pub fn instrument(&self, instrument: Instrument) -> f64 {
        self.with(instrument).iter().sum()
    }

    /// The probability of one hypothesis, whichever circuit is inside; zero if it is not among them.
    pub fn of(&self, hypothesis: &Hypothesis) -> f64 {
        self.sum(|h| h == hypothesis)
    }

    /// Natural logarithm of the odds for one hypothesis against all others.
    pub fn log_odds(&self, hypothesis: &Hypothesis) -> Option<f64> {
        let known = self.hypotheses.contains(hypothesis);
        known.then(|| self.of(hypothesis).ln() - self.sum(|h| h != hypothesis).ln())
    }

    /// Every hypothesis with its probability, most probable first; equals stay in the file's order.
    pub fn ranked(&self) -> Vec<(Hypothesis, f64)> {
        let mut all: Vec<(Hypothesis, f64)> = Vec::new();
        for (hypothesis, p) in self.hypotheses.iter().zip(self.probabilities()) {
            match all.iter_mut().find(|(h, _)| h == hypothesis) {
                Some((_, sum)) => *sum += p,
                None => all.push((hypothesis.clone(), p)),
            }
        }
        all.sort_by(|a, b| b.1.total_cmp(&a.1));
        all
    }

    /// Every hypothesis with its probability in thousandths, most probable first, for the record.
    pub fn permille(&self) -> Vec<(String, u16)> {
        let round = |p: f64| (p * 1000.0).round().clamp(0.0, 1000.0) as u16;
        self.ranked().into_iter().map(|(h, p)| (h.to_string(), round(p))).collect()
    }

    fn at(&self, index: usize) -> f64 {
        self.log.iter().map(|row| row[index].exp()).sum()
    }

    fn sum(&self, which: impl Fn(&Hypothesis) -> bool) -> f64 {
        (0..self.hypotheses.len()).filter(|at| which(&self.hypotheses[*at])).map(|at| self.at(at)).sum()
    }
}

/// How probable what was found is under each hypothesis, with the meter standing so.
pub fn likelihoods(found: &Found, question: &Question, instrument: Instrument) -> Vec<f64> {
    // Who takes a reading again looks at the dial.
    let dial = found.again && instrument == Instrument::OnVolts;
    if let Some(prediction) = instrument.shows(&question.asked).filter(|_| !dial) {
        return vec![under(&prediction, 0.0, found, question); question.predictions.len()];
    }
    let shown = question.predictions.iter().zip(&question.wavers);
    shown.map(|(prediction, wavers)| under(prediction, *wavers, found, question)).collect()
}

/// How probable what was found is where the check shows this, and wavers so often.
pub(super) fn under(prediction: &Prediction, wavers: f64, found: &Found, question: &Question) -> f64 {
    let wrong = wrong_share(found, question);
    let settles = 1.0 - unsettled(wavers, found.again);
    let one = |a: &Alternative| {
        let shown = match (&a.finding, &question.asked) {
            (_, Asked::Outcome(_)) => likelihood(&a.finding, prediction, &question.asked, wrong),
            (Finding::Reading(Reading::Unstable), _) => 1.0 - settles,
            _ => settles * likelihood(&a.finding, prediction, &question.asked, wrong),
        };
        a.probability * shown
    };
    found.alternatives.iter().map(one).sum()
}

/// The share of such findings that say nothing; taken twice and the same, it would have to be wrong twice.
pub(super) fn wrong_share(found: &Found, question: &Question) -> f64 {
    if found.again { question.wrong * question.wrong } else { question.wrong }
}

/// How probable what the leads showed when touched together is, with the meter standing so.
fn touched(instrument: Instrument, evidence: &Evidence) -> f64 {
    let shown = instrument.touched();
    let one = |finding| likelihood(finding, &shown, &Asked::Number(Unit::Ohms), WRONG_READING);
    evidence.touched().map_or(1.0, one)
}
