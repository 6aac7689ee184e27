//! What a job came to: was the remedy right, and what did the finished repair cost?
//!
//! A job does not end with wrong advice: the technician comes back and tries the next remedy, in the best order of what
//! is believed, until the machine runs. All of that is its cost.

use crate::diagnose::Diagnosis;
use crate::diagnose::{cost, repair};
use crate::model::appliance::Appliance;

use super::visit::Visit;

/// What a job came to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outcome {
    /// Was the remedy that cures advised first?
    pub right: bool,
    /// How probable the advice was believed to be; zero where nothing was singled out.
    pub claimed: f64,
    /// How many checks were done.
    pub checks: u32,
    /// How many of them with leads near live parts.
    pub live: u32,
    /// Minutes of work, checks and remedies; coming again is not among them.
    pub minutes: f64,
    /// Parts fitted that did not cure.
    pub wrong_parts: u32,
    /// What the finished repair cost, in minutes or what is worth as much: checks, changes of state, danger, work, parts,
    /// coming again.
    pub cost: f64,
}

impl Outcome {
    /// What a visit came to on a machine with this cause, a place among the trouble's hypotheses.
    pub fn of(appliance: &Appliance, diagnosis: &Diagnosis, visit: &Visit, cause: usize) -> Self {
        let trouble = diagnosis.trouble();
        let cure = trouble.cure[cause];
        let advice = visit.advice.as_ref();
        let mut outcome = Self {
            right: advice.is_some_and(|advice| advice.told && advice.remedy == trouble.remedies[cure]),
            claimed: advice.map_or(0.0, |advice| advice.claimed),
            checks: visit.checks.len() as u32,
            ..Self::default()
        };
        outcome.add_checks(appliance, diagnosis, visit);
        let belief = trouble.by_remedy(&diagnosis.with(visit.evidence.clone()).belief().probabilities());
        let advised = advice.filter(|advice| advice.told);
        let first = advised.and_then(|a| trouble.remedies.iter().position(|remedy| *remedy == a.remedy));
        let others = repair::best_order(&belief, &trouble.attempt).into_iter().filter(|r| Some(*r) != first);
        for remedy in first.into_iter().chain(others) {
            let known = trouble.remedies[remedy].as_ref().and_then(|id| appliance.remedy(id));
            outcome.minutes += known.map_or(0.0, |r| r.minutes);
            outcome.cost += trouble.attempt[remedy];
            if remedy == cure {
                // What cures is not come back for.
                outcome.cost -= cost::SECOND_VISIT;
                break;
            }
            outcome.wrong_parts += u32::from(known.is_some_and(|r| r.price > 0));
        }
        outcome
    }

    fn add_checks(&mut self, appliance: &Appliance, diagnosis: &Diagnosis, visit: &Visit) {
        let trouble = diagnosis.trouble();
        let mut done = Vec::new();
        let mut state = None;
        for question in visit.checks.iter().filter_map(|check| trouble.question(check)) {
            self.cost += trouble.cost(question, state, done.iter().copied());
            self.live += u32::from(question.live);
            if let (Some(check), Some(to)) =
                (appliance.check(&question.check), appliance.state(&question.state))
            {
                let open = done.iter().any(|d| question.access.is_some() && d.access == question.access);
                let from = state.and_then(|id| appliance.state(id));
                self.minutes += cost::minutes(check, open) + cost::change(from, to);
            }
            state = Some(&question.state);
            done.push(question);
        }
    }
}
