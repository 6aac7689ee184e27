//! The job as it stands: its entries, folded one by one.
//!
//! The dialogue resumes from it and the report is made from it, so it holds every fact and drops none: what was
//! corrected or taken back stays, marked. Knows no appliance model: names are not resolved here.

use std::collections::BTreeMap;

use crate::diagnose::history::Told;
use crate::diagnose::instrument;
use crate::id::{ApplianceId, CheckId, ComplaintId, PartId, PointId, RemedyId};
use crate::quantity::Quantity;
use crate::reading::{Finding, Reading};
use crate::record::consent::{Consent, Excess};
use crate::record::entry::{ClosingAnswer, CustomerField, Entry, PartUsed, PlateField, What};
use crate::record::estimate::Estimate;
use crate::record::pace::Pace;
use crate::record::safety_test::{SafetyTest, Step};
use crate::safety::{ProofStage, Supply};
use crate::time::Timestamp;

/// The job as it stands after some entries.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Job {
    /// The version of the program that opened it; `None` before the first entry.
    pub version: Option<String>,
    /// The machine, once it is known.
    pub appliance: Option<ApplianceId>,
    /// What the customer says is wrong, once it is known.
    pub complaint: Option<ComplaintId>,
    /// What is known of the supply, over time; the last one holds.
    pub supplies: Vec<SupplyChange>,
    /// The readings that prove dead, over time.
    pub proofs: Vec<Proof>,
    /// The hazards deliberately acknowledged, over time.
    pub acknowledgements: Vec<Acknowledgement>,
    /// Everything ever found, in order, also what no longer stands.
    pub found: Vec<Found>,
    /// What the rating plate says of parts, each with its last value, in order.
    pub rated: Vec<(PartId, Quantity)>,
    /// The checks left out and not taken up again, in order.
    pub skipped: Vec<CheckId>,
    /// What was believed, over time.
    pub beliefs: Vec<Belief>,
    /// What was advised, over time; the last one holds.
    pub advice: Vec<Advice>,
    /// Does a jumper count as in?
    pub jumper: bool,
    /// Does it count as wet where the technician stands or works?
    pub wet: bool,
    /// Was the advised work done, once that was answered?
    pub fixed: Option<bool>,
    /// The closing items answered, in order, each with its last answer.
    pub closing: Vec<Closing>,
    /// What is known of the customer.
    pub customer: BTreeMap<CustomerField, String>,
    /// What is known from the machine's plate and papers.
    pub plate: BTreeMap<PlateField, String>,
    /// What the customer told of the complaint, in order.
    pub told: Vec<Told>,
    /// Questions to the customer with their answers, in order.
    pub interview: Vec<(String, String)>,
    /// The photographs, in order.
    pub photographs: Vec<Photograph>,
    /// The parts fitted or tried, in order.
    pub parts: Vec<PartUsed>,
    /// The estimates, over time; the last one holds.
    pub estimates: Vec<Estimate>,
    /// What the customer agreed to or refused, over time.
    pub consents: Vec<Consent>,
    /// What was set: what, before, after.
    pub adjustments: Vec<(String, String, String)>,
    /// The steps of the safety test after the repair that are on record.
    pub safety_tests: BTreeMap<Step, SafetyTest>,
    /// Runs of the machine after the repair: what was run, and whether the complaint was gone.
    pub runs: Vec<(String, bool)>,
    /// Remedies that were carried out and did not help, over time.
    pub setbacks: Vec<Setback>,
    /// The hash of the job that this one is a callback of.
    pub callback_of: Option<String>,
    /// Was personal data removed?
    pub forgotten: bool,
    /// How the time went.
    pub pace: Pace,
    /// The notes, in order.
    pub notes: Vec<Remark>,
    /// What was refused and why, in order.
    pub refusals: Vec<Remark>,
    /// The conversation, in order.
    pub conversation: Vec<Utterance>,
    /// When the program was started again on this job.
    pub resumed: Vec<Timestamp>,
    /// When the job was closed.
    pub finished: Option<Timestamp>,
    /// When the last entry was written.
    pub last: Timestamp,
    /// How many acknowledgements had been given when the last finding was accepted.
    claimed: usize,
}

