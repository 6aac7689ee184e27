//! "No, fifteen": what was read back in passing is put right at the next question.

use crate::model::appliance::Check;
use crate::reading::Finding;
use crate::say::Prompt;
use crate::understand::heard::Candidate;
use crate::understand::intent::{Intent, Report};

use super::super::bench::Bench;
use super::super::outbox::Outbox;
use super::super::read_back::{Denied, ReadBack};
use super::confirming::Confirming;
use super::{Answer, Phase, measuring};

/// The last finding again, with another value. Making safe goes on first: a check begun in the middle of it would leave the
/// rest out.
pub(super) fn correct(
    bench: &mut Bench,
    out: &mut Outbox,
    answer: &Answer<'_>,
    report: &Report,
    phase: Phase,
) -> Phase {
    let making_safe = matches!(phase, Phase::MakingSafe(_));
    let last = bench.findings.last().expect("the caller saw one").clone();
    let check = bench.check(&last).clone();
    let candidate = of_the_same(report, answer.best);
    let Some(finding) = measuring::finding(out, &check, &candidate) else {
        return if making_safe { phase } else { measuring::begin(bench, check.id) };
    };
    let denied = matches!(answer.best.intent, Intent::Report(_)) && bench.read_back != ReadBack::Never;
    if denied && bench.findings.found(&check.id).as_ref() == Some(&finding) {
        return same_again(bench, out, &check, finding, answer, phase);
    }
    out.say(&Prompt::TakenBack);
    if making_safe {
        measuring::keep(bench, out, &check.id, finding, &[], &candidate);
        return phase;
    }
    measuring::accept(bench, out, &check.id, finding, &[], &candidate)
}

/// A correction is of the check that was read back, whatever points are said.
fn of_the_same(report: &Report, words: &Candidate) -> Candidate {
    Candidate { intent: Intent::Report(Report { points: None, ..report.clone() }), ..words.clone() }
}

/// "No" to what was read back, and then the same: it is something else that sounds so. Nobody is asked about it beside a live
/// machine, about a reading at live work that was left, or in the middle of making safe.
fn same_again(
    bench: &mut Bench,
    out: &mut Outbox,
    check: &Check,
    finding: Finding,
    answer: &Answer<'_>,
    phase: Phase,
) -> Phase {
    let live = bench.is_live() || bench.state_of(check).energised;
    if live || matches!(phase, Phase::MakingSafe(_)) {
        out.say(&Prompt::SayAgain);
        return phase;
    }
    let corrected = |candidate: &Candidate| match &candidate.intent {
        Intent::Report(report) if report.correction => {
            measuring::quietly(check, &of_the_same(report, candidate))
        }
        _ => None,
    };
    let denied = Denied::default().and(finding.clone());
    let (finding, words) = denied.likeliest(answer.heard, corrected).unwrap_or((finding, answer.best));
    out.say(&Prompt::TakenBack);
    bench.findings.scratch(out, &check.id);
    Phase::Confirming(Confirming::new(check.id.clone(), finding, words).denying(denied))
}
