//! Simulated jobs on the machines that come with the program: faults by their frequency, parts within their
//! tolerance, observations by their odds, a technician who misplaces a lead or misreads now and then.

use leadhand::diagnose::Diagnosis;
use leadhand::diagnose::likelihood::Asked;
use leadhand::diagnose::plan::Next;
use leadhand::diagnose::trouble::Question;
use leadhand::id::StateId;
use leadhand::model;
use leadhand::model::appliance::Prediction;
use leadhand::quantity::Unit;
use leadhand::reading::{Finding, Reading};

use super::{Dice, shipped};

/// More checks than any diagnosis may take.
const MOST_CHECKS: usize = 25;

/// Jobs a complaint.
const JOBS: usize = 60;

/// How often things go wrong.
#[derive(Clone, Copy)]
struct Slips {
    misread: f64,
    misplaced: f64,
}

/// A number within the tolerance: normal, by decades where the band is wide.
fn sample(dice: &mut Dice, prediction: &Prediction) -> Option<f64> {
    let Prediction::Value { nominal, low, high, .. } = prediction else { return None };
    // Box and Muller 1958.
    let z = (-2.0 * (1.0 - dice.share()).ln()).sqrt() * (std::f64::consts::TAU * dice.share()).cos();
    Some(if *low > 0.0 && high / low > 3.0 {
        (nominal.ln() + z * (high / low).ln() / 3.92).exp()
    } else {
        let value = nominal + z * (high - low) / 3.92;
        if *low >= 0.0 { value.max(0.0) } else { value }
    })
}

fn number(dice: &mut Dice, question: &Question, cause: usize, unit: Unit, factor: f64) -> Finding {
    match sample(dice, &question.predictions[cause]) {
        Some(value) => Finding::Reading(Reading::Value(shipped::as_said(value * factor, unit))),
        None => Finding::Reading(Reading::Overload),
    }
}

fn find(dice: &mut Dice, diagnosis: &Diagnosis, question: &Question, cause: usize, slips: Slips) -> Finding {
    match (&question.predictions[cause], &question.asked) {
        (Prediction::Outcomes(p), Asked::Outcome(names)) => {
            let mut left = dice.share();
            let index = p.iter().position(|p| {
                left -= p;
                left < 0.0
            });
            Finding::Outcome(names[index.unwrap_or(0)].clone())
        }
        (prediction, Asked::Beep) => shipped::heard_beep(sample(dice, prediction).unwrap_or(f64::INFINITY)),
        (_, Asked::Number(unit)) => {
            if dice.share() < slips.misplaced {
                // In the wrong hole: what another measurement in this state shows.
                let same = |q: &&Question| q.asked == question.asked && q.state == question.state;
                let others: Vec<&Question> = diagnosis.trouble().questions.iter().filter(same).collect();
                let other = others[dice.below(others.len())];
                return number(dice, other, cause, *unit, 1.0);
            }
            let factor =
                if dice.share() < slips.misread { [0.1, 0.3, 3.0, 10.0][dice.below(4)] } else { 1.0 };
            number(dice, question, cause, *unit, factor)
        }
        mismatch => panic!("{}: {mismatch:?}", question.check),
    }
}

#[derive(Default)]
struct Tally {
    jobs: f64,
    right: f64,
    cannot_tell: f64,
    checks: f64,
    live: f64,
    minutes: f64,
    claimed: f64,
}

impl Tally {
    fn job(&mut self, dice: &mut Dice, diagnosis: &Diagnosis, slips: Slips) {
        let mut diagnosis = diagnosis.clone();
        let mut at = dice.share();
        let cause = diagnosis.trouble().prior.iter().position(|p| {
            at -= p;
            at < 0.0
        });
        let cause = cause.unwrap_or(0);
        let mut state: Option<StateId> = None;
        self.jobs += 1.0;
        for _ in 0..MOST_CHECKS {
            let trouble = diagnosis.trouble();
            match diagnosis.next(&[], state.as_ref()) {
                Next::Check(check) => {
                    let question = trouble.question(&check).unwrap();
                    self.checks += 1.0;
                    self.live += f64::from(u8::from(question.live));
                    self.minutes += trouble.cost(question, state.as_ref(), trouble.done(&diagnosis.evidence));
                    state = Some(question.state.clone());
                    let finding = find(dice, &diagnosis, question, cause, slips);
                    diagnosis.evidence.accept(check, finding);
                }
                Next::Advise { remedy, probability, .. } => {
                    self.right += f64::from(u8::from(remedy == trouble.remedies[trouble.cure[cause]]));
                    self.claimed += probability;
                    return;
                }
                Next::NothingTells { .. } => {
                    self.cannot_tell += 1.0;
                    return;
                }
            }
        }
        panic!("no end after {MOST_CHECKS} checks: {:?}", diagnosis.evidence);
    }
}

#[test]
fn jobs() {
    for (name, _) in model::shipped() {
        let appliance = model::by_name(name).unwrap();
        for (what, slips, least) in [
            ("clean", Slips { misread: 0.0, misplaced: 0.0 }, 0.97),
            ("slips", Slips { misread: 0.01, misplaced: 0.03 }, 0.94),
        ] {
            let mut dice = Dice(2026);
            let mut tally = Tally::default();
            for complaint in &appliance.complaints {
                let diagnosis = Diagnosis::new(&appliance, &complaint.id);
                for _ in 0..JOBS {
                    tally.job(&mut dice, &diagnosis, slips);
                }
            }
            let Tally { jobs, right, cannot_tell, checks, live, minutes, claimed } = tally;
            println!(
                "{name}, {what}: {jobs} jobs, right {:.3} (claimed {:.3}), cannot tell {:.3}, checks {:.1}, live {:.2}, cost {:.1}",
                right / jobs,
                claimed / jobs,
                cannot_tell / jobs,
                checks / jobs,
                live / jobs,
                minutes / jobs,
            );
            assert!(right >= least * jobs, "{name}, {what}: {right} of {jobs}");
        }
    }
}
