//! The customer's consent to an estimate, by word of mouth: asked for, read back, kept with all that makes it count.

use crate::record::consent::{Consent, Means};
use crate::record::entry::What;
use crate::say::Prompt;
use crate::say::prompt::Amount;
use crate::understand::intent::{Anytime, Intent};
use crate::understand::situation::Kind;

use super::super::bench::Bench;
use super::super::known::Pending;
use super::super::outbox::Outbox;
use super::{Answer, Phase, Question};

/// What the customer is asked, and the phase that goes on then.
#[derive(Clone, Debug, PartialEq)]
pub(in super::super) struct Consenting {
    pending: Pending,
    /// What they said, with the words heard: it waits for a yes.
    said: Option<(bool, String)>,
    then: Box<Phase>,
}

impl Consenting {
    pub(in super::super) fn new(pending: Pending, then: Phase) -> Self {
        Self { pending, said: None, then: Box::new(then) }
    }

    pub(in super::super) fn ask(&self, bench: &Bench, out: &mut Outbox) -> Question {
        let amount = |sum| Amount { sum, currency: self.pending.currency };
        let total = amount(self.pending.total);
        let topic = match &self.said {
            None => {
                let more = (self.pending.extra != self.pending.total).then(|| amount(self.pending.extra));
                out.say(&Prompt::AskConsent { total, more });
                "consent"
            }
            Some((given, _)) => {
                out.say(&Prompt::ConfirmConsent { given: *given, total });
                "consented"
            }
        };
        Question::new(bench.situation(Kind::YesNo), topic, "yes, or no")
    }

    pub(in super::super) fn answer(self, out: &mut Outbox, answer: &Answer<'_>) -> Phase {
        match (&self.said, &answer.best.intent) {
            (None, Intent::Yes | Intent::No) => {
                let given = answer.best.intent == Intent::Yes;
                Phase::Consenting(Self { said: Some((given, answer.best.words.clone())), ..self })
            }
            (Some((given, words)), Intent::Yes) => {
                out.record(What::Consented(self.consent(out, *given, words)));
                out.say(&Prompt::NoteKept);
                *self.then
            }
            (Some(_), Intent::No) => Phase::Consenting(Self { said: None, ..self }),
            (_, Intent::Anytime(Anytime::Skip)) => {
                out.say(&Prompt::Skipped);
                *self.then
            }
            _ => {
                out.say(&Prompt::NotHere);
                Phase::Consenting(self)
            }
        }
    }

    fn consent(&self, out: &Outbox, given: bool, words: &str) -> Consent {
        let Pending { desk, who, work, extra, total, currency } = self.pending.clone();
        Consent {
            given,
            when: desk.moment(out.now()),
            who,
            means: Means::Spoken,
            number: None,
            taken_by: desk.technician,
            work,
            extra,
            total,
            currency,
            words: Some(words.to_owned()),
        }
    }
}
