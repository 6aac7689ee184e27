//! A session from the record: after a crash, or days later.
//!
//! Findings, checks left out and closing answers come back. The supply never does: it is unknown, and a jumper that
//! was put in counts as in.

use std::sync::Arc;

use crate::model::appliance::Appliance;
use crate::record::job::Job;

use super::bench::Bench;
use super::findings::Findings;
use super::interview::Interview;
use super::known::{Desk, Pending};
use super::opening::Opening;
use super::phase::consenting::Consenting;
use super::phase::making_safe::MakingSafe;
use super::phase::{Phase, adjusting};
use super::session::{PHOTO, Session, Stage};

impl Session {
    /// The session that goes on with a job; `None` where its machine is not on the shelf or is no longer the same.
    pub fn resume(shelf: Arc<[Arc<Appliance>]>, job: &Job) -> Option<Self> {
        let Some(machine) = &job.appliance else {
            return Some(Self::opening(shelf, Opening::AskingMachine, job));
        };
        let appliance = shelf.iter().find(|a| a.id == *machine).map(Arc::clone)?;
        let Some(complaint) = &job.complaint else {
            return Some(Self::opening(shelf, Opening::AskingComplaint(appliance), job));
        };
        appliance.complaint(complaint)?;
        let interview =
            Interview::new(Arc::clone(&appliance), complaint.clone(), job.told.clone()).on_record();
        if !interview.is_over() && !job.is_begun() {
            return Some(Self::opening(shelf, Opening::Interviewing(interview), job));
        }
        let mut bench = Bench::new(Arc::new(appliance.as_rated(&job.rated)), complaint);
        bench.rated = job.rated.iter().cloned().collect();
        for found in &job.found {
            bench.appliance.check(&found.check)?;
        }
        bench.findings = Findings::of(job, &bench.appliance, complaint);
        if job.jumper {
            bench.interlock = bench.interlock.with_jumper();
        }
        for (setting, turned) in adjusting::of(job, &bench.appliance) {
            bench.recall(setting, turned);
        }
        if job.wet {
            bench.interlock.wet();
        }
        let phase = match (job.finished, job.fixed) {
            (Some(_), _) => Phase::Finished,
            (None, Some(_)) => Phase::closing_from(&bench, &job.closing),
            (None, None) => Phase::MakingSafe(MakingSafe::AskingMeter),
        };
        let mut session = Self::with_stage(shelf, Stage::Bench(Box::new(bench), phase));
        session.photos = photos(job);
        Some(session)
    }

    fn opening(shelf: Arc<[Arc<Appliance>]>, opening: Opening, job: &Job) -> Self {
        let mut session = Self::with_stage(shelf, Stage::Opening(opening));
        session.photos = photos(job);
        session.wet = job.wet;
        session
    }

    /// The same, where the customer is asked first about an estimate that waits for their consent.
    #[must_use]
    pub fn asking_consent(mut self, job: &Job, desk: Desk) -> Self {
        if let (Stage::Bench(_, phase), Some(pending)) = (&mut self.stage, Pending::of(job, desk))
            && !matches!(phase, Phase::Finished)
        {
            *phase = Phase::Consenting(Consenting::new(pending, phase.clone()));
        }
        self
    }
}

/// How many photos are marked on a job.
fn photos(job: &Job) -> usize {
    job.notes.iter().filter(|note| note.text.starts_with(PHOTO)).count()
}
