//! In limits, out of limits, or cannot tell: against JCGM 106:2012 and the GUM.

use leadhand::diagnose::likelihood::Asked;
use leadhand::diagnose::trouble::Question;
use leadhand::diagnose::verdict::{self, Verdict, acceptance_limit, conformance, rectangular};
use leadhand::model::appliance::{Prediction, Provenance};
use leadhand::quantity::Unit;
use leadhand::reading::{Finding, Reading};

use super::{OL, ohms, plate, said, saw};

fn close(got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() < within, "{got} is not {wanted}");
}

/// JCGM 106:2012, 7.4: kinematic viscosity, y 13.6, u 1.8, limits 12.5 and 16.3 (printed 0.66).
#[test]
fn two_limits() {
    close(conformance(13.6, 1.8, 12.5, 16.3), 0.662_629_79, 1e-8);
}

/// JCGM 106:2012, 7.3: a Zener diode, y −5.47 V, u 0.05 V, upper limit −5.40 V.
#[test]
fn one_limit() {
    close(conformance(-5.47, 0.05, f64::NEG_INFINITY, -5.40), 0.919_243, 1e-6);
}

/// JCGM 106:2012, table 1: z = (limit − y)/u for a one-sided conformance probability (five digits by scipy 1.17.1).
#[test]
fn one_sided_table() {
    for (p, z) in
        [(0.80, 0.841_621), (0.90, 1.281_552), (0.95, 1.644_854), (0.99, 2.326_348), (0.999, 3.090_232)]
    {
        close(conformance(10.0 - 2.0 * z, 2.0, f64::NEG_INFINITY, 10.0), p, 1e-6);
        close(conformance(10.0 + 2.0 * z, 2.0, 10.0, f64::INFINITY), p, 1e-6);
    }
}

/// JCGM 106:2012, 8.3: guard band w = rU, U = 2u; measured at the acceptance limit with r = 1 the true value is
/// beyond the tolerance limit with probability 1 − Φ(2) = 0.022750. With r = 0 it is one half (ILAC-G8:09/2019, 4).
#[test]
fn guard_band() {
    let at = |r| 1.0 - conformance(acceptance_limit(8.0, 0.5, r), 0.5, f64::NEG_INFINITY, 8.0);
    close(at(1.0), 0.022_750, 1e-6);
    close(at(0.0), 0.5, 1e-12);
}

/// The area under a curve, by Simpson's rule in ten thousand steps.
fn area(from: f64, to: f64, curve: impl Fn(f64) -> f64) -> f64 {
    const STEPS: u32 = 10_000;
    let width = (to - from) / f64::from(STEPS);
    let weight = |i| match i {
        0 | STEPS => 1.0,
        i if i % 2 == 1 => 4.0,
        _ => 2.0,
    };
    (0..=STEPS).map(|i| weight(i) * curve(from + f64::from(i) * width)).sum::<f64>() * width / 3.0
}

/// JCGM 106:2012, 9.5.4: ball bearings, radial error motion by experience gamma with shape 4 and rate 4 per micrometre, at
/// most 2 µm, measured with u = 0.25 µm. Printed: 4.2 % do not conform, consumer's risk 0.8 %; digits by suncal 1.7.1 and
/// scipy 1.17.1.
#[test]
fn ball_bearings() {
    let experience = |x: f64| 4_f64.powi(4) * x.powi(3) * (-4.0 * x).exp() / 6.0;
    let accepted = |x: f64, limit: f64| conformance(x, 0.25, f64::NEG_INFINITY, limit);
    close(area(2.0, 30.0, experience), 0.042_380_11, 1e-8);
    let consumers = |limit: f64| area(2.0, 6.0, |x| experience(x) * accepted(x, limit));
    close(consumers(2.0), 0.008_019_11, 1e-8);
    close(area(0.0, 2.0, |x| experience(x) * (1.0 - accepted(x, 2.0))), 0.017_444_57, 1e-8);
    // A consumer's risk of 0.1 % takes a guard band of 0.328171 µm.
    let limit = acceptance_limit(2.0, 0.25, 0.328_171 / 0.5);
    close(limit, 1.671_829, 1e-9);
    close(consumers(limit), 0.001, 1e-7);
}

/// Deaver's example of two limits: process 4, test 1, limits ±8. Printed: 0.8 % accepted falsely, 1.5 % rejected falsely.
#[test]
fn false_accept_and_reject() {
    let process = |x: f64| (-x * x / 32.0).exp() / (4.0 * std::f64::consts::TAU.sqrt());
    let accepted = |x: f64| conformance(x, 1.0, -8.0, 8.0);
    close(2.0 * area(8.0, 40.0, |x| process(x) * accepted(x)), 0.008_006_08, 1e-8);
    close(area(-8.0, 8.0, |x| process(x) * (1.0 - accepted(x))), 0.014_850_88, 1e-8);
}

/// EA-4/02, S9: a hand-held meter at 100 V: 0.001 V, 0.05 V of resolution and 0.011 V, both rectangular: 0.030 V, and 0.05 V
/// with k = 1.65.
#[test]
fn a_meter_calibrated() {
    let u = 0.001_f64.hypot(rectangular(0.05)).hypot(rectangular(0.011));
    close(u, 0.029_575, 1e-6);
    close(1.65 * u, 0.0488, 1e-4);
}

