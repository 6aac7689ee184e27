//! What is said out of turn: readings that were not asked for, moved to other points or taken back by name, and what
//! is never helped with. The open question stays open, unless what was said answers it.

use std::ops::ControlFlow::{self, Break, Continue};

use crate::id::PointId;
use crate::quantity::{Prefix, Quantity, Unit};
use crate::reading::{Finding, Reading};
use crate::record::entry::What;
use crate::say::Prompt;
use crate::understand::heard::Candidate;
use crate::understand::intent::{Beyond, Elsewhere, Intent, Named, Report};

use super::super::bench::Bench;
use super::super::outbox::Outbox;
use super::advising::Advising;
use super::confirming::Confirming;
use super::dictating::Dictating;
use super::rating::Rating;
use super::{Answer, Phase, correcting, measuring};

impl Phase {
    /// Takes what is said out of turn, and breaks off; goes on where the answer is one to the phase's question.
    pub(super) fn aside(
        self,
        bench: &mut Bench,
        out: &mut Outbox,
        answer: &Answer<'_>,
    ) -> ControlFlow<Self, Self> {
        let words = answer.best;
        let begins = matches!(words.intent, Intent::Known(..) | Intent::Dictate(_) | Intent::Rated(..));
        let changes = matches!(words.intent, Intent::Scratch(_) | Intent::Elsewhere(_));
        // One thing at a time is read back.
        let busy = begins && matches!(self, Self::Confirming(_));
        if busy || (begins || changes) && !self.bears_asides(bench) {
            out.say(&Prompt::NotNow);
            return Break(self);
        }
        match &words.intent {
            Intent::Beyond(what) => {
                refuse(out, *what);
                Break(self)
            }
            Intent::Known(named, reading) => {
                Break(known(bench, out, named, &Finding::Reading(*reading), words, self))
            }
            Intent::Rated(part, value) => Break(Self::Rating(Rating::new(part, *value, self))),
            Intent::Dictate(what) => Break(Self::Dictating(Dictating::new(*what, self))),
            Intent::Scratch(named) => Break(scratch(bench, out, named, self)),
            Intent::Elsewhere(elsewhere) => Break(moved(bench, out, elsewhere, self)),
            Intent::Rescale(prefix, unit) if !matches!(self, Self::Confirming(_)) => {
                let last = rescaled(bench, *prefix, *unit).filter(|_| self.bears_asides(bench));
                let Some(report) = last else {
                    out.say(&Prompt::NotNow);
                    return Break(self);
                };
                Break(correcting::correct(bench, out, answer, &report, self))
            }
            Intent::Report(report) if report.correction && self.is_action() => {
                if !self.bears_asides(bench) || bench.findings.last().is_none() {
                    out.say(&Prompt::NotNow);
                    return Break(self);
                }
                Break(correcting::correct(bench, out, answer, report, self))
            }
            Intent::Report(report) if self.is_action() || matches!(self, Self::Advising(_)) => {
                let Some((a, b)) = report.points.clone() else { return Continue(self) };
                if !self.bears_asides(bench) {
                    out.say(&Prompt::NotNow);
                    return Break(self);
                }
                let named = Named::Across(a, b);
                Break(known(bench, out, &named, &Finding::Reading(report.reading), words, self))
            }
            _ => Continue(self),
        }
    }

    /// Nothing is taken beside a hazard, at a machine that is on, or while something waits for a yes.
    fn bears_asides(&self, bench: &Bench) -> bool {
        match self {
            Self::GoingLive(_)
            | Self::Rating(_)
            | Self::Dictating(_)
            | Self::Consenting(_)
            | Self::Finished => false,
            Self::Advising(Advising::Closing(_)) => false,
            Self::MakingSafe(_)
            | Self::Measuring(_)
            | Self::Confirming(_)
            | Self::ProvingLeads
            | Self::Advising(Advising::Fixing { .. }) => !bench.is_live(),
        }
    }

    /// Is something to be done, so that a reading answers nothing?
    fn is_action(&self) -> bool {
        match self {
            Self::MakingSafe(phase) => phase.is_action(),
            Self::Measuring(phase) => phase.is_action(),
            Self::GoingLive(_) | Self::Advising(Advising::Fixing { .. }) => true,
            Self::Confirming(_) | Self::Rating(_) | Self::Dictating(_) | Self::Consenting(_) => false,
            Self::ProvingLeads | Self::Finished => false,
            Self::Advising(Advising::Closing(_)) => false,
        }
    }

    /// Where the job goes on after an aside that changed what is believed.
    pub(super) fn after_aside(self, bench: &mut Bench, out: &mut Outbox) -> Self {
        match self {
            Self::Measuring(_) | Self::Advising(_) => measuring::next(bench, out),
            same => same,
        }
    }
}

