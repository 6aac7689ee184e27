//! What was found and left out on this job, and what the diagnosis makes of it.

use crate::diagnose::Diagnosis;
use crate::diagnose::hypothesis::Hypothesis;
use crate::diagnose::plan::Next;
use crate::diagnose::remedy::Confidence;
use crate::diagnose::verdict::Verdict;
use crate::id::{CheckId, ComplaintId, StateId};
use crate::model::appliance::{Appliance, CheckKind, Prediction};
use crate::quantity::{Decimal, Prefix, Quantity};
use crate::reading::Finding;
use crate::record::entry::What;
use crate::say::Prompt;
use crate::say::prompt::Expected;
use crate::understand::heard::Candidate;

use super::outbox::Outbox;
use super::phase::advising::permille;

/// Findings in the order taken, and checks left out.
#[derive(Clone, Debug)]
pub(super) struct Findings {
    complaint: ComplaintId,
    diagnosis: Diagnosis,
    taken: Vec<CheckId>,
    skipped: Vec<CheckId>,
}

/// How many causes of a belief are kept.
const CAUSES: usize = 6;

impl Findings {
    pub(super) fn new(appliance: &Appliance, complaint: &ComplaintId) -> Self {
        let diagnosis = Diagnosis::new(appliance, complaint);
        Self { complaint: complaint.clone(), diagnosis, taken: Vec::new(), skipped: Vec::new() }
    }

    /// The same findings on a machine whose values are known better.
    pub(super) fn on(&self, appliance: &Appliance) -> Self {
        let diagnosis = Diagnosis::new(appliance, &self.complaint).with(self.diagnosis.evidence.clone());
        Self { diagnosis, ..self.clone() }
    }

    /// Keeps a finding and what is believed then; a later one for the same check replaces the earlier.
    pub(super) fn take(&mut self, out: &mut Outbox, check: &CheckId, finding: Finding, words: &Candidate) {
        out.record(What::Found {
            check: check.clone(),
            finding: finding.clone(),
            words: words.words.clone(),
            permille: permille(f64::from(words.probability)),
        });
        self.restore(check, finding);
        self.record_belief(out);
    }

    /// Puts a finding of the record back.
    pub(super) fn restore(&mut self, check: &CheckId, finding: Finding) {
        self.diagnosis.evidence.accept(check.clone(), finding);
        self.taken.retain(|taken| taken != check);
        self.taken.push(check.clone());
        self.skipped.retain(|skipped| skipped != check);
    }

    /// Takes the last finding back; its check.
    pub(super) fn take_back(&mut self, out: &mut Outbox) -> Option<CheckId> {
        let check = self.taken.pop()?;
        self.diagnosis.evidence.retract(&check);
        out.record(What::Retracted { check: check.clone() });
        self.record_belief(out);
        Some(check)
    }

    fn record_belief(&self, out: &mut Outbox) {
        let mut causes = self.diagnosis.belief().permille();
        causes.truncate(CAUSES);
        out.record(What::Believed { causes });
    }

    /// Leaves a check out.
    pub(super) fn skip(&mut self, check: CheckId) {
        self.skipped.push(check);
    }

    /// The check whose finding was taken last.
    pub(super) fn last(&self) -> Option<&CheckId> {
        self.taken.last()
    }

    /// How many findings are taken.
    pub(super) fn len(&self) -> usize {
        self.taken.len()
    }

    /// What to do next, from the state the machine is in.
    pub(super) fn plan(&self, state: Option<&StateId>) -> Next {
        self.diagnosis.next(&self.skipped, state)
    }

    /// What a finding says of the circuit; `None` where the diagnosis does not use the check.
    pub(super) fn verdict(&self, check: &CheckId, finding: &Finding) -> Option<Verdict> {
        self.diagnosis.verdict(check, finding)
    }

    /// Would any of these rivals lead anywhere else than the finding does?
    pub(super) fn would_differ(
        &self,
        check: &CheckId,
        finding: &Finding,
        rivals: &[Finding],
        state: Option<&StateId>,
    ) -> bool {
        let leads = |finding: &Finding| self.diagnosis.consequence(check, finding, &self.skipped, state);
        let here = leads(finding);
        rivals.iter().any(|rival| match (&here, leads(rival)) {
            (Some(here), Some(there)) => !here.agrees_with(&there),
            _ => true,
        })
    }

    /// The likeliest cause as a clause, once anything was found, and how likely it is.
    pub(super) fn likeliest(&self, appliance: &Appliance) -> (Option<String>, Confidence) {
        let ranked = self.diagnosis.belief().ranked();
        let (hypothesis, probability) = ranked.first().expect("there is always a hypothesis");
        let cause = cause_words(appliance, hypothesis).filter(|_| !self.taken.is_empty());
        (cause, Confidence::of(*probability))
    }

    /// The finding that moved the belief most, and where to.
    pub(super) fn why(&self, appliance: &Appliance) -> Prompt {
        let ranked = self.diagnosis.belief().ranked();
        let (hypothesis, _) = ranked.first().expect("there is always a hypothesis");
        let moved = self.diagnosis.why(hypothesis).into_iter().find(|moved| moved.log_odds > 0.0);
        let cause = cause_words(appliance, hypothesis);
        let (Some(moved), Some(cause)) = (moved, cause) else { return Prompt::WhyNothing };
        let Some(found) = moved.found.first() else { return Prompt::WhyNothing };
        let check =
            appliance.check(&moved.check).map_or_else(|| moved.check.to_string(), |c| c.title.clone());
        Prompt::Why { check, finding: found.finding.clone(), cause }
    }
}

/// A cause as a clause; `None` for "all good".
pub(super) fn cause_words(appliance: &Appliance, hypothesis: &Hypothesis) -> Option<String> {
    hypothesis.fault().and_then(|id| appliance.fault(id)).map(|fault| fault.name.clone())
}

/// What a check shows on a good machine, in three digits.
pub(super) fn expected(appliance: &Appliance, check: &CheckId) -> Expected {
    let Some(check) = appliance.check(check) else { return Expected::Unknown };
    let unit = match &check.kind {
        CheckKind::Measure(m) => m.function.unit(),
        CheckKind::Gauge(gauge) => gauge.unit,
        CheckKind::Observe(_) => return Expected::Unknown,
    };
    match appliance.predict(check, None) {
        Prediction::Value { nominal, .. } => {
            let (shown, prefix) = match nominal.abs() {
                v if v >= 1e6 => (nominal / 1e6, Prefix::Mega),
                v if v >= 2e3 => (nominal / 1e3, Prefix::Kilo),
                _ => (nominal, Prefix::One),
            };
            let places = match shown.abs() {
                v if v >= 100.0 => 0,
                v if v < 0.05 => 0,
                _ => 1,
            };
            let number: Result<Decimal, _> = format!("{shown:.places$}").parse();
            number.map_or(Expected::Unknown, |n| {
                Expected::About(Quantity { number: n, prefix, unit: Some(unit) })
            })
        }
        Prediction::Overload => Expected::Overload,
        Prediction::Outcomes(_) => Expected::Unknown,
    }
}
