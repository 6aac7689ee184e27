//! Every pair of points at once, against one pair at a time; sampled bands against thousands of samples and against the
//! adjoint circuit; modes of the meter.

use leadhand::circuit::{Edit, Kind, Meter, Mode, Netlist, Samples, Shown, Spread};
use leadhand::id::NodeId;
use leadhand::model;
use num_complex::Complex64;

use super::{check, shown, spread_all};

fn band(shown: &Shown) -> (f64, f64, f64) {
    match shown {
        Shown::Value(band) => (band.low, band.nominal, band.high),
        Shown::Overload => (f64::INFINITY, f64::INFINITY, f64::INFINITY),
    }
}

#[test]
fn one_factorisation_shows_what_each_pair_alone_shows() {
    let mut compared = 0;
    for (name, _) in model::shipped() {
        let appliance = model::by_name(name).unwrap();
        let nodes: Vec<NodeId> =
            appliance.points.iter().map(|p| appliance.node(&p.id).unwrap().clone()).collect();
        for state in &appliance.states {
            let modes: &[Mode] = if state.energised {
                &[Mode::AcVolts, Mode::LowImpedanceVolts]
            } else {
                &[Mode::Ohms, Mode::Farads]
            };
            let circuit = appliance.circuit(state, None);
            for mode in modes {
                let survey = circuit.survey(*mode, &nodes, &Meter::SERVICE, &Samples::new(0)).unwrap();
                let solution = circuit.solve(mode.current()).unwrap();
                for ((a, b), all) in &survey.shown {
                    let one = solution.probe(*mode, &nodes[*a], &nodes[*b], &Meter::SERVICE).unwrap();
                    let (all, one) = (all.nominal(), one.nominal());
                    let same = all == one || (all - one).abs() < 1e-6 * one.abs() + 1e-6;
                    assert!(same, "{name}, {}, {} to {}: {all}, {one}", state.id, nodes[*a], nodes[*b]);
                    compared += 1;
                }
            }
        }
    }
    println!("compared: {compared} pairs of one factorisation with themselves alone");
}

#[test]
fn every_fault_of_a_circuit_moves_some_reading() {
    // Faults that only eyes and ears find have no circuit of their own.
    let (mut moving, mut elsewhere, mut still) = (0, 0, 0);
    for (name, _) in model::shipped() {
        let appliance = model::by_name(name).unwrap();
        let nodes: Vec<NodeId> =
            appliance.points.iter().map(|p| appliance.node(&p.id).unwrap().clone()).collect();
        for fault in &appliance.faults {
            let pair = |state| (appliance.circuit(state, None), appliance.circuit(state, Some(&fault.id)));
            if appliance.states.iter().map(pair).all(|(good, bad)| good == bad) {
                still += 1;
                continue;
            }
            let moved = appliance.states.iter().any(|state| {
                let mode = if state.energised { Mode::AcVolts } else { Mode::Ohms };
                let (good, bad) = pair(state);
                let read = |circuit: &Netlist| {
                    circuit.survey(mode, &nodes, &Meter::SERVICE, &Samples::new(0)).unwrap().shown
                };
                let differs = |((_, a), (_, b)): (&(_, Shown), &(_, Shown))| {
                    let (a, b) = (a.nominal(), b.nominal());
                    // An overload is infinite, and no distance from it is more than a hundredth of it.
                    a.is_infinite() != b.is_infinite()
                        || a.is_finite() && (a - b).abs() > 0.01 * a.abs() + 0.1
                };
                read(&good).iter().zip(&read(&bad)).any(differs)
            });
            // A thermostat that never opens reads as it should wherever it is closed: a thermometer sees it.
            let checks = appliance.checks.iter();
            let seen = || checks.clone().any(|check| appliance.tells_apart(check, Some(&fault.id), None));
            assert!(moved || seen(), "{name}: nothing sees `{}`", fault.id);
            moving += usize::from(moved);
            elsewhere += usize::from(!moved);
        }
    }
    println!(
        "compared: {moving} faults move some reading, {elsewhere} another instrument's, {still} have no circuit of their own"
    );
}

