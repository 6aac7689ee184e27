//! What was found and left out on this job, and what the diagnosis makes of it.

use std::cell::OnceCell;
use std::collections::BTreeSet;

use crate::diagnose::Diagnosis;
use crate::diagnose::doubt::Doubt;
use crate::diagnose::explain::Moved;
use crate::diagnose::history::Told;
use crate::diagnose::hypothesis::Hypothesis;
use crate::diagnose::instrument::Instrument;
use crate::diagnose::plan::Next;
use crate::diagnose::remedy::{self, Confidence};
use crate::diagnose::verdict::Verdict;
use crate::id::{CheckId, ComplaintId, StateId};
use crate::model::appliance::{Appliance, CheckKind, Prediction, Site};
use crate::quantity::{Decimal, Prefix, Quantity};
use crate::reading::{Finding, Reading};
use crate::record::diagnosed;
use crate::record::entry::What;
use crate::record::job::{Job, Standing};
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
    /// The checks that were asked for once more because their finding fits nothing: once is enough.
    doubted: BTreeSet<CheckId>,
    /// Nobody wants to touch the leads together.
    leads_left_out: bool,
    /// The cause whose remedy was carried out last.
    mended: Option<Hypothesis>,
}

/// How many causes of a belief are kept.
const CAUSES: usize = 6;

/// More words than this about what was found are not listened to.
const MOST_WORDS: usize = 18;

impl Findings {
    pub(super) fn new(appliance: &Appliance, complaint: &ComplaintId) -> Self {
        Self {
            complaint: complaint.clone(),
            diagnosis: Diagnosis::new(appliance, complaint),
            taken: Vec::new(),
            skipped: Vec::new(),
            doubted: BTreeSet::new(),
            leads_left_out: false,
            mended: None,
        }
    }

    /// The findings of a job's record.
    pub(super) fn of(job: &Job, appliance: &Appliance, complaint: &ComplaintId) -> Self {
        let since = job.setbacks.last().map_or(0, |setback| setback.after);
        let taken = job.found.iter().skip(since).filter(|found| found.standing == Standing::Stands);
        let mended = job.advised().filter(|_| job.fixed == Some(true));
        Self {
            diagnosis: diagnosed::diagnosis(job, appliance, complaint),
            taken: taken.map(|found| found.check.clone()).collect(),
            skipped: job.skipped.clone(),
            mended: mended.map(|advice| Hypothesis::named(&advice.cause)),
            ..Self::new(appliance, complaint)
        }
    }

    /// The same findings on a machine whose values are known better.
    pub(super) fn on(&self, appliance: &Appliance) -> Self {
        Self { diagnosis: self.diagnosis.on(appliance, &self.complaint), ..self.clone() }
    }

    /// The customer told something of the complaint.
    pub(super) fn tell(&mut self, appliance: &Appliance, told: &Told) {
        self.diagnosis = self.diagnosis.told(appliance, told);
    }

    /// What mends a cause was carried out.
    pub(super) fn mend(&mut self, cause: Hypothesis) {
        self.mended = Some(cause);
    }

    /// Was anything carried out, and not yet found not to help?
    pub(super) const fn has_mended(&self) -> bool {
        self.mended.is_some()
    }

    /// What was carried out last did not help: what remains is looked for anew.
    pub(super) fn set_back(&mut self, out: &mut Outbox) {
        if let Some(tried) = self.mended.take() {
            self.diagnosis = self.diagnosis.after(&tried);
            self.taken.clear();
            self.doubted.clear();
            self.record_belief(out);
        }
    }

    /// Keeps a finding, what may have been meant instead, and what is believed then; a later one for the same check
    /// replaces the earlier.
    pub(super) fn take(
        &mut self,
        out: &mut Outbox,
        check: &CheckId,
        finding: Finding,
        others: &[(Finding, f32)],
        words: &Candidate,
    ) {
        let others: Vec<(Finding, u16)> =
            others.iter().map(|(finding, p)| (finding.clone(), permille(f64::from(*p)))).collect();
        out.record(What::Found {
            check: check.clone(),
            finding: finding.clone(),
            words: words.words.clone(),
            permille: permille(f64::from(words.probability)),
            others: others.clone(),
        });
        self.diagnosis.evidence.accept_any(check.clone(), diagnosed::meant(&finding, &others));
        self.taken.retain(|taken| taken != check);
        self.taken.push(check.clone());
        self.skipped.retain(|skipped| skipped != check);
        self.record_belief(out);
    }

    /// Takes the last finding back; its check.
    pub(super) fn take_back(&mut self, out: &mut Outbox) -> Option<CheckId> {
        let check = self.taken.last()?.clone();
        self.scratch(out, &check);
        Some(check)
    }

    /// Takes a finding back.
    pub(super) fn scratch(&mut self, out: &mut Outbox, check: &CheckId) {
        self.retract(out, check);
        self.record_belief(out);
    }

