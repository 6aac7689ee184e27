//! One job at the level of the diagnosis: checks asked for and answered, without a conversation.

use crate::diagnose::Diagnosis;
use crate::diagnose::evidence::Evidence;
use crate::diagnose::plan::Next;
use crate::id::{CheckId, RemedyId};

use super::policy::Policy;
use super::technician::Technician;

/// A job worked to its advice.
#[derive(Clone, Debug, Default)]
pub struct Visit {
    /// The checks done, in order.
    pub checks: Vec<CheckId>,
    /// What was found.
    pub evidence: Evidence,
    /// What was advised; `None` if the job ended without.
    pub advice: Option<Advice>,
}

/// What was advised.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    /// The remedy; `None` where nothing electrical is wrong, or nothing told which.
    pub remedy: Option<RemedyId>,
    /// Was one remedy singled out?
    pub told: bool,
    /// How probable it was believed to be that it cures.
    pub claimed: f64,
}

impl Advice {
    /// The advice at the end of a plan; `None` while there is a check to do.
    pub fn of(next: &Next) -> Option<Self> {
        match next {
            Next::Check(_) => None,
            Next::Advise { remedy, probability, .. } => {
                Some(Self { remedy: remedy.clone(), told: true, claimed: *probability })
            }
            Next::NothingTells { .. } => Some(Self { remedy: None, told: false, claimed: 0.0 }),
        }
    }
}

impl Visit {
    /// Works a job by a policy. Everything is heard.
    pub fn work(diagnosis: &Diagnosis, policy: &dyn Policy, technician: &mut Technician) -> Self {
        let trouble = diagnosis.trouble();
        let mut visit = Self::default();
        // Each check is asked for once at most.
        for _ in 0..=trouble.questions.len() {
            let state = visit.checks.last().and_then(|check| trouble.question(check)).map(|q| &q.state);
            let next = policy.next(trouble, &visit.evidence, &[], state);
            let Next::Check(check) = next else {
                visit.advice = Advice::of(&next);
                break;
            };
            let Some(found) = technician.find(&check) else { break };
            visit.evidence.accept(check.clone(), found.clone());
            visit.checks.push(check);
        }
        visit
    }
}
