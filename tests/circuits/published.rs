//! Laws of parts against printed tables and worked examples, and against published values that are wrong.

use std::path::Path;

use leadhand::circuit::meter::Accuracy;
use leadhand::circuit::{Law, Wire, thermocouple};

use super::{check, matches};

const PT100: Law = Law::Platinum { ohms: 100.0 };

/// BetaTHERM 10K3MCD1 (manual of a temperature probe that uses it, §8.2).
const TEN_KILOHMS: Law = Law::SteinhartHart { a: 1.129_241e-3, b: 2.341_077e-4, c: 8.775_468e-8 };

#[test]
fn platinum_is_as_iec_60751_prints_it() {
    // Table points of IEC 60751 as printed by three makers; four places from the equation by a reference library.
    for (celsius, printed, computed) in [
        (-200.0, "18.52", "18.5201"),
        (-100.0, "60.26", "60.2558"),
        (-50.0, "80.31", "80.3063"),
        (-40.0, "84.27", "84.2707"),
        (-20.0, "92.16", "92.1599"),
        (0.0, "100.00", "100.0000"),
        (10.0, "103.90", "103.9025"),
        (50.0, "119.40", "119.3971"),
        (100.0, "138.51", "138.5055"),
        (150.0, "157.33", "157.3251"),
        (200.0, "175.86", "175.8560"),
        (300.0, "212.05", "212.0515"),
        (400.0, "247.09", "247.0920"),
        (500.0, "280.98", "280.9775"),
        (600.0, "313.71", "313.7080"),
        (850.0, "390.48", "390.4811"),
    ] {
        check("Pt100", PT100.ohms(celsius), printed);
        check("Pt100", PT100.ohms(celsius), computed);
        check("Pt100, back", PT100.celsius(PT100.ohms(celsius)), &format!("{celsius:.6}"));
    }
}

#[test]
fn a_ten_kilohm_thermistor_is_as_its_table() {
    // The manual's R-T table, and the temperatures that it prints beside its coefficients.
    for (ohms, printed) in
        [("336103.2", "-40.00"), ("97006.9", "-20.00"), ("32650.9", "0.00"), ("10000", "25.00")]
    {
        let ohms: f64 = ohms.parse().unwrap();
        // The manual itself is 0.0024 °C off at -40 °C and prints -40.00.
        check("temperature of the table's ohms", TEN_KILOHMS.celsius(ohms), printed);
    }
    for (celsius, table) in [
        (-40.0, 336_103.2),
        (-30.0, 176_804.8),
        (-25.0, 130_307.6),
        (-20.0, 97_006.9),
        (-10.0, 55_303.9),
        (0.0, 32_650.9),
        (1.0, 31_030.8),
    ] {
        let ohms = TEN_KILOHMS.ohms(celsius);
        assert!((ohms / table - 1.0).abs() < 2e-4, "{celsius} °C: {ohms}, table {table}");
    }
    // By another program from the same coefficients.
    for (celsius, computed) in
        [(10.0, "19902.90"), (25.0, "9999.99"), (40.0, "5325.04"), (60.0, "2487.14"), (100.0, "678.42")]
    {
        check("ohms", TEN_KILOHMS.ohms(celsius), computed);
        check("back", TEN_KILOHMS.celsius(TEN_KILOHMS.ohms(celsius)), &format!("{celsius:.9}"));
    }
    // Beta laws: by another program. Four per cent off a four-term law of the same maker's part at 0 °C (32 541 ohms).
    let beta = |beta| Law::Beta { ohms: 10_000.0, celsius: 25.0, beta };
    for (kelvins, celsius, computed) in [
        (3977.0, 0.0, "33900.42"),
        (3977.0, 50.0, "3563.13"),
        (3977.0, 85.0, "1070.31"),
        (3977.0, 100.0, "684.94"),
        (3435.0, 0.0, "28704.29"),
        (3435.0, 50.0, "4101.19"),
        (3435.0, 100.0, "987.04"),
    ] {
        check("Beta", beta(kelvins).ohms(celsius), computed);
        check("Beta, back", beta(kelvins).celsius(beta(kelvins).ohms(celsius)), &format!("{celsius:.9}"));
    }
    let off = beta(3977.0).ohms(0.0) / 32_541.0 - 1.0;
    check("Beta off at 0 °C, in per cent", off * 100.0, "4.2");
}

#[test]
fn copper_grows_as_the_winding_rule_says() {
    // T = (R/r)(234.5 + t) - 234.5 (temperature test of UL standards); 12.31 ohms from 10.00 at 25 °C.
    let winding = Law::Copper { ohms: 10.00, celsius: 25.0 };
    check("hot winding", winding.celsius(12.31), "84.9445");
    check("and back", winding.ohms(84.9445), "12.3100");
    let at_20 = Law::Copper { ohms: 1.0, celsius: 20.0 };
    for (celsius, ratio) in
        [(0.0, "0.921415"), (25.0, "1.019646"), (65.0, "1.176817"), (75.0, "1.216110"), (100.0, "1.314342")]
    {
        check("R/R20", at_20.ohms(celsius), ratio);
    }
}

