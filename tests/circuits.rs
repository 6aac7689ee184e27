//! The solver against worked examples, against physics and against another simulator.
#![allow(clippy::unwrap_used, clippy::disallowed_methods)]

mod command;
mod export;
mod ngspice;
mod published;
mod survey;

use leadhand::circuit::meter::Accuracy;
use leadhand::circuit::{
    Bimetal, Current, Edit, Follow, Kind, Law, Meter, Mode, Netlist, Shown, Solution, Spread,
};
use num_complex::Complex64;
use proptest::prelude::*;

fn solve(netlist: &Netlist, current: Current) -> Solution {
    netlist.solve(current).unwrap_or_else(|flaws| panic!("{flaws:?}"))
}

/// Alternating volts between two nodes, without a meter.
fn volts(netlist: &Netlist, from: &str, to: &str) -> f64 {
    let solution = solve(netlist, Current::Alternating);
    solution.volts_between(&from.into(), &to.into()).expect("both nodes are there").norm()
}

/// What a meter shows in a mode.
fn shown(netlist: &Netlist, mode: Mode, from: &str, to: &str, meter: &Meter) -> f64 {
    let shown = netlist.read(mode, &from.into(), &to.into(), meter);
    shown.unwrap_or_else(|flaws| panic!("{flaws:?}")).expect("both nodes are there").nominal()
}

/// What a meter shows in volts.
fn shown_volts(netlist: &Netlist, from: &str, to: &str, meter: &Meter) -> f64 {
    shown(netlist, Mode::AcVolts, from, to, meter)
}

/// What a meter shows in ohms.
fn shown_ohms(netlist: &Netlist, from: &str, to: &str) -> f64 {
    shown(netlist, Mode::Ohms, from, to, &Meter::SERVICE)
}

/// Equal to the digits printed: within half a step of the last of them.
fn matches(found: f64, printed: &str) -> bool {
    let expected: f64 = printed.parse().unwrap();
    let places = printed.split_once('.').map_or(0, |(_, fraction)| fraction.len());
    let half_step = 0.5 * 10_f64.powi(-i32::try_from(places).unwrap());
    (found - expected).abs() <= half_step * 1.001
}

fn check(what: &str, found: f64, printed: &str) {
    assert!(matches(found, printed), "{what}: found {found}, printed {printed}");
}

/// A meter that is nothing but a resistance.
fn bare(input_ohms: f64) -> Meter {
    Meter { input_ohms, input_farads: 0.0, ..Meter::SERVICE }
}

#[test]
fn an_unbalanced_bridge_drives_its_galvanometer() {
    // Kalsi, Electronic Instrumentation, example 11.2; exact as 3/69250 A.
    let bridge = Netlist::new("0", 60.0)
        .with_volts("E", "t", "0", 6.0, 0.0)
        .with_ohms("R1", "t", "a", 1000.0)
        .with_ohms("R3", "a", "0", 3500.0)
        .with_ohms("R2", "t", "b", 2500.0)
        .with_ohms("R4", "b", "0", 10_000.0)
        .with_ohms("G", "a", "b", 300.0);
    let solution = solve(&bridge, Current::Alternating);
    check("galvanometer in microamperes", solution.amps(&"G".into()).unwrap().norm() * 1e6, "43.32129964");
    check("a", volts(&bridge, "a", "0"), "4.700361011");
    check("b", volts(&bridge, "b", "0"), "4.713357401");

    // A second bridge with an open centre: 100 V, 80/120 and 480/160 ohms; by hand.
    let open = Netlist::new("0", 60.0)
        .with_volts("E", "t", "0", 100.0, 0.0)
        .with_ohms("R1", "t", "c", 80.0)
        .with_ohms("R2", "c", "0", 120.0)
        .with_ohms("R3", "t", "d", 480.0)
        .with_ohms("R4", "d", "0", 160.0);
    for (from, to, printed) in [("c", "0", "60"), ("d", "0", "25"), ("c", "d", "35")] {
        check("open bridge", volts(&open, from, to), printed);
    }
}

