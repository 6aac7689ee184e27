//! What the customer and the next technician need to know of a job, as values; no page yet.
//!
//! Folded from the job and the appliance model. Says "not tested" of what was not tested, never "passed".

pub mod belief;
pub mod cost;
pub mod figure;
pub mod guard;
pub mod past;
pub mod row;
pub mod scale;
pub mod visit;
pub mod worth;

use std::time::Duration;

use crate::diagnose::hypothesis::Hypothesis;
use crate::diagnose::remedy;
use crate::id::CheckId;
use crate::model::appliance::{Appliance, Origin, Remedy};
use crate::record::diagnosed;
use crate::record::entry::ClosingAnswer;
use crate::record::header::Header;
use crate::record::job::{Advice, Job, Remark, Stage, Utterance};

use belief::History;
use cost::Cost;
use guard::Guarded;
use past::Past;
use row::Row;
use visit::Visit;

/// The report of a job.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// The job's number and when it was opened.
    pub header: Header,
    /// The hash of the record's last entry: it shows that the report was made from the record as it was.
    pub fingerprint: String,
    /// The version of the program that opened the job.
    pub version: String,
    /// The machine, as a name for people.
    pub machine: String,
    /// What the customer says is wrong.
    pub complaint: Option<String>,
    /// How far the job has come.
    pub stage: Stage,
    /// From the first entry to the last.
    pub took: Duration,
    /// What was found to be wrong and what is advised.
    pub conclusion: Conclusion,
    /// Was the advised work done, once that was answered?
    pub fixed: Option<bool>,
    /// Every finding that stands, in the order accepted.
    pub rows: Vec<Row>,
    /// Findings taken back and not taken again: "Element, end to end: 10.4 Ω".
    pub withdrawn: Vec<String>,
    /// What was believed, over time.
    pub history: History,
    /// How the work was kept safe, in order.
    pub guarded: Vec<Guarded>,
    /// What must not be forgotten before leaving, with the answers.
    pub closing: Vec<(String, Closed)>,
    /// Checks that the technician left out.
    pub left_out: Vec<String>,
    /// Checks of this machine that were not made.
    pub not_made: Vec<String>,
    /// The notes.
    pub notes: Vec<Remark>,
    /// What was refused, and why.
    pub refusals: Vec<Remark>,
    /// What the program does not do on this machine.
    pub limits: Vec<String>,
    /// The conversation.
    pub conversation: Vec<Utterance>,
    /// The facts beside the readings.
    pub visit: Visit,
    /// Repair or replace, where enough is known to say so.
    pub worth: Option<String>,
    /// What was estimated and agreed to.
    pub cost: Cost,
    /// The last visit to the same machine, if one is on record.
    pub past: Option<Past>,
    /// The shop, as it names itself on paper; empty where it has not said.
    pub shop: String,
}

/// What was found to be wrong and what is advised.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Conclusion {
    /// Nothing was concluded.
    None,
    /// Nothing electrical is wrong.
    NothingWrong {
        /// How sure, in thousandths.
        permille: u16,
    },
    /// The readings do not single out a cause.
    NotSure {
        /// The likeliest fault, "the heating element is open", and its probability in thousandths.
        likeliest: Option<(String, u16)>,
    },
    /// A remedy.
    Remedy {
        /// The cause: "the heating element is open"; of two faults both.
        cause: String,
        /// Probability that the remedy is the right one, in thousandths: that of all causes that it mends.
        permille: u16,
        /// What to do: "Replace the heating element."
        remedy: String,
        /// How it is sold.
        sold: Option<String>,
        /// The cause behind the part to look for.
        behind: Option<String>,
        /// A caution that belongs to this work.
        caution: Option<String>,
        /// What could still change it: a check not made, and the cause that it could point to.
        change: Option<String>,
        /// Where the cause comes from, where that is not the machine.
        origin: Option<String>,
    },
}

