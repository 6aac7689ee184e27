//! One check: what comes before it, the question, the answer taken or put to confirmation.

use crate::diagnose::doubt::Doubt;
use crate::diagnose::plan::Next;
use crate::hazard::Hazard;
use crate::id::CheckId;
use crate::model::appliance::{Check, CheckKind, Function, Site};
use crate::quantity::{Decimal, Quantity, Unit};
use crate::reading::{Finding, Reading};
use crate::safety::Refusal;
use crate::say::Prompt;
use crate::say::prompt::{Either, Place};
use crate::understand::confusion;
use crate::understand::heard::{Candidate, Heard};
use crate::understand::intent::{Elsewhere, Intent, Named, Report};
use crate::understand::numerals::quantity_words;
use crate::understand::situation::Kind;

use super::super::bench::Bench;
use super::super::outbox::Outbox;
use super::super::read_back::{Denied, Meant, ReadBack};
use super::advising::Advising;
use super::confirming::Confirming;
use super::going_live::GoingLive;
use super::making_safe::MakingSafe;
use super::{Answer, Phase, Question, aside, correcting};

/// Towards one finding.
#[derive(Clone, Debug, PartialEq)]
pub(in super::super) struct Measuring {
    pub(in super::super) check: CheckId,
    step: Step,
    /// What was read across other points than asked, as it was understood: they may only have been misheard.
    misplaced: Option<(Report, Candidate)>,
    /// What was read back since it was asked for, and denied.
    denied: Denied<Finding>,
}

#[derive(Clone, Debug, PartialEq)]
enum Step {
    /// The machine is put into the check's dead state.
    IntoState,
    /// Something is done first: a wire lifted, a cover off.
    Before,
    /// The question itself.
    Asking,
}

/// The next check, the advice, or making safe on the way to either.
pub(in super::super) fn next(bench: &mut Bench, out: &mut Outbox) -> Phase {
    match bench.findings.plan(bench.state.as_ref()) {
        Next::Check(check) => begin(bench, check),
        advice => {
            if bench.interlock.permit_dead().is_err() {
                return Phase::MakingSafe(MakingSafe::Isolating);
            }
            // Nobody mends anything with a jumper in.
            if bench.interlock.jumper_in() {
                return Phase::MakingSafe(MakingSafe::TakingJumperOut);
            }
            Phase::Advising(Advising::new(bench, out, &advice))
        }
    }
}

/// The first phase of a check, from the state the machine is in.
pub(in super::super) fn begin(bench: &Bench, id: CheckId) -> Phase {
    let check = bench.check(&id);
    let state = bench.state_of(check);
    let there = bench.state.as_ref() == Some(&state.id);
    let unprepared = check.before.as_ref().is_some_and(|what| !bench.prepared.contains(what));
    if state.energised && !unprepared {
        let ready = there && bench.interlock.permit_live().is_ok();
        return if ready { Measuring::asking(id) } else { GoingLive::begin(bench, id) };
    }
    // Everything else, covers and panels for a live check too, is done at dead work.
    if bench.interlock.permit_dead().is_err() {
        return Phase::MakingSafe(MakingSafe::Isolating);
    }
    if bench.interlock.jumper_in() {
        return Phase::MakingSafe(MakingSafe::TakingJumperOut);
    }
    if keeps_charge(check) && bench.interlock.permit_drained().is_err() {
        return Phase::MakingSafe(MakingSafe::ReadingCharge(id));
    }
    let step = match (state.energised, there, unprepared) {
        (false, false, _) => Step::IntoState,
        (_, _, true) => Step::Before,
        (_, _, false) => Step::Asking,
    };
    if step == Step::Asking && bench.findings.wants_leads(&id) {
        return Phase::ProvingLeads;
    }
    Phase::Measuring(Measuring { step, ..Measuring::of(id) })
}

/// A check begun again since what was read back was not meant.
pub(super) fn begin_again(bench: &Bench, id: CheckId, denied: Denied<Finding>) -> Phase {
    match begin(bench, id) {
        Phase::Measuring(phase) => Phase::Measuring(Measuring { denied, ..phase }),
        other => other,
    }
}

impl Measuring {
    fn of(check: CheckId) -> Self {
        Self { check, step: Step::Asking, misplaced: None, denied: Denied::default() }
    }

    /// The question of a check whose state is reached.
    pub(super) fn asking(check: CheckId) -> Phase {
        Phase::Measuring(Self::of(check))
    }

    /// Is something to be done before the question?
    pub(super) fn is_action(&self) -> bool {
        self.step != Step::Asking
    }