/// What is known of the supply changed.
#[derive(Clone, Debug, PartialEq)]
pub struct SupplyChange {
    /// When.
    pub at: Timestamp,
    /// What was known from then on.
    pub supply: Supply,
    /// Why, in a few words.
    pub why: String,
}

/// One reading of proving dead.
#[derive(Clone, Debug, PartialEq)]
pub struct Proof {
    /// When.
    pub at: Timestamp,
    /// Known source, the work, or the known source again.
    pub stage: ProofStage,
    /// Across what, where it is the work.
    pub points: Option<(PointId, PointId)>,
    /// What the meter showed.
    pub reading: Reading,
}

/// A hazard was spoken and deliberately acknowledged.
#[derive(Clone, Debug, PartialEq)]
pub struct Acknowledgement {
    /// When.
    pub at: Timestamp,
    /// The hazard as spoken.
    pub hazard: String,
    /// The words heard.
    pub words: String,
}

/// A finding as it was accepted.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// When.
    pub at: Timestamp,
    /// The check.
    pub check: CheckId,
    /// What was found.
    pub finding: Finding,
    /// The words heard.
    pub words: String,
    /// Probability of what was heard, in thousandths.
    pub permille: u16,
    /// What may have been meant instead, with its probability in thousandths.
    pub others: Vec<(Finding, u16)>,
    /// Does it still stand?
    pub standing: Standing,
    /// The acknowledgement given for it, as an index into [`Job::acknowledgements`]: the last one since the finding
    /// before, or that of the finding it corrects.
    pub acknowledged: Option<usize>,
}

/// Does a finding still stand?
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It stands.
    Stands,
    /// A later finding for the same check took its place.
    Corrected,
    /// It was taken back.
    Retracted,
    /// It stood until a remedy was tried that did not help: it says how the machine was before.
    Before,
}

/// What was believed.
#[derive(Clone, Debug, PartialEq)]
pub struct Belief {
    /// When.
    pub at: Timestamp,
    /// After how many entries of [`Job::found`].
    pub after: usize,
    /// Name of each cause ("all-good" or a fault) with its probability in thousandths, largest first.
    pub causes: Vec<(String, u16)>,
}

/// What was advised was done, and the complaint was still there.
#[derive(Clone, Debug, PartialEq)]
pub struct Setback {
    /// When.
    pub at: Timestamp,
    /// After how many entries of [`Job::found`].
    pub after: usize,
    /// The cause that was believed ("all-good" or a fault).
    pub cause: String,
}

/// What was advised.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    /// When.
    pub at: Timestamp,
    /// The remedy; `None` where nothing electrical is wrong or nothing more can be told.
    pub remedy: Option<RemedyId>,
    /// The cause ("all-good" or a fault).
    pub cause: String,
    /// Its probability in thousandths.
    pub permille: u16,
}

/// A closing item, answered.
#[derive(Clone, Debug, PartialEq)]
pub struct Closing {
    /// When.
    pub at: Timestamp,
    /// The item, by its name in the appliance model.
    pub item: String,
    /// The answer.
    pub answer: ClosingAnswer,
}

/// A photograph.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Photograph {
    /// When.
    pub at: Timestamp,
    /// Where the file is.
    pub file: String,
    /// What it shows.
    pub shows: String,
}

/// A note, or a refusal as spoken.
#[derive(Clone, Debug, PartialEq)]
pub struct Remark {
    /// When.
    pub at: Timestamp,
    /// The words.
    pub text: String,
}

/// One turn of the conversation.
#[derive(Clone, Debug, PartialEq)]
pub struct Utterance {
    /// When.
    pub at: Timestamp,
    /// Who spoke, and how it went.
    pub voice: Voice,
    /// The words.
    pub words: String,
}

