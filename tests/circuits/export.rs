//! Circuits as ngspice reads them, and ngspice's answers; for tests and benches only.
//!
//! Its traps, each met here: `M` is milli, so numbers are written out; a resistance of zero becomes a milliohm, so none is
//! written; a warning about a singular matrix still ends with exit status zero, so the output is read for it; without
//! `quit` a batch run fails; the first line is a title.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::process::Command;

use leadhand::circuit::{Current, Kind, Law, Meter, Mode, Netlist, OPEN_OHMS, Solution};
use leadhand::id::NodeId;

/// A netlist as ngspice reads it, with the meter on two nodes and what it shows at node `shown`.
pub fn export(circuit: &Netlist, settled: &Solution, mode: Mode, from: &NodeId, to: &NodeId) -> String {
    let current = mode.current();
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
    let input = match mode {
        Mode::LowImpedanceVolts => meter.low_input_ohms,
        _ => meter.input_ohms,
    };
    match mode {
        Mode::AcVolts | Mode::LowImpedanceVolts => {
            writeln!(text, "Rmeter {a} {b} {input:e}\nCmeter {a} {b} {:e}", meter.input_farads)
        }
        Mode::DcVolts => writeln!(text, "Rmeter {a} {b} {input:e}"),
        // One ampere out of `from`'s side of the source, through the circuit, back at `to`: volts are ohms.
        Mode::Ohms | Mode::Continuity | Mode::Farads => writeln!(text, "Imeter {b} {a} DC 0 AC 1 0"),
    }
    .unwrap();
    let hertz = circuit.hertz;
    writeln!(text, "Eshown shown 0 {a} {b} 1\nRshown shown 0 1\n.ac lin 1 {hertz} {hertz}\n.end").unwrap();
    text
}

/// The answers, in their order; `None` if there is no ngspice.
pub fn ask(netlists: &[&str]) -> Option<Vec<f64>> {
    let folder = tempfile::tempdir().unwrap();
    let mut run = String::from("* run\n.control\nset numdgt=12\n");
    for (nth, netlist) in netlists.iter().enumerate() {
        let file = folder.path().join(format!("{nth}.cir"));
        std::fs::write(&file, netlist).unwrap();
        writeln!(run, "source {}\nrun\nprint vm(shown)\nremcirc\ndestroy all", file.display()).unwrap();
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