#[test]
fn a_meter_loads_what_it_measures() {
    // 12 V over 140 k and 100 k, meters of 20 kΩ/V and 200 kΩ/V on their 10 V range, and of 10 MΩ.
    let divider = Netlist::new("0", 60.0)
        .with_volts("V", "t", "0", 12.0, 0.0)
        .with_ohms("R1", "t", "m", 140e3)
        .with_ohms("R2", "m", "0", 100e3);
    check("true", volts(&divider, "m", "0"), "5.0");
    for (input, printed) in [(200e3, "3.870967742"), (2e6, "4.858299595"), (10e6, "4.971002486")] {
        check("loaded", shown_volts(&divider, "m", "0", &bare(input)), printed);
    }
    // Kuphaldt, Lessons in Electric Circuits, voltmeter impact: 24 V over two of 250 megohms.
    let high = Netlist::new("0", 60.0)
        .with_volts("V", "t", "0", 24.0, 0.0)
        .with_ohms("R1", "t", "m", 250e6)
        .with_ohms("R2", "m", "0", 250e6);
    check("true", volts(&high, "m", "0"), "12.0");
    check("loaded", shown_volts(&high, "m", "0", &bare(10e6)), "0.888888889");
}

#[test]
fn a_lost_neutral_puts_the_loads_in_series() {
    // A 100 W and a 200 W lamp on both legs of 120/240 V.
    let split = |neutral: f64| {
        Netlist::new("0", 60.0)
            .with_volts("L1", "l1", "0", 120.0, 0.0)
            .with_volts("L2", "0", "l2", 120.0, 0.0)
            .with_ohms("lamp-100", "l1", "n", 144.0)
            .with_ohms("lamp-200", "n", "l2", 72.0)
            .with_ohms("neutral", "n", "0", neutral)
    };
    let lost = split(1e12);
    check("on the 100 W lamp", volts(&lost, "l1", "n"), "160.000000");
    check("on the 200 W lamp", volts(&lost, "n", "l2"), "80.000000");
    check("neutral moves", volts(&lost, "n", "0"), "40.000000");
    let amps = solve(&lost, Current::Alternating).amps(&"lamp-100".into()).unwrap().norm();
    check("amperes", amps, "1.111111");
    check("neutral there", volts(&split(1e-3), "l1", "n"), "120.00");

    // 380 V between two phases, 55 and 110 ohms; the published page rounds the current to 2.3 A and so prints 126.5 and 253.
    let two = Netlist::new("0", 50.0)
        .with_volts("V", "r", "0", 380.0, 0.0)
        .with_ohms("R1", "r", "n", 55.0)
        .with_ohms("R2", "n", "0", 110.0);
    check("55 ohms", volts(&two, "r", "n"), "126.666667");
    check("110 ohms", volts(&two, "n", "0"), "253.333333");

    // Star of 10, 20 and 40 ohms on 230 V three-phase.
    let three = Netlist::new("0", 50.0)
        .with_volts("A", "a", "0", 230.0, 0.0)
        .with_volts("B", "b", "0", 230.0, -120.0)
        .with_volts("C", "c", "0", 230.0, 120.0)
        .with_ohms("Ra", "a", "n", 10.0)
        .with_ohms("Rb", "b", "n", 20.0)
        .with_ohms("Rc", "c", "n", 40.0);
    let star = solve(&three, Current::Alternating).volts(&"n".into()).unwrap();
    check("neutral", star.norm(), "86.931829");
    check("neutral's angle", star.arg().to_degrees(), "-19.1066");
    for (phase, printed) in [("a", "150.570344"), ("b", "260.795486"), ("c", "301.140689")] {
        check(phase, volts(&three, phase, "n"), printed);
    }
}

#[test]
fn a_winding_is_not_its_copper() {
    // JCGM 100:2008, H.2: 4.999 V over R + jX = 127.732 17 + j 219.846 51 ohms; 19.661 mA, 1.044 46 rad.
    let ac_ohms = Complex64::new(127.732_169_928_102_08, 219.846_511_912_638_48);
    let coil = Netlist::new("0", 60.0).with_volts("V", "a", "0", 4.999, 0.0).with(
        "Z",
        "a",
        "0",
        Kind::winding(127.732_17, ac_ohms),
    );
    let amps = solve(&coil, Current::Alternating).amps(&"Z".into()).unwrap();
    check("milliamperes", amps.norm() * 1e3, "19.661000");
    check("angle", amps.arg(), "-1.044460");
    check("ohmmeter", shown_ohms(&coil, "a", "0"), "127.73");
}

