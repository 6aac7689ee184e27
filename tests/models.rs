//! Appliance models: what ships is sound, what is wrong is said well, what the trade knows comes out.
#![allow(clippy::unwrap_used, clippy::disallowed_methods)]

use std::borrow::Cow;
use std::collections::BTreeSet;
use std::fmt::Write as _;

use leadhand::diagnose::Diagnosis;
use leadhand::diagnose::hypothesis::Hypothesis;
use leadhand::diagnose::verdict::{self, Verdict};
use leadhand::id::FaultId;
use leadhand::model::appliance::{Appliance, Check, CheckKind, Origin, Prediction, Provenance};
use leadhand::model::{self, Code, Rated};
use leadhand::quantity::{Prefix, Quantity};
use leadhand::reading::{Finding, Reading};
use miette::{GraphicalReportHandler, GraphicalTheme};

mod trade;

const LAMP: &str = include_str!("models/lamp.toml");

fn shipped(name: &str) -> Appliance {
    model::by_name(name).unwrap_or_else(|problems| panic!("{:?}", miette::Report::new(problems)))
}

fn ours(file: &str) -> String {
    std::fs::read_to_string(format!("{}/{file}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

/// A problem as it is printed, without colours.
fn printed(problems: &model::Problems) -> String {
    let mut text = String::new();
    let handler = GraphicalReportHandler::new_themed(GraphicalTheme::unicode_nocolor()).with_width(100);
    handler.render_report(&mut text, problems).unwrap();
    text
}

#[test]
fn every_kind_of_problem_has_a_bad_file_and_a_clear_message() {
    model::load("lamp.toml", LAMP).unwrap_or_else(|problems| panic!("{}", printed(&problems)));
    for code in Code::ALL {
        let file = format!("tests/models/bad/{}.toml", code.name());
        let problems = model::load(&file, &ours(&file)).expect_err(&file);
        let found: BTreeSet<&str> = problems.iter().map(|problem| problem.code.name()).collect();
        assert_eq!(found, BTreeSet::from([code.name()]), "{}", printed(&problems));
        for problem in &problems {
            assert!(problem.line > 0 && !problem.reason.is_empty() && !problem.help.is_empty(), "{problem}");
        }
        insta::assert_snapshot!(code.name(), printed(&problems));
    }
}

#[test]
fn all_problems_are_told_at_once() {
    let text = LAMP.replace("hertz = 60", "hertz = 6000").replace("part = \"bulb\"", "part = \"blub\"");
    let text = text.replace("minutes = 9", "minuets = 9");
    let problems = model::load("lamp.toml", &text).unwrap_err();
    let codes: BTreeSet<&str> = problems.iter().map(|problem| problem.code.name()).collect();
    assert_eq!(codes, BTreeSet::from(["missing-field", "out-of-range", "unknown-field", "unknown-name"]));
    assert_eq!(problems.iter().count(), 5, "{}", printed(&problems));
}

#[test]
fn an_unknown_appliance_is_answered_with_those_there_are() {
    let error = miette::Report::new(model::by_name("toaster").unwrap_err());
    assert!(error.help().unwrap().to_string().contains("dryer-240"), "{error:?}");
}

#[test]
fn the_handbook_of_the_format_is_complete() {
    let handbook = ours("models/README.md");
    for code in Code::ALL {
        assert!(
            handbook.contains(&format!("`{}`", code.name())),
            "models/README.md lacks the code {}",
            code.name()
        );
    }
    for (table, fields) in model::FIELDS {
        let heading = format!("### {table}\n");
        let section =
            handbook.split_once(&heading).unwrap_or_else(|| panic!("models/README.md lacks {heading}")).1;
        let section = section.split_once("\n### ").map_or(section, |(section, _)| section);
        for field in *fields {
            assert!(
                section.contains(&format!("`{field}`")),
                "models/README.md lacks the field {field} of {table}"
            );
        }
    }
}

#[test]
fn every_model_that_ships_is_sound_and_can_see_each_fault() {
    let files = std::fs::read_dir(format!("{}/models/appliances", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let shipped_files = model::shipped().into_iter().filter(|(_, text)| !matches!(text, Cow::Owned(_)));
    assert_eq!(files.count(), shipped_files.count(), "a model lies in the folder but does not ship");
    for (name, _) in model::shipped() {
        let appliance = shipped(name);
        assert_eq!(appliance.id.as_str(), name);
        for fault in &appliance.faults {
            let seen =
                appliance.checks.iter().any(|check| appliance.tells_apart(check, Some(&fault.id), None));
            assert!(seen, "{name}: no check sees {}", fault.id);
        }
        for (a, b) in appliance.twins() {
            let remedy = |fault: &FaultId| appliance.fault(fault).unwrap().remedy.clone();
            assert_eq!(remedy(&a), remedy(&b), "{name}: {a} and {b} cannot be told apart");
        }
    }
}

/// A check of a shipped model.
fn check_of<'a>(appliance: &'a Appliance, check: &str) -> &'a Check {
    appliance.check(&check.into()).unwrap_or_else(|| panic!("{} has no check {check}", appliance.id))
}

/// What a check shows under a fault ("" is nothing wrong): a nominal value within bounds, or `None` for overload.
fn expect(appliance: &Appliance, check: &str, fault: &str, expected: Option<(f64, f64)>) {
    let fault = (!fault.is_empty()).then(|| FaultId::from(fault));
    if let Some(fault) = &fault {
        assert!(appliance.fault(fault).is_some(), "{} has no fault {fault}", appliance.id);
    }
    let shown = appliance.predict(check_of(appliance, check), fault.as_ref());
    let sound = match (&shown, expected) {
        (Prediction::Value { nominal, low, high, .. }, Some((least, most))) => {
            (least..=most).contains(nominal) && low <= nominal && nominal <= high
        }
        (Prediction::Overload, None) => true,
        _ => false,
    };
    assert!(sound, "{check} under {fault:?}: {shown:?}, expected {expected:?}");
}

#[test]
fn a_modular_ice_maker_reads_as_the_trade_knows_it() {
    let appliance = shipped("ice-maker-modular");
    // Common practice, no source: about 72 ohms, 8.8 kilohms on the 20 k range, 120 V; T to H 120 V open, 0 V closed.
    for (check, fault, expected) in [
        ("heater", "", Some((71.9, 72.1))),
        ("heater", "heater-open", None),
        ("motor", "", Some((8_700.0, 8_900.0))),
        ("motor", "motor-open", None),
        ("supply", "", Some((118.0, 121.0))),
        ("supply", "harness-open", Some((0.0, 0.1))),
        ("bimetal-live", "", Some((0.0, 0.1))),
        ("bimetal-live", "bimetal-open", Some((118.0, 121.0))),
        ("bimetal-live", "freezer-warm", Some((118.0, 121.0))),
        ("bimetal-live-warm", "", Some((118.0, 121.0))),
        ("freezer-air", "", Some((-5.0, 5.0))),
        ("valve", "", Some((170.0, 500.0))), // guide
        ("valve", "valve-open", None),
        ("valve", "valve-stuck", Some((170.0, 500.0))), // reads good, may still be stuck
        ("fill-time", "", Some((7.0, 10.0))),
    ] {
        expect(&appliance, check, fault, expected);
    }
    let inside = |check: &str, value: f64| {
        let shown = appliance.predict(check_of(&appliance, check), None);
        matches!(shown, Prediction::Value { low, high, .. } if low <= value && value <= high)
    };
    assert!(inside("heater", 71.0), "71 ohms is a good heater");
    assert!(!inside("heater", 264.0), "264 ohms is a heater for 220 V");
    assert!(inside("motor", 8_000.0) && inside("motor", 9_000.0), "8 to 9 kilohms is a good motor");
    assert!(!inside("motor", 71.4), "the heater beside the motor is not the motor");

    // With T and H bridged, arm down, door switch held, a head that does not turn is bad; ten seconds at most.
    let bridge = check_of(&appliance, "bridge");
    let state = appliance.state(&bridge.state).unwrap();
    assert!(state.jumper.is_some() && state.energised && !bridge.hazards.is_empty());
    assert!(state.danger.as_ref().unwrap().contains("Ten seconds"));
    for fault in ["motor-open", "module-jammed", "module-start-open"] {
        assert!(appliance.tells_apart(bridge, Some(&fault.into()), None), "{fault}");
        assert_eq!(appliance.fault(&fault.into()).unwrap().remedy.as_str(), "replace-module");
    }
    assert!(
        !appliance.tells_apart(bridge, Some(&"bimetal-open".into()), None),
        "bridged, the bimetal does not matter"
    );

    // Half a turn is 20 cc and 1.2 s, a full turn 40 cc and 2.4 s, never more, clockwise for less.
    let screw = &appliance.adjustments[0];
    let steps: Vec<_> = screw.steps.iter().map(|s| (s.turns, s.millilitres, s.seconds)).collect();
    assert_eq!(steps, [(0.5, 20.0, 1.2), (1.0, 40.0, 2.4)]);
    assert!((screw.most_turns - 1.0).abs() < 1e-9 && screw.direction.contains("Clockwise for less"));
    assert!(
        appliance.closing.iter().any(|item| item.id == "jumper")
            && appliance.closing.iter().any(|i| i.id == "tube")
    );
}

#[test]
fn the_motor_of_a_modular_ice_maker_hides_behind_its_heater_with_the_arm_down() {
    // Hand-worked: 72 beside 8800 is 71.4 ohms. This is what tells the candidate circuits apart.
    let appliance = shipped("ice-maker-modular");
    let state = appliance.state(&"unplugged".into()).unwrap();
    let solution = appliance.circuit(state, None).solve(leadhand::circuit::Current::Direct).unwrap();
    let node = |point: &str| appliance.node(&point.into()).unwrap();
    let shown = solution
        .probe(leadhand::circuit::Mode::Ohms, node("L"), node("M"), &leadhand::circuit::Meter::SERVICE)
        .unwrap();
    let leadhand::circuit::Shown::Value(band) = shown else { panic!("{shown:?}") };
    assert!((band.nominal - 71.416).abs() < 0.05, "{}", band.nominal);
}

#[test]
fn two_readings_with_the_plug_out_choose_the_inner_circuit() {
    // By hand: with the arm up, heater 72 ohms and motor 8.8 kilohms, each alone or both beside each other (71.4 ohms).
    let appliance = shipped("ice-maker-modular");
    let nominal = |candidate: usize, check: &str| match appliance.predict_in(
        candidate,
        check_of(&appliance, check),
        None,
    ) {
        Prediction::Value { nominal, .. } => Some(nominal.round()),
        _ => None,
    };
    let readings = |candidate| ["heater", "heater-neutral", "motor"].map(|check| nominal(candidate, check));
    assert_eq!(readings(0), [Some(72.0), None, Some(8800.0)]);
    assert_eq!(readings(1), [Some(71.0), None, Some(71.0)]);
    assert_eq!(readings(2), [None, Some(72.0), None]);
    let shares: f64 = appliance.candidates.iter().map(|candidate| candidate.share).sum();
    assert!((shares - 1.0).abs() < 1e-9);
    // What is right in one of the circuits is not called wrong; what is right in none is.
    let trouble = Diagnosis::new(&appliance, &"no-ice".into());
    let question = |check: &str| trouble.trouble().question(&check.into()).unwrap();
    let verdict = |check: &str, reading| verdict::of(&Finding::Reading(reading), question(check));
    assert_eq!(verdict("heater", Reading::Value(said("72"))), Verdict::InLimits);
    assert_eq!(verdict("heater", Reading::Overload), Verdict::CannotTell);
    assert_eq!(verdict("valve", Reading::Overload), Verdict::Open);
    // An overload from L to H is an open heater in one circuit and a good one in another: N to H tells.
    let mut diagnosis = Diagnosis::new(&appliance, &"no-ice".into());
    let find = |check: &str, reading| (check.into(), Finding::Reading(reading));
    let heater_open = Hypothesis::Fault("heater-open".into());
    for (check, finding) in [find("heater", Reading::Overload), find("heater-neutral", Reading::Overload)] {
        diagnosis.evidence.accept(check, finding);
    }
    // Two overloads may be the meter's; the leads touched together settle that.
    assert_eq!(diagnosis.belief().ranked()[0].0, heater_open, "{:?}", diagnosis.belief().ranked());
    diagnosis.evidence.touch(Some(Finding::Reading(Reading::Value(said("0.2")))));
    assert!(diagnosis.belief().of(&heater_open) > 0.5, "{:?}", diagnosis.belief().ranked());
    diagnosis.evidence.accept("heater-neutral".into(), Finding::Reading(Reading::Value(said("72"))));
    assert!(diagnosis.belief().of(&heater_open) < 0.1, "{:?}", diagnosis.belief().ranked());
}

fn said(number: &str) -> Quantity {
    Quantity { number: number.parse().unwrap(), prefix: Prefix::One, unit: None }
}

#[test]
fn a_variant_is_the_same_machine_on_another_supply() {
    let appliance = shipped("ice-maker-modular-230");
    // Sheet: 185 W and 264 ohms, at 220 V (computed 261.6). All else is as in the file.
    for (check, expected) in [("heater", (261.0, 265.0)), ("supply", (228.0, 231.0)), ("bimetal", (0.0, 0.1))]
    {
        expect(&appliance, check, "", Some(expected));
    }
    assert_eq!(appliance.faults.len(), shipped("ice-maker-modular").faults.len());
    // What a variant lays over is checked like the file itself; what it leaves alone stays.
    let variant =
        "[[variant]]\nid = \"lamp-230\"\nelement = [{ id = \"bulb\", watts = 46, volts = 230, ohm = 1 }]\n";
    let text = format!("{LAMP}\n{variant}");
    model::load("lamp.toml", &text).unwrap_or_else(|problems| panic!("{}", printed(&problems)));
    let text = text.replacen("id = \"lamp\"", "id = \"lamp-230\"", 1);
    let problems = model::load("lamp.toml", &text).unwrap_err();
    assert_eq!(
        problems.iter().map(|p| p.code).collect::<Vec<_>>(),
        [Code::UnknownField],
        "{}",
        printed(&problems)
    );
    let sound = model::load("lamp.toml", &text.replace(", ohm = 1", ""));
    expect(&sound.unwrap_or_else(|p| panic!("{}", printed(&p))), "bulb", "", Some((1149.0, 1151.0)));
}

#[test]
fn a_value_from_the_plate_takes_the_place_of_the_models() {
    let dryer = shipped("dryer-240");
    // By hand: 240²/5600 = 10.29, 208²/5400 = 8.01; a given resistance is as it is given.
    for (name, rated, ohms) in [
        ("element", Rated::Watts { watts: 5600.0, volts: None }, 10.29),
        ("element", Rated::Watts { watts: 5400.0, volts: Some(208.0) }, 8.01),
        ("element", Rated::Ohms(9.5), 9.5),
        ("motor-run", Rated::Ohms(2.0), 2.0),
    ] {
        let rated_dryer =
            dryer.with_value(name, rated).unwrap_or_else(|problems| panic!("{}", printed(&problems)));
        let check = if name == "element" { "element" } else { "motor" };
        let shown = rated_dryer.predict(check_of(&rated_dryer, check), None);
        let Prediction::Value { nominal, provenance, .. } = shown else { panic!("{shown:?}") };
        if name == "element" {
            assert!((nominal - ohms).abs() < 0.05, "{rated:?}: {nominal}");
            assert_eq!(provenance, Provenance::Plate);
        }
        assert_eq!(rated_dryer.id, dryer.id);
    }
    // Twice over: the last one counts. A part of one valued element goes by the part's name too.
    let twice = dryer
        .with_value("element", Rated::Ohms(9.5))
        .unwrap()
        .with_value("element", Rated::Ohms(12.0))
        .unwrap();
    expect(&twice, "element", "", Some((11.9, 12.1)));
    let head = shipped("ice-maker-modular").with_value("head", Rated::Ohms(70.0)).unwrap();
    expect(&head, "heater", "", Some((69.9, 70.1)));
    for (name, rated, code) in [
        ("elemnt", Rated::Ohms(10.0), Code::UnknownName),
        ("motor-run", Rated::Watts { watts: 200.0, volts: None }, Code::MissingField),
        ("element", Rated::Ohms(-1.0), Code::OutOfRange),
        ("door-switch", Rated::Ohms(50.0), Code::OutOfRange),
    ] {
        let problems = dryer.with_value(name, rated).expect_err(name);
        assert!(problems.iter().any(|problem| problem.code == code), "{}", printed(&problems));
    }
}

#[test]
fn no_two_machines_answer_to_one_name() {
    let mut names = BTreeSet::new();
    for (name, _) in model::shipped() {
        for say in shipped(name).say {
            assert!(names.insert(say.clone()), "{name}: another machine is called {say} too");
        }
    }
}

#[test]
fn a_dryer_reads_as_its_circuit_says() {
    let appliance = shipped("dryer-240");
    // By hand: 240²/5400 = 10.7 ohms; each leg 120 V, both together 240 V.
    for (check, fault, expected) in [
        ("element", "", Some((10.6, 10.8))),
        ("element", "element-open", None),
        ("element", "cutoff-open", Some((10.6, 10.8))),
        ("heater-string", "", Some((10.6, 11.0))),
        ("heater-string", "high-limit-open", None),
        ("element-chassis", "", None),
        ("element-chassis", "element-grounded", Some((1.0, 12.0))),
        ("cutoff", "", Some((0.0, 0.1))),
        ("cutoff", "cutoff-open", None),
        ("line-to-line", "", Some((238.0, 241.0))),
        ("line-to-line", "leg-two-lost", Some((0.0, 0.5))),
        ("line-one", "leg-two-lost", Some((119.0, 121.0))),
        ("line-two", "", Some((119.0, 121.0))),
        // At rest nothing feeds the dead leg but the cord's stray capacitance: a ghost, neither 0 nor 120 V.
        ("line-two", "leg-two-lost", Some((5.0, 60.0))),
        // Running, the dead leg is fed backwards through the element: 120 V to neutral, nothing line to line.
        ("line-two-running", "leg-two-lost", Some((115.0, 121.0))),
        ("line-to-line-running", "leg-two-lost", Some((0.0, 0.5))),
        ("line-to-line-running", "", Some((235.0, 241.0))),
        ("motor-heat", "", Some((0.0, 1.0))),
        ("motor-heat", "motor-heat-open", Some((235.0, 241.0))),
        ("element-live", "", Some((232.0, 241.0))),
        // The one open part of a live string has the whole supply across it, the good ones have nothing.
        ("element-live", "element-open", Some((235.0, 241.0))),
        ("element-live", "cutoff-open", Some((0.0, 0.5))),
        // A motor that does not run does not close the heat switch.
        ("element-live", "door-switch-open", Some((0.0, 0.5))),
    ] {
        expect(&appliance, check, fault, expected);
    }
    // Issue of both figures 120 V to neutral is no proof of 240 V: that check cannot see the lost leg.
    let trap = check_of(&appliance, "line-two-running");
    assert!(!appliance.tells_apart(trap, Some(&"leg-two-lost".into()), None));
    // Each part of the heater string is found by a reading of its own, dead or live.
    for fault in appliance.faults.iter().filter(|f| f.weight.contains_key(&"no-heat".into())) {
        let measured = appliance.checks.iter().filter(|c| matches!(c.kind, CheckKind::Measure(_)));
        assert!(measured.clone().any(|c| appliance.tells_apart(c, Some(&fault.id), None)), "{}", fault.id);
    }
}

#[test]
fn only_figures_with_a_source_say_out_of_limits() {
    let provenance =
        |appliance: &Appliance, check: &str| match appliance.predict(check_of(appliance, check), None) {
            Prediction::Value { provenance, .. } => Some(provenance),
            _ => None,
        };
    let dryer = shipped("dryer-240");
    let ice_maker = shipped("ice-maker-modular");
    for (appliance, check, expected) in [
        (&dryer, "element", Provenance::Computed),
        (&dryer, "line-to-line", Provenance::Plate),
        (&dryer, "motor", Provenance::ClassDefault),
        (&ice_maker, "heater", Provenance::Computed),
        (&ice_maker, "valve", Provenance::ClassDefault),
    ] {
        assert_eq!(provenance(appliance, check), Some(expected), "{check}");
    }
}

#[test]
fn nothing_live_is_asked_without_its_danger() {
    for (name, _) in model::shipped() {
        let appliance = shipped(name);
        for check in &appliance.checks {
            let state = appliance.state(&check.state).unwrap();
            if let CheckKind::Measure(measurement) = &check.kind {
                assert_eq!(state.energised, !measurement.function.wants_dead(), "{name}: {}", check.id);
                assert_eq!(state.energised, check.hazards.contains(&leadhand::hazard::Hazard::Mains));
            }
            assert!(!state.energised || state.danger.is_some(), "{name}: {} names no danger", state.id);
        }
        let to_chassis = appliance.prove_dead.iter().filter(|(_, to)| to.as_str() == "chassis").count();
        assert!(to_chassis >= 2, "{name}: dead is proved to the chassis too");
    }
}

#[test]
fn a_lifted_wire_and_a_range_change_what_is_shown() {
    // By hand: 120²/60 = 240 ohms, and nothing beside the bulb.
    let extra = |line: &str, range: &str| {
        let leads = format!("function = \"ohms\", from = \"line\", to = \"neutral\"{range}");
        let check = "[[check]]\nid = \"extra\"\ntitle = \"Extra\"\nstate = \"dead\"\nminutes = 1\n";
        let text = format!("{LAMP}\n{check}{line}\nmeasure = {{ {leads} }}\n");
        model::load("lamp.toml", &text).unwrap_or_else(|problems| panic!("{}", printed(&problems)))
    };
    expect(&extra("", ""), "extra", "", Some((239.0, 241.0)));
    expect(&extra("lifts = [\"bulb\"]", ""), "extra", "", None);
    expect(&extra("", ", most-ohms = 100"), "extra", "", None);
    expect(&extra("", ", most-ohms = 1000"), "extra", "", Some((239.0, 241.0)));
}

/// The lamp with one check more.
fn with_check(lamp: &str, state: &str, more: &str, measure: &str) -> Result<Appliance, model::Problems> {
    let check = format!("[[check]]\nid = \"extra\"\ntitle = \"Extra\"\nstate = \"{state}\"\nminutes = 1\n");
    model::load("lamp.toml", &format!("{lamp}\n{check}{more}measure = {{ {measure} }}\n"))
}

#[test]
fn every_setting_of_the_meter_can_be_asked_for() {
    let live = "why-live = \"It is live.\"\nbefore = \"Put the clamp round the cord.\"\n";
    let leads = |function: &str| format!("function = \"{function}\", from = \"line\", to = \"neutral\"");
    let clamp = "function = \"amps\", around = \"bulb\", wire = \"the cord\"";
    let sound = |state, more, measure: &str| {
        with_check(LAMP, state, more, measure).unwrap_or_else(|problems| panic!("{}", printed(&problems)))
    };
    // By hand: 60 W at 120 V are half an ampere, 900 ohms an eighth.
    let clamped = sound("live", live, clamp);
    expect(&clamped, "extra", "", Some((0.499, 0.501)));
    expect(&clamped, "extra", "bulb-weak", Some((0.132, 0.134)));
    expect(&clamped, "extra", "bulb-open", Some((0.0, 1e-6)));
    expect(&sound("live", live, &leads("low-impedance-volts")), "extra", "", Some((119.0, 120.0)));
    expect(&sound("live", live, &leads("dc-volts")), "extra", "", Some((0.0, 1e-6)));
    expect(&sound("dead", "", &leads("continuity")), "extra", "", Some((239.0, 241.0)));
    // What a capacitance range makes of a plain resistance.
    expect(&sound("dead", "", &leads("farads")), "extra", "", None);

    let refused = |state, more, measure: &str, code| {
        let problems = with_check(LAMP, state, more, measure).expect_err(measure);
        assert!(problems.iter().all(|p| p.code == code), "{}", printed(&problems));
    };
    refused("live", "why-live = \"It is live.\"\n", clamp, Code::MissingField);
    refused("live", live, &leads("continuity"), Code::LiveOhms);
    refused("live", live, &leads("farads"), Code::LiveOhms);
    refused("live", live, "function = \"amps\", around = \"shade\", wire = \"the cord\"", Code::UnknownName);
}

#[test]
fn every_plate_that_may_be_read_out_has_a_value_to_replace() {
    for (name, _) in model::shipped() {
        let appliance = shipped(name);
        for part in appliance.parts.iter().filter(|part| !part.say.is_empty()) {
            let rated = appliance.with_value(part.id.as_str(), Rated::Watts { watts: 900.0, volts: None });
            assert!(rated.is_ok(), "{name}: {}\n{}", part.id, printed(&rated.unwrap_err()));
        }
    }
}

#[test]
fn a_thermostat_follows_the_temperature_of_the_state() {
    let switch = "{ id = \"switch\", kind = \"contact\",";
    let limit = |more: &str| {
        let limit = "{ id = \"switch\", kind = \"thermostat\", opens-at = 60, closes-at = 40,";
        let hot = format!(
            "state = [\n{{ id = \"hot\", name = \"hot\", make = \"Unplug.\", minutes = 1, closed = [{more} }},"
        );
        let text = LAMP.replace(switch, limit).replace("state = [", &hot);
        with_check(&text, "hot", "", "function = \"ohms\", from = \"line\", to = \"neutral\"")
    };
    let sound = |more| limit(more).unwrap_or_else(|problems| panic!("{}", printed(&problems)));
    let closed = Some((239.0, 241.0));
    expect(&sound("]"), "extra", "", closed);
    expect(&sound("], celsius = { switch = 80 }"), "extra", "", None);
    expect(&sound("], celsius = { switch = 50 }"), "extra", "", None);
    expect(&sound("\"switch\"], celsius = { switch = 50 }"), "extra", "", closed);
    for (wrong, code) in [("bulb = 50", Code::UnknownName), ("shade = 50", Code::UnknownName)] {
        let problems = limit(&format!("], celsius = {{ {wrong} }}")).expect_err(wrong);
        assert!(problems.iter().all(|p| p.code == code), "{}", printed(&problems));
    }
    let text =
        LAMP.replace(switch, "{ id = \"switch\", kind = \"thermostat\", opens-at = 60, closes-at = 60,");
    let problems = model::load("lamp.toml", &text).expect_err("no bimetal does that");
    assert!(problems.iter().all(|p| p.code == Code::OutOfRange), "{}", printed(&problems));
}

#[test]
fn what_a_technician_may_say_is_made_of_known_words() {
    // The recogniser's words; capital letters are letters said by name.
    let words = ours("models/speech/words.txt");
    let words: BTreeSet<&str> = words.lines().collect();
    let known = |said: &str| said.split([' ', '-']).all(|word| words.contains(word));
    for (name, _) in model::shipped() {
        let appliance = shipped(name);
        let mut said: Vec<&String> = appliance.say.iter().collect();
        said.extend(appliance.points.iter().flat_map(|p| &p.say));
        said.extend(appliance.parts.iter().flat_map(|p| &p.say));
        said.extend(appliance.complaints.iter().flat_map(|c| &c.say));
        for check in &appliance.checks {
            if let CheckKind::Observe(observation) = &check.kind {
                said.extend(observation.outcomes.iter().flat_map(|o| &o.say));
            }
        }
        let unknown: Vec<_> = said.into_iter().filter(|said| !known(said)).collect();
        assert!(unknown.is_empty(), "{name}: the recogniser does not know {unknown:?}");
    }
}

/// Every prediction that differs from a sound machine's, as a table for the eye of whoever changes a model.
#[test]
fn predictions_move_only_when_meant() {
    for (name, _) in model::shipped() {
        let appliance = shipped(name);
        let mut text = String::new();
        for check in &appliance.checks {
            let good = appliance.predict(check, None);
            writeln!(text, "{} [{}]: {}", check.id, check.state, shown(&good)).unwrap();
            for fault in &appliance.faults {
                let prediction = appliance.predict(check, Some(&fault.id));
                if prediction.differs(&good) {
                    writeln!(text, "    {}: {}", fault.id, shown(&prediction)).unwrap();
                }
            }
        }
        insta::assert_snapshot!(format!("predictions-{name}"), text);
    }
}

fn shown(prediction: &Prediction) -> String {
    match prediction {
        Prediction::Value { nominal, low, high, provenance } => {
            format!("{nominal:.2} ({low:.2} to {high:.2}) {provenance:?}")
        }
        Prediction::Overload => "overload".to_owned(),
        Prediction::Outcomes(probabilities) => format!("{probabilities:?}"),
    }
}

/// What the house or the customer does, so that nothing of the machine is broken, is among the causes of every machine, and a
/// look that takes minutes finds it.
#[test]
fn every_machine_knows_causes_outside_itself() {
    for (name, _) in model::shipped() {
        let appliance = shipped(name);
        let outside = |origin| appliance.faults.iter().filter(move |fault| fault.origin == origin);
        assert!(outside(Origin::House).count() > 0, "{name}: nothing comes from the house");
        for fault in outside(Origin::House).chain(outside(Origin::Use)) {
            let sees = |check: &Check| appliance.tells_apart(check, Some(&fault.id), None);
            let easy = appliance.checks.iter().filter(|check| sees(check)).map(|check| check.minutes);
            let least = easy.fold(f64::INFINITY, f64::min);
            assert!(least <= 10.0, "{name}, {}: {least} minutes", fault.id);
        }
    }
}

#[test]
fn what_brings_a_fault_about_is_no_more_than_its_only_cause() {
    let with = |shares: &str| {
        let brought = format!("weight = {{ dark = 9 }}\nbrought-by = {{ {shares} }}");
        model::load("lamp.toml", &LAMP.replace("weight = { dark = 9 }", &brought))
    };
    let sound = with("bulb-weak = 0.5").unwrap_or_else(|problems| panic!("{}", printed(&problems)));
    assert_eq!(sound.faults[0].brought_by.len(), 1);
    for (shares, code) in [("bulb-weak = 1.5", "out-of-range"), ("bulb-lost = 0.5", "unknown-name")] {
        let problems = with(shares).unwrap_err();
        assert!(problems.iter().any(|problem| problem.code.name() == code), "{}", printed(&problems));
    }
    let both = with("bulb-weak = 0.7, bulb-open = 0.7").unwrap_err();
    assert!(printed(&both).contains("sum to more than one"), "{}", printed(&both));
}
