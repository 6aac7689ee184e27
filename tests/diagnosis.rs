//! From findings to belief, to the next check, to the remedy.
//!
//! The machines here are put together by hand; `shipped` works the ones that come with the program.

#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod bayes;
mod conformity;
mod doubts;
mod export;
mod optimum;
mod pairs;
mod planning;
mod properties;
mod published;
mod shipped;
mod values;

use leadhand::diagnose::hypothesis::Hypothesis;
use leadhand::diagnose::likelihood::Asked;
use leadhand::diagnose::trouble::{Question, Trouble};
use leadhand::id::{CheckId, FaultId, RemedyId};
use leadhand::model::appliance::{Prediction, Provenance};
use leadhand::quantity::{Prefix, Quantity, Unit};
use leadhand::reading::{Finding, Reading};

/// A band with the likeliest value in its middle, from the rating plate.
fn plate(low: f64, high: f64) -> Prediction {
    Prediction::Value { nominal: f64::midpoint(low, high), low, high, provenance: Provenance::Plate }
}

/// A number as said, in a unit: `"8.8 k"` has a prefix.
fn said(text: &str, unit: Unit) -> Finding {
    let (number, prefix) = match text.split_once(' ') {
        Some((number, "k")) => (number, Prefix::Kilo),
        Some((number, _)) => (number, Prefix::Mega),
        None => (text, Prefix::One),
    };
    let number = number.parse().unwrap();
    Finding::Reading(Reading::Value(Quantity { number, prefix, unit: Some(unit) }))
}

fn ohms(text: &str) -> Finding {
    said(text, Unit::Ohms)
}

fn saw(outcome: &str) -> Finding {
    Finding::Outcome(outcome.to_owned())
}

const OL: Finding = Finding::Reading(Reading::Overload);

fn fault(name: &str) -> Hypothesis {
    Hypothesis::Fault(FaultId::from(name))
}

/// "All good" and these faults, each with its share of the prior, its remedy and what trying that costs.
fn trouble(faults: &[(&str, f64, &str, f64)], questions: Vec<Question>) -> Trouble {
    let mut remedies: Vec<Option<RemedyId>> = vec![None];
    let mut attempt = vec![90.0];
    let mut cure = vec![0];
    for (_, _, remedy, cost) in faults {
        let remedy = Some(RemedyId::from(*remedy));
        let known = remedies.iter().position(|r| *r == remedy);
        cure.push(known.unwrap_or(remedies.len()));
        if known.is_none() {
            remedies.push(remedy);
            attempt.push(*cost);
        }
    }
    let healthy = 1.0 - faults.iter().map(|f| f.1).sum::<f64>();
    Trouble {
        includes: vec![vec![]; remedies.len()],
        hypotheses: std::iter::once(Hypothesis::AllGood).chain(faults.iter().map(|f| fault(f.0))).collect(),
        prior: std::iter::once(healthy).chain(faults.iter().map(|f| f.1)).collect(),
        remedies,
        cure,
        attempt,
        questions,
        states: std::collections::BTreeMap::new(),
    }
}

/// A check of so many minutes, and what it shows under each hypothesis, "all good" first.
fn question(name: &str, minutes: f64, asked: Asked, predictions: Vec<Prediction>) -> Question {
    Question { cost: minutes, ..Question::new(name.into(), "unplugged".into(), asked, predictions) }
}

/// A machine that does not heat, in the manner of a dryer: a heater of 20 Ω, two contacts in series, a supply leg.
fn no_heat() -> Trouble {
    let faults = [
        ("heater-open", 0.35, "heater", 180.0),
        ("fuse-open", 0.25, "fuse", 130.0),
        ("thermostat-open", 0.15, "thermostat", 130.0),
        ("thermostat-worn", 0.05, "thermostat", 130.0),
        ("leg-lost", 0.10, "leg", 100.0),
    ];
    let ohms = Asked::Number(Unit::Ohms);
    let (good, contact) = (plate(18.0, 22.0), plate(0.0, 0.4));
    let contact_of =
        |at: usize| (0..6).map(|h| if h == at { Prediction::Overload } else { contact.clone() }).collect();
    let heater = (0..6).map(|h| if h == 1 { Prediction::Overload } else { good.clone() }).collect();
    let volts = (0..6).map(|h| if h == 5 { plate(0.0, 1.0) } else { plate(220.0, 252.0) }).collect();
    let turns = Asked::Outcome(vec!["turns".into(), "still".into()]);
    let drum = (0..6)
        .map(|h| Prediction::Outcomes(if h == 5 { vec![0.3, 0.7] } else { vec![0.95, 0.05] }))
        .collect();
    let mut supply = question("supply", 25.0, Asked::Number(Unit::Volts), volts);
    supply.live = true;
    trouble(
        &faults,
        vec![
            question("drum", 1.0, turns, drum),
            question("heater", 3.0, ohms.clone(), heater),
            question("fuse", 4.0, ohms.clone(), contact_of(2)),
            question("thermostat", 4.0, ohms, contact_of(3)),
            supply,
        ],
    )
}

fn check(name: &str) -> CheckId {
    CheckId::from(name)
}

/// A small generator (SplitMix64; Steele, Lea and Flood 2014): the same numbers on every machine.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Between 0 and 1.
    fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Below `n`.
    fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }

    /// Positive numbers that sum to one.
    fn shares(&mut self, n: usize) -> Vec<f64> {
        let raw: Vec<f64> = (0..n).map(|_| 0.02 + self.share()).collect();
        let total: f64 = raw.iter().sum();
        raw.iter().map(|r| r / total).collect()
    }

    /// A machine of a few faults and observations, with anything possible.
    fn trouble(&mut self) -> Trouble {
        let (faults, checks) = (2 + self.below(5), 1 + self.below(5));
        let p = self.shares(faults + 1);
        let names: Vec<(String, String)> = (0..faults)
            .map(|i| (format!("fault-{i}"), format!("remedy-{}", i.min(self.below(faults)))))
            .collect();
        let rows: Vec<_> = names
            .iter()
            .zip(&p[1..])
            .map(|((f, r), p)| (f.as_str(), *p, r.as_str(), 90.0 + 60.0 * self.share()))
            .collect();
        let questions = (0..checks)
            .map(|i| {
                let outcomes = 2 + self.below(3);
                let asked = Asked::Outcome((0..outcomes).map(|o| format!("outcome-{o}")).collect());
                let shown = (0..=faults).map(|_| Prediction::Outcomes(self.shares(outcomes))).collect();
                question(&format!("check-{i}"), 5.0 * self.share(), asked, shown)
            })
            .collect();
        trouble(&rows, questions)
    }
}
