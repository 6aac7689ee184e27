//! The remedy, the work, and the closing items that must not be forgotten.

use crate::diagnose::hypothesis::Hypothesis;
use crate::diagnose::plan::Next;
use crate::diagnose::remedy::{self, Confidence};
use crate::id::RemedyId;
use crate::model::appliance::ClosingItem;
use crate::record::entry::{ClosingAnswer, What};
use crate::say::Prompt;
use crate::understand::intent::{Anytime, Intent};
use crate::understand::situation::{Kind, Situation};

use super::super::bench::Bench;
use super::super::findings;
use super::super::outbox::Outbox;
use super::making_safe::MakingSafe;
use super::{Answer, Phase, Question, adjusting};

/// How far it has come.
#[derive(Clone, Debug, PartialEq)]
pub(in super::super) enum Advising {
    /// The remedy is named; the work is done or left.
    Fixing {
        /// What is to be done; nothing where there is nothing to fit.
        remedies: Vec<RemedyId>,
        /// The cause that it mends; `None` where none was singled out.
        cause: Option<Hypothesis>,
        /// Was it said how far a setting was turned?
        turned: bool,
    },
    /// The closing item with this index.
    Closing(usize),
}

impl Advising {
    /// Says what is wrong and what mends it.
    pub(super) fn new(bench: &Bench, out: &mut Outbox, advice: &Next) -> Self {
        let (remedy, cause, probability, remedies) = match advice {
            Next::Advise { remedy, hypothesis, probability } => {
                let confidence = Confidence::of(*probability);
                match findings::clause(hypothesis, &bench.appliance) {
                    Some(cause) => out.say(&Prompt::Advice { cause, confidence }),
                    None => out.say(&Prompt::NothingElectrical { confidence }),
                }
                let remedies = remedy::remedies(hypothesis, &bench.appliance);
                let remedies = remedies.into_iter().map(|remedy| remedy.id.clone()).collect();
                (remedy.clone(), Some(hypothesis.clone()), *probability, remedies)
            }
            Next::NothingTells { remaining } => {
                out.say(&Prompt::CannotTell);
                let likeliest = remaining.first().map_or(0.0, |(_, probability)| *probability);
                (None, None, likeliest, Vec::new())
            }
            Next::Check(_) => unreachable!("the caller plans checks elsewhere"),
        };
        let name = cause.as_ref().map_or_else(|| "cannot-tell".to_owned(), Hypothesis::to_string);
        out.record(What::Advised { remedy, cause: name, permille: permille(probability) });
        Self::Fixing { remedies, cause, turned: false }
    }

    pub(in super::super) fn ask(&self, bench: &mut Bench, out: &mut Outbox) -> Question {
        match self {
            Self::Fixing { remedies, turned, cause } => {
                if !turned {
                    instruct(bench, out, remedies);
                }
                let beyond = cause.is_some() && remedies.is_empty();
                out.say(if beyond { &Prompt::AskLooked } else { &Prompt::AskFixed });
                let choices = adjusting::choices(&bench.appliance);
                Question::new(Situation { choices, ..bench.situation(Kind::Step) }, "fixed", "done")
            }
            Self::Closing(index) => {
                let item = &bench.appliance.closing[*index];
                out.say(&Prompt::Closing(item.say.clone()));
                let topic = format!("closing {}", item.id);
                Question::new(bench.situation(Kind::YesNo), &topic, "yes, no, or skip")
            }
        }
    }

