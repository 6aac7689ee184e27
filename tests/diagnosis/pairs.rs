//! Two faults at once: where one is not enough, and where one brought the other about.

use leadhand::diagnose::Diagnosis;
use leadhand::diagnose::hypothesis::Hypothesis;
use leadhand::diagnose::likelihood::Asked;
use leadhand::diagnose::pair::{MOST, Machine, Pairs};
use leadhand::diagnose::plan::Next;
use leadhand::diagnose::trouble::Trouble;
use leadhand::id::{FaultId, RemedyId};
use leadhand::model::{self, appliance::Prediction};
use leadhand::reading::Finding;

use super::{OL, check, fault, no_heat, ohms, question, saw, trouble};

/// Components of which any may fail and then do anything: consistent with what is seen, or not.
#[derive(Clone, Copy, Debug)]
struct Parts {
    names: [&'static str; 5],
    /// Is what was seen possible where these have failed?
    consistent: fn(&dyn Fn(&str) -> bool) -> bool,
}

impl Parts {
    fn shows(&self, failed: &[&str]) -> Prediction {
        let possible = (self.consistent)(&|name| failed.contains(&name));
        Prediction::Outcomes(vec![f64::from(u8::from(possible)), 1.0])
    }

    /// One check, of which what was seen is the first outcome; all causes as given, equally probable parts.
    fn trouble(&self, causes: &[Vec<&str>], p: f64) -> Trouble {
        let seen = Asked::Outcome(vec!["seen".into(), "else".into()]);
        let shown = causes.iter().map(|failed| self.shows(failed)).collect();
        let weight =
            |failed: &Vec<&str>| p.powi(failed.len() as i32) * (1.0 - p).powi(5 - failed.len() as i32);
        let total: f64 = causes.iter().map(weight).sum();
        let name = |failed: &Vec<&str>| {
            if failed.is_empty() { Hypothesis::AllGood } else { fault(&failed.join("-")) }
        };
        Trouble {
            hypotheses: causes.iter().map(name).collect(),
            prior: causes.iter().map(|c| weight(c) / total).collect(),
            cure: vec![0; causes.len()],
            ..trouble(&[], vec![question("outputs", 1.0, seen, shown).wrong(0.0)])
        }
    }

    fn singles(&self) -> Vec<Vec<&'static str>> {
        std::iter::once(vec![]).chain(self.names.iter().map(|name| vec![*name])).collect()
    }

    /// The single faults and the pairs that explain what was seen and hold no other that does.
    fn minimal(&self) -> Vec<String> {
        let single = self.trouble(&self.singles(), 0.01);
        let mut diagnosis = Diagnosis::of(single);
        diagnosis.evidence.accept(check("outputs"), saw("seen"));
        let pairs = Pairs::new(diagnosis.trouble(), *self);
        let wide = Diagnosis::of(pairs.beside(diagnosis.trouble(), &diagnosis.evidence));
        let belief = wide.with(diagnosis.evidence.clone()).belief().ranked();
        let possible: Vec<Hypothesis> =
            belief.into_iter().filter(|(_, p)| *p > 0.0).map(|(h, _)| h).collect();
        let single = |fault: &FaultId| possible.contains(&Hypothesis::Fault(fault.clone()));
        let minimal = |h: &&Hypothesis| h.faults().count() < 2 || !h.faults().any(single);
        let mut names: Vec<String> = possible.iter().filter(minimal).map(ToString::to_string).collect();
        names.sort();
        names
    }
}

impl Machine for Parts {
    fn shares(&self) -> Vec<(FaultId, f64)> {
        self.names.iter().map(|name| ((*name).into(), 0.2)).collect()
    }

    fn alone(&self, fault: &FaultId) -> Vec<Vec<Prediction>> {
        vec![vec![self.shows(&[fault.as_str()])]]
    }

    fn both(&self, a: &FaultId, b: &FaultId) -> Option<Vec<Vec<Prediction>>> {
        Some(vec![vec![self.shows(&[a.as_str(), b.as_str()])]])
    }

    fn work(&self, fault: &FaultId) -> Option<(RemedyId, f64)> {
        Some((fault.as_str().into(), 1.0))
    }
}

/// De Kleer and Williams 1987: M1 = A·C, M2 = B·D, M3 = C·E, A1 = X + Y, A2 = Y + Z; 10 and 12 are seen, 12 and 12 expected.
const POLYBOX: Parts = Parts {
    names: ["a1", "a2", "m1", "m2", "m3"],
    consistent: |failed| {
        let may = |part: &str, value: i32| failed(part) || value == 6;
        let any = |x: i32, y: i32, z: i32| {
            may("m1", x)
                && may("m2", y)
                && may("m3", z)
                && (failed("a1") || x + y == 10)
                && (failed("a2") || y + z == 12)
        };
        (0..=20).any(|x| (0..=20).any(|y| (0..=20).any(|z| any(x, y, z))))
    },
};

