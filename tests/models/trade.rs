//! What the trade knows of its machines, read off the models. Each row names where it comes from.

use std::collections::BTreeSet;

use leadhand::circuit::{Current, Edit, Kind, Meter, Mode};
use leadhand::diagnose::Diagnosis;
use leadhand::diagnose::verdict::{self, Verdict};
use leadhand::hazard::Hazard;
use leadhand::model::appliance::{CheckKind, Prediction, Provenance};
use leadhand::model::{self, Code, Rated};
use leadhand::reading::{Finding, Reading};

use super::{LAMP, check_of, expect, ours, printed, said, shipped};

#[test]
fn machines_read_as_sheets_and_arithmetic_say() {
    for (machine, check, fault, expected) in [
        // Sheet: defrost heaters of 550 to 600 W have 20 to 23 ohms. By hand: 115²/600 = 22.0.
        ("refrigerator-defrost", "heater", "", Some((20.0, 23.0))),
        ("refrigerator-defrost", "heater", "heater-open", None),
        ("refrigerator-defrost", "bimetal", "bimetal-open", None),
        // The open contact of a live string has the whole supply across it, the closed one nothing.
        ("refrigerator-defrost", "bimetal-live", "", Some((0.0, 0.1))),
        ("refrigerator-defrost", "bimetal-live", "bimetal-open", Some((118.0, 121.0))),
        ("refrigerator-defrost", "heater-live", "", Some((117.0, 121.0))),
        ("refrigerator-defrost", "heater-live", "timer-defrost-open", Some((0.0, 1.0))),
        // By hand: 230²/200 = 264.5.
        ("refrigerator-defrost-230", "heater", "", Some((264.0, 265.0))),
        // Sheet: 785 to 805 W wet. By hand: 120²/800 = 18.0; 230²/1800 = 29.4.
        ("dishwasher", "heater", "", Some((17.9, 18.1))),
        ("dishwasher-230", "heater", "", Some((29.3, 29.5))),
        ("dishwasher", "wash-motor", "", Some((7.5, 8.5))), // sheet
        ("dishwasher", "sensor", "", Some((52_000.0, 58_000.0))), // sheet: about 55 kilohms at 72 °F
        // Two relays: nothing across the element whichever is open; each end against the other wire tells which.
        ("dishwasher", "heater-live", "relay-line-open", Some((0.0, 0.5))),
        ("dishwasher", "heater-live", "relay-neutral-open", Some((0.0, 0.5))),
        ("dishwasher", "heater-line", "relay-neutral-open", Some((118.0, 121.0))),
        ("dishwasher", "heater-line", "relay-line-open", Some((0.0, 0.5))),
        ("dishwasher", "heater-neutral", "relay-neutral-open", Some((0.0, 5.0))),
        // Sheet: 1.5 to 2 A with the heater off. By hand: 800 W and the pump's 1.7 A at 0.7 are 7.9 A.
        ("dishwasher", "current", "", Some((7.8, 8.0))),
        ("dishwasher", "current", "heater-open", Some((1.5, 2.0))),
        ("dishwasher", "current", "fuse-open", Some((0.0, 0.01))),
        // Sheet: 6 to 6.5 ohms between two pins of a three-phase drive motor, three pairs alike.
        ("washer", "motor-12", "", Some((6.0, 6.5))),
        ("washer", "motor-23", "", Some((6.0, 6.5))),
        ("washer", "motor-23", "winding-open", Some((6.0, 6.5))),
        ("washer", "motor-31", "winding-open", None),
        ("washer", "cold-valve", "", Some((700.0, 900.0))), // sheets: 500 to 1000, 700 to 900, 750 to 850
        ("washer", "level-empty", "", None),
        ("washer", "level-full", "", Some((0.0, 0.1))),
        // The lock's coil may be good and its contact not.
        ("washer", "lock-live", "lock-contact-open", Some((0.0, 1.0))),
        ("washer", "lock-live", "", Some((118.0, 121.0))),
        ("washer-230", "heater", "", Some((26.4, 26.5))), // by hand: 230²/2000
        // By hand: 240²/2500 = 23.0, 240²/3400 = 16.9, 240²/1500 = 38.4.
        ("range-240", "bake", "", Some((23.0, 23.1))),
        ("range-240", "broil", "", Some((16.9, 17.0))),
        ("range-240", "burner", "", Some((38.3, 38.5))),
        ("range-240", "sensor", "", Some((1070.0, 1090.0))), // sheet: 1080 ± 10 at 70 °F
        ("range-240", "sensor-chassis", "", None),           // common practice: open
        ("range-240", "bake-live", "", Some((235.0, 241.0))),
        ("range-240", "bake-live", "bake-open", Some((235.0, 241.0))),
        ("range-240", "bake-live", "leg-two-lost", Some((0.0, 1.0))),
        // The bake element's end still stands at 120 V to neutral while the other leg is dead.
        ("range-240", "bake-live-one", "leg-two-lost", Some((118.0, 121.0))),
        // By hand: 230²/2500 = 21.2, 230²/1300 = 40.7; one phase, so the whole supply to chassis too.
        ("dryer-230", "element", "", Some((21.1, 21.2))),
        ("dryer-230", "element-live", "element-open", Some((225.0, 231.0))),
        ("dryer-230", "motor-heat", "motor-heat-open", Some((225.0, 231.0))),
        ("cooker-230", "bake", "", Some((40.6, 40.8))),
        ("cooker-230", "bake-live", "relay-second-open", Some((0.0, 1.0))),
        // Published: heater 72 ohms; valve coil 200 to 500; valve in series with the heater gets 88 to 117 V, not 120.
        ("ice-maker-component", "heater", "", Some((70.0, 73.0))),
        ("ice-maker-component", "valve", "", Some((200.0, 500.0))),
        ("ice-maker-component", "valve-live", "", Some((88.0, 117.0))),
        ("ice-maker-component", "cutoff", "cutoff-open", None),
        ("ice-maker-component", "heater-live", "", Some((118.0, 121.0))),
        // In circuit, heater and open: not overload, but what lies beside (published for another machine: 42 to 63 kilohms).
        ("ice-maker-component", "heater", "heater-open", Some((2_000.0, 10_000.0))),
        // After repair at most 0.3 ohms in the protective conductor (VDE 0701-0702).
        ("microwave", "ground", "", Some((0.0, 0.3))),
    ] {
        expect(&shipped(machine), check, fault, expected);
    }
}

