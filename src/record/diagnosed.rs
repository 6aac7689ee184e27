//! The diagnosis that a job's record comes to: for the dialogue that picks the job up, and for the report.

use crate::diagnose::Diagnosis;
use crate::diagnose::evidence::Alternative;
use crate::diagnose::hypothesis::Hypothesis;
use crate::id::ComplaintId;
use crate::model::appliance::Appliance;
use crate::reading::Finding;
use crate::record::job::{Found, Job, Standing};

/// What the findings of a job say of its machine: those since the last remedy that did not help, and what remains of
/// those before it.
pub fn diagnosis(job: &Job, appliance: &Appliance, complaint: &ComplaintId) -> Diagnosis {
    let fresh = Diagnosis::new(appliance, complaint);
    let mut diagnosis = job.told.iter().fold(fresh, |diagnosis, told| diagnosis.told(appliance, told));
    diagnosis.evidence.touch(job.leads().map(Finding::Reading));
    let mut setbacks = job.setbacks.iter().peekable();
    for (index, found) in job.found.iter().enumerate() {
        while let Some(setback) = setbacks.next_if(|setback| setback.after <= index) {
            diagnosis = diagnosis.after(&Hypothesis::named(&setback.cause));
        }
        if kept(job, found) {
            diagnosis.evidence.accept_any(found.check.clone(), meant(&found.finding, &found.others));
        }
    }
    setbacks.fold(diagnosis, |diagnosis, setback| diagnosis.after(&Hypothesis::named(&setback.cause)))
}

/// Does a finding count? With what stands comes what it corrected: the same again confirms it.
fn kept(job: &Job, found: &Found) -> bool {
    found.standing != Standing::Retracted && job.finding(&found.check).is_some()
}

/// A finding with what may have been meant instead, in thousandths.
pub fn meant(finding: &Finding, others: &[(Finding, u16)]) -> Vec<Alternative> {
    let others = others
        .iter()
        .map(|(finding, p)| Alternative { finding: finding.clone(), probability: f64::from(*p) / 1000.0 });
    let others: Vec<Alternative> = others.collect();
    let sure = 1.0 - others.iter().map(|other| other.probability).sum::<f64>();
    std::iter::once(Alternative { finding: finding.clone(), probability: sure.max(0.0) })
        .chain(others)
        .collect()
}
