//! The same circuits in ngspice: another program, other equations, the same numbers.
//!
//! Every shipped model, in every state, good and under every fault, between every two points: volts where the supply is
//! on, ohms where it is off. `make test` takes a fixed sample of them, `make oracle` (which sets `LEADHAND_ORACLE`) all.
//!
//! Skipped with a printed count where ngspice is not installed.

use leadhand::circuit::{Meter, Mode, Samples, Shown};
use leadhand::model;
use leadhand::model::Appliance;

use super::export::{ask, export};

/// `make test` asks about so many pairs of each model.
const SAMPLE: usize = 400;

/// So many netlists go through one ngspice.
const AT_ONCE: usize = 2000;

/// One comparison: what we found, and the netlist that asks ngspice the same.
struct Question {
    what: String,
    ours: f64,
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
            let netlists: Vec<&str> = questions.iter().map(|question| question.netlist.as_str()).collect();
            compared += ask(&netlists).map_or(0, |answers| compare(&questions, &answers));
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
