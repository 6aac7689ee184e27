//! Published examples of exact inference, through the same belief as a machine's: every joint state of the hidden variables is
//! a cause, every observed one a check that never errs.

use leadhand::diagnose::Diagnosis;
use leadhand::diagnose::likelihood::Asked;
use leadhand::diagnose::trouble::{Question, Trouble};
use leadhand::diagnose::value;
use leadhand::model::appliance::Prediction;

use super::{check, fault, saw};

/// A state of the hidden variables, one bit each.
type State = u32;

/// Hidden variables, and what is observed of them: the prior of a state, and for each check the probability of "yes".
fn diagnosis(
    bits: u32,
    prior: impl Fn(State) -> f64,
    observed: &[(&str, &dyn Fn(State) -> f64)],
) -> Diagnosis {
    let states: Vec<State> = (0..1 << bits).collect();
    let yes_no = || Asked::Outcome(vec!["yes".into(), "no".into()]);
    let ask = |(name, yes): &(&str, &dyn Fn(State) -> f64)| {
        let shown = states.iter().map(|s| Prediction::Outcomes(vec![yes(*s), 1.0 - yes(*s)])).collect();
        Question::new((*name).into(), "as-it-is".into(), yes_no(), shown).wrong(0.0)
    };
    Diagnosis::of(Trouble {
        hypotheses: states.iter().map(|s| fault(&format!("state-{s}"))).collect(),
        prior: states.iter().map(|s| prior(*s)).collect(),
        remedies: vec![None],
        includes: vec![vec![]],
        cure: vec![0; states.len()],
        attempt: vec![1.0],
        questions: observed.iter().map(ask).collect(),
        states: std::collections::BTreeMap::new(),
    })
}

/// Probability of what holds of a state, after this was seen.
fn given(diagnosis: &Diagnosis, seen: &[(&str, &str)], holds: impl Fn(State) -> bool) -> f64 {
    let mut diagnosis = diagnosis.clone();
    for (name, outcome) in seen {
        diagnosis.evidence.accept(check(name), saw(outcome));
    }
    let p = diagnosis.belief().probabilities();
    (0..p.len()).filter(|s| holds(*s as State)).map(|s| p[s]).sum()
}

/// How probable "yes" is, after this was seen.
fn yes(diagnosis: &Diagnosis, seen: &[(&str, &str)], name: &str) -> f64 {
    let mut diagnosis = diagnosis.clone();
    for (name, outcome) in seen {
        diagnosis.evidence.accept(check(name), saw(outcome));
    }
    let question = diagnosis.trouble().question(&check(name)).unwrap();
    value::after(&diagnosis.belief().probabilities(), &question.showings[0].likelihood).unwrap().1
}

fn close(got: f64, wanted: f64, what: &str) {
    assert!((got - wanted).abs() < 5.1e-7, "{what}: {got} is not {wanted}");
}

/// Probability of a bit that is set or not.
fn of(bit: bool, p: f64) -> f64 {
    if bit { p } else { 1.0 - p }
}

/// What was seen, and the probabilities of T, L, B and E then.
type Row<'a> = (&'a [(&'a str, &'a str)], [f64; 4]);