/// Reiter 1987: a = 1, b = 0, carry in 1; sum 1 and carry 0 are seen, 0 and 1 expected.
const FULL_ADDER: Parts = Parts {
    names: ["a1", "a2", "o1", "x1", "x2"],
    consistent: |failed| {
        let may = |part: &str, shown: bool, right: bool| failed(part) || shown == right;
        let bits = [false, true];
        let any = |x1: bool, a1: bool, a2: bool| {
            may("x1", x1, true)
                && may("a1", a1, false)
                && may("a2", a2, x1)
                && may("x2", true, !x1)
                && may("o1", false, a1 || a2)
        };
        bits.iter().any(|x1| bits.iter().any(|a1| bits.iter().any(|a2| any(*x1, *a1, *a2))))
    },
};

#[test]
fn minimal_diagnoses() {
    assert_eq!(POLYBOX.minimal(), ["a1", "a2+m2", "m1", "m2+m3"]);
    assert_eq!(FULL_ADDER.minimal(), ["a2+x2", "o1+x2", "x1"]);
    // Five parts make ten pairs: all of them are considered.
    const { assert!(MOST >= 10) };
}

/// The polybox with every set of parts a cause, 0.01 each and independent: posteriors by enumeration.
#[test]
fn polybox() {
    let subsets: Vec<Vec<&str>> = (0..32_u32)
        .map(|set| (0..5).filter(|bit| set >> bit & 1 == 1).map(|bit| POLYBOX.names[bit]).collect())
        .collect();
    for (p, single, pair) in [(0.01, 0.478_026, 0.004_829), (0.1, 0.319_441, 0.035_493)] {
        let mut diagnosis = Diagnosis::of(POLYBOX.trouble(&subsets, p));
        diagnosis.evidence.accept(check("outputs"), saw("seen"));
        let belief = diagnosis.belief();
        assert_eq!(belief.probabilities().iter().filter(|p| **p > 0.0).count(), 27, "consistent sets");
        for (name, wanted) in [("m1", single), ("a1", single), ("m2-m3", pair), ("a2-m2", pair), ("m2", 0.0)]
        {
            let got = belief.of(&fault(name));
            assert!((got - wanted).abs() < 5.1e-7, "{name}: {got} is not {wanted}");
        }
    }
}

/// A machine whose faults each show on a check of their own.
#[derive(Debug)]
struct Dryer(Trouble);

impl Machine for Dryer {
    fn shares(&self) -> Vec<(FaultId, f64)> {
        let faults = self.0.hypotheses.iter().flat_map(Hypothesis::faults).cloned();
        faults.map(|fault| (fault, 0.2)).collect()
    }

    fn alone(&self, fault: &FaultId) -> Vec<Vec<Prediction>> {
        let at = self.0.hypotheses.iter().position(|h| *h == Hypothesis::Fault(fault.clone())).unwrap();
        vec![self.0.questions.iter().map(|q| q.predictions[at].clone()).collect()]
    }

    fn both(&self, a: &FaultId, b: &FaultId) -> Option<Vec<Vec<Prediction>>> {
        let (a, b) = (self.alone(a).remove(0), self.alone(b).remove(0));
        let moved = |(nth, (a, b)): (usize, (Prediction, Prediction))| {
            if a.differs(self.0.questions[nth].healthy()) { a } else { b }
        };
        Some(vec![a.into_iter().zip(b).enumerate().map(moved).collect()])
    }

    fn work(&self, fault: &FaultId) -> Option<(RemedyId, f64)> {
        Some((fault.as_str().into(), 200.0))
    }
}

