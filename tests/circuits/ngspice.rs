//! The same circuits in ngspice: another program, other equations, the same numbers.
//!
//! Every shipped model, in every state, good and under every fault, between every two points: volts where the supply is
//! on, ohms where it is off. `make test` takes a fixed sample of them, `make oracle` (which sets `LEADHAND_ORACLE`) all.
//!
//! Skipped with a printed count where ngspice is not installed. Its traps, each met here: `M` is milli, so numbers are
//! written out; a resistance of zero becomes a milliohm, so none is written; a warning about a singular matrix still
//! ends with exit status zero, so the output is read for it; without `quit` a batch run fails; the first line is a title.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::process::Command;

use leadhand::circuit::{Current, Kind, Law, Meter, Mode, Netlist, OPEN_OHMS, Samples, Shown, Solution};
use leadhand::id::NodeId;
use leadhand::model;
use leadhand::model::Appliance;

/// `make test` asks about so many pairs of each model.
const SAMPLE: usize = 400;

/// So many netlists go through one ngspice.
const AT_ONCE: usize = 2000;

/// One comparison: what we found, and the netlist that asks ngspice the same.
struct Question {
    what: String,
    ours: f64,
    hertz: f64,
    netlist: String,
}

#[test]
fn ngspice_finds_the_same_in_every_shipped_model() {
    let all = std::env::var_os("LEADHAND_ORACLE").is_some();
    let (mut asked, mut compared) = (0, 0);
    for (name, _) in model::shipped() {
        let appliance = model::by_name(name).unwrap();
        let pairs = every_pair(&appliance);
        let step = if all { 1 } else { pairs.len().div_ceil(SAMPLE) };
        // A step that shares no factor with the number of pairs of a circuit visits different pairs in each.
        let taken: Vec<&Pair> = pairs.iter().skip(step / 2).step_by(step).collect();
        for chunk in taken.chunks(AT_ONCE) {
            let questions: Vec<Question> = chunk.iter().map(|pair| pair.question(&appliance)).collect();
            asked += questions.len();
            compared += ask(&questions).map_or(0, |answers| compare(&questions, &answers));
        }
    }
    assert!(asked > 500, "only {asked} comparisons");
    if compared == 0 {
        eprintln!("skipped: {asked} comparisons with ngspice, which is not installed");
    } else {
        println!("compared: {compared} readings with ngspice, all agree");
    }
}

/// Two points of a circuit: by the places of its state, its fault and the points in the model.
struct Pair {
    state: usize,
    fault: Option<usize>,
    points: (usize, usize),
}

fn every_pair(appliance: &Appliance) -> Vec<Pair> {
    let points = appliance.points.len();
    let faults = || std::iter::once(None).chain((0..appliance.faults.len()).map(Some));
    let mut pairs = Vec::new();
    for state in 0..appliance.states.len() {
        for fault in faults() {
            for a in 0..points {
                pairs.extend((a + 1..points).map(|b| Pair { state, fault, points: (a, b) }));
            }
        }
    }
    pairs
}

impl Pair {
    fn question(&self, appliance: &Appliance) -> Question {
        let state = &appliance.states[self.state];
        let fault = self.fault.map(|fault| &appliance.faults[fault].id);
        let (a, b) = (&appliance.points[self.points.0].id, &appliance.points[self.points.1].id);
        let (from, to) = (appliance.node(a).unwrap(), appliance.node(b).unwrap());
        let mode = if state.energised { Mode::AcVolts } else { Mode::Ohms };
        let circuit = appliance.circuit(state, fault);
        let nodes = [from.clone(), to.clone()];
        let survey = circuit.survey(mode, &nodes, &Meter::SERVICE, &Samples::new(0)).unwrap();
        let settled = circuit.solve(mode.current()).unwrap();
        let ours = match &survey.shown[..] {
            [(_, Shown::Value(band))] => band.nominal,
            [(_, Shown::Overload)] => f64::INFINITY,
            _ => panic!("two nodes are one pair"),
        };
        Question {
            what: format!("{}, {} under {fault:?}, {a} to {b}", appliance.id, state.id),
            ours,
            hertz: circuit.hertz,
            netlist: export(&circuit, &settled, mode.current(), from, to),
        }
    }
}

/// Within a thousandth, or a millivolt or a milliohm; what the meter shows as overload must be more than it can show.
fn compare(questions: &[Question], answers: &[f64]) -> usize {
    assert_eq!(answers.len(), questions.len(), "one answer to each question");
    for (Question { what, ours, netlist, .. }, theirs) in questions.iter().zip(answers) {
        if ours.is_infinite() {
            assert!(*theirs > Meter::SERVICE.most_ohms, "{what}: overload, ngspice {theirs}\n{netlist}");
        } else {
            let allowed = (1e-3 * ours.abs()).max(1e-3);
            assert!((ours - theirs).abs() <= allowed, "{what}: {ours}, ngspice {theirs}\n{netlist}");
        }
    }
    questions.len()
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
        // What hot copper adds, what a sensor has, where a contact stands: as the parts' own laws say.
        match &element.kind {
            Kind::Resistance { ohms } => writeln!(text, "R{nth} {a} {b} {ohms:e}"),
            Kind::Contact { ohms, .. } | Kind::Thermostat { ohms, .. } => {
                let ohms = if settled.is_closed(&element.id) { *ohms } else { OPEN_OHMS };
                writeln!(text, "R{nth} {a} {b} {ohms:e}")
            }
            Kind::Sensor { law, celsius } => writeln!(text, "R{nth} {a} {b} {:e}", law.ohms(*celsius)),
            Kind::Winding { dc_ohms, ac_ohms, celsius } => {
                let hot = Law::Copper { ohms: *dc_ohms, celsius: 20.0 }.ohms(*celsius);
                if current == Current::Alternating {
                    let henries = ac_ohms.im / (std::f64::consts::TAU * circuit.hertz);
                    let (inner, re) = (format!("w{nth}"), ac_ohms.re + hot - dc_ohms);
                    writeln!(text, "R{nth} {a} {inner} {re:e}\nL{nth} {inner} {b} {henries:e}")
                } else {
                    writeln!(text, "R{nth} {a} {b} {hot:e}")
                }
            }
            Kind::Capacitor { farads } if current == Current::Alternating => {
                writeln!(text, "C{nth} {a} {b} {farads:e}")
            }
            Kind::Open | Kind::Capacitor { .. } | Kind::Diode { .. } => {
                writeln!(text, "R{nth} {a} {b} {OPEN_OHMS:e}")
            }
            Kind::Source { volts, ohms } => {
                let size = if current == Current::Alternating { volts.norm() } else { 0.0 };
                let degrees = volts.arg().to_degrees();
                writeln!(text, "V{nth} s{nth} {b} DC 0 AC {size:e} {degrees:e}\nR{nth} s{nth} {a} {ohms:e}")
            }
            Kind::DirectSource { volts, ohms } => {
                let size = if current == Current::Direct { *volts } else { 0.0 };
                writeln!(text, "V{nth} s{nth} {b} DC 0 AC {size:e} 0\nR{nth} s{nth} {a} {ohms:e}")
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
        let hertz = question.hertz;
        writeln!(
            run,
            "source {}\nac lin 1 {hertz} {hertz}\nprint vm(shown)\nremcirc\ndestroy all",
            file.display()
        )
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
