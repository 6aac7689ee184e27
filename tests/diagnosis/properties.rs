//! What always holds of a belief.

use leadhand::diagnose::Diagnosis;
use leadhand::diagnose::evidence::{Alternative, Evidence};
use leadhand::diagnose::hypothesis::Hypothesis;
use leadhand::diagnose::likelihood::{Asked, WRONG_READING, likelihood};
use leadhand::diagnose::plan::Next;
use leadhand::id::CheckId;
use leadhand::model::appliance::{Prediction, Provenance};
use leadhand::quantity::Unit;
use leadhand::reading::{Finding, Reading};

use super::{Dice, OL, check, fault, no_heat, ohms, plate, question, said, saw, trouble};

/// Something found for some of the checks of a random machine.
fn found(dice: &mut Dice, diagnosis: &Diagnosis) -> Vec<(CheckId, Finding)> {
    let of = |q: &leadhand::diagnose::trouble::Question, dice: &mut Dice| {
        let Asked::Outcome(names) = &q.asked else { unreachable!("random machines are only looked at") };
        (q.check.clone(), saw(&names[dice.below(names.len())]))
    };
    diagnosis.trouble().questions.iter().map(|q| of(q, dice)).collect()
}

#[test]
fn it_sums_to_one_in_any_order_and_taking_back_is_exact() {
    let mut dice = Dice(7);
    for round in 0..300 {
        let mut diagnosis = Diagnosis::of(dice.trouble());
        let mut all = found(&mut dice, &diagnosis);
        for (check, finding) in &all {
            let before = (diagnosis.belief(), diagnosis.next(&[], None));
            diagnosis.evidence.accept(check.clone(), finding.clone());
            let total: f64 = diagnosis.belief().probabilities().iter().sum();
            assert!((total - 1.0).abs() < 1e-12, "machine {round}: {total}");
            assert!(diagnosis.belief().probabilities().iter().all(|p| *p > 0.0));
            let mut back = diagnosis.clone();
            assert!(back.evidence.retract(check));
            assert_eq!((back.belief(), back.next(&[], None)), before, "machine {round}");
            assert!(!back.evidence.retract(check), "nothing is left to take back");
        }
        all.reverse();
        let mut other = diagnosis.with(Evidence::default());
        for (check, finding) in all {
            other.evidence.accept(check, finding);
        }
        assert_eq!(other.belief(), diagnosis.belief(), "machine {round}");
    }
}

#[test]
fn a_long_job_does_not_run_out_of_digits() {
    let asked = Asked::Number(Unit::Ohms);
    let shown = vec![plate(18.0, 22.0), Prediction::Overload];
    let many =
        (0..400).map(|i| super::question(&format!("check-{i}"), 1.0, asked.clone(), shown.clone())).collect();
    let mut diagnosis = Diagnosis::of(super::trouble(&[("open", 0.5, "heater", 100.0)], many));
    for i in 0..400 {
        diagnosis.evidence.accept(check(&format!("check-{i}")), ohms("20"));
    }
    let p = diagnosis.belief().probabilities();
    assert!((p.iter().sum::<f64>() - 1.0).abs() < 1e-12 && p[0] > 0.999_999, "{p:?}");
}

#[test]
fn what_only_one_fault_shows_raises_it() {
    for (name, finding, cause) in [
        ("heater", OL, "heater-open"),
        ("fuse", OL, "fuse-open"),
        ("thermostat", OL, "thermostat-open"),
        ("supply", said("0", Unit::Volts), "leg-lost"),
        ("supply", said("0.4", Unit::Volts), "leg-lost"),
        ("drum", saw("still"), "leg-lost"),
    ] {
        let mut diagnosis = Diagnosis::of(no_heat());
        let before = diagnosis.belief();
        diagnosis.evidence.accept(check(name), finding.clone());
        let after = diagnosis.belief();
        let cause = fault(cause);
        assert!(after.of(&cause) > before.of(&cause), "{name} {finding} raises {cause}");
        let others = after.ranked().into_iter().filter(|(h, _)| *h != cause);
        for (other, p) in others {
            assert!(p < before.of(&other), "{name} {finding} lowers {other}");
        }
    }
}

