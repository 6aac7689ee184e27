//! How long the belief and the next check take after a reading, on the machine with most to decide between; and the same
//! posterior in pyAgrum and pgmpy.
//!
//! `make bench-diagnose`. What is not installed is named and left out.
#![allow(missing_docs, clippy::print_stdout, clippy::unwrap_used, clippy::disallowed_methods)]

#[path = "../tests/diagnosis/export.rs"]
mod export;

use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

use criterion::Criterion;
use leadhand::diagnose::Diagnosis;
use leadhand::diagnose::likelihood::Asked;
use leadhand::diagnose::plan::Next;
use leadhand::diagnose::trouble::Question;
use leadhand::id::StateId;
use leadhand::model;
use leadhand::model::appliance::Prediction;
use leadhand::quantity::{Quantity, Unit};
use leadhand::reading::{Finding, Reading};

/// How often each posterior is taken elsewhere.
const ROUNDS: usize = 20;

/// A diagnosis as it stands after a reading, and the state the machine is in.
type After = (Diagnosis, Option<StateId>);

fn main() {
    let (name, start) = largest();
    let trouble = start.trouble();
    println!("{name}: {} causes, {} checks", trouble.hypotheses.len(), trouble.questions.len());
    let readings: Vec<After> = (0..trouble.hypotheses.len()).flat_map(|cause| job(&start, cause)).collect();
    println!("{} readings of jobs with one fault", readings.len());
    timed("belief and next check, one core", &readings);
    // An overload more, on a check that was not made: no single cause explains it, and pairs are considered.
    let strange = |(diagnosis, state): &After| {
        let open = |q: &&Question| {
            diagnosis.evidence.of(&q.check).is_empty() && q.asked == Asked::Number(Unit::Ohms)
        };
        let question = trouble.questions.iter().find(open)?;
        let overload = Finding::Reading(Reading::Overload);
        Some((diagnosis.with(diagnosis.evidence.with(&question.check, overload)), state.clone()))
    };
    let wide = |(d, _): &After| d.considered().hypotheses.len() > trouble.hypotheses.len();
    let begin = Instant::now();
    let strange: Vec<After> = readings.iter().filter_map(strange).filter(wide).collect();
    println!(
        "{} readings after which pairs are considered; all their circuits solved in {:.0} ms",
        strange.len(),
        begin.elapsed().as_secs_f64() * 1e3
    );
    timed("belief and next check among pairs, one core", &strange);

    let mut criterion = Criterion::default().configure_from_args().sample_size(10);
    let (diagnosis, state) = readings.iter().max_by_key(|(d, _)| d.evidence.len()).unwrap();
    criterion.bench_function("belief after a reading", |bencher| bencher.iter(|| diagnosis.belief()));
    criterion.bench_function("belief and next check after a reading", |bencher| {
        bencher.iter(|| (diagnosis.belief(), diagnosis.next(&[], state.as_ref())));
    });
    criterion.final_summary();

    let begin = Instant::now();
    for _ in 0..ROUNDS {
        for (diagnosis, _) in &readings {
            std::hint::black_box(diagnosis.belief());
        }
    }
    let ours = begin.elapsed().as_secs_f64() / (ROUNDS * readings.len()) as f64;
    let networks: Vec<_> = readings.iter().map(|(diagnosis, _)| export::network(diagnosis)).collect();
    println!("\n{:<24} {:>14} {:>8}", "one posterior", "microseconds", "ratio");
    println!("{:<24} {:>14.1} {:>8.1}", "ours", ours * 1e6, 1.0);
    for library in ["pyagrum", "pgmpy"] {
        match elsewhere(&networks, library) {
            Some(theirs) => println!("{library:<24} {:>14.1} {:>8.1}", theirs * 1e6, theirs / ours),
            None => println!("skipped: 1 comparison with {library}: it is not installed"),
        }
    }
}

/// Prints how long belief and next check take.
fn timed(what: &str, readings: &[After]) {
    let seconds = |(diagnosis, state): &After| {
        let begin = Instant::now();
        std::hint::black_box((diagnosis.belief(), diagnosis.next(&[], state.as_ref())));
        begin.elapsed().as_secs_f64()
    };
    let mut seconds: Vec<f64> = readings.iter().map(seconds).collect();
    seconds.sort_by(f64::total_cmp);
    let at = |share: f64| {
        seconds.get((share * seconds.len().saturating_sub(1) as f64) as usize).map_or(0.0, |s| s * 1e3)
    };
    println!("{what}: median {:.1} ms, worst {:.1} ms", at(0.5), at(1.0));
}

/// The machine and complaint with the most to decide between.
fn largest() -> (&'static str, Diagnosis) {
    let machines = model::shipped().into_iter().flat_map(|(name, _)| {
        let appliance = model::by_name(name).unwrap();
        let all = appliance.complaints.iter().map(|complaint| Diagnosis::new(&appliance, &complaint.id));
        all.map(|diagnosis| (name, diagnosis)).collect::<Vec<_>>()
    });
    machines.max_by_key(|(_, d)| d.trouble().hypotheses.len() * d.trouble().questions.len()).unwrap()
}

/// The diagnosis after every reading of a job under a cause.
fn job(start: &Diagnosis, cause: usize) -> Vec<After> {
    let (mut diagnosis, mut state, mut all) = (start.clone(), None, Vec::new());
    while let Next::Check(check) = diagnosis.next(&[], state.as_ref()) {
        let question = start.trouble().question(&check).unwrap();
        let finding = match (&question.predictions[cause], &question.asked) {
            (Prediction::Outcomes(p), Asked::Outcome(names)) => {
                let likeliest = (0..p.len()).reduce(|a, b| if p[b] > p[a] { b } else { a }).unwrap();
                Finding::Outcome(names[likeliest].clone())
            }
            (Prediction::Value { nominal, .. }, Asked::Number(unit)) => number(*nominal, *unit),
            _ => Finding::Reading(Reading::Overload),
        };
        state = Some(question.state.clone());
        diagnosis.evidence.accept(check, finding);
        all.push((diagnosis.clone(), state.clone()));
    }
    all
}

fn number(value: f64, unit: Unit) -> Finding {
    let number = format!("{:.2}", value.min(9e6)).parse().unwrap();
    Finding::Reading(Reading::Value(Quantity {
        number,
        prefix: leadhand::quantity::Prefix::One,
        unit: Some(unit),
    }))
}

/// Seconds of one posterior in another library.
fn elsewhere(networks: &[serde_json::Value], library: &str) -> Option<f64> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut child = Command::new(root.join(".venv/bin/python3"))
        .args([root.join("tests/reference/bayes.py"), library.into(), ROUNDS.to_string().into()])
        .env("OPENBLAS_NUM_THREADS", "1")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .ok()?;
    let _ = child.stdin.take()?.write_all(serde_json::to_string(networks).unwrap().as_bytes());
    let output = child.wait_with_output().ok()?;
    String::from_utf8_lossy(&output.stdout).trim().parse().ok()
}
