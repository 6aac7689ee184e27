//! The same circuits in ngspice: another program, other equations, the same numbers.
//!
//! Every shipped model, in every state, good and under every fault, between every two points: volts where the supply is
//! on, ohms where it is off. `make test` takes a fixed sample of them, `make oracle` (which sets `LEADHAND_ORACLE`) all.
//!
//! Skipped with a printed count where ngspice is not installed.

use leadhand::circuit::{Bimetal, Edit, Kind, Law, Meter, Mode, Netlist, Samples, Shown};
use leadhand::id::NodeId;
use leadhand::model;
use leadhand::model::Appliance;
use num_complex::Complex64;

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

#[test]
fn ngspice_finds_the_same_in_every_kind_of_part() {
    let bimetal = Bimetal { opens: 100.0, closes: 80.0 };
    let thermistor = Law::Beta { ohms: 10_000.0, celsius: 25.0, beta: 3977.0 };
    let circuit = Netlist::new("0", 50.0)
        .with("mains", "l", "0", Kind::Source { volts: Complex64::from_polar(230.0, 0.4), ohms: 0.1 })
        .with("board", "v", "0", Kind::DirectSource { volts: 5.0, ohms: 2.0 })
        .with("limit", "l", "a", Kind::Thermostat { ohms: 0.02, bimetal, closed: true })
        .with(
            "motor",
            "a",
            "0",
            Kind::Winding { dc_ohms: 12.0, ac_ohms: Complex64::new(40.0, 70.0), celsius: 95.0 },
        )
        .with("start", "a", "s", Kind::Capacitor { farads: 12e-6 })
        .with("start-winding", "s", "0", Kind::winding(30.0, Complex64::new(50.0, 20.0)))
        .with("sensor", "t", "0", Kind::Sensor { law: thermistor, celsius: 60.0 })
        .with_ohms("pull-up", "v", "t", 4700.0)
        .with("platinum", "v", "p", Kind::Sensor { law: Law::Platinum { ohms: 1000.0 }, celsius: 180.0 })
        .with_ohms("shunt", "p", "0", 1000.0)
        .with("stray", "l", "t", Kind::Capacitor { farads: 200e-12 })
        .with_ohms("insulation", "a", "t", 20e6);
    let circuit = circuit.edited(&[
        Edit::Bridge { element: "start".into(), ohms: 2000.0 },
        Edit::Leak { node: "s".into(), ohms: 100e3 },
    ]);
    let nodes = ["l", "a", "s", "v", "t", "p", "0"].map(NodeId::from);
    let mut questions = Vec::new();
    for mode in [Mode::AcVolts, Mode::LowImpedanceVolts, Mode::DcVolts, Mode::Ohms] {
        let survey = circuit.survey(mode, &nodes, &Meter::SERVICE, &Samples::new(0)).unwrap();
        let wired = if mode.wants_dead() { circuit.clone().unplugged() } else { circuit.clone() };
        let settled = wired.solve(mode.current()).unwrap();
        for ((a, b), shown) in &survey.shown {
            questions.push(Question {
                what: format!("{mode:?}, {} to {}", nodes[*a], nodes[*b]),
                ours: shown.nominal(),
                netlist: export(&wired, &settled, mode, &nodes[*a], &nodes[*b]),
            });
        }
    }
    let netlists: Vec<&str> = questions.iter().map(|question| question.netlist.as_str()).collect();
    match ask(&netlists) {
        Some(answers) => {
            println!("compared: {} readings of all kinds of parts", compare(&questions, &answers))
        }
        None => eprintln!("skipped: {} comparisons with ngspice, which is not installed", questions.len()),
    }
}

/// Two points of a circuit: by the places of the candidate inside it, its state, its fault and the points in the model.
struct Pair {
    candidate: usize,
    state: usize,
    fault: Option<usize>,
    points: (usize, usize),
}

fn every_pair(appliance: &Appliance) -> Vec<Pair> {
    let points = appliance.points.len();
    let faults = || std::iter::once(None).chain((0..appliance.faults.len()).map(Some));
    let mut pairs = Vec::new();
    let situations = (0..appliance.candidates.len())
        .flat_map(|candidate| (0..appliance.states.len()).map(move |state| (candidate, state)));
    for ((candidate, state), fault) in situations.flat_map(|s| faults().map(move |fault| (s, fault))) {
        for a in 0..points {
            pairs.extend((a + 1..points).map(|b| Pair { candidate, state, fault, points: (a, b) }));
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
        let circuit = appliance.circuit_in(self.candidate, state, fault);
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
            netlist: export(&circuit, &settled, mode, from, to),
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