#[test]
fn sensors_follow_their_published_tables() {
    for (machine, celsius, least, most) in [
        // Sheet of a washer's inlet sensor.
        ("washer", 10.0, 19_000.0, 20_500.0),
        ("washer", 21.0, 11_700.0, 12_200.0),
        ("washer", 38.0, 5_600.0, 5_900.0),
        ("washer", 55.0, 2_900.0, 3_100.0),
        // Two sheets of oven sensors: 1000 ± 4 ohms at 32 °F, 1080 ± 10 at 70 °F, 1091 ± 5.3 at 75 °F.
        ("range-240", 0.0, 996.0, 1004.0),
        ("range-240", 21.1, 1070.0, 1090.0),
        ("range-240", 23.9, 1085.7, 1096.3),
    ] {
        let appliance = shipped(machine);
        let circuit = appliance.circuit(&appliance.states[0], None);
        let element = circuit.element(&"sensor".into()).unwrap();
        let Kind::Sensor { law, .. } = element.kind else { panic!("{element:?}") };
        let ohms = law.ohms(celsius);
        assert!((least..=most).contains(&ohms), "{machine} at {celsius} °C: {ohms}");
    }
}

#[test]
fn a_closed_thermostat_shunts_the_valve_of_a_component_ice_maker() {
    // Published: while the thermostat is closed the valve gets nothing, though its switch is closed; open, the heater has
    // 6 to 35 V.
    let appliance = shipped("ice-maker-component");
    let state = appliance.state(&"filling".into()).unwrap();
    let volts = |edits: &[Edit], from: &str, to: &str| {
        let circuit = appliance.circuit(state, None).edited(edits);
        let solution = circuit.solve(Current::Alternating).unwrap();
        let node = |point: &str| appliance.node(&point.into()).unwrap();
        solution.probe(Mode::AcVolts, node(from), node(to), &Meter::SERVICE).unwrap().nominal()
    };
    let closed = [Edit::Short("thermostat".into())];
    assert!(volts(&closed, "valve-1", "thermostat-2") < 0.1);
    assert!((6.0..=35.0).contains(&volts(&[], "thermostat-2", "neutral")));
    assert!((118.0..=121.0).contains(&volts(&closed, "thermostat-2", "neutral")));
}