    pub(in super::super) fn answer(self, bench: &mut Bench, out: &mut Outbox, answer: &Answer<'_>) -> Phase {
        match (&self, &answer.best.intent) {
            (Self::Fixing { cause, remedies, turned }, Intent::Done | Intent::Yes) => {
                if !turned && !adjusting::as_advised(bench, out, remedies) {
                    return Phase::Advising(self);
                }
                out.record(What::Fixed { done: true });
                if let Some(cause) = cause {
                    bench.findings.mend(cause.clone());
                }
                Self::closing(bench, out, 0)
            }
            (Self::Fixing { .. }, Intent::No | Intent::Anytime(Anytime::Skip)) => {
                out.record(What::Fixed { done: false });
                Self::closing(bench, out, 0)
            }
            (Self::Fixing { cause, remedies, turned }, Intent::Chose(name)) => {
                let turned = adjusting::turned(bench, out, name) || *turned;
                Phase::Advising(Self::Fixing { cause: cause.clone(), remedies: remedies.clone(), turned })
            }
            (Self::Closing(index), Intent::Yes | Intent::Done) => {
                Self::close(bench, out, *index, ClosingAnswer::Done)
            }
            (Self::Closing(index), Intent::No) => {
                if bench.appliance.closing[*index].id == ClosingItem::TRIAL_RUN
                    && set_back(bench, out, *index)
                {
                    return Phase::MakingSafe(MakingSafe::Isolating);
                }
                if bench.appliance.closing[*index].optional {
                    return Self::close(bench, out, *index, ClosingAnswer::NotApplicable);
                }
                // What must not be forgotten is asked again; only "skip" leaves it, and the record says so.
                Phase::Advising(self)
            }
            (Self::Closing(index), Intent::Anytime(Anytime::Skip)) => {
                Self::close(bench, out, *index, ClosingAnswer::NotDone)
            }
            _ => {
                out.say(&Prompt::NotHere);
                Phase::Advising(self)
            }
        }
    }

    fn close(bench: &mut Bench, out: &mut Outbox, index: usize, answer: ClosingAnswer) -> Phase {
        let item = &bench.appliance.closing[index];
        out.record(What::Closed { item: item.id.clone(), answer });
        if item.id == ClosingItem::TRIAL_RUN && answer == ClosingAnswer::Done {
            out.record(What::Ran { how: item.say.clone(), well: true });
        }
        Self::closing(bench, out, index + 1)
    }

    /// The closing item with this index, or the end of the job.
    pub(in super::super) fn closing(bench: &mut Bench, out: &mut Outbox, index: usize) -> Phase {
        if index < bench.appliance.closing.len() {
            return Phase::Advising(Self::Closing(index));
        }
        if bench.interlock.may_close().is_err() {
            out.say(&Prompt::CannotClose);
            return Phase::MakingSafe(MakingSafe::Isolating);
        }
        out.say(&Prompt::NotTested);
        out.record(What::Finished);
        out.say(&Prompt::Finished);
        Phase::Finished
    }
}

/// Says what is to be done, with what belongs to it.
fn instruct(bench: &Bench, out: &mut Outbox, remedies: &[RemedyId]) {
    for remedy in remedies.iter().filter_map(|id| bench.appliance.remedy(id)) {
        let sentences =
            [Some(&remedy.say), remedy.sold.as_ref(), remedy.cause.as_ref(), remedy.caution.as_ref()];
        for sentence in sentences.into_iter().flatten() {
            out.say(&Prompt::Plain(sentence.clone()));
        }
    }
    adjusting::announce(bench, out, remedies);
}

/// The machine was run and the complaint is still there: covers are on again and it is live. `false` where nothing was
/// carried out that could have helped.
fn set_back(bench: &mut Bench, out: &mut Outbox, index: usize) -> bool {
    let how = bench.appliance.closing[index].say.clone();
    if !bench.findings.has_mended() {
        return false;
    }
    out.record(What::Ran { how, well: false });
    out.say(&Prompt::DidNotHelp);
    bench.findings.set_back(out);
    bench.prepared.clear();
    bench.doubt(out, "the machine was run");
    true
}

/// A probability in thousandths.
pub(in super::super) fn permille(probability: f64) -> u16 {
    (probability.clamp(0.0, 1.0) * 1000.0).round() as u16
}
