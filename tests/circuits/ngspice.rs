//! The same circuits in ngspice: another program, other equations, the same numbers.
//!
//! Skipped with a printed count where ngspice is not installed. Its traps, each met here: `M` is milli, so numbers are
//! written out; a resistance of zero becomes a milliohm, so none is written; a warning about a singular matrix still
//! ends with exit status zero, so the output is read for it; without `quit` a batch run fails; the first line is a title.

#![allow(clippy::print_stderr)] // what was skipped, and how much was compared

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::process::Command;

use leadhand::circuit::{Current, Kind, Meter, Netlist, OPEN_OHMS, Shown, Solution};
use leadhand::id::NodeId;
use leadhand::model;
use leadhand::model::appliance::{CheckKind, Function};

/// One comparison: what we found, and the netlist that asks ngspice the same.
struct Question {
    what: String,
    ours: f64,
    netlist: String,
}

#[test]
fn ngspice_finds_the_same_in_every_shipped_model() {
    let questions = questions();
    assert!(questions.len() > 300, "only {} comparisons", questions.len());
    let Some(answers) = ask(&questions) else {
        eprintln!("ngspice is not installed: {} comparisons skipped", questions.len());
        return;
    };
    assert_eq!(answers.len(), questions.len(), "one answer to each question");
    for (question, theirs) in questions.iter().zip(answers) {
        let Question { what, ours, .. } = question;
        // What the meter shows as overload is asked for too; there the netlist's own opens are all that counts.
        if ours.is_infinite() {
            assert!(theirs > Meter::SERVICE.most_ohms, "{what}: overload, ngspice {theirs}");
        } else {
            let allowed = (1e-3 * ours.abs()).max(1e-3);
            assert!((ours - theirs).abs() <= allowed, "{what}: {ours}, ngspice {theirs}");
        }
    }
    eprintln!("{} comparisons with ngspice agree", questions.len());
}

/// Every measurement of every shipped model, good and under every fault.
fn questions() -> Vec<Question> {
    let mut questions = Vec::new();
    for (name, _) in model::shipped() {
        let appliance = model::by_name(name).unwrap();
        let faults: Vec<_> =
            std::iter::once(None).chain(appliance.faults.iter().map(|f| Some(f.id.clone()))).collect();
        for check in &appliance.checks {
            let CheckKind::Measure(measurement) = &check.kind else { continue };
            let state = appliance.state(&check.state).unwrap();
            let node = |point| appliance.node(point).unwrap();
            let (from, to) = (node(&measurement.from), node(&measurement.to));
            for fault in &faults {
                let circuit = appliance.circuit(state, fault.as_ref());
                let current = match measurement.function {
                    Function::AcVolts => Current::Alternating,
                    Function::Ohms => Current::Direct,
                };
                let solution = circuit.solve(current).unwrap();
                let shown = match current {
                    Current::Alternating => solution.probe_volts(from, to, &Meter::SERVICE),
                    Current::Direct => solution.probe_ohms(from, to, &Meter::SERVICE, None),
                };
                questions.push(Question {
                    what: format!("{name}, {} under {fault:?}", check.id),
                    ours: match shown.unwrap() {
                        Shown::Value(band) => band.nominal,
                        Shown::Overload => f64::INFINITY,
                    },
                    netlist: export(&circuit, &solution, current, from, to),
                });
            }
        }
    }
    questions
}

/// A netlist as ngspice reads it, with the meter on two nodes and what it shows at node `shown`.
fn export(circuit: &Netlist, settled: &Solution, current: Current, from: &NodeId, to: &NodeId) -> String {
    let mut text = String::from("* exported\n");
    let mut numbers: BTreeMap<&NodeId, usize> = BTreeMap::new();
    let others = circuit.nodes().into_iter().filter(|node| **node != circuit.reference);
    numbers.extend(others.zip(1..));
    let number = |node: &NodeId| numbers.get(node).copied().unwrap_or(0);
    for (nth, element) in circuit.elements.iter().enumerate() {
        let (a, b) = (number(&element.from), number(&element.to));
        let alternating = current == Current::Alternating;
        match &element.kind {
            Kind::Contact { .. } if !settled.is_closed(&element.id) => {
                writeln!(text, "R{nth} {a} {b} {OPEN_OHMS:e}")
            }
            Kind::Resistance { ohms } | Kind::Contact { ohms, .. } => {
                writeln!(text, "R{nth} {a} {b} {ohms:e}")
            }
            Kind::Winding { ac_ohms, .. } if alternating => {
                let henries = ac_ohms.im / (std::f64::consts::TAU * circuit.hertz);
                let (inner, re) = (format!("w{nth}"), ac_ohms.re);
                writeln!(text, "R{nth} {a} {inner} {re:e}\nL{nth} {inner} {b} {henries:e}")
            }
            Kind::Winding { dc_ohms, .. } => writeln!(text, "R{nth} {a} {b} {dc_ohms:e}"),
            Kind::Capacitor { farads } if alternating => writeln!(text, "C{nth} {a} {b} {farads:e}"),
            Kind::Open | Kind::Capacitor { .. } => writeln!(text, "R{nth} {a} {b} {OPEN_OHMS:e}"),
            Kind::Source { volts, ohms } => {
                let (size, degrees) = (volts.norm(), volts.arg().to_degrees());
                writeln!(text, "V{nth} s{nth} {b} DC 0 AC {size:e} {degrees:e}\nR{nth} s{nth} {a} {ohms:e}")
            }
        }
        .unwrap();
    }
    let (a, b, meter) = (number(from), number(to), Meter::SERVICE);
    match current {
        Current::Alternating => {
            writeln!(text, "Rmeter {a} {b} {:e}\nCmeter {a} {b} {:e}", meter.input_ohms, meter.input_farads)
                .unwrap();
        }
        // One ampere out of `from`'s side of the source, through the circuit, back at `to`: volts are ohms.
        Current::Direct => writeln!(text, "Imeter {b} {a} DC 0 AC 1 0").unwrap(),
    }
    writeln!(text, "Eshown shown 0 {a} {b} 1\nRshown shown 0 1\n.end").unwrap();
    text
}

/// The answers, in the order of the questions; `None` if there is no ngspice.
fn ask(questions: &[Question]) -> Option<Vec<f64>> {
    let folder = tempfile::tempdir().unwrap();
    let mut run = String::from("* run\n.control\nset numdgt=12\n");
    for (nth, question) in questions.iter().enumerate() {
        let file = folder.path().join(format!("{nth}.cir"));
        std::fs::write(&file, &question.netlist).unwrap();
        writeln!(run, "source {}\nac lin 1 60 60\nprint vm(shown)\nremcirc\ndestroy all", file.display())
            .unwrap();
    }
    run.push_str("quit\n.endc\n.end\n");
    let script = folder.path().join("run.cir");
    std::fs::write(&script, run).unwrap();
    let output = Command::new("ngspice").arg("-b").arg(&script).output().ok()?;
    let text =
        format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    for trouble in ["singular matrix", "doAnalyses", "Error", "fatal"] {
        assert!(!text.contains(trouble), "ngspice: {text}");
    }
    let answers = text.lines().filter_map(|line| line.strip_prefix("vm(shown) = "));
    Some(answers.map(|number| number.trim().parse().unwrap()).collect())
}