#[test]
fn wire_is_as_the_gauge_tables_print_it() {
    // Ohms per 1000 feet of annealed copper at 20 °C, as two public tables print it.
    for (gauge, printed) in [
        (4, "0.2485"),
        (8, "0.6282"),
        (12, "1.588"),
        (14, "2.525"),
        (16, "4.016"),
        (18, "6.385"),
        (20, "10.15"),
        (22, "16.14"),
        (24, "25.67"),
        (30, "103.2"),
    ] {
        check("ohms per 1000 feet", Wire::gauge(gauge, 304.8).ohms(20.0), printed);
    }
    // The tables print 0.9989 for 10 gauge; 1/58 makes 0.9988.
    let ten = Wire::gauge(10, 304.8).ohms(20.0);
    assert!((ten - 0.9989).abs() < 2e-4, "{ten}");
    // Largest resistance of a conductor (IEC 60228, from memory), ohms per kilometre: pure copper is below it.
    for (area, most) in [(0.75, 24.5), (1.0, 18.1), (1.5, 12.1), (2.5, 7.41), (4.0, 4.61)] {
        assert!(Wire::square_millimetres(area, 1000.0).ohms(20.0) < most, "{area} mm²");
    }
}

#[test]
fn a_thermocouple_is_as_nist_tables_it() {
    // ITS-90, type K, reference junction at 0 °C (NIST SRD 60).
    for (celsius, printed) in [
        (-200.0, "-5.891"),
        (-40.0, "-1.527"),
        (0.0, "0.000"),
        (25.0, "1.000"),
        (37.0, "1.489"),
        (100.0, "4.096"),
        (127.0, "5.206"),
        (250.0, "10.153"),
        (500.0, "20.644"),
        (1000.0, "41.276"),
        (1372.0, "54.886"),
    ] {
        let millivolts = thermocouple::millivolts(celsius).unwrap();
        check("millivolts", millivolts, printed);
        check("back", thermocouple::celsius(millivolts, 0.0).unwrap(), &format!("{celsius:.6}"));
    }
    // Socket at 25 °C: 3.096 mV read are 100.0003 °C (two reference libraries).
    check("with a warm socket", thermocouple::celsius(3.096, 25.0).unwrap(), "100.0003");
    for beyond in [-271.0, 1373.0, f64::NAN] {
        assert!(thermocouple::millivolts(beyond).is_none());
    }
    assert!(thermocouple::celsius(60.0, 25.0).is_none());
}

#[test]
fn every_degree_of_the_nist_table_agrees() {
    let table = ["../shared", "../../shared"]
        .map(|shared| {
            Path::new(env!("CARGO_MANIFEST_DIR")).join(shared).join("data/thermo/nist_its90_type_k.tab")
        })
        .into_iter()
        .find_map(|path| std::fs::read(path).ok());
    let Some(table) = table else {
        eprintln!("skipped: 1 table of type K thermocouples that is not here");
        return;
    };
    // A row is its temperature, then eleven voltages for steps of one degree away from zero.
    let text = String::from_utf8_lossy(&table).into_owned();
    let volts = |printed: &str| -> f64 { printed.parse().unwrap() };
    let mut compared = 0;
    for line in text.lines().take_while(|line| !line.contains("coefficients")) {
        let numbers: Vec<&str> = line.split_whitespace().collect();
        let Some((first, voltages)) = numbers.split_first() else { continue };
        let Ok(start) = first.parse::<i32>() else { continue };
        if voltages.is_empty() || voltages.iter().any(|v| !v.contains('.')) {
            continue;
        }
        // Rows below zero and the row of zero in that half count downwards.
        let step = if voltages.len() > 1 && volts(voltages[1]) < volts(voltages[0]) { -1 } else { 1 };
        for (nth, printed) in (0..).zip(voltages) {
            let celsius = f64::from(start + step * nth);
            check("millivolts", thermocouple::millivolts(celsius).unwrap(), printed);
            compared += 1;
        }
    }
    assert!(compared > 1600, "only {compared} rows of the table were read");
    println!("compared: {compared} points of the NIST table of type K");
}

#[test]
fn meters_are_as_accurate_as_makers_print_it() {
    // Per cent, counts, reading, one count; half width. Sources in the order of the rows: a maker's article (6000 counts,
    // 600.0 V range); a bench meter's manual (per cent of the 10 V range as 50 counts of 1 µV); a maker's question page;
    // the same page, where it prints 0.010; a maker's note; a forum on a well-known meter.
    for (percent, counts, reading, count, half_width) in [
        (1.0, 3.0, 120.0, 0.1, "1.5000"),
        (0.0020, 50.0, 5.0, 1e-6, "0.000150"),
        (1.0, 2.0, 100.0, 0.1, "1.2000"),
        (0.5, 1.0, 1.755, 0.001, "0.009775"),
        (0.08, 2.0, 2.000, 0.001, "0.0036"),
        (0.7, 2.0, 120.0, 0.1, "1.0400"),
    ] {
        check("half width", Accuracy { percent, counts }.half_width(reading, count), half_width);
    }
    // EA-4/02, S9: a hand-held meter at 100 V; rectangles of 0.05 and 0.011 V and 1.0e-3 V standard make u = 0.030 V.
    let rectangle = |half_width: f64| half_width / 3_f64.sqrt();
    let u = rectangle(0.05).hypot(rectangle(0.011)).hypot(1.0e-3);
    check("standard uncertainty", u, "0.030");
}

