//! How fast readings are predicted: every pair of points of the largest machine, in all states and under all faults, with
//! 64 samples of the tolerances; and the same work in ngspice, numpy and scipy.
//!
//! `make bench-circuit`. ngspice and Python take parts of the work, which are scaled to the whole; what is not installed is
//! named and left out.
#![allow(missing_docs, clippy::print_stdout, clippy::unwrap_used, clippy::disallowed_methods)]

#[path = "../tests/circuits/export.rs"]
mod export;

use std::path::Path;
use std::process::Command;
use std::time::Instant;

use criterion::Criterion;
use leadhand::circuit::{Meter, Mode, Netlist, Samples};
use leadhand::id::NodeId;
use leadhand::model::{self, Appliance};

/// Netlists that ngspice gets, each in a process of its own, and together in one.
const ALONE: usize = 20;
const TOGETHER: usize = 1000;
/// Circuits that Python solves, and how often.
const DENSE: usize = 200;
const ROUNDS: usize = 5;

/// One circuit of the machine, and the meter's mode there.
struct Case {
    mode: Mode,
    circuit: Netlist,
}

fn main() {
    let appliance = largest();
    let (cases, nodes) = (cases(&appliance), nodes(&appliance));
    let pairs = nodes.len() * (nodes.len() - 1) / 2;
    let circuits = cases.len() * Samples::USUAL;
    println!(
        "{}: {} states and faults, {pairs} pairs of points, {} samples: {} readings",
        appliance.id,
        cases.len(),
        Samples::USUAL,
        circuits * pairs
    );
    // Cold: the first time in this process, before anything is measured or warmed.
    let begin = Instant::now();
    predict(&cases, &nodes);
    let ours = begin.elapsed().as_secs_f64();
    println!("cold: {ours:.3} s on one core");

    let mut criterion = Criterion::default().configure_from_args().sample_size(10);
    criterion.bench_function("predictions of the largest machine", |bencher| {
        bencher.iter(|| predict(&cases, &nodes));
    });
    criterion.bench_function("one circuit, every pair, 64 samples", |bencher| {
        let samples = Samples::default();
        bencher.iter(|| cases[0].circuit.survey(cases[0].mode, &nodes, &Meter::SERVICE, &samples));
    });
    criterion.final_summary();

    println!("\n{:<44} {:>9} {:>12} {:>10}", "the same work", "taken", "whole, s", "ratio");
    let row = |what: &str, taken: usize, seconds: f64| {
        println!("{what:<44} {taken:>9} {seconds:>12.2} {:>10.0}", seconds / ours);
    };
    row("ours", circuits * pairs, ours);
    let readings = (circuits * pairs) as f64;
    for (what, taken, at_once) in [
        ("ngspice, a process for each netlist", ALONE, 1),
        ("ngspice, one process for all", TOGETHER, TOGETHER),
    ] {
        match ngspice(&cases, &nodes, taken, at_once) {
            Some(seconds) => row(what, taken, seconds / taken as f64 * readings),
            None => println!("skipped: 1 comparison with {what}: it is not installed"),
        }
    }
    dense(&cases, &nodes, |what, seconds| row(what, DENSE, seconds * circuits as f64));
}

/// The shipped machine with the most to predict.
fn largest() -> Appliance {
    let shipped = model::shipped();
    let all = shipped.iter().map(|(name, _)| model::by_name(name).unwrap());
    all.max_by_key(|a| a.points.len().pow(2) * a.states.len() * (a.faults.len() + 1)).unwrap()
}

fn nodes(appliance: &Appliance) -> Vec<NodeId> {
    appliance.points.iter().map(|point| appliance.node(&point.id).unwrap().clone()).collect()
}

fn cases(appliance: &Appliance) -> Vec<Case> {
    let mut cases = Vec::new();
    for state in &appliance.states {
        let mode = if state.energised { Mode::AcVolts } else { Mode::Ohms };
        let faults = appliance.faults.iter().map(|fault| Some(&fault.id));
        let circuits = std::iter::once(None).chain(faults).map(|fault| appliance.circuit(state, fault));
        cases.extend(circuits.map(|circuit| Case { mode, circuit }));
    }
    cases
}

fn predict(cases: &[Case], nodes: &[NodeId]) -> usize {
    let samples = Samples::default();
    let survey = |case: &Case| case.circuit.survey(case.mode, nodes, &Meter::SERVICE, &samples).unwrap();
    cases.iter().map(|case| survey(case).shown.len()).sum()
}

/// So many netlists of the work, evenly taken, and what we find in them.
fn netlists(cases: &[Case], nodes: &[NodeId], count: usize) -> Vec<(String, f64)> {
    let pick = |nth: usize| {
        let case = &cases[nth * cases.len() / count];
        let (a, b) = (&nodes[nth % nodes.len()], &nodes[(nth + 1 + nth / nodes.len()) % nodes.len()]);
        let settled = case.circuit.solve(case.mode.current()).unwrap();
        let shown = settled.probe(case.mode, a, b, &Meter::SERVICE).unwrap().nominal();
        (export::export(&case.circuit, &settled, case.mode, a, b), shown)
    };
    (0..count).map(pick).collect()
}

/// Seconds for so many netlists, that many in one process.
fn ngspice(cases: &[Case], nodes: &[NodeId], count: usize, at_once: usize) -> Option<f64> {
    let netlists = netlists(cases, nodes, count);
    let texts: Vec<&str> = netlists.iter().map(|(text, _)| text.as_str()).collect();
    let begin = Instant::now();
    for chunk in texts.chunks(at_once) {
        export::ask(chunk)?;
    }
    Some(begin.elapsed().as_secs_f64())
}

/// Seconds a circuit in numpy and scipy, all its columns at once; where Python has them.
fn dense(cases: &[Case], nodes: &[NodeId], mut row: impl FnMut(&str, f64)) {
    let folder = tempfile::tempdir().unwrap();
    for (nth, (text, shown)) in netlists(cases, nodes, DENSE).iter().enumerate() {
        std::fs::write(folder.path().join(format!("{nth}.cir")), text).unwrap();
        std::fs::write(folder.path().join(format!("{nth}.shown")), shown.to_string()).unwrap();
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let python = root.join(".venv/bin/python");
    let output = Command::new(if python.exists() { python } else { "python3".into() })
        .arg(root.join("scripts/dense_solves.py"))
        .arg(folder.path())
        .arg(ROUNDS.to_string())
        // One core, as ours.
        .env("OPENBLAS_NUM_THREADS", "1")
        .output();
    let output = match output {
        Ok(output) => output,
        Err(why) => return println!("skipped: 3 comparisons with numpy and scipy: {why}"),
    };
    let Ok(answer) = serde_json::from_slice::<serde_json::Value>(&output.stdout) else {
        let told = String::from_utf8_lossy(&output.stderr);
        let why = told.lines().last().unwrap_or("nothing came back");
        return println!("skipped: 3 comparisons with numpy and scipy: {why}");
    };
    for (what, seconds) in answer["seconds"].as_object().unwrap() {
        row(&format!("{what}, solves alone"), seconds.as_f64().unwrap());
    }
    println!("numpy differs from ours by {:.1e} at most", answer["worst"].as_f64().unwrap());
}