#[test]
fn a_wire_that_hangs_free_shows_a_ghost() {
    // 120 V 60 Hz, a capacitance to a free wire, a meter of 10 MΩ and 100 pF, and its low-impedance function.
    let wire = |farads: f64| {
        Netlist::new("0", 60.0).with_volts("V", "hot", "0", 120.0, 0.0).with(
            "C",
            "hot",
            "wire",
            Kind::Capacitor { farads },
        )
    };
    for (farads, mode, meter, printed) in [
        (500e-12, Mode::AcVolts, Meter::SERVICE, "91.460659"),
        (50e-12, Mode::AcVolts, Meter::SERVICE, "19.689396"),
        (500e-12, Mode::LowImpedanceVolts, Meter::SERVICE, "0.067858"),
        (353.7e-12, Mode::AcVolts, bare(10e6), "96.00"), // 80 % of the hard voltage
        (428.0e-12, Mode::AcVolts, bare(10e6), "102.00"), // 85 %
    ] {
        check("ghost", shown(&wire(farads), mode, "wire", "0", &meter), printed);
    }
}

#[test]
fn an_open_switch_shows_the_supply_only_if_the_rest_is_whole() {
    // A switch in the line, a 72 ohm heater beside an 8.8 kilohm motor, a 10 MΩ meter over the switch.
    let loop_with = |switch: f64, heater: f64, motor: f64| {
        Netlist::new("0", 60.0)
            .with_volts("V", "l", "0", 120.0, 0.0)
            .with_ohms("switch", "l", "a", switch)
            .with_ohms("heater", "a", "0", heater)
            .with_ohms("motor", "a", "0", motor)
    };
    let over_switch = |netlist: &Netlist| shown_volts(netlist, "l", "a", &bare(10e6));
    check("loads good", over_switch(&loop_with(1e12, 72.0, 8800.0)), "119.999143");
    check("heater open", over_switch(&loop_with(1e12, 1e12, 8800.0)), "119.894492");
    check("both open", over_switch(&loop_with(1e12, 1e12, 1e12)), "0.0024");
    let closed = loop_with(1e-3, 72.0, 8800.0);
    check("closed", over_switch(&closed), "0.001680");
    let amps = solve(&closed, Current::Alternating).amps(&"switch".into()).unwrap().norm();
    check("closed, amperes", amps, "1.680280");
}

#[test]
fn ohms_in_circuit_are_not_the_part_alone() {
    let parts = |heater: f64| {
        Netlist::new("0", 60.0).with_ohms("heater", "a", "0", heater).with_ohms("motor", "a", "0", 8800.0)
    };
    check("heater beside motor", shown_ohms(&parts(72.0), "a", "0"), "71.415690");
    check("heater open", shown_ohms(&parts(1e12), "a", "0"), "8800.0");
    let open = Netlist::new("0", 60.0).with_ohms("heater", "a", "0", 1e12);
    assert!(shown_ohms(&open, "a", "0").is_infinite(), "an open part reads overload");
}

