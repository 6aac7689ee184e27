//! What is read out sign by sign and belongs on the paper: a number from the rating plate, a telephone number. It is read
//! back before it counts.

use crate::record::entry::{CustomerField, PlateField, What};
use crate::say::Prompt;
use crate::understand::heard::Candidate;
use crate::understand::intent::{Anytime, Dictated, Intent};
use crate::understand::situation::Kind;

use super::super::bench::Bench;
use super::super::outbox::Outbox;
use super::super::read_back::Denied;
use super::{Answer, Phase, Question};

/// Something read out, and the phase that goes on then.
#[derive(Clone, Debug, PartialEq)]
pub(in super::super) struct Dictating {
    what: Dictated,
    /// What was heard, and waits for a yes.
    heard: Option<String>,
    /// What was read back, and was not meant.
    denied: Denied<String>,
    then: Box<Phase>,
}

impl Dictating {
    pub(super) fn new(what: Dictated, then: Phase) -> Self {
        Self { what, heard: None, denied: Denied::default(), then: Box::new(then) }
    }

    pub(in super::super) fn ask(&self, bench: &Bench, out: &mut Outbox) -> Question {
        let Some(heard) = &self.heard else {
            out.say(&Prompt::Dictate(self.what));
            let (kind, example) = match self.what {
                Dictated::Serial | Dictated::Model => (Kind::Plate, "A one three"),
                Dictated::Telephone => (Kind::Digits, "zero four seven"),
            };
            return Question::new(bench.situation(kind), "dictate", example);
        };
        out.say(&Prompt::ConfirmDictated(heard.clone()));
        Question::new(bench.situation(Kind::YesNo), "dictated", "yes, or no")
    }

    /// What was hardly understood: it is read back in any case.
    pub(super) fn put_back(&self, answer: &Answer<'_>) -> Option<Self> {
        if self.heard.is_some() {
            return None;
        }
        signs(answer.best)?;
        let (signs, _) = self.denied.likeliest(answer.heard, signs)?;
        Some(Self { heard: Some(signs), ..self.clone() })
    }

    pub(in super::super) fn answer(self, out: &mut Outbox, answer: &Answer<'_>) -> Phase {
        match (&self.heard, &answer.best.intent) {
            (None, Intent::Plate(_) | Intent::Digits(_)) => {
                let heard = self.denied.likeliest(answer.heard, signs).map(|(signs, _)| signs);
                Phase::Dictating(Self { heard, ..self })
            }
            (Some(signs), Intent::Yes | Intent::Done) => {
                out.record(match self.what {
                    Dictated::Serial => What::Plate { field: PlateField::Serial, value: signs.clone() },
                    Dictated::Model => What::Plate { field: PlateField::Model, value: signs.clone() },
                    Dictated::Telephone => {
                        What::Customer { field: CustomerField::Telephone, value: signs.clone() }
                    }
                });
                out.say(&Prompt::NoteKept);
                *self.then
            }
            (Some(signs), Intent::No) => {
                let denied = self.denied.and(signs.clone());
                Phase::Dictating(Self { heard: None, denied, ..self })
            }
            (_, Intent::Anytime(Anytime::Skip)) => {
                out.say(&Prompt::Skipped);
                *self.then
            }
            _ => {
                out.say(&Prompt::NotHere);
                Phase::Dictating(self)
            }
        }
    }
}

/// The signs that were read out.
fn signs(candidate: &Candidate) -> Option<String> {
    match &candidate.intent {
        Intent::Plate(signs) | Intent::Digits(signs) => Some(signs.clone()),
        _ => None,
    }
}
