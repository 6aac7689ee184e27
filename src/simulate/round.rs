//! A round of pretend jobs on one appliance: what is the same for all of them, worked out once.

use std::sync::Arc;

use crate::diagnose::Diagnosis;
use crate::dialogue::ReadBack;
use crate::id::ComplaintId;
use crate::model::appliance::Appliance;

use super::conversation::{Ears, Exchange, Opened};
use super::dice::Chance;
use super::hearing::Hearing;
use super::outcome::Outcome;
use super::policy::Policy;
use super::technician::{Slips, Technician};
use super::visit::{Advice, Visit};

/// A round of jobs on one appliance.
#[derive(Debug)]
pub struct Round {
    appliance: Arc<Appliance>,
    cases: Vec<Case>,
    odds: Vec<f64>,
    conditions: Conditions,
}

/// What jobs are worked under.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conditions {
    /// How often the technician slips.
    pub slips: Slips,
    /// How well the program hears.
    pub hearing: Hearing,
    /// When a reading waits for a yes.
    pub read_back: ReadBack,
    /// Does the customer tell whether the complaint comes and goes? One who knows nothing is not asked.
    pub told: bool,
    /// What all chance follows from.
    pub seed: u64,
}

impl Conditions {
    /// Nothing goes wrong.
    pub fn clean(seed: u64) -> Self {
        Self {
            slips: Slips::NONE,
            hearing: Hearing::PERFECT,
            read_back: ReadBack::default(),
            told: false,
            seed,
        }
    }
}

/// One complaint.
#[derive(Debug)]
pub struct Case {
    /// Which.
    pub complaint: ComplaintId,
    /// Its diagnosis, nothing found yet.
    pub diagnosis: Diagnosis,
    opened: Opened,
}

/// One job, worked by every policy on the same machine by the same technician.
#[derive(Clone, Debug)]
pub struct Job {
    /// The complaint, as a place among the round's cases.
    pub case: usize,
    /// What was the matter, as a place among the trouble's hypotheses.
    pub cause: usize,
    /// How the program worked it, in conversation.
    pub ours: Outcome,
    /// How the other policies asked for worked it, without one, in their order.
    pub others: Vec<Outcome>,
    /// What the program ordered that was not safe.
    pub unsafe_orders: Vec<String>,
    /// What the program advised first.
    pub advice: Option<Advice>,
    /// Did the machine run before the job was closed?
    pub mended: bool,
    /// What was asked, said and taken until the first advice.
    pub exchange: Exchange,
    /// The question that was open when the conversation was given up; `None` where the program closed the job.
    pub left_at: Option<String>,
}

/// Which purposes of a job's chance are for what.
const MACHINE: u16 = 0;
const COMPLAINT: u16 = 1;

impl Round {
    /// A round on an appliance; complaints come as often as their faults weigh.
    pub fn new(appliance: &Arc<Appliance>, conditions: Conditions) -> Self {
        let weight = |complaint: &ComplaintId| {
            appliance.faults.iter().filter_map(|fault| fault.weight.get(complaint)).sum::<f64>()
        };
        let case = |complaint: &crate::model::appliance::Complaint| {
            let opened = Opened::new(appliance, complaint, conditions.read_back, conditions.told)?;
            let diagnosis = Diagnosis::new(appliance, &complaint.id);
            Some((weight(&complaint.id), Case { complaint: complaint.id.clone(), diagnosis, opened }))
        };
        let (odds, cases) = appliance.complaints.iter().filter_map(case).unzip();
        Self { appliance: Arc::clone(appliance), cases, odds, conditions }
    }

    /// The complaints.
    pub fn cases(&self) -> &[Case] {
        &self.cases
    }

    /// The job of this number; with the other policies if they are asked for.
    pub fn job(&self, number: u64, others: &[&dyn Policy], ears: &mut Ears) -> Job {
        let chance = Chance::new(self.conditions.seed, self.appliance.id.as_str(), number);
        let case = chance.dice(COMPLAINT).pick(&self.odds);
        let Case { diagnosis, opened, .. } = &self.cases[case];
        let mut technician =
            Technician::new(&self.appliance, diagnosis.trouble(), self.conditions.slips, chance, MACHINE);
        let cause = technician.machine.cause;
        let of = |visit: &Visit| Outcome::of(&self.appliance, diagnosis, visit, cause);
        let others: Vec<Outcome> =
            others.iter().map(|policy| of(&Visit::work(diagnosis, *policy, &mut technician))).collect();
        // Last, because it mends the machine.
        let talked = opened.work(&mut technician, self.conditions.hearing, ears);
        Job {
            case,
            cause,
            others,
            ours: of(&talked.visit),
            unsafe_orders: talked.unsafe_orders,
            left_at: talked.left_at,
            mended: talked.mended,
            exchange: talked.exchange,
            advice: talked.visit.advice,
        }
    }

    /// The name of a cause of a case: of the fault, or `all-good`.
    pub fn cause_name(&self, case: usize, cause: usize) -> String {
        self.cases[case].diagnosis.trouble().hypotheses[cause].to_string()
    }
}