#[test]
fn a_flaw_names_the_parts_and_never_a_matrix() {
    let whole =
        || Netlist::new("0", 60.0).with_volts("V", "a", "0", 120.0, 0.0).with_ohms("R", "a", "0", 72.0);
    let volts = |volts: f64| Kind::Source { volts: Complex64::from(volts), ohms: 0.0 };
    for (netlist, expected) in
        [
            (
                Netlist::new("0", 60.0).with_ohms("R", "a", "b", 1.0),
                "nothing is connected to the reference node `0`",
            ),
            (
                whole().with_ohms("far", "b", "c", 1.0),
                "node `b` hangs loose: only `far` there, and no way from it to the reference",
            ),
            (
                whole().with("W", "a", "0", volts(110.0)),
                "`V`, `W` form a loop of ideal sources; give one an internal resistance",
            ),
            (whole().with_ohms("both", "a", "a", 1.0), "both ends of `both` are on node `a`"),
            (whole().with_ohms("R", "a", "0", 1.0), "the name `R` is given to two elements"),
            (
                whole().with_ohms("S", "a", "0", 0.0),
                "`S` has an impossible value: ohms and farads are above zero",
            ),
            (whole().with_ohms("S", "a", "0", f64::NAN), "`S` has an impossible value"),
            (
                Netlist::new("0", 60.0)
                    .with("L", "a", "0", Kind::winding(1.0, Complex64::new(0.0, 1.0)))
                    .with("C", "a", "0", Kind::Capacitor { farads: 1.0 / (std::f64::consts::TAU * 60.0) }),
                "look for a resonance without resistance among `L`, `C`",
            ),
        ]
    {
        let flaws = netlist.solve(Current::Alternating).expect_err(expected);
        let told: Vec<String> = flaws.iter().map(ToString::to_string).collect();
        assert!(told.iter().any(|flaw| flaw.contains(expected)), "{told:?}");
        assert!(!told.iter().any(|flaw| flaw.contains("matrix")), "{told:?}");
    }
    assert!(whole().check().is_ok());
    // A supply shorted by contacts: told by name where a model is checked, solved where a fault makes it.
    let contact = |closed| Kind::Contact { ohms: 0.01, closed, follows: None };
    let supply = Kind::Source { volts: Complex64::from(120.0), ohms: 0.05 };
    let switched = |closed| {
        Netlist::new("0", 60.0)
            .with("V", "a", "0", supply.clone())
            .with_ohms("fuse", "a", "b", 0.01)
            .with("switch", "b", "0", contact(closed))
            .with_ohms("heater", "a", "0", 10.0)
    };
    let told = switched(true).check().expect_err("it is shorted")[0].to_string();
    assert_eq!(told, "`V` is shorted by `fuse`, `switch`");
    assert!(switched(false).check().is_ok());
    check(
        "amperes of the short",
        solve(&switched(true), Current::Alternating).amps(&"fuse".into()).unwrap().norm(),
        "1712",
    );
    // A third source that closes a ring is named with the ring, one beside it is not.
    let ring = Netlist::new("0", 60.0)
        .with("A", "a", "0", volts(1.0))
        .with("B", "b", "a", volts(1.0))
        .with("beside", "c", "0", volts(1.0))
        .with("C", "b", "0", volts(1.0));
    assert!(ring.check().unwrap_err()[0].to_string().starts_with("`A`, `B`, `C` form"));
}

#[test]
fn a_relay_follows_the_current_of_its_coil() {
    // Supply, coil behind a switch, lamp behind the coil's contact. By hand: 120 V / 1200 ohms = 0.1 A.
    let relay = |switch_ohms: f64, opens: bool| {
        let follows = Some(Follow { driver: "coil".into(), amps: 0.05, opens });
        Netlist::new("0", 60.0)
            .with_volts("V", "a", "0", 120.0, 0.0)
            .with_ohms("switch", "a", "b", switch_ohms)
            .with_ohms("coil", "b", "0", 1200.0)
            .with("contact", "a", "c", Kind::Contact { ohms: 0.01, closed: true, follows })
            .with_ohms("lamp", "c", "0", 240.0)
    };
    for (switch, opens, lit) in
        [(0.01, false, true), (1e12, false, false), (0.01, true, false), (1e12, true, true)]
    {
        let solution = solve(&relay(switch, opens), Current::Alternating);
        assert_eq!(solution.is_closed(&"contact".into()), lit);
        let lamp = solution.amps(&"lamp".into()).unwrap().norm();
        check("lamp", lamp, if lit { "0.500" } else { "0.000" });
    }
    // A contact that holds its own coil, beside a start switch: nothing runs unless it was started, as a dryer's motor.
    let holding = |start_ohms: f64| {
        let follows = Some(Follow { driver: "motor".into(), amps: 0.05, opens: false });
        Netlist::new("0", 60.0)
            .with_volts("V", "a", "0", 120.0, 0.0)
            .with_ohms("start", "a", "b", start_ohms)
            .with("hold", "a", "b", Kind::Contact { ohms: 0.01, closed: true, follows })
            .with_ohms("motor", "b", "0", 1200.0)
    };
    for (start_ohms, runs) in [(0.01, true), (1e12, false)] {
        let solution = solve(&holding(start_ohms), Current::Alternating);
        assert_eq!(solution.is_closed(&"hold".into()), runs, "started over {start_ohms} ohms");
    }
    // A contact in series with its own coil, opening by it, never settles; it is left after a bounded number of rounds.
    let follows = Some(Follow { driver: "coil".into(), amps: 0.05, opens: true });
    let buzzer = Netlist::new("0", 60.0)
        .with_volts("V", "a", "0", 120.0, 0.0)
        .with("contact", "a", "b", Kind::Contact { ohms: 0.01, closed: true, follows })
        .with_ohms("coil", "b", "0", 1200.0);
    assert!(buzzer.solve(Current::Alternating).is_ok());
}