    /// Was a reading of other points put aside?
    pub(super) const fn misplaced(&self) -> bool {
        self.misplaced.is_some()
    }

    /// The reading that was put aside, once its points are put right.
    pub(super) fn placed(self, bench: &mut Bench, out: &mut Outbox, elsewhere: &Elsewhere) -> Phase {
        let Some((report, words)) = &self.misplaced else { return Phase::Measuring(self) };
        let understood = report.points.as_ref().map(|(a, b)| (a, b));
        let Some(points) = aside::points(understood, elsewhere) else {
            out.say(&Prompt::NotHere);
            return Phase::Measuring(self);
        };
        let report = Report { points: Some(points), ..report.clone() };
        let best = Candidate { intent: Intent::Report(report), ..words.clone() };
        let heard = Heard { candidates: vec![best.clone()], ..Heard::default() };
        self.answer(bench, out, &Answer { best: &best, heard: &heard })
    }

    pub(in super::super) fn ask(&self, bench: &mut Bench, out: &mut Outbox) -> Result<Question, Refusal> {
        let check = bench.check(&self.check).clone();
        Ok(match self.step {
            Step::IntoState => {
                let permit = bench.interlock.permit_dead()?;
                let state = bench.state_of(&check);
                out.say(&Prompt::MakeDead { make: state.make.clone(), permit });
                Question::new(bench.situation(Kind::Step), &format!("state {}", state.id), "done")
            }
            Step::Before => {
                let permit = bench.interlock.permit_dead()?;
                out.say(&Prompt::Before { what: check.before.clone().unwrap_or_default(), permit });
                Question::new(bench.situation(Kind::Step), &format!("before {}", check.id), "done")
            }
            Step::Asking => {
                let permit = if bench.state_of(&check).energised {
                    Either::Live(bench.interlock.permit_live()?)
                } else {
                    Either::Dead(if keeps_charge(&check) {
                        bench.interlock.permit_drained()?
                    } else {
                        bench.interlock.permit_dead()?
                    })
                };
                ask_check(bench, out, &check, permit)
            }
        })
    }

    /// A finding that was hardly understood, put to the question whether it was meant.
    pub(super) fn put_back(&self, bench: &Bench, answer: &Answer<'_>) -> Option<Confirming> {
        let awaited = self.step == Step::Asking && !answer.best.is_correction();
        if !awaited || bench.read_back == ReadBack::Never {
            return None;
        }
        let check = bench.check(&self.check);
        let finding = quietly(check, answer.best)?;
        Some(self.instead(check, finding, answer))
    }

    /// Waits for a yes to what was most probably meant, if `heard` was denied before or is doubtful.
    fn instead(&self, check: &Check, heard: Finding, answer: &Answer<'_>) -> Confirming {
        let likeliest = self.denied.likeliest(answer.heard, |candidate| quietly(check, candidate));
        let (finding, words) = likeliest.unwrap_or((heard, answer.best));
        Confirming::new(check.id.clone(), finding, words).denying(self.denied.clone())
    }

    pub(in super::super) fn answer(self, bench: &mut Bench, out: &mut Outbox, answer: &Answer<'_>) -> Phase {
        let check = bench.check(&self.check).clone();
        match (&self.step, &answer.best.intent) {
            (Step::IntoState, Intent::Done | Intent::Yes) => {
                bench.state = Some(check.state.clone());
                begin(bench, self.check)
            }
            (Step::Before, Intent::Done | Intent::Yes) => {
                bench.prepared.extend(check.before);
                begin(bench, self.check)
            }
            (_, Intent::Report(report)) if report.correction && bench.findings.last().is_some() => {
                correcting::correct(bench, out, answer, report, Phase::Measuring(self))
            }
            (Step::Asking, Intent::Report(report)) if elsewhere(&check, report) => {
                self.other_points(bench, out, report, answer.best)
            }
            (Step::Asking, _) => match finding(out, &check, answer.best) {
                Some(finding) if self.denied.has(&finding) => {
                    Phase::Confirming(self.instead(&check, finding, answer))
                }
                Some(finding) => take(bench, out, &check, finding, answer, self.denied),
                None => Phase::Measuring(self),
            },
            _ => {
                out.say(&Prompt::NotHere);
                Phase::Measuring(self)
            }
        }
    }
}

/// Is there something at this check that keeps a charge when the supply is gone?
fn keeps_charge(check: &Check) -> bool {
    check.hazards.contains(&Hazard::StoredCharge)
}

/// Does a report name points, and others than the check's?
pub(super) fn elsewhere(check: &Check, report: &Report) -> bool {
    check.points().is_some_and(|asked| names_other_points(report, asked))
}

