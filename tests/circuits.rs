//! The solver against worked examples, against physics and against another simulator.
#![allow(clippy::unwrap_used, clippy::disallowed_methods)]

use leadhand::circuit::{Current, Kind, Meter, Netlist, Shown, Solution};
use num_complex::Complex64;

fn solve(netlist: &Netlist, current: Current) -> Solution {
    netlist.solve(current).unwrap_or_else(|flaws| panic!("{flaws:?}"))
}

/// Alternating volts between two nodes, without a meter.
fn volts(netlist: &Netlist, from: &str, to: &str) -> f64 {
    let solution = solve(netlist, Current::Alternating);
    solution.volts_between(&from.into(), &to.into()).expect("both nodes are there").norm()
}

/// What a meter shows in volts.
fn shown_volts(netlist: &Netlist, from: &str, to: &str, meter: &Meter) -> f64 {
    let solution = solve(netlist, Current::Alternating);
    number(solution.probe_volts(&from.into(), &to.into(), meter).expect("both nodes are there"))
}

/// What a meter shows in ohms.
fn shown_ohms(netlist: &Netlist, from: &str, to: &str) -> f64 {
    let solution = solve(&netlist.clone().unplugged(), Current::Direct);
    number(
        solution.probe_ohms(&from.into(), &to.into(), &Meter::SERVICE, None).expect("both nodes are there"),
    )
}

fn number(shown: Shown) -> f64 {
    match shown {
        Shown::Value(band) => band.nominal,
        Shown::Overload => f64::INFINITY,
    }
}

/// Equal to the digits printed: within half a step of the last of them.
fn check(what: &str, found: f64, printed: &str) {
    let expected: f64 = printed.parse().unwrap();
    let places = printed.split_once('.').map_or(0, |(_, fraction)| fraction.len());
    let half_step = 0.5 * 10_f64.powi(-i32::try_from(places).unwrap());
    assert!((found - expected).abs() <= half_step * 1.001, "{what}: found {found}, printed {printed}");
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
        Kind::Winding { dc_ohms: 127.732_17, ac_ohms },
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
    let low = Meter { input_ohms: 3e3, ..Meter::SERVICE };
    for (farads, meter, printed) in [
        (500e-12, Meter::SERVICE, "91.460659"),
        (50e-12, Meter::SERVICE, "19.689396"),
        (500e-12, low, "0.067858"),
        (353.7e-12, bare(10e6), "96.00"),  // 80 % of the hard voltage
        (428.0e-12, bare(10e6), "102.00"), // 85 %
    ] {
        check("ghost", shown_volts(&wire(farads), "wire", "0", &meter), printed);
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
