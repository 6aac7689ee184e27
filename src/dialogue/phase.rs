//! The phases of a job at the bench, and who follows whom.
//!
//! A phase holds only what is true in it. Each knows how to ask its question and what to make of an answer;
//! the anytime words never reach it.

pub(super) mod adjusting;
pub(super) mod advising;
pub(super) mod aside;
pub(super) mod confirming;
pub(super) mod consenting;
pub(super) mod correcting;
pub(super) mod dictating;
pub(super) mod going_live;
pub(super) mod leads;
pub(super) mod making_safe;
pub(super) mod measuring;
pub(super) mod rating;

use std::ops::ControlFlow;

use crate::id::CheckId;
use crate::model::appliance::ClosingItem;
use crate::record::job::Closing;
use crate::safety::Refusal;
use crate::understand::heard::{Candidate, Heard};
use crate::understand::situation::Situation;

use super::bench::Bench;
use super::outbox::Outbox;

/// Where a job stands.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Phase {
    /// Isolating and proving dead.
    MakingSafe(making_safe::MakingSafe),
    /// Towards one finding at the work.
    Measuring(measuring::Measuring),
    /// Towards a live state, for one check.
    GoingLive(going_live::GoingLive),
    /// A reading was read back and waits for an answer.
    Confirming(confirming::Confirming),
    /// What a rating plate says was read back and waits for an answer.
    Rating(rating::Rating),
    /// Something is read out sign by sign.
    Dictating(dictating::Dictating),
    /// The customer is asked to agree to an estimate.
    Consenting(consenting::Consenting),
    /// The leads are touched together.
    ProvingLeads,
    /// The remedy, then the closing items.
    Advising(advising::Advising),
    /// The job is closed.
    Finished,
}

/// A question: what to listen for, and what it is about. Its words went to the outbox.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Question {
    pub(super) situation: Situation,
    pub(super) topic: String,
    /// How it can be answered. Where a reading is asked for, never what would be hoped for: it may be heard.
    pub(super) example: String,
    /// Must it be answered in these words, since somebody's safety hangs on it? Elsewhere a plain yes is "done".
    pub(super) in_words: bool,
}

impl Question {
    pub(super) fn new(situation: Situation, topic: &str, example: impl Into<String>) -> Self {
        Self { situation, topic: topic.to_owned(), example: example.into(), in_words: false }
    }

    /// The same, where a plain yes does not count.
    pub(super) fn in_words(self) -> Self {
        Self { in_words: true, ..self }
    }
}

/// An answer that was understood.
pub(super) struct Answer<'a> {
    pub(super) best: &'a Candidate,
    pub(super) heard: &'a Heard,
}

impl Phase {
    /// Asks the phase's question; `None` where the job is closed. Without the permit that a question needs the job
    /// goes back to isolating.
    pub(super) fn ask(&mut self, bench: &mut Bench, out: &mut Outbox) -> Option<Question> {
        let asked = match self {
            Self::MakingSafe(phase) => phase.ask(bench, out),
            Self::Measuring(phase) => phase.ask(bench, out),
            Self::GoingLive(phase) => phase.ask(bench, out),
            Self::Confirming(phase) => Ok(phase.ask(bench, out)),
            Self::Rating(phase) => Ok(phase.ask(bench, out)),
            Self::Dictating(phase) => Ok(phase.ask(bench, out)),
            Self::Consenting(phase) => Ok(phase.ask(bench, out)),
            Self::ProvingLeads => leads::ask(bench, out),
            Self::Advising(phase) => Ok(phase.ask(bench, out)),
            Self::Finished => return None,
        };
        Some(asked.unwrap_or_else(|_: Refusal| {
            *self = Self::MakingSafe(making_safe::MakingSafe::Isolating);
            making_safe::isolate(bench, out)
        }))
    }

    /// Takes an answer and says where the job goes.
    pub(super) fn answer(self, bench: &mut Bench, out: &mut Outbox, answer: &Answer<'_>) -> Self {
        let phase = match self.aside(bench, out, answer) {
            ControlFlow::Break(phase) => return phase,
            ControlFlow::Continue(phase) => phase,
        };
        match phase {
            Self::MakingSafe(phase) => phase.answer(bench, out, answer),
            Self::Measuring(phase) => phase.answer(bench, out, answer),
            Self::GoingLive(phase) => phase.answer(bench, out, answer),
            Self::Confirming(phase) => phase.answer(bench, out, answer),
            Self::Rating(phase) => phase.answer(bench, out, answer),
            Self::Dictating(phase) => phase.answer(out, answer),
            Self::Consenting(phase) => phase.answer(out, answer),
            Self::ProvingLeads => leads::answer(bench, out, answer),
            Self::Advising(phase) => phase.answer(bench, out, answer),
            Self::Finished => Self::Finished,
        }
    }

    /// The question whether something hardly understood was meant; `None` where nothing is asked that is read back.
    pub(super) fn put_back(&self, bench: &Bench, answer: &Answer<'_>) -> Option<Self> {
        match self {
            Self::Measuring(phase) => phase.put_back(bench, answer).map(Self::Confirming),
            Self::Confirming(phase) => phase.put_back(bench, answer).map(Self::Confirming),
            Self::Dictating(phase) => phase.put_back(answer).map(Self::Dictating),
            _ => None,
        }
    }

    /// The closing items that a job picked up again has not answered yet.
    pub(super) fn closing_from(bench: &Bench, answered: &[Closing]) -> Self {
        let open = |item: &ClosingItem| answered.iter().all(|done| done.item != item.id);
        match bench.appliance.closing.iter().position(open) {
            Some(index) => Self::Advising(advising::Advising::Closing(index)),
            None => Self::MakingSafe(making_safe::MakingSafe::AskingMeter),
        }
    }

    /// The check this phase works towards.
    pub(super) fn check(&self) -> Option<&CheckId> {
        match self {
            Self::Measuring(phase) => Some(&phase.check),
            Self::GoingLive(phase) => Some(phase.check()),
            Self::Confirming(phase) => phase.towards(),
            Self::Rating(phase) => phase.then.check(),
            Self::Dictating(_) | Self::Consenting(_) => None,
            Self::MakingSafe(_) | Self::ProvingLeads | Self::Advising(_) | Self::Finished => None,
        }
    }
}