/// What is never helped with is refused, whatever is said, and kept.
pub(in super::super) fn refuse(out: &mut Outbox, what: Beyond) {
    let refusal = Prompt::Beyond(what);
    out.record(What::Refused { why: refusal.line().text });
    out.say(&refusal);
}

/// A reading of a dead check that was not asked for: read back, and taken once it is confirmed.
fn known(
    bench: &Bench,
    out: &mut Outbox,
    named: &Named,
    shown: &Finding,
    words: &Candidate,
    then: Phase,
) -> Phase {
    let Finding::Reading(reading) = shown else { return then };
    let Some(check) = bench.dead_check(named, *reading) else {
        out.say(&Prompt::NotKnown);
        return then;
    };
    match measuring::in_unit(out, *reading, measuring::unit_of(check)) {
        Some(finding) => {
            Phase::Confirming(Confirming::out_of_turn(check.id.clone(), finding, words, Some(then)))
        }
        None => then,
    }
}

/// The reading that was taken last, in another scale.
fn rescaled(bench: &Bench, prefix: Prefix, unit: Unit) -> Option<Report> {
    let Finding::Reading(Reading::Value(last)) = bench.findings.found(bench.findings.last()?)? else {
        return None;
    };
    let reading = Reading::Value(Quantity { prefix, unit: Some(unit), ..last });
    Some(Report { points: None, reading, correction: true })
}

/// Takes a named finding back; the open question follows from what is left.
fn scratch(bench: &mut Bench, out: &mut Outbox, named: &Named, phase: Phase) -> Phase {
    let across = |a: &PointId, b: &PointId| {
        let same = |id: &&crate::id::CheckId| {
            bench.check(id).points().is_some_and(|(x, y)| (x, y) == (a, b) || (x, y) == (b, a))
        };
        bench.findings.taken().iter().rev().find(same).cloned()
    };
    let check = match named {
        Named::Check(id) => bench.findings.taken().iter().find(|taken| *taken == id).cloned(),
        Named::Across(a, b) => across(a, b),
    };
    let Some(check) = check else {
        out.say(&Prompt::NothingBack);
        return phase;
    };
    bench.findings.scratch(out, &check);
    out.say(&Prompt::TakenBack);
    match phase {
        // Read anew at once, where nobody has to go live for it.
        Phase::Measuring(_) | Phase::Advising(_) if !bench.state_of(bench.check(&check)).energised => {
            measuring::begin(bench, check)
        }
        phase => phase.after_aside(bench, out),
    }
}

/// "Not H, M": what was read belongs to other points.
fn moved(bench: &mut Bench, out: &mut Outbox, elsewhere: &Elsewhere, phase: Phase) -> Phase {
    match phase {
        Phase::Confirming(confirming) => confirming.moved(bench, out, elsewhere),
        Phase::Measuring(measuring) if measuring.misplaced() => measuring.placed(bench, out, elsewhere),
        Phase::Measuring(_) | Phase::MakingSafe(_) | Phase::Advising(_) | Phase::ProvingLeads => {
            move_last(bench, out, elsewhere, phase)
        }
        phase => {
            out.say(&Prompt::NotHere);
            phase
        }
    }
}

/// Moves the finding that was taken last; read back before it counts again.
fn move_last(bench: &mut Bench, out: &mut Outbox, elsewhere: &Elsewhere, phase: Phase) -> Phase {
    let last = bench.findings.last().cloned();
    let found = last.and_then(|check| Some((bench.findings.found(&check)?, check)));
    let pair = found.as_ref().and_then(|(_, check)| points(bench.check(check).points(), elsewhere));
    let (Some((finding, check)), Some((a, b))) = (found, pair) else {
        out.say(&Prompt::NotHere);
        return phase;
    };
    if bench.state_of(bench.check(&check)).energised {
        out.say(&Prompt::NotHere);
        return phase;
    }
    bench.findings.scratch(out, &check);
    out.say(&Prompt::TakenBack);
    let words =
        Candidate { words: String::new(), intent: Intent::Elsewhere(elsewhere.clone()), probability: 1.0 };
    known(bench, out, &Named::Across(a, b), &finding, &words, phase)
}

/// The points meant, where others were understood; `None` if the correction does not go with them.
pub(super) fn points(
    understood: Option<(&PointId, &PointId)>,
    elsewhere: &Elsewhere,
) -> Option<(PointId, PointId)> {
    let (from, to) = understood?;
    let pair = match elsewhere {
        Elsewhere::Across(a, b) => (a.clone(), b.clone()),
        Elsewhere::Instead { not, but } if not == from => (but.clone(), to.clone()),
        Elsewhere::Instead { not, but } if not == to => (from.clone(), but.clone()),
        Elsewhere::Instead { .. } => return None,
    };
    (pair.0 != pair.1).then_some(pair)
}