#[test]
fn sampled_and_adjoint_bands_agree_where_little_varies() {
    let netlist = spread_all(
        Netlist::new("0", 60.0)
            .with_volts("V", "t", "0", 120.0, 0.0)
            .with_ohms("R1", "t", "m", 140e3)
            .with_ohms("R2", "m", "0", 100e3)
            .with("Z", "m", "0", Kind::winding(50e3, Complex64::new(60e3, 200e3))),
        5.0,
    );
    let nodes = ["t", "m", "0"].map(NodeId::from);
    for mode in [Mode::AcVolts, Mode::Ohms] {
        let survey = netlist.survey(mode, &nodes, &Meter::SERVICE, &Samples::default()).unwrap();
        for ((a, b), sampled) in &survey.shown {
            let adjoint = netlist.read(mode, &nodes[*a], &nodes[*b], &Meter::SERVICE).unwrap().unwrap();
            let ((low, _, high), (other_low, _, other_high)) = (band(sampled), band(&adjoint));
            let wide = other_high - other_low;
            assert!((low - other_low).abs() < 0.06 * wide, "{mode:?} {a} {b}: {low}, {other_low}");
            assert!((high - other_high).abs() < 0.06 * wide, "{mode:?} {a} {b}: {high}, {other_high}");
        }
    }
}

#[test]
fn sixty_four_samples_tell_what_thousands_tell() {
    // A leak known to a factor of three and a stray capacitance to half or double: far from anything linear.
    let mut netlist = Netlist::new("0", 60.0)
        .with_volts("V", "hot", "0", 120.0, 0.0)
        .with("C", "hot", "m", Kind::Capacitor { farads: 100e-12 })
        .with_ohms("leak", "m", "0", 20e6);
    for (element, percent) in [("C", 100.0), ("leak", 200.0)] {
        let place = netlist.elements.iter().position(|e| e.id.as_str() == element).unwrap();
        netlist.elements[place].spread = Spread::percent(percent);
    }
    let nodes = ["m", "0"].map(NodeId::from);
    let sampled = |count| {
        let survey = netlist.survey(Mode::AcVolts, &nodes, &Meter::SERVICE, &Samples::new(count)).unwrap();
        band(&survey.shown[0].1)
    };
    let ((low, _, high), (true_low, _, true_high)) = (sampled(64), sampled(5000));
    assert!((low / true_low - 1.0).abs() < 0.06, "{low}, {true_low}");
    assert!((high / true_high - 1.0).abs() < 0.06, "{high}, {true_high}");
    // The same seed, the same band.
    assert_eq!(sampled(64), sampled(64));
}

#[test]
fn one_cause_moves_several_parts_together() {
    // Two legs of one transformer: their difference from leg to leg is certain, if they move together.
    let legs = |together| {
        let mut netlist = Netlist::new("0", 60.0)
            .with_volts("L1", "l1", "0", 120.0, 0.0)
            .with_volts("L2", "l2", "0", 120.0, 0.0)
            .with_ohms("load-1", "l1", "m", 100.0)
            .with_ohms("load-2", "m", "0", 100.0);
        for element in &mut netlist.elements[..2] {
            element.spread = Spread { together, ..Spread::percent(5.0) };
        }
        let exact = Meter { pickup_volts: 0.0, ..Meter::SERVICE };
        let nodes = ["m", "l2"].map(NodeId::from);
        let survey = netlist.survey(Mode::AcVolts, &nodes, &exact, &Samples::default()).unwrap();
        let (low, nominal, high) = band(&survey.shown[0].1);
        (high - low) / nominal
    };
    // By hand: 60 V of 60 V vary by 5 % together; apart by 60 ± √(3² + 6²) V, 11 % either way.
    let (one, two) = (legs(Some(0)), legs(None));
    assert!(one < 0.12 && two > 0.2, "together {one}, apart {two}");
}