/// A closing item's answer, or none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Closed {
    /// It was answered.
    Answered(ClosingAnswer),
    /// It was not asked, or not answered.
    NotAnswered,
}

impl Report {
    /// The report of a job. Without its appliance model, names stay as the record has them and nothing is judged.
    pub fn new(header: Header, fingerprint: &str, job: &Job, appliance: Option<&Appliance>) -> Self {
        let as_rated = appliance.map(|appliance| appliance.as_rated(&job.rated));
        let appliance = as_rated.as_ref();
        let rows = row::rows(job, appliance);
        let today = header.opened.date();
        Self {
            header,
            fingerprint: fingerprint.to_owned(),
            version: job.version.clone().unwrap_or_else(|| "unknown".to_owned()),
            machine: machine(job, appliance),
            complaint: complaint(job, appliance),
            stage: job.stage(),
            took: Duration::from_millis(job.last.as_millis()),
            conclusion: concluded(job, appliance),
            fixed: job.fixed,
            withdrawn: row::withdrawn(job, appliance),
            history: belief::history(job, &rows, appliance),
            guarded: guard::guarded(job, appliance),
            closing: closing(job, appliance),
            left_out: job.skipped.iter().map(|id| check_title(id, appliance)).collect(),
            not_made: not_made(job, appliance),
            notes: job.notes.clone(),
            refusals: job.refusals.clone(),
            limits: appliance.map_or_else(Vec::new, |appliance| appliance.refuses.clone()),
            conversation: job.conversation.clone(),
            visit: Visit::new(job, appliance),
            worth: appliance.and_then(|appliance| worth::worth(job, appliance, &today)),
            cost: Cost::new(job),
            past: None,
            shop: String::new(),
            rows,
        }
    }
}

/// What was advised, in a sentence: the remedy, or what was found instead of one.
pub fn advised(job: &Job, appliance: Option<&Appliance>) -> String {
    match job.advised().map(|advice| conclusion(advice, job, appliance)) {
        None | Some(Conclusion::None) => "Nothing was advised.".to_owned(),
        Some(Conclusion::NothingWrong { .. }) => "Nothing electrical was found to be wrong.".to_owned(),
        Some(Conclusion::NotSure { .. }) => "The cause was not singled out.".to_owned(),
        Some(Conclusion::Remedy { remedy, .. }) => remedy,
    }
}

fn machine(job: &Job, appliance: Option<&Appliance>) -> String {
    match (appliance, &job.appliance) {
        (Some(appliance), _) => capitalised(&appliance.name),
        (None, Some(id)) => id.to_string(),
        (None, None) => "Machine not known".to_owned(),
    }
}

fn complaint(job: &Job, appliance: Option<&Appliance>) -> Option<String> {
    let id = job.complaint.as_ref()?;
    let known = appliance.and_then(|appliance| appliance.complaint(id));
    Some(known.map_or_else(|| id.to_string(), |complaint| complaint.name.clone()))
}

/// What was found to be wrong and what is advised.
pub fn concluded(job: &Job, appliance: Option<&Appliance>) -> Conclusion {
    job.advised().map_or(Conclusion::None, |advice| conclusion(advice, job, appliance))
}