#[test]
fn a_good_reading_lowers_the_fault_it_rules_out_and_nothing_is_ever_impossible() {
    let mut diagnosis = Diagnosis::of(no_heat());
    diagnosis.evidence.accept(check("heater"), ohms("20.1"));
    let p = diagnosis.belief().of(&fault("heater-open"));
    assert!(p > 0.0 && p < 0.01, "{p}");
    // A reading that nothing predicts moves nothing, and is said to be unexplained.
    let mut strange = Diagnosis::of(no_heat());
    let before = strange.belief();
    strange.evidence.accept(check("heater"), ohms("400"));
    for (hypothesis, p) in strange.belief().ranked() {
        assert!((p - before.of(&hypothesis)).abs() < 1e-9, "{hypothesis}");
    }
    assert_eq!(strange.unexplained(), [check("heater")]);
    assert_eq!(diagnosis.unexplained(), Vec::<CheckId>::new());
}

#[test]
fn what_does_not_fit_the_question_tells_nothing() {
    let before = Diagnosis::of(no_heat()).belief();
    for (name, finding) in [
        ("heater", saw("turns")),
        ("heater", said("120", Unit::Volts)),
        ("heater", Finding::Reading(Reading::Unstable)),
        ("drum", ohms("20")),
        ("drum", saw("barks")),
        ("no-such-check", OL),
    ] {
        let mut diagnosis = Diagnosis::of(no_heat());
        diagnosis.evidence.accept(check(name), finding);
        for (hypothesis, p) in diagnosis.belief().ranked() {
            assert!((p - before.of(&hypothesis)).abs() < 1e-12, "{name}: {hypothesis}");
        }
    }
}

/// By hand: 0.2 × 0.307 against 0.8 × 0.01; taken twice and the same, a good contact would be touched badly twice.
#[test]
fn a_reading_that_does_not_settle_points_to_a_bad_contact() {
    let shown = vec![plate(0.0, 0.4), Prediction::Overload, Prediction::Overload];
    let wire = question("wire", 1.0, Asked::Number(Unit::Ohms), shown);
    let wire = wire.wavering(|cause| if cause == 2 { 0.3 } else { 0.0 });
    for cause in 0..3 {
        let all: f64 = wire.showings.iter().map(|showing| showing.likelihood[cause]).sum();
        assert!((all - 1.0).abs() < 1e-9, "{cause}: {all}");
    }
    let faults = [("cut", 0.4, "wire", 100.0), ("burnt", 0.2, "block", 100.0)];
    let mut diagnosis = Diagnosis::of(trouble(&faults, vec![wire]));
    let unstable = Finding::Reading(Reading::Unstable);
    diagnosis.evidence.accept(check("wire"), unstable.clone());
    let once = diagnosis.belief().of(&fault("burnt"));
    assert!((once - 0.885).abs() < 0.01, "{once}");
    diagnosis.evidence.accept(check("wire"), unstable);
    assert!(diagnosis.belief().of(&fault("burnt")) > 0.99);
}

/// What mended one of two faults leaves the other; what was read before counts for half.
#[test]
fn what_did_not_help_is_all_but_ruled_out() {
    let mut diagnosis = Diagnosis::of(no_heat());
    diagnosis.evidence.accept(check("heater"), OL);
    let before = diagnosis.belief();
    assert!(before.of(&fault("heater-open")) > 0.9);
    let after = diagnosis.after(&fault("heater-open"));
    assert!(after.evidence.is_empty() && after.belief().of(&fault("heater-open")) < 0.4);
    assert!((after.trouble().prior.iter().sum::<f64>() - 1.0).abs() < 1e-9);
    let Next::Check(_) = after.next(&[], None) else { panic!("it is not given up") };
    // Another remedy that does not help leaves little but the first cause, or nothing electrical.
    let named = Hypothesis::named("no-such-fault");
    let unknown = diagnosis.after(&named);
    assert!(unknown.belief().of(&fault("heater-open")) > 0.6, "nothing was done that it knows");
}

