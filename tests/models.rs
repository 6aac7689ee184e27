//! Appliance models: what ships is sound, what is wrong is said well, what the trade knows comes out.

use leadhand::model;
use leadhand::model::appliance::{Appliance, CheckKind, Prediction};

fn shipped(name: &str) -> Appliance {
    model::by_name(name).unwrap_or_else(|problems| panic!("{:?}", miette::Report::new(problems)))
}

/// Every prediction as text: a table to read, for the eye of whoever changes a model.
fn table(appliance: &Appliance) -> String {
    use std::fmt::Write as _;
    let mut text = String::new();
    let show = |prediction: &Prediction| match prediction {
        Prediction::Value { nominal, low, high, provenance } => {
            format!("{nominal:.4} ({low:.4} to {high:.4}) {provenance:?}")
        }
        Prediction::Overload => "OL".to_owned(),
        Prediction::Outcomes(p) => format!("{p:?}"),
    };
    for check in &appliance.checks {
        let good = appliance.predict(check, None);
        writeln!(text, "{} [{}]: {}", check.id, check.state, show(&good)).unwrap();
        for fault in &appliance.faults {
            let shown = appliance.predict(check, Some(&fault.id));
            if shown.differs(&good) {
                writeln!(text, "    {}: {}", fault.id, show(&shown)).unwrap();
            }
        }
    }
    text
}

#[test]
fn what_ships_is_sound() {
    for (name, _) in model::shipped() {
        let start = std::time::Instant::now();
        let appliance = shipped(name);
        println!(
            "{name}: {} checks, {} faults, {:?}",
            appliance.checks.len(),
            appliance.faults.len(),
            start.elapsed()
        );
        println!("{}", table(&appliance));
        println!("twins: {:?}", appliance.twins());
    }
}