#[test]
fn parts_feel_their_temperature() {
    let parts = Netlist::new("0", 60.0)
        .with("motor", "a", "0", Kind::winding(10.0, Complex64::new(30.0, 40.0)))
        .with("sensor", "b", "0", Kind::Sensor { law: Law::Platinum { ohms: 100.0 }, celsius: 0.0 })
        .with(
            "limit",
            "c",
            "0",
            Kind::Thermostat { ohms: 0.5, bimetal: Bimetal { opens: 100.0, closes: 80.0 }, closed: true },
        );
    let warm = |element: &str, celsius| Edit::Warm { element: element.into(), celsius };
    let hot = parts.clone().edited(&[warm("motor", 75.0), warm("sensor", 100.0), warm("limit", 90.0)]);
    for (circuit, point, printed) in [
        (&parts, "a", "10.00"),
        (&hot, "a", "12.16"), // R75/R20 of copper is 1.216110 (winding rule, K = 234.5)
        (&parts, "b", "100.00"),
        (&hot, "b", "138.51"), // IEC 60751
        (&parts, "c", "0.5"),
        (&hot, "c", "0.5"), // between its temperatures it stays closed
    ] {
        check(point, shown_ohms(circuit, point, "0"), printed);
    }
    assert!(shown_ohms(&hot.clone().edited(&[warm("limit", 101.0)]), "c", "0").is_infinite());
    // The copper's growth is in the impedance too: 30 + 2.1611 and 40 ohms.
    let driven = |circuit: &Netlist| circuit.clone().with_volts("V", "a", "0", 120.0, 0.0);
    for (circuit, printed) in [(&parts, "2.4000"), (&hot, "2.3380")] {
        let amps = solve(&driven(circuit), Current::Alternating).amps(&"motor".into()).unwrap();
        check("amperes", amps.norm(), printed);
    }
}

#[test]
fn direct_current_meets_diodes_and_boards() {
    // A board's 5 V over 10 kilohms onto a thermistor of 10 kilohms; a diode behind 1 kilohm, either way round.
    let board = Netlist::new("0", 60.0)
        .with("board", "v", "0", Kind::DirectSource { volts: 5.0, ohms: 0.0 })
        .with_ohms("pull-up", "v", "t", 10e3)
        .with_ohms("thermistor", "t", "0", 10e3)
        .with_ohms("R", "v", "d", 1e3);
    let diode = Kind::Diode { volts: 0.6, ohms: 100.0 };
    let volts =
        |netlist: &Netlist, node: &str, current| solve(netlist, current).volts(&node.into()).unwrap().norm();
    let forward = board.clone().with("D", "d", "0", diode.clone());
    let backward = board.clone().with("D", "0", "d", diode);
    check("divider", volts(&board.clone().with_ohms("x", "d", "0", 1e6), "t", Current::Direct), "2.500");
    // By hand: 4.4 V over 1100 ohms are 4 mA; 0.6 V and 0.4 V are on the diode.
    check("forward", volts(&forward, "d", Current::Direct), "1.000");
    check("backward", volts(&backward, "d", Current::Direct), "5.000");
    // To alternating current a direct supply is nothing but its resistance; a diode in it is refused.
    let both = backward.with_volts("mains", "l", "0", 120.0, 0.0).with_ohms("leak", "l", "t", 1e6);
    let flaws = both.solve(Current::Alternating).expect_err("a diode makes no sine");
    assert!(flaws[0].to_string().contains("`D`"), "{flaws:?}");
    check("mains leak nothing of their direct current", volts(&both, "t", Current::Direct), "2.49");
}