/// Who spoke, and how it went.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Voice {
    /// The program.
    Program,
    /// The program, in the hazard voice.
    Hazard,
    /// The technician.
    Technician {
        /// Probability of the best candidate, in thousandths.
        permille: u16,
        /// Was it understood?
        understood: bool,
    },
}

/// How far a job has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// Nothing is advised yet.
    Open,
    /// A remedy is advised; the job is not closed.
    Advised,
    /// Closed.
    Finished,
}

impl Job {
    /// The job after these entries.
    pub fn fold<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Self {
        let mut job = Self::default();
        for entry in entries {
            job.apply(entry);
        }
        job
    }

    /// The job after one more entry.
    pub fn apply(&mut self, entry: &Entry) {
        let at = entry.at;
        self.last = self.last.max(at);
        self.pace.step(at, &entry.what);
        match entry.what.clone() {
            What::Opened { version } => self.version = Some(version),
            What::Machine { appliance } => self.appliance = Some(appliance),
            What::Complained { complaint } => self.complaint = Some(complaint),
            What::Said { text, hazard } => {
                let voice = if hazard { Voice::Hazard } else { Voice::Program };
                self.conversation.push(Utterance { at, voice, words: text });
            }
            What::Heard { words, permille, understood } => {
                let voice = Voice::Technician { permille, understood };
                self.conversation.push(Utterance { at, voice, words });
            }
            What::Supply { supply, why } => self.supplies.push(SupplyChange { at, supply, why }),
            What::Proof { stage, points, reading } => self.proofs.push(Proof { at, stage, points, reading }),
            What::Acknowledged { hazard, words } => {
                self.acknowledgements.push(Acknowledgement { at, hazard, words });
            }
            What::Found { check, finding, words, permille, others } => {
                self.find(at, check, finding, words, permille, others);
            }
            What::Retracted { check } => self.retract(&check),
            What::Rated { part, value } => self.rate(part, value),
            What::Skipped { check } => {
                if !self.skipped.contains(&check) {
                    self.skipped.push(check);
                }
            }
            What::Believed { causes } => {
                self.beliefs.push(Belief { at, after: self.found.len(), causes });
            }
            What::Advised { remedy, cause, permille } => {
                self.advice.push(Advice { at, remedy, cause, permille });
            }
            What::Jumper { fitted } => self.jumper = fitted,
            What::Water { wet } => self.wet = wet,
            What::Fixed { done } => self.fixed = Some(done),
            What::Closed { item, answer } => self.answer(Closing { at, item, answer }),
            What::Customer { field, value } => drop(self.customer.insert(field, value)),
            What::Plate { field, value } => drop(self.plate.insert(field, value)),
            What::Told { told } => self.told.push(told),
            What::Asked { question, answer } => self.interview.push((question, answer)),
            What::Photographed { file, shows, .. } => self.photographs.push(Photograph { at, file, shows }),
            What::Part(part) => self.parts.push(part),
            What::Estimated(estimate) => self.estimates.push(estimate),
            What::Consented(consent) => self.consents.push(consent),
            What::Adjusted { setting, before, after } => self.adjustments.push((setting, before, after)),
            What::SafetyTested(test) => drop(self.safety_tests.insert(test.step, test)),
            What::Ran { how, well } => self.run(at, how, well),
            What::CalledBack { of } => self.callback_of = Some(of),
            What::Forgotten => self.forgotten = true,
            What::Noted { text } => self.notes.push(Remark { at, text }),
            What::Refused { why } => self.refusals.push(Remark { at, text: why }),
            What::Resumed => self.resumed.push(at),
            What::Finished => self.finished = Some(at),
        }
    }

    /// Was anything done at the machine yet?
    pub const fn is_begun(&self) -> bool {
        let untouched = self.supplies.is_empty() && self.proofs.is_empty() && self.found.is_empty();
        !(untouched && self.advice.is_empty() && self.closing.is_empty() && self.finished.is_none())
    }