/// Evidence that may have been one thing or another lies between the two, and is the mixture of both.
#[test]
fn soft_evidence() {
    let with = |alternatives: Vec<(Finding, f64)>| {
        let mut diagnosis = Diagnosis::of(no_heat());
        let all = alternatives
            .into_iter()
            .map(|(finding, probability)| Alternative { finding, probability })
            .collect();
        assert!(diagnosis.evidence.accept_any(check("heater"), all));
        diagnosis.belief().of(&fault("heater-open"))
    };
    let (good, open) = (with(vec![(ohms("20"), 1.0)]), with(vec![(OL, 1.0)]));
    let between = with(vec![(ohms("20"), 0.9), (OL, 0.1)]);
    assert!(good < between && between < open, "{good} {between} {open}");
    assert!((with(vec![(OL, 0.2)]) - open).abs() < 1e-12, "one alternative is sure");
    let mut evidence = Evidence::default();
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let alternatives = vec![Alternative { finding: OL, probability: bad }];
        assert!(!evidence.accept_any(check("heater"), alternatives), "{bad}");
    }
    assert!(evidence.is_empty());
}

/// Digits say how close the reading was looked at: `20` and `20.0` are not the same news.
#[test]
fn more_digits_tell_more() {
    let drifted = plate(21.0, 25.0);
    let odds = |text: &str| {
        let asked = Asked::Number(Unit::Ohms);
        let l = |p: &Prediction| likelihood(&ohms(text), p, &asked, WRONG_READING);
        l(&plate(18.0, 22.0)) / l(&drifted)
    };
    assert!(odds("19.0") > 5.0 && odds("24.0") < 0.2);
    assert!((odds("20.9") / odds("21") - 1.0).abs() < 0.5, "between the two, neither");
    let odds_of_tens = {
        let asked = Asked::Number(Unit::Ohms);
        let l = |p: &Prediction| likelihood(&super::ohms("0.02 k"), p, &asked, WRONG_READING);
        l(&plate(18.0, 22.0)) / l(&drifted)
    };
    assert!(odds_of_tens < odds("20.0"), "a coarse twenty tells less than a fine one");
}

/// Numbers, overload and outcomes each are one distribution: over everything that can be shown it sums to one.
#[test]
fn showings_sum_to_one() {
    let class =
        Prediction::Value { nominal: 290.0, low: 170.0, high: 500.0, provenance: Provenance::ClassDefault };
    let wide = Prediction::Value { nominal: 1e4, low: 1e3, high: 1e5, provenance: Provenance::Plate };
    let shown = vec![plate(0.0, 0.4), plate(18.0, 22.0), class, wide, Prediction::Overload];
    let all_open = super::question("b", 1.0, Asked::Number(Unit::Ohms), vec![Prediction::Overload; 2]);
    assert!(all_open.showings.iter().all(|s| (s.likelihood[0] - s.likelihood[1]).abs() < 1e-12));
    for unit in [Unit::Ohms, Unit::Volts, Unit::Celsius] {
        let question = super::question("a", 1.0, Asked::Number(unit), shown.clone());
        for (index, prediction) in shown.iter().enumerate() {
            let total: f64 = question.showings.iter().map(|s| s.likelihood[index]).sum();
            assert!((total - 1.0).abs() < 1e-9, "{unit:?} {prediction:?}: {total}");
        }
    }
    let p = Diagnosis::of(no_heat());
    for question in &p.trouble().questions {
        for index in 0..6 {
            let total: f64 = question.showings.iter().map(|s| s.likelihood[index]).sum();
            assert!((total - 1.0).abs() < 1e-9, "{}: {total}", question.check);
        }
    }
    assert_eq!(Hypothesis::AllGood.to_string(), "all-good");
}
