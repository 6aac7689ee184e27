//! What the rating plate says of a part, read back before it takes the place of the model's value.

use crate::id::PartId;
use crate::quantity::Quantity;
use crate::record::entry::What;
use crate::say::Prompt;
use crate::understand::intent::Intent;
use crate::understand::situation::Kind;

use super::super::bench::Bench;
use super::super::outbox::Outbox;
use super::{Answer, Phase, Question};

/// A value that waits for an answer, and the phase that goes on then.
#[derive(Clone, Debug, PartialEq)]
pub(in super::super) struct Rating {
    part: PartId,
    value: Quantity,
    pub(in super::super) then: Box<Phase>,
}

impl Rating {
    pub(super) fn new(part: &str, value: Quantity, then: Phase) -> Self {
        Self { part: part.into(), value, then: Box::new(then) }
    }

    pub(in super::super) fn ask(&self, bench: &Bench, out: &mut Outbox) -> Question {
        let part = bench.appliance.part_name(&self.part);
        out.say(&Prompt::ConfirmRated { part, value: self.value });
        Question::new(bench.situation(Kind::YesNo), &format!("rated {}", self.part), "yes, or no")
    }

    pub(in super::super) fn answer(self, bench: &mut Bench, out: &mut Outbox, answer: &Answer<'_>) -> Phase {
        match &answer.best.intent {
            Intent::Yes | Intent::Done => {
                if bench.rate(&self.part, self.value) {
                    out.record(What::Rated { part: self.part, value: self.value });
                    out.say(&Prompt::Rated);
                } else {
                    out.say(&Prompt::NotRated);
                }
                *self.then
            }
            Intent::No => {
                out.say(&Prompt::TakenBack);
                *self.then
            }
            _ => {
                out.say(&Prompt::NotHere);
                Phase::Rating(self)
            }
        }
    }
}