    /// The findings that stand, or stood before a remedy that did not help, in the order accepted.
    pub fn findings(&self) -> impl Iterator<Item = &Found> {
        self.found.iter().filter(|found| matches!(found.standing, Standing::Stands | Standing::Before))
    }

    /// The last finding of a check.
    pub fn finding(&self, check: &CheckId) -> Option<&Found> {
        self.findings().filter(|found| found.check == *check).last()
    }

    /// What the customer agreed to last.
    pub fn agreed(&self) -> Option<&Consent> {
        self.consents.iter().rev().find(|consent| consent.given)
    }

    /// What the last estimate asks beyond what was agreed to: the customer has to be asked first.
    pub fn excess(&self) -> Option<Excess> {
        let estimate = self.estimates.last()?;
        let (total, currency) = (estimate.total(), estimate.currency);
        let agreed = self.agreed().filter(|agreed| agreed.currency == currency).map(|agreed| agreed.total);
        (agreed.is_none_or(|agreed| total > agreed)).then_some(Excess { agreed, total, currency })
    }

    /// What is known of the supply now; unknown until something is.
    pub fn supply(&self) -> Supply {
        self.supplies.last().map_or(Supply::Unknown, |change| change.supply)
    }

    /// What the meter showed with its leads touched together last, if they were good.
    pub fn leads(&self) -> Option<Reading> {
        let proof = self.proofs.iter().rfind(|proof| proof.stage == ProofStage::Leads)?;
        instrument::good_leads(proof.reading).then_some(proof.reading)
    }

    /// The advice that holds.
    pub fn advised(&self) -> Option<&Advice> {
        self.advice.last()
    }

    /// How far the job has come.
    pub fn stage(&self) -> Stage {
        match (self.finished, self.advised()) {
            (Some(_), _) => Stage::Finished,
            (None, Some(_)) => Stage::Advised,
            (None, None) => Stage::Open,
        }
    }

    fn find(
        &mut self,
        at: Timestamp,
        check: CheckId,
        finding: Finding,
        words: String,
        permille: u16,
        others: Vec<(Finding, u16)>,
    ) {
        let given = self.acknowledgements.len();
        let fresh = (given > self.claimed).then(|| given - 1);
        self.claimed = given;
        let before = self.found.iter_mut().find(|f| f.check == check && f.standing == Standing::Stands);
        let inherited = before.and_then(|before| {
            before.standing = Standing::Corrected;
            before.acknowledged
        });
        self.skipped.retain(|skipped| *skipped != check);
        let (standing, acknowledged) = (Standing::Stands, fresh.or(inherited));
        self.found.push(Found { at, check, finding, words, permille, others, standing, acknowledged });
    }

    fn rate(&mut self, part: PartId, value: Quantity) {
        self.rated.retain(|(known, _)| *known != part);
        self.rated.push((part, value));
    }

    /// Takes back the finding that stands for a check, or that the check was left out.
    fn retract(&mut self, check: &CheckId) {
        self.skipped.retain(|skipped| skipped != check);
        for found in &mut self.found {
            if found.check == *check && found.standing == Standing::Stands {
                found.standing = Standing::Retracted;
            }
        }
    }

    /// Where what was advised was done and the complaint is still there, the search goes on from what is left.
    fn run(&mut self, at: Timestamp, how: String, well: bool) {
        self.runs.push((how, well));
        let done = self.fixed == Some(true) && self.finished.is_none();
        let Some(cause) = self.advised().filter(|_| done && !well).map(|advice| advice.cause.clone()) else {
            return;
        };
        self.setbacks.push(Setback { at, after: self.found.len(), cause });
        for found in self.found.iter_mut().filter(|found| found.standing == Standing::Stands) {
            found.standing = Standing::Before;
        }
        self.fixed = None;
        self.closing.clear();
    }

    fn answer(&mut self, closing: Closing) {
        match self.closing.iter_mut().find(|before| before.item == closing.item) {
            Some(before) => *before = closing,
            None => self.closing.push(closing),
        }
    }
}