#[test]
fn a_meter_does_what_its_dial_says() {
    let circuit = Netlist::new("0", 60.0)
        .with("board", "v", "0", Kind::DirectSource { volts: 5.0, ohms: 0.0 })
        .with_ohms("pull-up", "v", "t", 1e6)
        .with_ohms("joint", "j", "0", 0.3)
        .with_ohms("heater", "h", "0", 22.0)
        .with("capacitor", "c", "0", Kind::Capacitor { farads: 15e-6 })
        .with("leaky", "k", "0", Kind::Capacitor { farads: 15e-6 })
        .with_ohms("leak", "k", "0", 50.0)
        .with("diode", "d", "0", Kind::Diode { volts: 0.6, ohms: 10.0 });
    let meter = Meter::SERVICE;
    let read = |mode, from: &str, to: &str| shown(&circuit, mode, from, to, &meter);
    check("a 10 MΩ input on 1 MΩ", read(Mode::DcVolts, "t", "0"), "4.545");
    check("capacitor in microfarads", read(Mode::Farads, "c", "0") * 1e6, "15.000");
    // 15 µF are 177 ohms at 60 Hz: beside 50 ohms no meter finds a number.
    assert!(read(Mode::Farads, "k", "0").is_infinite());
    assert!(meter.beeps(read(Mode::Continuity, "j", "0")) && !meter.beeps(read(Mode::Continuity, "h", "0")));
    // Red on the anode: the meter's 3 V over its 6 kilohms and the diode; the other way round nothing.
    check("diode, forward", read(Mode::Ohms, "d", "0"), "1512.5");
    assert!(read(Mode::Ohms, "0", "d").is_infinite());
    // What stands on the display, in its range and with its unit.
    for (mode, value, display) in [
        (Mode::Ohms, 71.42, "71.4 Ω"),
        (Mode::Ohms, 8800.0, "8.80 kΩ"),
        (Mode::Ohms, 2.2e6, "2.200 MΩ"),
        (Mode::Ohms, 50e6, "OL"),
        (Mode::AcVolts, 0.02, "0.020 V"),
        (Mode::AcVolts, 119.96, "120.0 V"),
        (Mode::DcVolts, 4.545, "4.545 V"),
        (Mode::Farads, 15e-6, "15.00 µF"),
    ] {
        assert_eq!(meter.display(mode, value), display);
    }
    // Leads read together and subtracted widen no band any more.
    let width =
        |meter: &Meter| band(&circuit.read(Mode::Ohms, &"j".into(), &"0".into(), meter).unwrap().unwrap());
    assert!(width(&meter).2 - width(&meter.zeroed()).2 > 0.39);
}

#[test]
fn a_clamp_reads_the_current_and_how_sure_it_is() {
    // 240 V over 20 ohms of 10 %, and 1 ohm exact: 11.43 A; a per cent of the heater moves 20/21 of a per cent.
    let mut circuit = Netlist::new("0", 60.0)
        .with_volts("V", "a", "0", 240.0, 0.0)
        .with_ohms("heater", "a", "b", 20.0)
        .with_ohms("cord", "b", "0", 1.0);
    circuit.elements[1].spread = Spread::percent(10.0);
    let solution = circuit.solve(Mode::AcVolts.current()).unwrap();
    for id in ["V", "heater", "cord"] {
        let Some(Shown::Value(band)) = solution.clamp(&id.into(), &Meter::SERVICE) else { panic!("{id}") };
        check("amperes", band.nominal, "11.43");
        check("influence of the heater", band.influence[&"heater".into()], "-0.952");
        check("influence of the supply", band.influence[&"V".into()], "1.000");
        assert!(band.low < 10.6 && band.high > 12.3, "{} to {}", band.low, band.high);
    }
    assert!(solution.clamp(&"nothing".into(), &Meter::SERVICE).is_none());
    // A dishwasher's heater is seen by its current (maker's sheet: about 11 A with heat, 1.5 to 2 A without).
    let open = circuit.edited(&[Edit::Open("heater".into())]).solve(Mode::AcVolts.current()).unwrap();
    let Some(Shown::Value(band)) = open.clamp(&"V".into(), &Meter::SERVICE) else { panic!() };
    check("without the heater", band.nominal, "0.00");
}