/// GUM (JCGM 100:2008) 4.3.7, example 2: ±15 µV gives 75 µV², 8.7 µV. EA-4/02 S9: 0.05 V gives 2.9e-2 V.
#[test]
fn rectangular_band() {
    let a = 14e-6 * 0.928_571 + 2e-6;
    close(a, 15e-6, 1e-10);
    close(rectangular(a), 8.660_25e-6, 1e-10);
    close(rectangular(0.05), 0.028_868, 1e-6);
    // With the repeatability of 12 µV (5.1.5): combined 15 µV.
    close(rectangular(a).hypot(12e-6), 14.7986e-6, 1e-9);
}

fn class(low: f64, high: f64) -> Prediction {
    Prediction::Value { nominal: (low * high).sqrt(), low, high, provenance: Provenance::ClassDefault }
}

fn check(healthy: &Prediction, unit: Unit, table: &[(Finding, Verdict)]) {
    let question = Question::new("a".into(), "off".into(), Asked::Number(unit), vec![healthy.clone()]);
    for (finding, wanted) in table {
        assert_eq!(verdict::of(finding, &question), *wanted, "{finding} against {healthy:?}");
    }
}

use Verdict::{CannotTell, InLimits, Odd, Open, OutOfLimits, Shorted};

/// A mould heater of 72 Ω, 65–80 by its power (185 W at 115 V, −4.8 … +11 %); 71 is good (common practice).
#[test]
fn a_heater() {
    check(
        &plate(65.0, 80.0),
        Unit::Ohms,
        &[
            (ohms("72"), InLimits),
            (ohms("71"), InLimits),
            (ohms("0.071 k"), InLimits),
            (ohms("80"), CannotTell),
            (ohms("65.0"), CannotTell),
            (ohms("90"), OutOfLimits),
            (ohms("50"), OutOfLimits),
            (ohms("264"), OutOfLimits),
            (ohms("8.8 k"), Open),
            (OL, Open),
            (ohms("0.4"), Shorted),
            (ohms("0"), Shorted),
            (Finding::Reading(Reading::Closed), Shorted),
            (Finding::Reading(Reading::Unstable), CannotTell),
            (said("120", Unit::Volts), CannotTell),
            (saw("turns"), CannotTell),
        ],
    );
}

/// Sheets: a contact below 1 Ω is good, above 2 Ω it is dirty.
#[test]
fn a_contact() {
    check(
        &plate(0.0, 0.4),
        Unit::Ohms,
        &[
            (ohms("0"), InLimits),
            (ohms("0.3"), InLimits),
            (ohms("0.9"), InLimits),
            (ohms("1.5"), CannotTell),
            (ohms("2.2"), OutOfLimits),
            (ohms("72"), Open),
            (OL, Open),
            (Finding::Reading(Reading::Closed), InLimits),
        ],
    );
}

/// An inlet valve coil: what the class has is 170–500 Ω, and other designs lie elsewhere; never "out of limits".
#[test]
fn a_class_default_is_at_most_odd() {
    check(
        &class(170.0, 500.0),
        Unit::Ohms,
        &[
            (ohms("300"), InLimits),
            (ohms("860"), Odd),
            (ohms("60"), Odd),
            (ohms("0.2"), Shorted),
            (ohms("20 k"), Open),
            (OL, Open),
        ],
    );
    let question =
        Question::new("a".into(), "off".into(), Asked::Number(Unit::Ohms), vec![class(170.0, 500.0)]);
    for tenth in 0..20_000 {
        let finding = ohms(&format!("{}.{}", tenth / 10, tenth % 10));
        assert_ne!(verdict::of(&finding, &question), OutOfLimits, "{finding}");
    }
}

#[test]
fn no_path_where_none_must_be() {
    check(
        &Prediction::Overload,
        Unit::Ohms,
        &[
            (OL, InLimits),
            (ohms("20 M"), InLimits),
            (ohms("47 k"), OutOfLimits),
            (ohms("2"), Shorted),
            (Finding::Reading(Reading::Closed), Shorted),
        ],
    );
}

/// Line volts 120 within 110–127 (ANSI C84.1 service, range B); nothing across a closed contact.
#[test]
fn volts() {
    let v = |text| said(text, Unit::Volts);
    check(
        &plate(110.0, 127.0),
        Unit::Volts,
        &[
            (v("118"), InLimits),
            (v("0"), OutOfLimits),
            (v("60"), OutOfLimits),
            (v("110"), CannotTell),
            (OL, CannotTell),
        ],
    );
    check(
        &plate(0.0, 0.1),
        Unit::Volts,
        &[(v("0"), InLimits), (v("0.4"), InLimits), (v("1"), InLimits), (v("120"), OutOfLimits)],
    );
}

/// Freezer air about 0 °F (−18 °C) within 5 °F (common practice); either scale may be said.
#[test]
fn degrees() {
    check(
        &plate(-5.0, 5.0),
        Unit::Fahrenheit,
        &[
            (said("-18", Unit::Celsius), InLimits),
            (said("0", Unit::Fahrenheit), InLimits),
            (said("2", Unit::Degrees), InLimits),
            (said("20", Unit::Fahrenheit), OutOfLimits),
            (said("0", Unit::Celsius), OutOfLimits),
        ],
    );
}

#[test]
fn outcomes() {
    let asked = Asked::Outcome(vec!["turns".into(), "hums".into(), "still".into()]);
    let healthy = Prediction::Outcomes(vec![0.9, 0.08, 0.02]);
    let question = Question::new("drum".into(), "on".into(), asked, vec![healthy]);
    for (seen, wanted) in
        [("turns", InLimits), ("hums", CannotTell), ("still", OutOfLimits), ("barks", CannotTell)]
    {
        assert_eq!(verdict::of(&saw(seen), &question), wanted, "{seen}");
    }
}