    fn retract(&mut self, out: &mut Outbox, check: &CheckId) {
        self.taken.retain(|taken| taken != check);
        self.skipped.retain(|skipped| skipped != check);
        self.diagnosis.evidence.retract(check);
        out.record(What::Retracted { check: check.clone() });
    }

    fn record_belief(&self, out: &mut Outbox) {
        let mut causes = self.diagnosis.belief().permille();
        causes.truncate(CAUSES);
        out.record(What::Believed { causes });
    }

    /// Do the leads matter for this check, and is it not known yet what they have?
    pub(super) fn wants_leads(&self, check: &CheckId) -> bool {
        self.leads_open() && self.diagnosis.few_ohms(check)
    }

    /// The leads are not touched together on this job.
    pub(super) const fn leave_leads(&mut self) {
        self.leads_left_out = true;
    }

    const fn leads_open(&self) -> bool {
        !self.leads_left_out && self.diagnosis.evidence.touched().is_none()
    }

    /// The leads are good: what the meter showed with them touched together.
    pub(super) fn leads_good(&mut self, shown: Reading) {
        self.diagnosis.evidence.touch(Some(Finding::Reading(shown)));
    }

    /// A lead is open: every finding that looks like that is taken back.
    pub(super) fn leads_bad(&mut self, out: &mut Outbox) {
        let spoilt = self.diagnosis.spoilt_by(Instrument::LeadOpen);
        for check in &spoilt {
            self.retract(out, check);
        }
        self.diagnosis.evidence.touch(None);
        self.record_belief(out);
    }

    /// What keeps the findings from being believed and was not yet seen to, most probable first.
    pub(super) fn doubt(&self) -> Option<Doubt> {
        let open = |(doubt, _): &(Doubt, f64)| match doubt {
            Doubt::LeadOpen => self.leads_open(),
            Doubt::OnVolts => self.last().is_some_and(|last| !self.doubted.contains(last)),
            Doubt::Unexplained(check) => !self.doubted.contains(check),
        };
        self.diagnosis.doubts().into_iter().find(open).map(|(doubt, _)| doubt)
    }

    /// Is this a finding that nothing explains, though it was taken again?
    pub(super) fn stays_unexplained(&self, check: &CheckId) -> bool {
        self.doubted.contains(check) && self.diagnosis.unexplained().contains(check)
    }

    /// A check is asked for once more because of a doubt.
    pub(super) fn ask_again(&mut self, check: &CheckId) {
        self.doubted.insert(check.clone());
    }

    /// Leaves a check out.
    pub(super) fn skip(&mut self, check: CheckId) {
        if !self.skipped.contains(&check) {
            self.skipped.push(check);
        }
    }

    /// The check whose finding was taken last.
    pub(super) fn last(&self) -> Option<&CheckId> {
        self.taken.last()
    }

    /// What a restart brings back, as text.
    pub(super) fn memory(&self) -> String {
        let found: Vec<_> =
            self.diagnosis.evidence.iter().map(|(check, found)| (check, &found.alternatives)).collect();
        let touched = self.diagnosis.evidence.touched();
        let told = self.diagnosis.history();
        format!("{} {told:?} {:?} {found:?} {touched:?} {:?}", self.complaint, self.taken, self.skipped)
    }

    /// The checks that were asked for once more, and whether the leads are left out.
    pub(super) const fn asked_again(&self) -> (&BTreeSet<CheckId>, bool) {
        (&self.doubted, self.leads_left_out)
    }

    /// The checks with a finding, in the order taken.
    pub(super) fn taken(&self) -> &[CheckId] {
        &self.taken
    }

    /// What was most probably found for a check.
    pub(super) fn found(&self, check: &CheckId) -> Option<Finding> {
        let alternatives = self.diagnosis.evidence.of(check).iter();
        let likeliest = alternatives.max_by(|a, b| a.probability.total_cmp(&b.probability));
        likeliest.map(|alternative| alternative.finding.clone())
    }

    /// How many findings are taken.
    pub(super) fn len(&self) -> usize {
        self.taken.len()
    }

    /// What to do next, from the state the machine is in.
    pub(super) fn plan(&self, state: Option<&StateId>) -> Next {
        self.diagnosis.next(&self.skipped, state)
    }

    /// How many checks could still change the advice.
    pub(super) fn left(&self) -> usize {
        self.diagnosis.left(&self.skipped)
    }

    /// What a finding says of the circuit; `None` where the diagnosis does not use the check.
    pub(super) fn verdict(&self, check: &CheckId, finding: &Finding) -> Option<Verdict> {
        self.diagnosis.verdict(check, finding)
    }