fn conclusion(advice: &Advice, job: &Job, appliance: Option<&Appliance>) -> Conclusion {
    let all_good = Hypothesis::AllGood.to_string();
    let (cause, permille) = (cause_name(&advice.cause, appliance), advice.permille);
    let Some(id) = &advice.remedy else {
        if advice.cause == all_good {
            return Conclusion::NothingWrong { permille };
        }
        let believed = job.beliefs.last().map_or(&[][..], |belief| &belief.causes);
        let likeliest = believed.iter().find(|(cause, _)| *cause != all_good);
        let likeliest = likeliest.map(|(cause, permille)| (cause_name(cause, appliance), *permille));
        return Conclusion::NotSure { likeliest };
    };
    let hypothesis = Hypothesis::named(&advice.cause);
    let mut remedies = appliance.map_or_else(Vec::new, |appliance| remedy::remedies(&hypothesis, appliance));
    if remedies.is_empty() {
        remedies.extend(appliance.and_then(|appliance| appliance.remedy(id)));
    }
    let all = |text: fn(&Remedy) -> Option<&String>| {
        let texts: Vec<&str> = remedies.iter().filter_map(|r| text(r)).map(String::as_str).collect();
        (!texts.is_empty()).then(|| texts.join(" "))
    };
    Conclusion::Remedy {
        cause,
        permille,
        remedy: all(|remedy| Some(&remedy.say)).unwrap_or_else(|| id.to_string()),
        sold: all(|remedy| remedy.sold.as_ref()),
        behind: all(|remedy| remedy.cause.as_ref()),
        caution: all(|remedy| remedy.caution.as_ref()),
        change: appliance.and_then(|appliance| change(job, appliance)),
        origin: appliance.and_then(|appliance| origin(&hypothesis, appliance)),
    }
}

/// Where a cause comes from that is no failure of the machine.
fn origin(hypothesis: &Hypothesis, appliance: &Appliance) -> Option<String> {
    let origins = hypothesis.faults().filter_map(|id| appliance.fault(id)).map(|fault| fault.origin);
    let said = match origins.min()? {
        Origin::Machine => return None,
        Origin::House => "The machine itself has not failed: this comes from what the house brings to it.",
        Origin::Use => "The machine itself has not failed: this comes from how it is used.",
    };
    Some(said.to_owned())
}

/// What could still change the conclusion: the check not made, and the cause that it could point to.
fn change(job: &Job, appliance: &Appliance) -> Option<String> {
    let diagnosis = diagnosed::diagnosis(job, appliance, job.complaint.as_ref()?);
    let (check, leads) = diagnosis.change_of_mind()?;
    let cause = cause_name(&leads.cause.to_string(), Some(appliance));
    Some(format!("{}: it could show that {cause}", check_title(&check, Some(appliance))))
}

fn closing(job: &Job, appliance: Option<&Appliance>) -> Vec<(String, Closed)> {
    let answer = |item: &str| {
        let answered = job.closing.iter().find(|closing| closing.item == item);
        answered.map_or(Closed::NotAnswered, |closing| Closed::Answered(closing.answer))
    };
    let known = appliance.map_or(&[][..], |appliance| &appliance.closing);
    let others = job.closing.iter().filter(|closing| known.iter().all(|item| item.id != closing.item));
    known
        .iter()
        .map(|item| (item.say.clone(), answer(&item.id)))
        .chain(others.map(|closing| (closing.item.clone(), Closed::Answered(closing.answer))))
        .collect()
}

fn not_made(job: &Job, appliance: Option<&Appliance>) -> Vec<String> {
    let checks = appliance.map_or(&[][..], |appliance| &appliance.checks);
    checks
        .iter()
        .filter(|check| job.finding(&check.id).is_none() && !job.skipped.contains(&check.id))
        .map(|check| check.title.clone())
        .collect()
}

/// A cause as people say it.
pub fn cause_name(cause: &str, appliance: Option<&Appliance>) -> String {
    let said = match (Hypothesis::named(cause), appliance) {
        (Hypothesis::AllGood, _) => Some("nothing electrical is wrong".to_owned()),
        (hypothesis, Some(appliance)) => Some(remedy::causes(&hypothesis, appliance).join(", and ")),
        (_, None) => None,
    };
    said.unwrap_or_else(|| cause.to_owned())
}

fn check_title(id: &CheckId, appliance: Option<&Appliance>) -> String {
    let known = appliance.and_then(|appliance| appliance.check(id));
    known.map_or_else(|| id.to_string(), |check| check.title.clone())
}

/// With a capital at the front.
pub(super) fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