#[test]
fn a_freezer_at_ten_degrees_stops_one_kind_of_ice_maker_and_not_the_other() {
    // Sheets: the modular type's bimetal closes at 17 ± 3 °F, the component type's thermostat at 9 ± 2 °F.
    for (machine, stops) in [("ice-maker-modular", false), ("ice-maker-component", true)] {
        let appliance = shipped(machine);
        let shown = appliance.predict(check_of(&appliance, "freezer-air"), Some(&"freezer-warm".into()));
        let Prediction::Value { low, high, .. } = shown else { panic!("{shown:?}") };
        assert_eq!((low..=high).contains(&10.0), stops, "{machine}");
    }
}

#[test]
fn published_values_that_are_wrong_do_not_match() {
    // A service manual: 185 W and 264 ohms for 120 V. A consumer guide: 40 to 125 ohms for any surface element.
    let ice_maker = shipped("ice-maker-modular");
    let problems = ice_maker.with_value("heater", Rated::Watts { watts: 185.0, volts: Some(115.0) });
    expect(&problems.unwrap(), "heater", "", Some((71.4, 71.6)));
    let text = ice_maker.text_with_value("heater", Rated::Ohms(264.0)).unwrap();
    let text = text.replace("ohms = 264.0", "ohms = 264.0\nwatts = 185\nvolts = 120");
    let problems = model::load("ice-maker.toml", &text).unwrap_err();
    assert!(problems.iter().any(|p| p.code == Code::PowerMismatch), "{}", printed(&problems));
    let big = shipped("range-240").with_value("burner", Rated::Watts { watts: 2600.0, volts: None }).unwrap();
    expect(&big, "burner", "", Some((22.0, 22.3)));
}

#[test]
fn a_class_default_never_says_out_of_limits() {
    let mut seen = 0;
    for (name, _) in model::shipped() {
        let appliance = shipped(name);
        let diagnosis = Diagnosis::new(&appliance, &appliance.complaints[0].id);
        for question in &diagnosis.trouble().questions {
            let CheckKind::Measure(_) = appliance.check(&question.check).unwrap().kind else { continue };
            let Prediction::Value { nominal, provenance, .. } = *question.healthy() else { continue };
            if provenance == Provenance::ClassDefault {
                seen += 1;
                for factor in [0.0, 0.3, 3.0, 100.0] {
                    let reading = said(&format!("{:.1}", nominal * factor));
                    let verdict = verdict::of(&Finding::Reading(Reading::Value(reading)), question);
                    assert_ne!(
                        verdict,
                        Verdict::OutOfLimits,
                        "{name}, {}: {nominal} x {factor}",
                        question.check
                    );
                }
            }
        }
    }
    assert!(seen > 50, "{seen}");
}

