//! The planner against the exact optimum by dynamic programming, and against simpler ways, on small machines.

use leadhand::diagnose::Diagnosis;
use leadhand::diagnose::likelihood::Asked;
use leadhand::diagnose::plan::{self, CLEARLY, Next};
use leadhand::diagnose::trouble::{Question, Trouble};
use leadhand::diagnose::value;
use leadhand::model::appliance::Prediction;

use super::{Dice, question, saw, trouble};

/// Expected cost from here on of the best way of all: every check, every outcome, or mending by trying.
fn optimum(trouble: &Trouble, belief: &[f64], left: &[&Question]) -> f64 {
    let ask = |at: usize| {
        let mut rest = left.to_vec();
        let question = rest.remove(at);
        let outcomes = question.showings.iter().map(|s| s.likelihood.as_slice());
        question.cost + value::expected_cost_after(belief, outcomes, |b| optimum(trouble, b, &rest))
    };
    (0..left.len()).map(ask).fold(plan::cost_to_repair(trouble, belief), f64::min)
}

/// A way to choose the next check; `None` to stop.
type Way = dyn Fn(&Diagnosis) -> Option<Question>;

/// Expected cost from here on of a way to choose the next check.
fn cost_of(diagnosis: &Diagnosis, way: &Way) -> f64 {
    let belief = diagnosis.belief().probabilities();
    let Some(question) = way(diagnosis) else {
        return plan::cost_to_repair(diagnosis.trouble(), &belief);
    };
    let Asked::Outcome(names) = &question.asked else { unreachable!("these machines are only looked at") };
    let after = |(name, showing): (&String, &leadhand::diagnose::trouble::Showing)| {
        let (_, probability) = value::after(&belief, &showing.likelihood).unwrap();
        probability * cost_of(&diagnosis.with(diagnosis.evidence.with(&question.check, saw(name))), way)
    };
    question.cost + names.iter().zip(&question.showings).map(after).sum::<f64>()
}

fn ours(diagnosis: &Diagnosis) -> Option<Question> {
    match diagnosis.next(&[], None) {
        Next::Check(check) => diagnosis.trouble().question(&check).cloned(),
        Next::Advise { .. } | Next::NothingTells { .. } => None,
    }
}

/// The trade's checklist: in the file's order until one remedy is clear.
fn checklist(diagnosis: &Diagnosis) -> Option<Question> {
    let trouble = diagnosis.trouble();
    let belief = trouble.by_remedy(&diagnosis.belief().probabilities());
    let clear = belief.iter().any(|p| *p >= CLEARLY);
    let open = |q: &&Question| diagnosis.evidence.of(&q.check).is_empty();
    trouble.questions.iter().find(open).filter(|_| !clear).cloned()
}

/// One step ahead and no further.
fn greedy(diagnosis: &Diagnosis) -> Option<Question> {
    let belief = diagnosis.belief().probabilities();
    let all = plan::candidates(diagnosis.trouble(), &belief, &diagnosis.evidence, &[], None);
    let best = all.into_iter().reduce(|a, b| if b.gain > a.gain { b } else { a })?;
    (best.gain > 0.0).then(|| best.question.clone())
}

/// A machine with sharp checks: each looks at some of the faults and says yes to them.
fn machine(dice: &mut Dice) -> Trouble {
    let (faults, checks) = (3 + dice.below(4), 4 + dice.below(2));
    let p = dice.shares(faults + 1);
    let names: Vec<(String, String)> =
        (0..faults).map(|i| (format!("fault-{i}"), format!("remedy-{i}"))).collect();
    let rows: Vec<_> = names
        .iter()
        .zip(&p[1..])
        .map(|((f, r), p)| (f.as_str(), *p, r.as_str(), 90.0 + 100.0 * dice.share()))
        .collect();
    let questions = (0..checks)
        .map(|i| {
            let shown = (0..=faults)
                .map(|h| {
                    let yes = if h > 0 && dice.share() < 0.4 { 0.97 } else { 0.02 };
                    Prediction::Outcomes(vec![yes, 1.0 - yes])
                })
                .collect();
            let asked = Asked::Outcome(vec!["yes".into(), "no".into()]);
            question(&format!("check-{i}"), 1.0 + 20.0 * dice.share(), asked, shown)
        })
        .collect();
    trouble(&rows, questions)
}

#[test]
fn within_a_few_parts_in_a_hundred_of_the_optimum() {
    let mut dice = Dice(1990);
    let mut total = [0.0; 4];
    for _ in 0..60 {
        let diagnosis = Diagnosis::of(machine(&mut dice));
        let trouble = diagnosis.trouble();
        let all: Vec<&Question> = trouble.questions.iter().collect();
        let best = optimum(trouble, &trouble.prior, &all);
        total[0] += best;
        let ways: [&Way; 3] = [&ours, &greedy, &checklist];
        for (sum, way) in total[1..].iter_mut().zip(ways) {
            *sum += cost_of(&diagnosis, way);
        }
    }
    let [best, ours, greedy, checklist] = total.map(|t| t / 60.0);
    println!(
        "expected cost, minutes' worth: optimum {best:.1}, ours {ours:.1}, one step {greedy:.1}, checklist {checklist:.1}"
    );
    assert!(ours <= 1.05 * best, "{ours} against {best}");
    assert!(ours < checklist, "{ours} against {checklist}");
}
