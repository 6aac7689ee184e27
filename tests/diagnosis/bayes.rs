//! The belief against independent libraries for Bayesian networks (pyAgrum, pgmpy), where they are installed.

use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

use leadhand::diagnose::Diagnosis;
use leadhand::diagnose::evidence::Alternative;
use leadhand::diagnose::likelihood::Asked;
use leadhand::diagnose::trouble::Question;
use leadhand::model;
use leadhand::quantity::Unit;
use leadhand::reading::{Finding, Reading};
use leadhand::simulate::machine::said as said_on_display;

use super::export::network;
use super::{Dice, OL, check, no_heat, ohms, said, saw, shipped};

/// Something that a check may show: under one of the causes, or anything at all.
fn anything(dice: &mut Dice, diagnosis: &Diagnosis, question: &Question) -> Finding {
    let cause = dice.below(question.predictions.len());
    match (&question.asked, dice.below(4)) {
        (Asked::Outcome(names), _) => saw(&names[dice.below(names.len())]),
        (Asked::Number(_) | Asked::Beep, 0) => OL,
        (Asked::Number(unit), 1) => {
            let value = 10_f64.powf(5.0 * dice.share() - 1.0);
            Finding::Reading(Reading::Value(said_on_display(value, *unit)))
        }
        (Asked::Number(_) | Asked::Beep, _) => shipped::ideal(diagnosis, &question.check, cause),
    }
}

/// Findings for some checks, of every kind: sure, soft, taken again.
fn find(dice: &mut Dice, diagnosis: &mut Diagnosis, most: usize) {
    let questions = diagnosis.trouble().questions.clone();
    for _ in 0..=dice.below(most) {
        let question = &questions[dice.below(questions.len())];
        let first = anything(dice, diagnosis, question);
        match dice.below(4) {
            0 => {
                let second = anything(dice, diagnosis, question);
                let soft = [(first, 0.7), (second, 0.3)];
                let soft = soft.map(|(finding, probability)| Alternative { finding, probability });
                diagnosis.evidence.accept_any(question.check.clone(), soft.to_vec());
            }
            1 => {
                diagnosis.evidence.accept(question.check.clone(), first.clone());
                diagnosis.evidence.accept(question.check.clone(), first);
            }
            _ => diagnosis.evidence.accept(question.check.clone(), first),
        }
    }
    if dice.below(5) == 0 {
        diagnosis.evidence.touch(Some([OL, ohms("0.2"), ohms("0")][dice.below(3)].clone()));
    }
}

/// Hand-built machines and random ones, with findings of every kind.
fn small() -> Vec<serde_json::Value> {
    let mut all = vec![];
    let mut diagnosis = Diagnosis::of(no_heat());
    all.push(network(&diagnosis));
    for (name, finding) in [
        ("drum", saw("turns")),
        ("fuse", ohms("0.3")),
        ("supply", said("236", Unit::Volts)),
        ("thermostat", ohms("0.9")),
        ("heater", OL),
    ] {
        diagnosis.evidence.accept(check(name), finding);
        all.push(network(&diagnosis));
    }
    let mut dice = Dice(1988);
    for _ in 0..60 {
        let mut diagnosis = Diagnosis::of(dice.trouble());
        find(&mut dice, &mut diagnosis, 6);
        all.push(network(&diagnosis));
    }
    all
}

/// Every machine that comes with the program, under every complaint, with random findings: what one cause explains and
/// what none does, so that pairs are among the causes.
fn every_machine() -> Vec<serde_json::Value> {
    let (mut all, mut pairs) = (vec![], 0);
    let mut dice = Dice(1763);
    for (name, _) in model::shipped() {
        let appliance = model::by_name(name).unwrap();
        for complaint in &appliance.complaints {
            let mut diagnosis = Diagnosis::new(&appliance, &complaint.id);
            find(&mut dice, &mut diagnosis, 8);
            pairs += usize::from(diagnosis.considered().prior.len() > diagnosis.trouble().prior.len());
            all.push(network(&diagnosis));
        }
    }
    println!("{} machines and complaints; in {pairs} pairs of faults are considered", all.len());
    assert!(pairs > 10 && pairs < all.len(), "{pairs} of {}", all.len());
    all
}

/// Asks `tests/reference/bayes.py` with a library.
#[allow(clippy::disallowed_methods)] // the reference is another program
fn agree(networks: &[serde_json::Value], library: &str) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let Ok(mut child) = Command::new(root.join(".venv/bin/python3"))
        .arg(root.join("tests/reference/bayes.py"))
        .arg(library)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
    else {
        println!("skipped: {} networks, because .venv/bin/python3 is not there", networks.len());
        return;
    };
    let text = serde_json::to_string(networks).unwrap();
    // A program that has no library ends before it has read everything.
    let _ = child.stdin.take().unwrap().write_all(text.as_bytes());
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    if output.status.code() == Some(77) {
        println!("skipped: {} networks, because {library} is not installed in .venv", networks.len());
        return;
    }
    assert!(output.status.success(), "{said}{}", String::from_utf8_lossy(&output.stderr));
    assert_eq!(said.trim(), format!("{} networks agree with {library} to 6 decimals", networks.len()));
    println!("{}", said.trim());
}

#[test]
fn posteriors_equal_those_of_independent_libraries() {
    let networks = [small(), every_machine()].concat();
    agree(&networks, "pyagrum");
    agree(&networks, "pgmpy");
}
