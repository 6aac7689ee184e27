//! A reading read back digit by digit, because a likely rival would change what happens next.

use crate::id::CheckId;
use crate::reading::{Finding, Reading};
use crate::say::Prompt;
use crate::understand::heard::Candidate;
use crate::understand::intent::Intent;
use crate::understand::situation::Kind;

use super::super::bench::Bench;
use super::super::outbox::Outbox;
use super::{Answer, Phase, Question, measuring};

/// What waits for an answer.
#[derive(Clone, Debug, PartialEq)]
pub(in super::super) struct Confirming {
    pub(in super::super) check: CheckId,
    finding: Finding,
    words: Candidate,
}

impl Confirming {
    pub(super) fn new(check: CheckId, finding: Finding, words: &Candidate) -> Self {
        Self { check, finding, words: words.clone() }
    }

    pub(in super::super) fn ask(&self, bench: &mut Bench, out: &mut Outbox) -> Question {
        match &self.finding {
            Finding::Reading(reading) => out.say(&Prompt::ConfirmReading(*reading)),
            Finding::Outcome(name) => {
                out.say(&Prompt::ConfirmOutcome(bench.check(&self.check).kind.outcome(name).to_owned()));
            }
        }
        let mut situation = bench.situation_of(bench.check(&self.check));
        situation.kind = Kind::Confirm;
        Question::new(situation, &format!("confirm {}", self.check), "yes, or no and the value")
    }

    pub(in super::super) fn answer(self, bench: &mut Bench, out: &mut Outbox, answer: &Answer<'_>) -> Phase {
        match &answer.best.intent {
            Intent::Yes | Intent::Done => {
                measuring::accept(bench, out, &self.check, self.finding, &[], &self.words)
            }
            Intent::No => {
                out.say(&Prompt::TakenBack);
                measuring::begin(bench, self.check)
            }
            Intent::Report(report) => {
                let check = bench.check(&self.check);
                match measuring::in_unit(out, report.reading, measuring::unit_of(check)) {
                    // Said a second time and heard the same: that is a confirmation.
                    Some(finding) if finding == self.finding => {
                        measuring::accept(bench, out, &self.check, finding, &[], answer.best)
                    }
                    Some(finding) => Phase::Confirming(Self { finding, words: answer.best.clone(), ..self }),
                    None => Phase::Confirming(self),
                }
            }
            Intent::Rescale(prefix, unit) => match self.finding {
                Finding::Reading(Reading::Value(mut quantity)) => {
                    (quantity.prefix, quantity.unit) = (*prefix, Some(*unit));
                    Phase::Confirming(Self { finding: Finding::Reading(Reading::Value(quantity)), ..self })
                }
                _ => Phase::Confirming(self),
            },
            Intent::Chose(name) => Phase::Confirming(Self {
                finding: Finding::Outcome(name.clone()),
                words: answer.best.clone(),
                ..self
            }),
            _ => {
                out.say(&Prompt::NotHere);
                Phase::Confirming(self)
            }
        }
    }
}