/// Lauritzen and Spiegelhalter 1988, with the tables of the BUGS examples; posteriors by pyAgrum 3.3.1
/// (`LazyPropagation`) and pgmpy 1.1.2 (`VariableElimination`), which agree to six decimals.
#[test]
fn asia() {
    let [a, s, t, l, b] = [0, 1, 2, 3, 4].map(|bit| move |x: State| x >> bit & 1 == 1);
    let e = |x| t(x) || l(x);
    let prior = |x| {
        of(a(x), 0.01)
            * of(s(x), 0.5)
            * of(t(x), if a(x) { 0.05 } else { 0.01 })
            * of(l(x), if s(x) { 0.1 } else { 0.01 })
            * of(b(x), if s(x) { 0.6 } else { 0.3 })
    };
    let bit = |set: bool| f64::from(u8::from(set));
    let asia = diagnosis(
        5,
        prior,
        &[
            ("a", &|x| bit(a(x))),
            ("s", &|x| bit(s(x))),
            ("x", &|x| if e(x) { 0.98 } else { 0.05 }),
            ("d", &|x| match (e(x), b(x)) {
                (true, true) => 0.9,
                (true, false) => 0.7,
                (false, true) => 0.8,
                (false, false) => 0.1,
            }),
        ],
    );
    let rows: [Row; 9] = [
        (&[], [0.010_400, 0.055_000, 0.450_000, 0.064_828]),
        (&[("d", "yes")], [0.018_845, 0.102_759, 0.833_967, 0.120_536]),
        (&[("x", "yes")], [0.092_411, 0.488_711, 0.506_326, 0.576_040]),
        (&[("x", "yes"), ("d", "yes")], [0.113_933, 0.621_253, 0.681_869, 0.728_725]),
        (&[("a", "yes"), ("d", "yes")], [0.087_751, 0.099_525, 0.811_402, 0.182_300]),
        (&[("a", "yes"), ("d", "yes"), ("s", "yes")], [0.072_760, 0.145_519, 0.867_258, 0.211_003]),
        (&[("a", "yes"), ("d", "yes"), ("x", "yes")], [0.391_712, 0.444_271, 0.628_822, 0.813_769]),
        (
            &[("a", "yes"), ("d", "yes"), ("x", "yes"), ("s", "yes")],
            [0.289_581, 0.579_163, 0.700_920, 0.839_786],
        ),
        (&[("a", "yes"), ("d", "yes"), ("x", "no")], [0.002_249, 0.002_550, 0.862_761, 0.004_672]),
    ];
    for (seen, [wants_t, wants_l, wants_b, wants_e]) in rows {
        close(given(&asia, seen, t), wants_t, &format!("T, {seen:?}"));
        close(given(&asia, seen, l), wants_l, &format!("L, {seen:?}"));
        close(given(&asia, seen, b), wants_b, &format!("B, {seen:?}"));
        close(given(&asia, seen, e), wants_e, &format!("E, {seen:?}"));
    }
    close(yes(&asia, &[], "x"), 0.110_290, "X");
    close(yes(&asia, &[], "d"), 0.435_971, "D");
    close(yes(&asia, &[("a", "yes"), ("d", "yes")], "x"), 0.219_539, "X after A and D");
    close(given(&asia, &[("a", "yes"), ("d", "yes")], s), 0.625_920, "S after A and D");
}

/// Russell and Norvig, the burglary alarm: printed ⟨0.284, 0.716⟩ after both calls, and 0.016 after John's.
#[test]
fn burglary_alarm() {
    let [b, e, a] = [0, 1, 2].map(|bit| move |x: State| x >> bit & 1 == 1);
    let prior = |x| {
        let rings = match (b(x), e(x)) {
            (true, true) => 0.95,
            (true, false) => 0.94,
            (false, true) => 0.29,
            (false, false) => 0.001,
        };
        of(b(x), 0.001) * of(e(x), 0.002) * of(a(x), rings)
    };
    let alarm = diagnosis(
        3,
        prior,
        &[("john", &|x| if a(x) { 0.9 } else { 0.05 }), ("mary", &|x| if a(x) { 0.7 } else { 0.01 })],
    );
    let both = [("john", "yes"), ("mary", "yes")];
    close(given(&alarm, &both, b), 0.284_171_835, "B");
    close(given(&alarm, &both, a), 0.760_692, "A");
    close(given(&alarm, &both, e), 0.176_067, "E");
    close(given(&alarm, &both[..1], b), 0.016_283_730, "B after John");
    close(yes(&alarm, &[], "john"), 0.052_138_976, "John");
    close(yes(&alarm, &[], "john") * yes(&alarm, &both[..1], "mary"), 0.002_084_100, "John and Mary");
}

/// Fenton, the late train: printed (cut, not rounded) 0.51 and 0.17; 0.13 and 0.41 after Martin; 0.54 and 0.44 after both.
#[test]
fn late_train() {
    let [strike, over] = [0, 1].map(|bit| move |x: State| x >> bit & 1 == 1);
    let train = diagnosis(
        2,
        |x| of(strike(x), 0.1) * of(over(x), 0.4),
        &[
            ("martin", &|x| match (strike(x), over(x)) {
                (true, true) => 0.8,
                (true, false) => 0.6,
                (false, _) => 0.5,
            }),
            ("norman", &|x| if strike(x) { 0.8 } else { 0.1 }),
        ],
    );
    let both = [("martin", "yes"), ("norman", "yes")];
    close(yes(&train, &[], "martin"), 0.518, "Martin");
    close(yes(&train, &[], "norman"), 0.17, "Norman");
    close(given(&train, &both[..1], strike), 0.131_274, "strike after Martin");
    close(given(&train, &both[..1], over), 0.409_266, "oversleep after Martin");
    close(given(&train, &both, strike), 0.547_284, "strike after both");
    close(given(&train, &both, over), 0.438_632, "oversleep after both");
}
