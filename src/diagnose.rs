//! From readings to belief over faults, to the next check, to the remedy.
//!
//! Read top-down: a [`trouble::Trouble`] is one machine under one complaint, with everything that its checks could
//! show worked out; [`evidence::Evidence`] is what was found; [`belief::Belief`] follows from the two and from
//! nothing else, so that taking a finding back is computing again. [`pair`] adds two faults at once where one is not enough,
//! [`history`] what the customer tells, [`doubt`] says which findings are not to be believed, [`setback`] what a remedy that did not help tells. [`Diagnosis`] ties them together.
//!
//! Knows circuits only through what an appliance model predicts, and nothing of words, prompts or safety: that a
//! check may be done at all is the interlock's business.

pub mod belief;
pub mod cost;
pub mod doubt;
pub mod evidence;
pub mod explain;
pub mod history;
pub mod hypothesis;
pub mod instrument;
pub mod learn;
pub mod likelihood;
pub mod normal;
pub mod pair;
pub mod plan;
pub mod remedy;
pub mod repair;
pub mod setback;
pub mod trouble;
pub mod value;
pub mod verdict;

use std::borrow::Cow;
use std::sync::Arc;

use crate::id::{CheckId, ComplaintId, StateId};
use crate::model::appliance::{Appliance, Prediction};
use crate::quantity::Unit;
use crate::reading::Finding;

use belief::Belief;
use doubt::Doubt;
use evidence::Evidence;
use history::Told;
use hypothesis::Hypothesis;
use likelihood::Asked;
use pair::{Machine, Pairs};
use plan::Next;
use trouble::Trouble;
use verdict::Verdict;

/// Below this many ohms what the leads have matters (common practice: 0.1 to 0.4 ohms of about twenty).
const FEW_OHMS: f64 = 20.0;

/// One diagnosis: the trouble and what was found. Cloning is cheap; the same findings give the same answers.
#[derive(Clone, Debug)]
pub struct Diagnosis {
    trouble: Arc<Trouble>,
    pairs: Option<Arc<Pairs>>,
    /// What the customer told.
    history: Vec<Told>,
    /// What was found before each remedy that did not help, and the cause that it was for.
    setbacks: Vec<(Evidence, Hypothesis)>,
    /// What was found so far, since the last remedy that did not help.
    pub evidence: Evidence,
}

impl Diagnosis {
    /// A machine under a complaint, nothing found yet.
    pub fn new(appliance: &Appliance, complaint: &ComplaintId) -> Self {
        let trouble = Trouble::new(appliance, complaint);
        Self::with_pairs(trouble, appliance.clone())
    }

    /// A trouble put together by hand, nothing found yet. No two faults at once are considered but its own.
    pub fn of(trouble: Trouble) -> Self {
        Self {
            trouble: Arc::new(trouble),
            pairs: None,
            history: Vec::new(),
            setbacks: Vec::new(),
            evidence: Evidence::default(),
        }
    }

    /// The same, where two faults at once are considered if no cause of the trouble explains what is found.
    pub fn with_pairs(trouble: Trouble, machine: impl Machine + 'static) -> Self {
        let pairs = Pairs::new(&trouble, machine);
        Self { pairs: Some(Arc::new(pairs)), ..Self::of(trouble) }
    }

    /// The same trouble with other evidence.
    #[must_use]
    pub fn with(&self, evidence: Evidence) -> Self {
        Self { evidence, ..self.clone() }
    }

    /// The same findings on a machine whose values are known better.
    #[must_use]
    pub fn on(&self, appliance: &Appliance, complaint: &ComplaintId) -> Self {
        let before = |diagnosis: Self, (evidence, tried): &(Evidence, Hypothesis)| {
            diagnosis.with(evidence.clone()).after(tried)
        };
        let told = |diagnosis: Self, told: &Told| diagnosis.told(appliance, told);
        let fresh = self.history.iter().fold(Self::new(appliance, complaint), told);
        self.setbacks.iter().fold(fresh, before).with(self.evidence.clone())
    }

    /// The machine under the complaint, before anything is found.
    pub fn trouble(&self) -> &Trouble {
        &self.trouble
    }

    /// The causes considered under the evidence: the trouble's own and, where those leave a [`Doubt`] in a finding, the
    /// pairs of faults that explain the findings best.
    pub fn considered(&self) -> Cow<'_, Trouble> {
        match &self.pairs {
            Some(pairs) if !doubt::doubts(&self.trouble, &self.evidence).is_empty() => {
                Cow::Owned(pairs.beside(&self.trouble, &self.evidence))
            }
            _ => Cow::Borrowed(&self.trouble),
        }
    }

    /// What is believed now, over the causes [`considered`](Self::considered).
    pub fn belief(&self) -> Belief {
        Belief::given(&self.considered(), &self.evidence)
    }

    /// What to do next, leaving out the checks that were skipped; `state` is the state the machine is in, if known.
    pub fn next(&self, skipped: &[CheckId], state: Option<&StateId>) -> Next {
        plan::next(&self.considered(), &self.evidence, skipped, state)
    }

    /// How many checks are left that could still change the remedy: the most that are still asked for.
    pub fn left(&self, skipped: &[CheckId]) -> usize {
        let trouble = self.considered();
        let belief = Belief::given(&trouble, &self.evidence).probabilities();
        if trouble.by_remedy(&belief)[plan::best_remedy(&trouble, &belief)] >= plan::CLEARLY {
            return 0;
        }
        let open = plan::open(&trouble, &self.evidence, skipped);
        open.filter(|question| plan::can_change(&trouble, &belief, question)).count()
    }

    /// What keeps the findings from being believed, most probable first: see [`Doubt`].
    pub fn doubts(&self) -> Vec<(Doubt, f64)> {
        doubt::doubts(&self.considered(), &self.evidence)
    }

    /// Does a check ask for so few ohms that what the leads have matters?
    pub fn few_ohms(&self, check: &CheckId) -> bool {
        let few =
            |shown: &Prediction| matches!(shown, Prediction::Value { nominal, .. } if *nominal < FEW_OHMS);
        self.trouble.question(check).is_some_and(|question| {
            question.asked == Asked::Number(Unit::Ohms) && question.healthy_in_each().any(few)
        })
    }

    /// What a finding says of the circuit that the check looks at, the leads left out; `None` for a check of another machine.
    pub fn verdict(&self, check: &CheckId, finding: &Finding) -> Option<Verdict> {
        let question = self.trouble.question(check)?;
        Some(verdict::of(&self.evidence.without_leads(finding, &question.asked), question))
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