#[test]
fn every_remedy_mends_something_and_every_fault_is_complained_of() {
    for (name, _) in model::shipped() {
        let appliance = shipped(name);
        let used: BTreeSet<_> = appliance.faults.iter().map(|fault| &fault.remedy).collect();
        for remedy in &appliance.remedies {
            assert!(used.contains(&remedy.id), "{name}: nothing wants {}", remedy.id);
        }
        for fault in &appliance.faults {
            assert!(!fault.weight.is_empty(), "{name}: nobody complains of {}", fault.id);
        }
        assert!(appliance.closing.iter().any(|item| item.id == "test-run"), "{name}: no trial run");
        assert!(appliance.closing.len() >= 5 && !appliance.refuses.is_empty(), "{name}");
    }
}

#[test]
fn a_microwave_oven_is_left_shut() {
    for name in ["microwave", "microwave-230"] {
        let appliance = shipped(name);
        assert!(appliance.refuses.iter().any(|refusal| refusal == "I do nothing behind the cover."));
        for check in &appliance.checks {
            let live = appliance.state(&check.state).unwrap().energised;
            assert!(!(live && matches!(check.kind, CheckKind::Measure(_))), "{name}: {} is live", check.id);
            assert!(
                check.before.is_none() && !check.hazards.contains(&Hazard::Mains),
                "{name}: {}",
                check.id
            );
        }
        for point in &appliance.points {
            assert!(
                point.place.starts_with("Plug") || point.id.as_str() == "chassis",
                "{name}: {}",
                point.place
            );
        }
        // What is wrong inside goes to a shop, whatever it is.
        for fault in appliance.faults.iter().filter(|fault| fault.part.as_str() == "inside") {
            assert_eq!(fault.remedy.as_str(), "refer", "{name}: {}", fault.id);
        }
    }
}

#[test]
fn what_the_rules_refuse_is_mended_as_their_help_says() {
    // Each bad file of a rule, and the mend that its help names.
    for (file, wrong, right) in [
        (
            "parallel-path",
            "minutes = 1\nmeasure = { function = \"ohms\"",
            "minutes = 1\nlifts = [\"dimmer\"]\nmeasure = { function = \"ohms\"",
        ),
        ("alike-points", "say = [\"lime\"]", "say = [\"white\"]"),
        ("unseen-part", ", { id = \"cord\", name = \"cord\" }]", "]"),
        (
            "idle-contact",
            "    { id = \"dimmer\", kind = \"contact\", between = [\"a\", \"n\"], mark = \"invented\" },\n",
            "",
        ),
        ("power-mismatch", "ohms = 960,", "ohms = 250,"),
        ("out-of-range", "minutes = 10_000", "minutes = 9"),
    ] {
        let bad = ours(&format!("tests/models/bad/{file}.toml"));
        assert!(model::load(file, &bad).is_err(), "{file}");
        assert!(bad.contains(wrong), "{file} has no {wrong}");
        let mended = model::load(file, &bad.replacen(wrong, right, 1));
        mended.unwrap_or_else(|problems| panic!("{}", printed(&problems)));
    }
    // A common name is never allowed, however many others there are.
    let both = LAMP.replace("say = [\"neutral\"]", "say = [\"neutral\", \"line\"]");
    let problems = model::load("lamp.toml", &both).unwrap_err();
    assert_eq!(problems.iter().map(|p| p.code).collect::<Vec<_>>(), [Code::AlikePoints]);
    // Twelve per cent between the ohms and the watts is the border: 240 ohms by the watts.
    for (ohms, sound) in [("268", true), ("269", false), ("212", true), ("211", false)] {
        let text = LAMP.replace("ohms = 240", &format!("ohms = {ohms}"));
        assert_eq!(model::load("lamp.toml", &text).is_ok(), sound, "{ohms}");
    }
    // A closed contact has at most two ohms.
    for (ohms, sound) in [("2.0", true), ("2.1", false)] {
        let text = LAMP.replace(
            "kind = \"contact\", between = [\"l\", \"a\"]",
            &format!("kind = \"contact\", between = [\"l\", \"a\"], ohms = {ohms}"),
        );
        assert_eq!(model::load("lamp.toml", &text).is_ok(), sound, "{ohms}");
    }
}
