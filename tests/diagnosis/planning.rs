//! The next check, the remedy, and why.

use leadhand::diagnose::Diagnosis;
use leadhand::diagnose::explain::Consequence;
use leadhand::diagnose::hypothesis::Hypothesis;
use leadhand::diagnose::likelihood::Asked;
use leadhand::diagnose::plan::{self, Next};
use leadhand::diagnose::trouble::Shown;
use leadhand::diagnose::verdict::Verdict;
use leadhand::id::{CheckId, RemedyId};
use leadhand::model::appliance::Prediction;
use leadhand::quantity::Unit;
use leadhand::reading::Finding;

use super::{Dice, OL, check, fault, no_heat, ohms, question, said, saw, trouble};

/// What an honest technician finds on the machine of `no_heat` under a fault.
fn ideal(name: &CheckId, cause: &str) -> Finding {
    match (name.as_str(), cause) {
        ("heater", "heater-open") | ("fuse", "fuse-open") | ("thermostat", "thermostat-open") => OL,
        ("heater", _) => ohms("20.0"),
        ("supply", "leg-lost") => said("0", Unit::Volts),
        ("supply", _) => said("238", Unit::Volts),
        ("drum", "leg-lost") => saw("still"),
        ("drum", _) => saw("turns"),
        _ => ohms("0.2"),
    }
}

#[test]
fn every_fault_is_found_and_the_work_is_bounded() {
    for (cause, remedy) in [
        ("heater-open", Some("heater")),
        ("fuse-open", Some("fuse")),
        ("thermostat-open", Some("thermostat")),
        ("leg-lost", Some("leg")),
        ("all-good", None),
    ] {
        let mut diagnosis = Diagnosis::of(no_heat());
        let mut checks = vec![];
        let end = loop {
            match diagnosis.next(&[], None) {
                Next::Check(check) => {
                    assert!(!checks.contains(&check), "{check} is asked once");
                    diagnosis.evidence.accept(check.clone(), ideal(&check, cause));
                    checks.push(check);
                }
                end => break end,
            }
        };
        let Next::Advise { remedy: advised, probability, .. } = &end else { panic!("{cause}: {end:?}") };
        assert_eq!(advised.as_ref().map(RemedyId::as_str), remedy, "{cause} after {checks:?}");
        assert!(*probability > 0.5, "{cause}: {probability}");
    }
}

#[test]
fn live_comes_last_and_skipped_is_left_out() {
    let mut diagnosis = Diagnosis::of(no_heat());
    let mut skipped = vec![];
    while let Next::Check(check) = diagnosis.next(&skipped, None) {
        assert!(!skipped.contains(&check));
        if check.as_str() == "supply" {
            assert!(diagnosis.evidence.len() + skipped.len() >= 3, "live before {skipped:?}");
        }
        let fine = ideal(&check, "all-good");
        diagnosis.evidence.accept(check.clone(), fine);
        skipped.push(check);
    }
    assert!(skipped.contains(&check("supply")), "{skipped:?}");
    let everything: Vec<CheckId> = diagnosis.trouble().questions.iter().map(|q| q.check.clone()).collect();
    let blind = Diagnosis::of(no_heat()).next(&everything, None);
    let Next::NothingTells { remaining } = blind else { panic!("{blind:?}") };
    assert_eq!(remaining[0].0, Some(RemedyId::from("heater")));
    assert!((remaining.iter().map(|r| r.1).sum::<f64>() - 1.0).abs() < 1e-12);
}

/// Two causes of one remedy need not be told apart.
#[test]
fn no_check_between_two_causes_of_one_remedy() {
    let ask = |p: [f64; 3]| {
        let shown = p.map(|p| Prediction::Outcomes(vec![p, 1.0 - p])).to_vec();
        question("look", 0.1, Asked::Outcome(vec!["a".into(), "b".into()]), shown)
    };
    let faults = |second| [("worn", 0.5, "board", 200.0), ("burnt", 0.49, second, 200.0)];
    let tells = ask([0.5, 1.0, 0.0]);
    let one = Diagnosis::of(trouble(&faults("board"), vec![tells.clone()]));
    assert!(matches!(one.next(&[], None), Next::Advise { probability, .. } if probability > 0.98));
    let two = Diagnosis::of(trouble(&faults("motor"), vec![tells]));
    assert_eq!(two.next(&[], None), Next::Check(check("look")));
    let blind = Diagnosis::of(trouble(&faults("motor"), vec![ask([0.5, 0.5, 0.5])]));
    assert!(matches!(blind.next(&[], None), Next::Advise { .. }), "what tells nothing is not asked");
}