impl Measuring {
    /// A reading of other points than asked: another check's, if there is one, and otherwise put aside.
    fn other_points(self, bench: &Bench, out: &mut Outbox, report: &Report, words: &Candidate) -> Phase {
        let known = report.points.clone().filter(|_| !bench.is_live());
        let check = known.and_then(|(a, b)| bench.dead_check(&Named::Across(a, b), report.reading));
        if let Some(check) = check
            && let Some(finding) = in_unit(out, report.reading, unit_of(check))
        {
            let check = check.id.clone();
            let then = Phase::Measuring(Self { misplaced: None, ..self });
            return Phase::Confirming(Confirming::out_of_turn(check, finding, words, Some(then)));
        }
        if let Some((from, to)) = bench.check(&self.check).points() {
            let (from, to) = (bench.point_name(from), bench.point_name(to));
            out.say(&Prompt::OtherPoints { from, to });
        }
        Phase::Measuring(Self { misplaced: Some((report.clone(), words.clone())), ..self })
    }
}

fn ask_check(bench: &Bench, out: &mut Outbox, check: &Check, permit: Either) -> Question {
    let (prompt, example) = match &check.kind {
        CheckKind::Measure(m) => {
            let at = match &m.at {
                Site::Across(from, to) => Place::Across(bench.point_name(from), bench.point_name(to)),
                Site::Around { wire, .. } => Place::Around(wire.clone()),
            };
            let example = match m.function {
                Function::Continuity => "beep, or no beep".to_owned(),
                other => example(other.unit()),
            };
            (Prompt::Measure { at, function: m.function, range: m.range.clone(), permit }, example)
        }
        CheckKind::Observe(o) => {
            let said = o.outcomes.iter().filter_map(|outcome| outcome.say.first().cloned());
            let said: Vec<String> = said.take(2).collect();
            (Prompt::Observe { question: o.question.clone(), permit }, said.join(", or "))
        }
        CheckKind::Gauge(g) => (Prompt::Observe { question: g.question.clone(), permit }, example(g.unit)),
    };
    out.say(&prompt);
    Question::new(bench.situation_of(check), &format!("check {}", check.id), example)
}

/// A reading as it can be said, and as no machine should show it.
fn example(unit: Unit) -> String {
    let number = Decimal::new(false, 777, 1).expect("three digits");
    quantity_words(Quantity::new(number, unit))
}

/// What an answer says about a check; says why not where it says nothing.
pub(super) fn finding(out: &mut Outbox, check: &Check, candidate: &Candidate) -> Option<Finding> {
    match (&check.kind, &candidate.intent) {
        (kind, Intent::Chose(name)) if kind.has_outcome(name) => Some(Finding::Outcome(name.clone())),
        (CheckKind::Measure(m), Intent::Report(report)) => {
            if m.points().is_some_and(|asked| names_other_points(report, asked)) {
                return None;
            }
            in_unit(out, report.reading, m.function.unit())
        }
        (CheckKind::Gauge(gauge), Intent::Report(report)) => in_unit(out, report.reading, gauge.unit),
        _ => {
            out.say(&Prompt::NotHere);
            None
        }
    }
}

/// What an answer says about a check, if anything.
pub(super) fn quietly(check: &Check, candidate: &Candidate) -> Option<Finding> {
    finding(&mut Outbox::new(crate::time::Timestamp::ZERO), check, candidate)
}

/// Does a report name two points, and other ones than asked for?
pub(super) fn names_other_points(
    report: &Report,
    (from, to): (&crate::id::PointId, &crate::id::PointId),
) -> bool {
    report.points.as_ref().is_some_and(|(a, b)| (a, b) != (from, to) && (b, a) != (from, to))
}

/// The reading in the unit of the check; a bare number takes it, another unit is refused.
pub(super) fn in_unit(out: &mut Outbox, reading: Reading, unit: Unit) -> Option<Finding> {
    let Reading::Value(quantity) = reading else { return Some(Finding::Reading(reading)) };
    let said = match quantity.unit {
        Some(Unit::Degrees) if matches!(unit, Unit::Fahrenheit | Unit::Celsius) => Some(unit),
        other => other,
    };
    if said.is_some_and(|said| said != unit) {
        out.say(&Prompt::OtherUnit(unit));
        return None;
    }
    Some(Finding::Reading(Reading::Value(Quantity { unit: Some(unit), ..quantity })))
}