/// Simpson's rule.
fn integral(from: f64, to: f64, f: impl Fn(f64) -> f64) -> f64 {
    let steps = 2000;
    let width = (to - from) / f64::from(steps);
    let weight = |n| if n == 0 || n == steps { 1.0 } else { f64::from(2 + 2 * (n % 2)) };
    (0..=steps).map(|n| weight(n) * f(from + f64::from(n) * width)).sum::<f64>() * width / 3.0
}

/// The density of Student's t at `x` with `freedom` degrees of freedom.
fn student(x: f64, freedom: f64) -> f64 {
    let ln = libm::lgamma(f64::midpoint(freedom, 1.0)) - libm::lgamma(freedom / 2.0);
    (1.0 + x * x / freedom).powf(-f64::midpoint(freedom, 1.0)) * ln.exp()
        / (freedom * std::f64::consts::PI).sqrt()
}

/// Published values that are wrong, and what is right: what we find must match the second and not the first. The ten
/// traps of circuits, tables and probabilities that turned up while looking for outside values.
#[test]
fn wrong_published_values_do_not_match() {
    let accuracy = Accuracy { percent: 1.0, counts: 2.0 }.half_width(100.0, 0.1);
    // A page on IEC 60751 prints another C: its own formula at -200 °C.
    let misprinted = 100.0 * (1.0 + 3.9083e-3 * -200.0 + -5.775e-7 * 4e4 + -4.2735e-12 * -300.0 * -8e6);
    // The burglary alarm of a textbook: P(burglary | alarm) and P(alarm | John calls, no earthquake).
    let (burglar, nobody) = (0.001 * (0.95 * 0.002 + 0.94 * 0.998), 0.999 * (0.29 * 0.002 + 0.001 * 0.998));
    let alarm = 0.001 * 0.94 + 0.999 * 0.001;
    // A lecture's late trains: P(strike) 0.1, P(oversleep) 0.4.
    let strike = 0.1 * (0.4 * 0.8 + 0.6 * 0.6);
    let martin = strike + 0.9 * 0.5;
    // JCGM 106, 9.5.4: bearings gamma (4, rate 4), measured within 0.25, upper limit 2.
    let made = |x: f64| 4_f64.powi(4) / 6.0 * x.powi(3) * (-4.0 * x).exp();
    let refused = |x: f64| libm::erfc((2.0 - x) / 0.25 / std::f64::consts::SQRT_2) / 2.0;
    // JCGM 100, H.1: u = 31.6639 nm with 16.752 degrees of freedom; how much lies within the interval printed.
    let within = |interval: f64| 2.0 * integral(0.0, interval / 31.6639, |t| student(t, 16.752));
    for (what, ours, published, right) in [
        ("a sensor maker's Pt100 table, -160 °C", PT100.ohms(-160.0), "35.34", "35.54"),
        ("an engineering page's Pt100 table, 100 °C", PT100.ohms(100.0), "138.50", "138.51"),
        ("the same, 200 °C", PT100.ohms(200.0), "175.84", "175.86"),
        ("the same, -200 °C", PT100.ohms(-200.0), "18.53", "18.52"),
        ("a calculator page's C, -200 °C", PT100.ohms(-200.0), &format!("{misprinted:.2}"), "18.52"),
        ("a wire chart headed 25 °C", Wire::gauge(10, 304.8).ohms(25.0), "0.9989", "1.0185"),
        ("slides: burglary if alarm", burglar / (burglar + nobody), "0.376", "0.374"),
        ("slides: alarm if John calls", 0.9 * alarm / (0.9 * alarm + 0.05 * (1.0 - alarm)), "0.003", "0.034"),
        ("a lecture: Martin late", martin, "0.51", "0.52"),
        ("a lecture: strike", 0.8 * strike / (0.8 * strike + 0.1 * (martin - strike)), "0.54", "0.55"),
        ("a meter maker: 100 V ± (1 % + 2)", 100.0 - accuracy, "99.8", "98.8"),
        ("a question page: shifted neutral", 380.0 / 6.0 * 3_f64.sqrt(), "190", "109.7"),
        ("a guide's end gauge: share within 93 nm", within(93.0), "0.9900", "0.9907"),
        ("the same within 91.94 nm", within(91.94), "0.9907", "0.9900"),
        (
            "a risk program: refused though good",
            integral(0.0, 2.0, |x| made(x) * refused(x)),
            "0.0313",
            "0.0174",
        ),
    ] {
        check(what, ours, right);
        assert!(!matches(ours, published), "{what}: {ours} is the wrong {published}");
    }
}
