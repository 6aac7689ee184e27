//! Findings that are not to be believed, and why.

use leadhand::diagnose::Diagnosis;
use leadhand::diagnose::doubt::Doubt;
use leadhand::diagnose::instrument::Instrument;
use leadhand::quantity::Unit;
use leadhand::reading::Finding;

use super::{OL, check, fault, no_heat, ohms, said, saw};

fn found(findings: &[(&str, Finding)]) -> Diagnosis {
    let mut diagnosis = Diagnosis::of(no_heat());
    for (name, finding) in findings {
        diagnosis.evidence.accept(check(name), finding.clone());
    }
    diagnosis
}

/// An open lead is one cause of many overloads; three causes of one each are not believed.
#[test]
fn everything_open_is_the_lead() {
    let open = [("heater", OL), ("fuse", OL), ("thermostat", OL)];
    let mut diagnosis = found(&open);
    assert_eq!(diagnosis.doubts()[0].0, Doubt::LeadOpen, "{:?}", diagnosis.doubts());
    let before = Diagnosis::of(no_heat()).belief();
    let heater = fault("heater-open");
    let by_lead = diagnosis.belief().of(&heater);
    assert!(by_lead < before.of(&heater) + 0.15, "three overloads say little of the machine: {by_lead}");
    assert_eq!(diagnosis.spoilt_by(Instrument::LeadOpen).len(), 3);
    // Touched together the leads are good: the lead is out of it; or they are not: it is the lead.
    diagnosis.evidence.touch(Some(ohms("0.2")));
    assert!(diagnosis.belief().instrument(Instrument::LeadOpen) < 0.1);
    diagnosis.evidence.touch(Some(OL));
    assert!(diagnosis.belief().instrument(Instrument::LeadOpen) > 0.99);
    for (hypothesis, p) in diagnosis.belief().ranked() {
        assert!((p - before.of(&hypothesis)).abs() < 0.02, "{hypothesis}: nothing is known of the machine");
    }
    // One overload is a part.
    assert_eq!(found(&open[..1]).doubts(), []);
    // Looking is not measuring.
    let looked = found(&[("drum", saw("still"))]);
    assert!(looked.spoilt_by(Instrument::LeadOpen).is_empty());
}

/// Ohms asked for with the dial on volts: everything reads nothing.
#[test]
fn everything_shorted_is_the_dial() {
    let diagnosis = found(&[("heater", ohms("0"))]);
    assert_eq!(diagnosis.doubts()[0].0, Doubt::OnVolts, "{:?}", diagnosis.doubts());
    let good = found(&[("fuse", ohms("0.2")), ("thermostat", ohms("0.3")), ("heater", ohms("20.1"))]);
    assert_eq!(good.doubts(), []);
    let mut again = diagnosis.clone();
    again.evidence.accept(check("heater"), ohms("0"));
    assert!(!again.doubts().iter().any(|(doubt, _)| *doubt == Doubt::OnVolts), "the dial was looked at");
}

/// What nothing explains is to be taken again; taken again and the same, it is no slip any more.
#[test]
fn what_nothing_explains_is_taken_again() {
    let mut diagnosis = found(&[("heater", ohms("400"))]);
    assert_eq!(diagnosis.unexplained(), [check("heater")]);
    diagnosis.evidence.accept(check("heater"), ohms("20.2"));
    assert_eq!(diagnosis.unexplained(), []);
    // A slip once in thirty is a slip twice in a thousand.
    let odds = |again: bool| {
        let mut diagnosis = found(&[("heater", OL)]);
        if again {
            diagnosis.evidence.accept(check("heater"), OL);
        }
        diagnosis.belief().log_odds(&fault("heater-open")).unwrap()
    };
    assert!(odds(true) > odds(false) + 1.0, "{} {}", odds(true), odds(false));
}

/// Volts with an open lead read nothing, like a leg that is lost.
#[test]
fn no_volts_may_be_the_lead() {
    let diagnosis = found(&[("supply", said("0", Unit::Volts)), ("heater", OL)]);
    assert!(diagnosis.belief().instrument(Instrument::LeadOpen) > 0.1);
    let fed = found(&[("supply", said("236", Unit::Volts)), ("heater", OL)]);
    assert!(fed.belief().instrument(Instrument::LeadOpen) < 0.001);
}
