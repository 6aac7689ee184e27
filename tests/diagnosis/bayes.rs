//! The belief against an independent library for Bayesian networks (pyAgrum), where it is installed.

use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

use leadhand::diagnose::Diagnosis;
use leadhand::diagnose::evidence::Alternative;
use leadhand::diagnose::likelihood::{Asked, likelihood};
use leadhand::model::appliance::Prediction;
use leadhand::quantity::Unit;

use super::{Dice, OL, check, no_heat, ohms, said, saw};

/// A network: the prior of its one cause, and a child for every finding with the probability of that finding under
/// each state of the cause; the posterior that we compute.
fn network(diagnosis: &Diagnosis) -> serde_json::Value {
    let children: Vec<serde_json::Value> =
        diagnosis.evidence.iter().filter_map(|(check, found)| child(diagnosis, check, found)).collect();
    serde_json::json!({
        "prior": diagnosis.trouble().prior,
        "children": children,
        "posterior": diagnosis.belief().probabilities(),
    })
}

fn child(
    diagnosis: &Diagnosis,
    check: &leadhand::id::CheckId,
    found: &[Alternative],
) -> Option<serde_json::Value> {
    let question = diagnosis.trouble().question(check)?;
    if let (Asked::Outcome(names), [one]) = (&question.asked, found) {
        // The table as the model has it: the reference mixes in the wrong readings itself.
        let tables: Vec<&Vec<f64>> = question
            .predictions
            .iter()
            .filter_map(|p| match p {
                Prediction::Outcomes(table) => Some(table),
                _ => None,
            })
            .collect();
        let seen =
            names.iter().position(|n| leadhand::reading::Finding::Outcome(n.clone()) == one.finding)?;
        return Some(serde_json::json!({ "outcomes": tables, "seen": seen }));
    }
    let row = |a: &Alternative| -> Vec<f64> {
        question.predictions.iter().map(|p| likelihood(&a.finding, p, &question.asked)).collect()
    };
    let rows: Vec<Vec<f64>> = found.iter().map(row).collect();
    let weights: Vec<f64> = found.iter().map(|a| a.probability).collect();
    Some(serde_json::json!({ "findings": rows, "weights": weights }))
}

/// Hand-built machines and random ones, with findings of every kind.
fn networks() -> Vec<serde_json::Value> {
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
    let alternatives = [(ohms("15"), 0.55), (ohms("50"), 0.4), (OL, 0.05)];
    let soft = alternatives.map(|(finding, probability)| Alternative { finding, probability }).to_vec();
    diagnosis.evidence.accept_any(check("heater"), soft);
    all.push(network(&diagnosis));
    let mut dice = Dice(1988);
    for _ in 0..60 {
        let mut diagnosis = Diagnosis::of(dice.trouble());
        let questions = diagnosis.trouble().questions.clone();
        for question in questions {
            let Asked::Outcome(names) = &question.asked else { continue };
            let pick = |dice: &mut Dice| saw(&names[dice.below(names.len())]);
            if dice.share() < 0.5 {
                let finding = pick(&mut dice);
                diagnosis.evidence.accept(question.check.clone(), finding);
            } else {
                let soft =
                    [0.7, 0.3].map(|probability| Alternative { finding: pick(&mut dice), probability });
                diagnosis.evidence.accept_any(question.check.clone(), soft.to_vec());
            }
        }
        all.push(network(&diagnosis));
    }
    all
}

#[test]
#[allow(clippy::disallowed_methods)] // the reference is another program
fn posteriors_equal_those_of_an_independent_library() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let python = root.join(".venv/bin/python3");
    let networks = networks();
    let Ok(mut child) = Command::new(&python)
        .arg(root.join("tests/reference/bayes.py"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
    else {
        println!("skipped: {} networks, because .venv/bin/python3 is not there", networks.len());
        return;
    };
    let text = serde_json::to_string(&networks).unwrap();
    child.stdin.take().unwrap().write_all(text.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    if output.status.code() == Some(77) {
        println!("skipped: {} networks, because pyagrum is not installed in .venv", networks.len());
        return;
    }
    assert!(output.status.success(), "{said}{}", String::from_utf8_lossy(&output.stderr));
    assert_eq!(said.trim(), format!("{} networks agree to 6 decimals", networks.len()));
    println!("{}", said.trim());
}
