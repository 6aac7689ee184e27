//! A reading read back digit by digit, because a likely rival would change what happens next, or because nobody asked
//! for it.

use crate::id::CheckId;
use crate::model::appliance::Check;
use crate::reading::{Finding, Reading};
use crate::say::Prompt;
use crate::understand::heard::Candidate;
use crate::understand::intent::{Elsewhere, Intent, Named};
use crate::understand::situation::Kind;

use super::super::bench::Bench;
use super::super::findings;
use super::super::outbox::Outbox;
use super::super::read_back::Denied;
use super::{Answer, Phase, Question, aside, measuring};

/// What waits for an answer.
#[derive(Clone, Debug, PartialEq)]
pub(in super::super) struct Confirming {
    pub(in super::super) check: CheckId,
    finding: Finding,
    words: Candidate,
    /// What was read back before, and denied.
    denied: Denied<Finding>,
    /// Is it another check's than the one asked for, so that its name is read back too?
    named: bool,
    /// The question that was open when the reading was volunteered.
    then: Option<Box<Phase>>,
}

impl Confirming {
    pub(super) fn new(check: CheckId, finding: Finding, words: &Candidate) -> Self {
        Self { check, finding, words: words.clone(), denied: Denied::default(), named: false, then: None }
    }

    /// The same, where other values were denied before.
    pub(super) fn denying(self, denied: Denied<Finding>) -> Self {
        Self { denied, ..self }
    }

    /// Of a reading that was not asked for; the job goes on with `then`.
    pub(super) fn out_of_turn(
        check: CheckId,
        finding: Finding,
        words: &Candidate,
        then: Option<Phase>,
    ) -> Self {
        Self { named: true, then: then.map(Box::new), ..Self::new(check, finding, words) }
    }

    /// The check that is worked towards: that of the open question, if this one was volunteered.
    pub(in super::super) fn towards(&self) -> Option<&CheckId> {
        self.then.as_ref().map_or(Some(&self.check), |then| then.check())
    }

    pub(in super::super) fn ask(&self, bench: &mut Bench, out: &mut Outbox) -> Question {
        match &self.finding {
            Finding::Reading(reading) if self.named => {
                let place = findings::place(&bench.appliance, &self.check);
                out.say(&Prompt::ConfirmKnown { place, reading: *reading, beeps: self.beeps(bench) });
            }
            Finding::Reading(reading) => {
                out.say(&Prompt::ConfirmReading { reading: *reading, beeps: self.beeps(bench) });
            }
            Finding::Outcome(name) => {
                out.say(&Prompt::ConfirmOutcome(bench.check(&self.check).kind.outcome(name).to_owned()));
            }
        }
        let mut situation = bench.situation_of(bench.check(&self.check));
        situation.kind = Kind::Confirm;
        let topic = if self.named { "known" } else { "confirm" };
        let example = match &self.finding {
            Finding::Reading(_) => "yes, or no and the value",
            Finding::Outcome(_) => "yes, or no",
        };
        Question::new(situation, &format!("{topic} {}", self.check), example)
    }

    fn beeps(&self, bench: &Bench) -> bool {
        measuring::beeps(bench.check(&self.check))
    }

    pub(in super::super) fn answer(self, bench: &mut Bench, out: &mut Outbox, answer: &Answer<'_>) -> Phase {
        match &answer.best.intent {
            Intent::Yes | Intent::Done => self.confirmed(bench, out),
            Intent::No => {
                out.say(&Prompt::TakenBack);
                self.dropped(bench)
            }
            Intent::Report(report) => {
                let check = bench.check(&self.check);
                match measuring::finding(out, check, answer.best) {
                    // Said a second time and heard the same: that is a confirmation.
                    Some(finding) if finding == self.finding && !report.correction => {
                        Self { words: answer.best.clone(), ..self }.confirmed(bench, out)
                    }
                    Some(_) => Phase::Confirming(self.instead(check, answer).unwrap_or(self)),
                    None => {
                        if measuring::elsewhere(check, report) {
                            out.say(&Prompt::NotHere);
                        }
                        Phase::Confirming(self)
                    }
                }
            }
            Intent::Rescale(prefix, unit) => match self.finding {
                Finding::Reading(Reading::Value(mut quantity)) => {
                    (quantity.prefix, quantity.unit) = (*prefix, Some(*unit));
                    let check = bench.check(&self.check);
                    match measuring::in_unit(out, Reading::Value(quantity), measuring::unit_of(check)) {
                        Some(finding) => Phase::Confirming(Self { finding, ..self }),
                        None => Phase::Confirming(self),
                    }
                }
                _ => Phase::Confirming(self),
            },
            Intent::Chose(name) if bench.check(&self.check).kind.has_outcome(name) => {
                Phase::Confirming(Self {
                    finding: Finding::Outcome(name.clone()),
                    words: answer.best.clone(),
                    ..self
                })
            }
            _ => {
                out.say(&Prompt::NotHere);
                Phase::Confirming(self)
            }
        }
    }

    /// Another value, hardly understood: that one is asked about instead. The same once more settles nothing.
    pub(super) fn put_back(&self, bench: &Bench, answer: &Answer<'_>) -> Option<Self> {
        self.instead(bench.check(&self.check), answer).filter(|instead| instead.finding != self.finding)
    }

    /// What was said instead of what was read back, or denies it and sounds the same.
    fn instead(&self, check: &Check, answer: &Answer<'_>) -> Option<Self> {
        let best = measuring::quietly(check, answer.best)?;
        let (denied, (finding, words)) = if answer.best.is_correction() {
            let denied = self.denied.clone().and(self.finding.clone());
            let likeliest =
                denied.likeliest(answer.heard, |candidate| measuring::quietly(check, candidate))?;
            (denied, likeliest)
        } else {
            (self.denied.clone(), (best, answer.best))
        };
        Some(Self { finding, words: words.clone(), denied, ..self.clone() })
    }

    fn confirmed(self, bench: &mut Bench, out: &mut Outbox) -> Phase {
        match self.then {
            None => measuring::accept(bench, out, &self.check, self.finding, &[], &self.words),
            Some(then) => {
                measuring::keep(bench, out, &self.check, self.finding, &[], &self.words);
                then.after_aside(bench, out)
            }
        }
    }

    fn dropped(self, bench: &Bench) -> Phase {
        match (self.then, self.finding) {
            (Some(then), _) => *then,
            (None, finding @ Finding::Reading(_)) => {
                measuring::begin_again(bench, self.check, self.denied.and(finding))
            }
            // What is seen is said in few ways, and a no to "no" says either.
            (None, Finding::Outcome(_)) => measuring::begin(bench, self.check),
        }
    }

    /// The same reading, of other points: another check's, or nobody's.
    pub(super) fn moved(self, bench: &Bench, out: &mut Outbox, elsewhere: &Elsewhere) -> Phase {
        let Some((a, b)) = aside::points(bench.check(&self.check).points(), elsewhere) else {
            out.say(&Prompt::NotHere);
            return Phase::Confirming(self);
        };
        let Finding::Reading(reading) = &self.finding else { return Phase::Confirming(self) };
        match bench.dead_check(&Named::Across(a, b), *reading) {
            Some(check) if !bench.state_of(bench.check(&self.check)).energised => {
                let denied = Denied::default();
                Phase::Confirming(Self { check: check.id.clone(), named: true, denied, ..self })
            }
            _ => {
                out.say(&Prompt::NotKnown);
                self.then.map_or_else(|| measuring::begin(bench, self.check), |then| *then)
            }
        }
    }
}
