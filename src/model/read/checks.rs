//! What can be measured or looked at.

use crate::hazard::Hazard;
use crate::id::FaultId;
use crate::model::appliance::{
    Appliance, Check, CheckKind, Function, Gauge, Measurement, Observation, Outcome, Provenance, Site, State,
};
use crate::model::names::Names;
use crate::model::problem::Code;
use crate::model::raw::Section;
use crate::model::read::circuit::PROVENANCE;
use crate::quantity::Unit;

const HAZARDS: &[(&str, Hazard)] = &[
    ("mains", Hazard::Mains),
    ("stored-charge", Hazard::StoredCharge),
    ("motion", Hazard::Motion),
    ("heat", Hazard::Heat),
    ("water", Hazard::Water),
    ("sharp-edges", Hazard::SharpEdges),
];

const FUNCTIONS: &[(&str, Function)] = &[
    ("ac-volts", Function::AcVolts),
    ("low-impedance-volts", Function::LowImpedanceVolts),
    ("dc-volts", Function::DcVolts),
    ("ohms", Function::Ohms),
    ("continuity", Function::Continuity),
    ("farads", Function::Farads),
    ("amps", Function::Amps),
];

const UNITS: &[(&str, Unit)] = &[
    ("amps", Unit::Amps),
    ("watts", Unit::Watts),
    ("seconds", Unit::Seconds),
    ("degrees", Unit::Degrees),
    ("celsius", Unit::Celsius),
    ("fahrenheit", Unit::Fahrenheit),
    ("psi", Unit::Psi),
    ("percent", Unit::Percent),
];

/// Reads every check.
pub(in crate::model) fn checks(model: &Section, names: &Names, appliance: &Appliance) -> Vec<Check> {
    model.some_sections("check").iter().filter_map(|s| check(s, names, appliance)).collect()
}

fn check(s: &Section, names: &Names, appliance: &Appliance) -> Option<Check> {
    let check = Check {
        id: s.word("id").text.as_str().into(),
        title: s.word("title").text,
        minutes: s.number("minutes", 0.0, 240.0),
        hazards: s.words("hazards").iter().filter_map(|word| s.pick(word, HAZARDS)).collect(),
        before: s.maybe_spoken("before"),
        why_live: s.maybe_spoken("why-live"),
        state: names.field(s, "state", "state"),
        kind: kind(s, names)?,
    };
    if let Some(measure) = s.sections("measure").first() {
        check_live(s, measure, &check, appliance);
    }
    Some(check)
}

fn kind(s: &Section, names: &Names) -> Option<CheckKind> {
    if let Some(measure) = s.sections("measure").first() {
        return Some(CheckKind::Measure(measurement(s, measure, names)?));
    }
    if let Some(observe) = s.sections("observe").first() {
        return Some(CheckKind::Observe(observation(observe, names)));
    }
    if let Some(gauge) = s.sections("gauge").first() {
        return Some(CheckKind::Gauge(gauge_of(gauge, names)?));
    }
    let help = "give it one of: measure, observe, gauge";
    s.report(Code::MissingField, s.at.clone(), "this check asks for nothing".into(), help);
    None
}

/// Resistance is never measured live; a live measurement says why, and no other does.
fn check_live(s: &Section, measure: &Section, check: &Check, appliance: &Appliance) {
    let CheckKind::Measure(measurement) = &check.kind else { return };
    let Some(State { energised, .. }) = appliance.state(&check.state) else { return };
    if *energised && measurement.function.wants_dead() {
        let help = "choose a state with the supply off";
        let reason = "resistance is measured here with the supply on".into();
        s.report(Code::LiveOhms, measure.place("function"), reason, help);
    }
    if measurement.points().is_none() && check.before.is_none() {
        let help = "say in `before` how the clamp is put round the wire: that is done with the supply off";
        s.report(Code::MissingField, s.at.clone(), "nothing says how the clamp gets there".into(), help);
    }
    if *energised != check.why_live.is_some() {
        let (reason, help) = if *energised {
            ("this live measurement does not say why it must be live", "add `why-live`, or measure it dead")
        } else {
            ("this measurement is not live but says why it must be", "take `why-live` out")
        };
        s.report(Code::LiveReason, s.place("why-live"), reason.into(), help);
    }
}

fn measurement(check: &Section, s: &Section, names: &Names) -> Option<Measurement> {
    let function = s.one_of("function", FUNCTIONS)?;
    let at = if function == Function::Amps {
        Site::Around { element: names.field(s, "element", "around"), wire: s.spoken("wire") }
    } else {
        Site::Across(names.field(s, "point", "from"), names.field(s, "point", "to"))
    };
    Some(Measurement {
        function,
        at,
        range: s.maybe_spoken("range"),
        most_ohms: s.maybe_number("most-ohms", 1.0, 1e9),
        lifts: names.list(check, "element", "lifts"),
    })
}

fn outcome(s: &Section) -> Outcome {
    let say = s.spoken_list("say");
    if let Some(first) = say.first().filter(|first| matches!(first.as_str(), "yes" | "no")) {
        let reason = format!("`{first}` is read back, and the answer to that could mean either");
        s.report(Code::Unspeakable, s.place("say"), reason, "begin with other words for it");
    }
    Outcome { name: s.word("name").text, say }
}

fn observation(s: &Section, names: &Names) -> Observation {
    let outcomes: Vec<Outcome> = s.some_sections("outcome").iter().map(outcome).collect();
    let probabilities = |s: &Section, field: &str| {
        let found = s.numbers(field);
        let sum: f64 = found.iter().sum();
        let sound =
            found.len() == outcomes.len() && found.iter().all(|p| *p > 0.0) && (sum - 1.0).abs() < 1e-6;
        if !sound && s.has(field) {
            let reason = format!("these are not probabilities of {} outcomes", outcomes.len());
            let help = "one for each outcome, in their order, above zero, with a sum of one";
            s.report(Code::NotProbabilities, s.place(field), reason, help);
        }
        found
    };
    let otherwise = probabilities(s, "otherwise");
    let given = s.entries("given").into_iter();
    let given =
        given.map(|(word, s)| (names.check::<FaultId>(&s, "fault", &word), probabilities(&s, &word.text)));
    let given = given.collect();
    Observation { question: s.spoken("question"), otherwise, given, outcomes }
}

fn provenance(s: &Section) -> Provenance {
    s.word("mark");
    s.one_of("provenance", PROVENANCE).unwrap_or(Provenance::ClassDefault)
}

fn gauge_of(s: &Section, names: &Names) -> Option<Gauge> {
    let given = s.entries("given").into_iter();
    let given =
        given.map(|(word, s)| (names.check::<FaultId>(&s, "fault", &word), s.bounds(&word.text))).collect();
    Some(Gauge {
        question: s.spoken("question"),
        otherwise: s.bounds("otherwise"),
        given,
        provenance: provenance(s),
        unit: s.one_of("unit", UNITS)?,
    })
}
