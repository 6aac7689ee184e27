//! A diagnosis as a Bayesian network, for other libraries.

use leadhand::diagnose::Diagnosis;
use leadhand::diagnose::evidence::{Alternative, Found};
use leadhand::diagnose::instrument::Instrument;
use leadhand::diagnose::likelihood::{Asked, WRONG_READING, likelihood, unsettled};
use leadhand::diagnose::trouble::{Question, Trouble};
use leadhand::model::appliance::Prediction;
use leadhand::quantity::Unit;
use leadhand::reading::{Finding, Reading};

/// A network: the priors of its two causes, the machine's and the meter's, and a child for every finding with the
/// probability of that finding under each state of both; the posterior that we compute.
pub fn network(diagnosis: &Diagnosis) -> serde_json::Value {
    let trouble = diagnosis.considered();
    let children: Vec<serde_json::Value> = diagnosis
        .evidence
        .iter()
        .filter_map(|(check, found)| child(trouble.question(check)?, found))
        .chain(diagnosis.evidence.touched().map(|shown| touched(&trouble, shown)))
        .collect();
    serde_json::json!({
        "prior": trouble.prior,
        "meter": Instrument::ALL.map(Instrument::prior),
        "children": children,
        "posterior": diagnosis.belief().probabilities(),
    })
}

fn child(question: &Question, found: &Found) -> Option<serde_json::Value> {
    if let (Asked::Outcome(names), [one]) = (&question.asked, found.alternatives.as_slice()) {
        // The table as the model has it: the reference mixes in the wrong readings itself.
        let table = |p: &Prediction| match p {
            Prediction::Outcomes(table) => Some(table.clone()),
            _ => None,
        };
        let tables: Vec<Vec<f64>> = question.predictions.iter().filter_map(table).collect();
        let seen = names.iter().position(|n| Finding::Outcome(n.clone()) == one.finding)?;
        let wrong = if found.again { question.wrong.powi(2) } else { question.wrong };
        return Some(serde_json::json!({ "outcomes": tables, "seen": seen, "wrong": wrong }));
    }
    let wrong = if found.again { question.wrong.powi(2) } else { question.wrong };
    let row = |a: &Alternative| -> Vec<Vec<f64>> {
        let shown = |meter: Instrument, p: &Prediction, wavers: f64| {
            let dial = found.again && meter == Instrument::OnVolts;
            let spoilt = meter.shows(&question.asked).filter(|_| !dial);
            let settles = 1.0 - unsettled(if spoilt.is_some() { 0.0 } else { wavers }, found.again);
            let number = likelihood(&a.finding, spoilt.as_ref().unwrap_or(p), &question.asked, wrong);
            if a.finding == Finding::Reading(Reading::Unstable) { 1.0 - settles } else { settles * number }
        };
        let under = |meter| {
            question.predictions.iter().zip(&question.wavers).map(|(p, w)| shown(meter, p, *w)).collect()
        };
        Instrument::ALL.map(under).to_vec()
    };
    let rows: Vec<Vec<Vec<f64>>> = found.alternatives.iter().map(row).collect();
    let weights: Vec<f64> = found.alternatives.iter().map(|a| a.probability).collect();
    Some(serde_json::json!({ "findings": rows, "weights": weights }))
}

fn touched(trouble: &Trouble, shown: &Finding) -> serde_json::Value {
    let asked = Asked::Number(Unit::Ohms);
    let under = |meter: Instrument| {
        vec![likelihood(shown, &meter.touched(), &asked, WRONG_READING); trouble.prior.len()]
    };
    serde_json::json!({ "findings": [Instrument::ALL.map(under)], "weights": [1.0] })
}