/// Takes a finding, or waits for a yes where something hangs on it.
fn take(
    bench: &mut Bench,
    out: &mut Outbox,
    check: &Check,
    finding: Finding,
    answer: &Answer<'_>,
    denied: Denied<Finding>,
) -> Phase {
    let meant = meant(check, finding, answer);
    let elsewhere = bench.findings.elsewhere(&check.id, &meant.heard.0, bench.state.as_ref());
    let asks = bench.read_back.asks(&meant, elsewhere);
    let Meant { heard: (finding, _), mut others, .. } = meant;
    if asks {
        return Phase::Confirming(Confirming::new(check.id.clone(), finding, answer.best).denying(denied));
    }
    others.retain(|(_, probability)| *probability >= RIVAL);
    accept(bench, out, &check.id, finding, &others, answer.best)
}

/// Least probability at which what else may have been meant is kept with a finding.
const RIVAL: f32 = 0.02;

/// A finding, and what may have been meant instead.
fn meant(check: &Check, heard: Finding, answer: &Answer<'_>) -> Meant {
    let mut probability = answer.best.probability;
    let mut others: Vec<(Finding, f32)> = Vec::new();
    for candidate in answer.heard.candidates.iter().skip(1) {
        let Some(other) = quietly(check, candidate) else { continue };
        match others.iter_mut().find(|(known, _)| *known == other) {
            Some((_, sum)) => *sum += candidate.probability,
            None if other == heard => probability += candidate.probability,
            None => others.push((other, candidate.probability)),
        }
    }
    let mut confused: Vec<Finding> = match (&heard, &check.kind) {
        (Finding::Reading(reading), _) => {
            confusion::rivals(*reading).into_iter().map(Finding::Reading).collect()
        }
        (Finding::Outcome(_), CheckKind::Observe(observation)) => {
            observation.outcomes.iter().map(|outcome| Finding::Outcome(outcome.name.clone())).collect()
        }
        (Finding::Outcome(_), _) => Vec::new(),
    };
    confused.retain(|finding| *finding != heard && others.iter().all(|(other, _)| other != finding));
    Meant { heard: (heard, probability), others, confused }
}

/// The unit that a bare number takes.
pub(in super::super) const fn unit_of(check: &Check) -> Unit {
    match &check.kind {
        CheckKind::Measure(m) => m.function.unit(),
        CheckKind::Gauge(gauge) => gauge.unit,
        CheckKind::Observe(_) => Unit::Degrees,
    }
}

/// Keeps a finding, reads it back, says what it means, goes on. `others` may have been meant instead.
pub(super) fn accept(
    bench: &mut Bench,
    out: &mut Outbox,
    check: &CheckId,
    finding: Finding,
    others: &[(Finding, f32)],
    words: &Candidate,
) -> Phase {
    keep(bench, out, check, finding, others, words);
    settle(bench, out).unwrap_or_else(|| next(bench, out))
}

/// Keeps a finding, reads it back, says what it means.
pub(super) fn keep(
    bench: &mut Bench,
    out: &mut Outbox,
    check: &CheckId,
    finding: Finding,
    others: &[(Finding, f32)],
    words: &Candidate,
) {
    if let Finding::Reading(reading) = &finding {
        let beeps = beeps(bench.check(check));
        out.say(&Prompt::ReadBack { reading: *reading, beeps });
    }
    let verdict = bench.findings.verdict(check, &finding);
    bench.findings.take(out, check, finding, others, words);
    if let Some(verdict) = verdict {
        out.say(&Prompt::Verdict(verdict));
    }
    if bench.findings.stays_unexplained(check) {
        out.say(&Prompt::StaysUnexplained);
    }
}

/// Does the meter beep here, so that the reading is said as a beep?
pub(super) fn beeps(check: &Check) -> bool {
    matches!(&check.kind, CheckKind::Measure(m) if m.function == Function::Continuity)
}

/// What settles a doubt in the findings before anything else is asked; `None` where there is none. Nobody goes back to
/// live work for it.
fn settle(bench: &mut Bench, out: &mut Outbox) -> Option<Phase> {
    let dead = |bench: &Bench, check: &CheckId| !bench.state_of(bench.check(check)).energised;
    let (check, prompt) = match bench.findings.doubt()? {
        Doubt::LeadOpen if bench.interlock.permit_dead().is_ok() => return Some(Phase::ProvingLeads),
        Doubt::LeadOpen => return None,
        Doubt::OnVolts => (bench.findings.last()?.clone(), Prompt::LookAtDial),
        Doubt::Unexplained(check) => (check, Prompt::TakeAgain),
    };
    if !dead(bench, &check) {
        return None;
    }
    bench.findings.ask_again(&check);
    out.say(&prompt);
    Some(begin(bench, check))
}
