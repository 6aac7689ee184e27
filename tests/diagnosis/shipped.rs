//! The machines that come with the program: every fault, with an honest technician and an exact meter.

use std::fmt::Write as _;

use leadhand::circuit::Meter;
use leadhand::diagnose::Diagnosis;
use leadhand::diagnose::hypothesis::Hypothesis;
use leadhand::diagnose::likelihood::Asked;
use leadhand::diagnose::plan::Next;
use leadhand::id::{CheckId, StateId};
use leadhand::model::appliance::Prediction;
use leadhand::model::{self, Appliance};
use leadhand::reading::{Finding, Reading};
use leadhand::simulate::machine::said;

/// More checks than any diagnosis may take.
const MOST_CHECKS: usize = 20;

/// What a beeper says of so many ohms.
fn heard_beep(ohms: f64) -> Finding {
    Finding::Reading(if Meter::SERVICE.beeps(ohms) { Reading::Closed } else { Reading::Overload })
}

/// What is found under a hypothesis: the most likely reading, said to three digits, or the likeliest outcome.
pub fn ideal(diagnosis: &Diagnosis, check: &CheckId, cause: usize) -> Finding {
    let question = diagnosis.trouble().question(check).unwrap();
    match (&question.predictions[cause], &question.asked) {
        (Prediction::Overload, _) => Finding::Reading(Reading::Overload),
        (Prediction::Value { nominal, .. }, Asked::Beep) => heard_beep(*nominal),
        (Prediction::Value { nominal, .. }, Asked::Number(unit)) => {
            Finding::Reading(Reading::Value(said(*nominal, *unit)))
        }
        (Prediction::Outcomes(p), Asked::Outcome(names)) => {
            let likeliest = (0..p.len()).reduce(|a, b| if p[b] > p[a] { b } else { a }).unwrap();
            Finding::Outcome(names[likeliest].clone())
        }
        mismatch => panic!("{check}: {mismatch:?}"),
    }
}

/// How one diagnosis went.
struct Run {
    checks: Vec<String>,
    minutes: f64,
    live: usize,
    end: Next,
}

fn run(diagnosis: &Diagnosis, cause: usize) -> Run {
    let mut diagnosis = diagnosis.clone();
    let mut state: Option<StateId> = None;
    let mut run =
        Run { checks: vec![], minutes: 0.0, live: 0, end: Next::NothingTells { remaining: vec![] } };
    for _ in 0..=MOST_CHECKS {
        run.end = diagnosis.next(&[], state.as_ref());
        let Next::Check(check) = &run.end else { return run };
        let finding = ideal(&diagnosis, check, cause);
        let question = diagnosis.trouble().question(check).unwrap();
        let trouble = diagnosis.trouble();
        run.minutes += trouble.cost(question, state.as_ref(), trouble.done(&diagnosis.evidence));
        run.live += usize::from(question.live);
        run.checks.push(format!("{check}={finding}"));
        state = Some(question.state.clone());
        diagnosis.evidence.accept(check.clone(), finding);
    }
    panic!("no end after {:?}", run.checks)
}

/// Every cause of every complaint; how many ended in the right remedy, of how many.
fn every_cause(appliance: &Appliance) -> (String, usize, usize) {
    let (mut table, mut right, mut all) = (String::new(), 0, 0);
    for complaint in &appliance.complaints {
        let diagnosis = Diagnosis::new(appliance, &complaint.id);
        let trouble = diagnosis.trouble();
        for (cause, hypothesis) in trouble.hypotheses.iter().enumerate() {
            let Run { checks, minutes, live, end } = run(&diagnosis, cause);
            let wanted = &trouble.remedies[trouble.cure[cause]];
            let (verdict, p) = match &end {
                Next::Advise { remedy, probability, .. } if remedy == wanted => ("right", *probability),
                Next::Advise { probability, .. } => ("WRONG", *probability),
                Next::NothingTells { remaining } => ("cannot tell", remaining[0].1),
                Next::Check(_) => unreachable!("a run ends"),
            };
            right += usize::from(verdict == "right");
            all += 1;
            let cause = format!("{} / {hypothesis}", complaint.id);
            writeln!(
                table,
                "{cause:44} {verdict:11} {p:5.3} {:2} checks {live} live {minutes:5.1} min  {}",
                checks.len(),
                checks.join(", ")
            )
            .unwrap();
        }
    }
    (table, right, all)
}

#[test]
fn every_fault_of_every_machine() {
    for (name, _) in model::shipped() {
        let appliance = model::by_name(name).unwrap();
        let (table, right, all) = every_cause(&appliance);
        println!("{name}: {right} of {all} right\n{table}");
        assert_eq!(right, all, "{right} of {all}\n{table}");
    }
}

/// The belief after an exact reading of everything lies on what is the matter, or on what nothing can tell from it.
#[test]
fn nothing_electrical_is_believed_when_everything_reads_well() {
    for (name, _) in model::shipped() {
        let appliance = model::by_name(name).unwrap();
        for complaint in &appliance.complaints {
            let mut diagnosis = Diagnosis::new(&appliance, &complaint.id);
            let before = diagnosis.belief().of(&Hypothesis::AllGood);
            for check in &appliance.checks {
                diagnosis.evidence.accept(check.id.clone(), ideal(&diagnosis, &check.id, 0));
            }
            let after = diagnosis.belief();
            assert!(
                after.of(&Hypothesis::AllGood) > before,
                "{name}, {}: {:?}",
                complaint.id,
                after.ranked()
            );
        }
    }
}