#[test]
fn faults_leak_past_parts_and_capacitors_fade() {
    let capacitor = Netlist::new("0", 60.0)
        .with_volts("V", "a", "0", 120.0, 0.0)
        .with("C", "a", "b", Kind::Capacitor { farads: 10e-6 })
        .with_ohms("R", "b", "0", 1.0);
    let amps = |edits: &[Edit]| {
        let circuit = capacitor.clone().edited(edits);
        solve(&circuit, Current::Alternating).amps(&"R".into()).unwrap().norm()
    };
    check("whole", amps(&[]), "0.4524"); // 120 V · 2π · 60 Hz · 10 µF
    check("faded", amps(&[Edit::Fade { element: "C".into(), farads: 5e-6 }]), "0.2262");
    let leaks = [Edit::Bridge { element: "C".into(), ohms: 1200.0 }];
    let leaky = capacitor.clone().edited(&leaks).edited(&[Edit::Open("V".into())]);
    check("leak past it", shown_ohms(&leaky, "a", "b"), "1200");
}

/// A circuit with a spread on every element.
fn spread_all(mut netlist: Netlist, percent: f64) -> Netlist {
    for element in &mut netlist.elements {
        element.spread = Spread::percent(percent);
    }
    netlist
}

#[test]
fn the_band_is_what_sampling_finds() {
    // 4000 samples of all parts, each log-normal with its 95 % interval; the middle 95 % of what is then read.
    let exact =
        Meter { volts_accuracy: Accuracy { percent: 0.0, counts: 0.0 }, pickup_volts: 0.0, ..Meter::SERVICE };
    let divider = Netlist::new("0", 60.0)
        .with_volts("V", "t", "0", 120.0, 0.0)
        .with_ohms("R1", "t", "m", 140e3)
        .with_ohms("R2", "m", "0", 100e3);
    let ghost = Netlist::new("0", 60.0)
        .with_volts("V", "hot", "0", 120.0, 0.0)
        .with("C", "hot", "m", Kind::Capacitor { farads: 50e-12 })
        .with_ohms("leak", "m", "0", 50e6);
    for (netlist, percent) in [(divider, 10.0), (ghost, 30.0)] {
        let netlist = spread_all(netlist, percent);
        let solution = solve(&netlist, Current::Alternating);
        let Some(Shown::Value(band)) = solution.probe(Mode::AcVolts, &"m".into(), &"0".into(), &exact) else {
            panic!()
        };
        let mut normal = Normal(20_261_125);
        let mut read: Vec<f64> = (0..4000)
            .map(|_| {
                let mut sample = netlist.clone();
                for element in &mut sample.elements {
                    scale(&mut element.kind, (normal.next() * element.spread.up / 1.96).exp());
                }
                shown_volts(&sample, "m", "0", &exact)
            })
            .collect();
        read.sort_by(f64::total_cmp);
        for (ours, sampled) in [(band.low, read[100]), (band.high, read[3899])] {
            assert!((ours / sampled).ln().abs() < 0.03, "{ours} against {sampled}");
        }
    }
}

fn scale(kind: &mut Kind, factor: f64) {
    match kind {
        Kind::Resistance { ohms } | Kind::Contact { ohms, .. } | Kind::Thermostat { ohms, .. } => {
            *ohms *= factor;
        }
        Kind::Winding { dc_ohms, ac_ohms, .. } => {
            *dc_ohms *= factor;
            *ac_ohms *= factor;
        }
        Kind::Capacitor { farads } => *farads *= factor,
        Kind::Source { volts, .. } => *volts *= factor,
        Kind::DirectSource { volts, .. } => *volts *= factor,
        Kind::Sensor { law, celsius } => *kind = Kind::Resistance { ohms: law.ohms(*celsius) * factor },
        Kind::Diode { .. } | Kind::Open => {}
    }
}

/// Standard normal numbers from a seed: SplitMix64 (Steele, Lea and Flood 2014) and Box and Muller's transform.
struct Normal(u64);