#[test]
fn two_faults_are_considered_only_where_one_is_not_enough() {
    let mut diagnosis = Diagnosis::with_pairs(no_heat(), Dryer(no_heat()));
    let both = Hypothesis::Both("heater-open".into(), "fuse-open".into());
    diagnosis.evidence.accept(check("heater"), OL);
    assert_eq!(diagnosis.belief().of(&both), 0.0, "one fault explains it");
    assert_eq!(diagnosis.considered().hypotheses.len(), 6);
    diagnosis.evidence.accept(check("fuse"), OL);
    let once = diagnosis.belief().of(&both);
    assert!(once > 0.1, "{:?}", diagnosis.belief().ranked());
    assert!(diagnosis.considered().hypotheses.len() <= 6 + MOST);
    // Taken again and the same, with leads that were proved, nothing else is left.
    diagnosis.evidence.touch(Some(ohms("0.2")));
    diagnosis.evidence.accept(check("heater"), OL);
    diagnosis.evidence.accept(check("fuse"), OL);
    assert!(diagnosis.belief().of(&both) > 0.9, "{:?}", diagnosis.belief().ranked());
    let Next::Advise { hypothesis, probability, .. } = diagnosis.next(&[], None) else { panic!() };
    assert_eq!(hypothesis, both);
    assert!(probability > 0.9);
    // The other way round, and one of them taken back.
    let mut other = Diagnosis::with_pairs(no_heat(), Dryer(no_heat()));
    for name in ["fuse", "fuse", "heater", "heater"] {
        other.evidence.accept(check(name), OL);
    }
    other.evidence.touch(Some(ohms("0.2")));
    assert_eq!(other.belief(), diagnosis.belief());
    other.evidence.retract(&check("fuse"));
    assert_eq!(other.belief().of(&both), 0.0);
}

/// On every machine: what two faults at once show is believed to be those two, or nothing else that the findings rule out.
#[test]
fn the_circuit_is_solved_with_both() {
    let appliance = model::by_name("dryer-240").unwrap();
    let (a, b) = ("element-open".into(), "cutoff-open".into());
    let known = |id: &FaultId| assert!(appliance.fault(id).is_some(), "{id}");
    known(&a);
    let Some(shown) = appliance.predict_both(0, &a, &b) else { panic!("it can be solved") };
    assert_eq!(shown.len(), appliance.checks.len());
    for (check, both) in appliance.checks.iter().zip(&shown) {
        let alone = [&a, &b].map(|fault| appliance.predict(check, Some(fault)));
        let good = appliance.predict(check, None);
        // What neither moves, both leave alone.
        if alone.iter().all(|one| !one.differs(&good)) {
            assert!(!both.differs(&good), "{}: {both:?}", check.id);
        }
    }
}

/// A fuse, and what may have blown it: both are one cause, mended by two remedies.
#[test]
fn what_brought_it_about() {
    let appliance = model::by_name("dryer-240").unwrap();
    let blown: Vec<_> = appliance.faults.iter().filter(|fault| !fault.brought_by.is_empty()).collect();
    assert!(!blown.is_empty());
    for fault in blown {
        let complaint = fault.weight.keys().next().unwrap();
        let trouble = Trouble::new(&appliance, complaint);
        let prior = |h: &Hypothesis| -> f64 {
            trouble.hypotheses.iter().zip(&trouble.prior).filter(|(k, _)| *k == h).map(|(_, p)| p).sum()
        };
        for (behind, share) in &fault.brought_by {
            let both = Hypothesis::Both(fault.id.clone(), behind.clone());
            let alone = prior(&Hypothesis::Fault(fault.id.clone()));
            let rest = 1.0 - fault.brought_by.values().sum::<f64>();
            assert!((prior(&both) / alone - share / rest).abs() < 1e-9, "{both}");
            let at = trouble.hypotheses.iter().position(|h| *h == both).unwrap();
            let remedy = trouble.cure[at];
            assert_eq!(trouble.remedies[remedy].as_ref(), Some(&fault.remedy));
            // Doing both mends also the fuse that blew by itself.
            let belief = trouble.prior.clone();
            assert!(trouble.mended_by(remedy, &belief) > prior(&both) + 0.9 * alone);
        }
        assert!((trouble.prior.iter().sum::<f64>() - 1.0).abs() < 1e-9);
    }
}

#[test]
fn nobody_is_left_without_advice_where_the_part_is_sure() {
    let asked = Asked::Number(leadhand::quantity::Unit::Ohms);
    let shown = vec![super::plate(0.0, 0.4), Prediction::Overload, Prediction::Overload];
    let mut trouble = trouble(
        &[("fuse", 0.42, "fuse", 200.0), ("vent", 0.48, "vent", 230.0)],
        vec![question("fuse", 2.0, asked, shown)],
    );
    trouble.hypotheses[2] = Hypothesis::Both("fuse".into(), "vent".into());
    trouble.includes = vec![vec![], vec![], vec![1]];
    let mut diagnosis = Diagnosis::of(trouble);
    diagnosis.evidence.accept(check("fuse"), Finding::Reading(leadhand::reading::Reading::Overload));
    let next = diagnosis.next(&[], None);
    let Next::Advise { probability, .. } = next else { panic!("{next:?}") };
    assert!(probability > 0.9, "{probability}: both remedies mend either");
}
