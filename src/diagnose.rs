//! From readings to belief over faults, to the next check, to the remedy.
//!
//! Read top-down: a [`trouble::Trouble`] is one machine under one complaint, with everything that its checks could
//! show worked out; [`evidence::Evidence`] is what was found; [`belief::Belief`] follows from the two and from
//! nothing else, so that taking a finding back is computing again. [`Diagnosis`] ties them together.
//!
//! Knows circuits only through what an appliance model predicts, and nothing of words, prompts or safety: that a
//! check may be done at all is the interlock's business.

pub mod belief;
pub mod cost;
pub mod evidence;
pub mod explain;
pub mod hypothesis;
pub mod learn;
pub mod likelihood;
pub mod normal;
pub mod plan;
pub mod remedy;
pub mod repair;
pub mod trouble;
pub mod value;
pub mod verdict;

use std::sync::Arc;

use crate::id::{CheckId, ComplaintId, StateId};
use crate::model::appliance::Appliance;
use crate::reading::Finding;

use belief::Belief;
use evidence::Evidence;
use plan::Next;
use trouble::Trouble;
use verdict::Verdict;

/// One diagnosis: the trouble and what was found. Cloning is cheap; the same findings give the same answers.
#[derive(Clone, Debug)]
pub struct Diagnosis {
    trouble: Arc<Trouble>,
    /// What was found so far.
    pub evidence: Evidence,
}

impl Diagnosis {
    /// A machine under a complaint, nothing found yet.
    pub fn new(appliance: &Appliance, complaint: &ComplaintId) -> Self {
        Self::of(Trouble::new(appliance, complaint))
    }

    /// A trouble put together by hand, nothing found yet.
    pub fn of(trouble: Trouble) -> Self {
        Self { trouble: Arc::new(trouble), evidence: Evidence::default() }
    }

    /// The same trouble with other evidence.
    #[must_use]
    pub fn with(&self, evidence: Evidence) -> Self {
        Self { trouble: Arc::clone(&self.trouble), evidence }
    }

    /// The machine under the complaint.
    pub fn trouble(&self) -> &Trouble {
        &self.trouble
    }

    /// What is believed now.
    pub fn belief(&self) -> Belief {
        Belief::given(&self.trouble, &self.evidence)
    }

    /// What to do next, leaving out the checks that were skipped; `state` is the state the machine is in, if known.
    pub fn next(&self, skipped: &[CheckId], state: Option<&StateId>) -> Next {
        plan::next(&self.trouble, &self.evidence, skipped, state)
    }

    /// What a finding says of the circuit that the check looks at; `None` for a check of another machine.
    pub fn verdict(&self, check: &CheckId, finding: &Finding) -> Option<Verdict> {
        let question = self.trouble.question(check)?;
        Some(verdict::of(finding, question))
    }

    /// What accepting a finding would lead to; `None` for a check of another machine.
    pub fn consequence(
        &self,
        check: &CheckId,
        finding: &Finding,
        skipped: &[CheckId],
        state: Option<&StateId>,
    ) -> Option<explain::Consequence> {
        let verdict = self.verdict(check, finding)?;
        let next = self.with(self.evidence.with(check, finding.clone())).next(skipped, state);
        Some(explain::Consequence { verdict, next })
    }
}
