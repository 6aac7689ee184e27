//! What is believed: a probability for every hypothesis, summing to one.
//!
//! Findings are independent of each other once the fault is known, so the belief is the prior times the likelihoods,
//! scaled. It is computed anew from all evidence each time; nothing is undone.

use super::evidence::{Alternative, Evidence};
use super::hypothesis::Hypothesis;
use super::likelihood::likelihood;
use super::trouble::{Question, Trouble};

/// A probability for every hypothesis.
#[derive(Clone, Debug, PartialEq)]
pub struct Belief {
    hypotheses: Vec<Hypothesis>,
    /// Natural logarithms, so that a long job does not run out of digits.
    log: Vec<f64>,
}

impl Belief {
    /// What follows from the evidence. Findings for checks of other machines are left out.
    pub fn given(trouble: &Trouble, evidence: &Evidence) -> Self {
        let mut log: Vec<f64> = trouble.prior.iter().map(|p| p.ln()).collect();
        for (check, alternatives) in evidence.iter() {
            if let Some(question) = trouble.question(check) {
                for (log, l) in log.iter_mut().zip(likelihoods(alternatives, question)) {
                    *log += l.ln();
                }
            }
        }
        let most = log.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let total = most + log.iter().map(|l| (l - most).exp()).sum::<f64>().ln();
        for l in &mut log {
            *l -= total;
        }
        Self { hypotheses: trouble.hypotheses.clone(), log }
    }

    /// The probabilities, in the order of the trouble's hypotheses.
    pub fn probabilities(&self) -> Vec<f64> {
        self.log.iter().map(|l| l.exp()).collect()
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

    fn sum(&self, which: impl Fn(&Hypothesis) -> bool) -> f64 {
        self.hypotheses.iter().zip(&self.log).filter(|(h, _)| which(h)).map(|(_, log)| log.exp()).sum()
    }
}

/// How probable what was found is under each hypothesis.
pub fn likelihoods(alternatives: &[Alternative], question: &Question) -> Vec<f64> {
    let under = |prediction| {
        let one = |a: &Alternative| a.probability * likelihood(&a.finding, prediction, &question.asked);
        alternatives.iter().map(one).sum()
    };
    question.predictions.iter().map(under).collect()
}