    /// Tells of findings for a check whether they lead to another verdict, remedy or next check than this one does.
    pub(super) fn elsewhere<'f>(
        &'f self,
        check: &'f CheckId,
        finding: &Finding,
        state: Option<&'f StateId>,
    ) -> impl Fn(&Finding) -> bool + 'f {
        let leads = move |finding: &Finding| self.diagnosis.consequence(check, finding, &self.skipped, state);
        let here = OnceCell::new();
        let finding = finding.clone();
        move |rival| match (here.get_or_init(|| leads(&finding)), leads(rival)) {
            (Some(here), Some(there)) => !here.agrees_with(&there),
            _ => true,
        }
    }

    /// The likeliest cause as a clause, once anything was found, and how likely it is.
    pub(super) fn likeliest(&self, appliance: &Appliance) -> (Option<String>, Confidence) {
        let (hypothesis, probability) = self.first();
        let cause = clause(&hypothesis, appliance).filter(|_| !self.taken.is_empty());
        (cause, Confidence::of(probability))
    }

    fn first(&self) -> (Hypothesis, f64) {
        let ranked = self.diagnosis.belief().ranked();
        ranked.into_iter().next().expect("there is always a hypothesis")
    }

    /// The one or two findings that moved the belief most, and from where to where.
    pub(super) fn why(&self, appliance: &Appliance) -> Prompt {
        let (hypothesis, now) = self.first();
        let moved = self.diagnosis.why(&hypothesis).into_iter().filter(|moved| moved.log_odds > 0.0);
        let moved: Vec<Moved> = moved.take(2).collect();
        let told = |moved: &Moved| {
            let check = appliance.check(&moved.check)?;
            Some((place(appliance, &moved.check), in_words(&check.kind, &moved.found.first()?.finding)))
        };
        let mut found: Vec<(String, Finding)> = moved.iter().filter_map(told).collect();
        // A reading has about four words.
        let words = |(place, _): &(String, Finding)| place.split_whitespace().count() + 4;
        if found.iter().map(words).sum::<usize>() > MOST_WORDS {
            found.truncate(1);
        }
        if found.is_empty() {
            return Prompt::WhyNothing;
        }
        let checks: Vec<&CheckId> = moved.iter().take(found.len()).map(|moved| &moved.check).collect();
        Prompt::Why {
            found,
            before: Confidence::of(self.diagnosis.without(&checks, &hypothesis)),
            now: Confidence::of(now),
            cause: clause_or_good(&hypothesis, appliance),
        }
    }

    /// What the open check tells, without giving away what it should read.
    pub(super) fn why_check(
        &self,
        appliance: &Appliance,
        check: &CheckId,
        state: Option<&StateId>,
    ) -> Prompt {
        let tells = self.diagnosis.why_check(check, state).map(|reason| reason.tells).unwrap_or_default();
        let mut causes = tells.iter().map(|hypothesis| clause_or_good(hypothesis, appliance));
        match (causes.next(), causes.next()) {
            (Some(cause), Some(other)) => Prompt::WhyCheck { cause, other },
            _ => Prompt::NotHere,
        }
    }

    /// What could still change the advice.
    pub(super) fn change_of_mind(&self, appliance: &Appliance) -> Prompt {
        match self.diagnosis.change_of_mind() {
            Some((check, leads)) => Prompt::CouldChange {
                check: place(appliance, &check),
                cause: clause_or_good(&leads.cause, appliance),
            },
            None => Prompt::NothingChanges,
        }
    }
}

/// A cause as a clause to be spoken; `None` for "all good".
pub(super) fn clause(hypothesis: &Hypothesis, appliance: &Appliance) -> Option<String> {
    let causes = remedy::causes(hypothesis, appliance);
    (!causes.is_empty()).then(|| causes.join(". With it, "))
}

fn clause_or_good(hypothesis: &Hypothesis, appliance: &Appliance) -> String {
    clause(hypothesis, appliance).unwrap_or_else(|| "nothing electrical has failed".to_owned())
}

/// What a check looks at, in few words: its points, or what it asks.
pub(super) fn place(appliance: &Appliance, check: &CheckId) -> String {
    let question = match appliance.check(check).map(|check| &check.kind) {
        Some(CheckKind::Measure(m)) => {
            return match &m.at {
                Site::Across(from, to) => {
                    format!("{} to {}", appliance.point_name(from), appliance.point_name(to))
                }
                Site::Around { wire, .. } => wire.clone(),
            };
        }
        Some(CheckKind::Observe(observation)) => &observation.question,
        Some(CheckKind::Gauge(gauge)) => &gauge.question,
        None => return check.to_string(),
    };
    let last = question.trim_end_matches(['?', '.']).rsplit(['.', '?']).next().unwrap_or_default();
    last.trim().to_owned()
}

/// A finding with its outcome as it is said.
fn in_words(kind: &CheckKind, finding: &Finding) -> Finding {
    match finding {
        Finding::Outcome(name) => Finding::Outcome(kind.outcome(name).to_owned()),
        Finding::Reading(_) => finding.clone(),
    }
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