impl Normal {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn next(&mut self) -> f64 {
        let (a, b) = (1.0 - self.uniform(), self.uniform());
        (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
}

/// A connected circuit of two sources and any elements, on nodes `n0` (the reference) to `n5`.
fn any_circuit() -> impl Strategy<Value = Netlist> {
    let ohms = (-1.0..6.0_f64).prop_map(|decades| 10_f64.powf(decades));
    let kind = (0..3_u8, ohms, 0.2..1.3_f64).prop_map(|(sort, ohms, angle)| match sort {
        0 => Kind::Resistance { ohms },
        1 => Kind::winding(ohms, Complex64::from_polar(2.0 * ohms, angle)),
        _ => Kind::Capacitor { farads: 1e-3 / ohms },
    });
    let branches = proptest::collection::vec((0..6_usize, 1..6_usize, kind), 4..14);
    (branches, 0.1..10.0_f64, 0.1..10.0_f64).prop_map(|(branches, first, second)| {
        let name = |n: usize| format!("n{n}");
        let mut netlist = Netlist::new("n0", 60.0);
        // A chain of resistances ties every node to the reference.
        for n in 1..6 {
            netlist = netlist.with_ohms(&format!("chain{n}"), &name(n - 1), &name(n), 100.0 * n as f64);
        }
        for (nth, (at, step, kind)) in branches.into_iter().enumerate() {
            netlist = netlist.with(&format!("e{nth}"), &name(at), &name((at + step) % 6), kind);
        }
        let source = |volts: f64, ohms: f64| Kind::Source { volts: Complex64::from(volts), ohms };
        netlist.with("first", "n1", "n4", source(120.0, first)).with(
            "second",
            "n5",
            "n2",
            source(230.0, second),
        )
    })
}

/// The same circuit with other source voltages.
fn driven(netlist: &Netlist, first: f64, second: f64) -> Netlist {
    let mut netlist = netlist.clone();
    for element in &mut netlist.elements {
        if let Kind::Source { volts, .. } = &mut element.kind {
            *volts = Complex64::from(if element.id.as_str() == "first" { first } else { second });
        }
    }
    netlist
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn currents_sum_to_zero_at_every_node(netlist in any_circuit()) {
        let solution = solve(&netlist, Current::Alternating);
        for node in netlist.nodes() {
            let (mut sum, mut most) = (Complex64::ZERO, 1e-9);
            for element in &netlist.elements {
                let amps = solution.amps(&element.id).unwrap();
                if element.from == *node { sum += amps; }
                if element.to == *node { sum -= amps; }
                most = amps.norm().max(most);
            }
            prop_assert!(sum.norm() < 1e-9 * most, "{sum} at {node}");
        }
    }

    #[test]
    fn what_a_source_here_drives_there_it_drives_from_there_to_here(netlist in any_circuit()) {
        let amps = |first, second, through: &str| {
            solve(&driven(&netlist, first, second), Current::Alternating).amps(&through.into()).unwrap()
        };
        let (there, here) = (amps(1.0, 0.0, "second"), amps(0.0, 1.0, "first"));
        prop_assert!((there - here).norm() < 1e-9 * there.norm().max(1e-6), "{there} {here}");
    }

    #[test]
    fn two_sources_do_what_each_does_alone(netlist in any_circuit()) {
        let volts = |first, second| {
            let solution = solve(&driven(&netlist, first, second), Current::Alternating);
            solution.volts(&"n3".into()).unwrap()
        };
        let (both, one, other) = (volts(120.0, 230.0), volts(120.0, 0.0), volts(0.0, 230.0));
        prop_assert!((both - one - other).norm() < 1e-9 * (one.norm() + other.norm()).max(1e-6));
    }

    #[test]
    fn a_parallel_path_never_raises_resistance(
        netlist in any_circuit(), from in 0..6_usize, step in 1..6_usize, ohms in 0.1..1e6_f64,
    ) {
        let more = netlist.clone().with_ohms("more", &format!("n{from}"), &format!("n{}", (from + step) % 6), ohms);
        for (a, b) in [("n0", "n3"), ("n1", "n5"), ("n2", "n4")] {
            prop_assert!(shown_ohms(&more, a, b) <= shown_ohms(&netlist, a, b) * (1.0 + 1e-9));
        }
    }

    #[test]
    fn swapping_the_leads_changes_nothing(netlist in any_circuit()) {
        let volts = |a, b| shown_volts(&netlist, a, b, &Meter::SERVICE);
        prop_assert!((volts("n1", "n3") - volts("n3", "n1")).abs() < 1e-9 * volts("n1", "n3").max(1e-6));
        let (there, back) = (shown_ohms(&netlist, "n1", "n3"), shown_ohms(&netlist, "n3", "n1"));
        prop_assert!((there - back).abs() < 1e-9 * there);
    }
}