/// The planner never offers a check all of whose outcomes keep the remedy.
#[test]
fn an_offered_check_can_change_the_remedy() {
    let mut dice = Dice(42);
    let mut offered = 0;
    for round in 0..300 {
        let mut diagnosis = Diagnosis::of(dice.trouble());
        while let Next::Check(id) = diagnosis.next(&[], None) {
            let now = diagnosis.belief().probabilities();
            let question = diagnosis.trouble().question(&id).unwrap().clone();
            let first = plan::best_remedy(diagnosis.trouble(), &now);
            let Asked::Outcome(names) = &question.asked else { unreachable!() };
            let changes = names.iter().any(|name| {
                let then = diagnosis.with(diagnosis.evidence.with(&id, saw(name))).belief().probabilities();
                plan::best_remedy(diagnosis.trouble(), &then) != first
            });
            assert!(changes, "machine {round}, {id}");
            offered += 1;
            let name = names[dice.below(names.len())].clone();
            diagnosis.evidence.accept(id, saw(&name));
        }
    }
    assert!(offered > 300, "{offered}");
}

#[test]
fn ties_are_stable() {
    let shown = |at: usize| {
        (0..3).map(|h| Prediction::Outcomes(if h == at { vec![1.0, 0.0] } else { vec![0.0, 1.0] })).collect()
    };
    let asked = || Asked::Outcome(vec!["yes".into(), "no".into()]);
    let faults = [("a", 0.45, "mend-a", 150.0), ("b", 0.45, "mend-b", 150.0)];
    let make = |names: [&str; 2]| {
        let checks =
            vec![question(names[0], 2.0, asked(), shown(1)), question(names[1], 2.0, asked(), shown(2))];
        Diagnosis::of(trouble(&faults, checks)).next(&[], None)
    };
    assert_eq!(make(["first", "second"]), Next::Check(check("first")));
    assert_eq!(make(["second", "first"]), Next::Check(check("second")));
}

#[test]
fn why_we_believe_it_and_why_this_check() {
    let mut diagnosis = Diagnosis::of(no_heat());
    diagnosis.evidence.accept(check("drum"), saw("turns"));
    diagnosis.evidence.accept(check("fuse"), ohms("0.2"));
    diagnosis.evidence.accept(check("heater"), OL);
    let cause = fault("heater-open");
    let why = diagnosis.why(&cause);
    assert_eq!(why[0].check, check("heater"), "what moved it furthest comes first");
    assert!(why.iter().all(|m| m.log_odds > 0.0), "{why:?}");
    let without = diagnosis.with(diagnosis.evidence.without(&check("heater")));
    let (a, b) = (diagnosis.belief().of(&cause), without.belief().of(&cause));
    assert!(((a / (1.0 - a)).ln() - (b / (1.0 - b)).ln() - why[0].log_odds).abs() < 1e-9);
    assert!(diagnosis.why(&fault("fuse-open")).iter().any(|m| m.check == check("fuse") && m.log_odds < 0.0));
    assert!(diagnosis.why(&fault("no-such-fault")).is_empty());

    let reason = Diagnosis::of(no_heat()).why_check(&check("fuse"), None).unwrap();
    assert!(reason.gain > 0.0 && (reason.cost - 4.0).abs() < 1e-12);
    assert!((reason.outcomes.iter().map(|o| o.probability).sum::<f64>() - 1.0).abs() < 1e-3);
    let open = reason.outcomes.iter().find(|o| o.what == Shown::Overload).unwrap();
    assert_eq!((open.remedy.as_ref(), &open.cause), (Some(&"fuse".into()), &fault("fuse-open")));
    assert!(diagnosis.why_check(&check("no-such-check"), None).is_none());
}

/// Two values that lead to the same verdict and the same step need not be told apart; others do.
#[test]
fn only_values_that_change_something_need_asking() {
    let diagnosis = Diagnosis::of(no_heat());
    let of = |finding: Finding| -> Consequence {
        diagnosis.consequence(&check("heater"), &finding, &[], None).unwrap()
    };
    assert!(of(ohms("20")).agrees_with(&of(ohms("21"))));
    assert!(!of(ohms("20")).agrees_with(&of(OL)));
    assert!(!of(ohms("20")).agrees_with(&of(ohms("40"))), "fourteen and forty");
    assert_eq!(of(OL).verdict, Verdict::Open);
    assert!(
        matches!(of(OL).next, Next::Advise { hypothesis: Hypothesis::Fault(f), .. } if f.as_str() == "heater-open")
    );
    assert_eq!(diagnosis.consequence(&check("no-such-check"), &OL, &[], None), None);
}
