//! One finding beside what was expected, judged in words.

use crate::diagnose::Diagnosis;
use crate::diagnose::likelihood::value_in;
use crate::diagnose::verdict::Verdict;
use crate::id::{CheckId, ComplaintId, PointId};
use crate::model::appliance::{Appliance, Check, CheckKind, Function, Prediction, Provenance, Site};
use crate::quantity::Unit;
use crate::reading::{Finding, Reading};
use crate::record::job::{Found, Job, Standing};
use crate::record::report::figure::{as_said, range};
use crate::record::report::scale::Scale;
use crate::time::Timestamp;

/// One finding that stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Its number in the report, from 1.
    pub number: usize,
    /// When it was accepted.
    pub at: Timestamp,
    /// What was checked: "Element, end to end".
    pub title: String,
    /// How: "Ohms, element one to element two (unplugged)".
    pub how: Option<String>,
    /// What was found: "10.4 Ω", "OL", "yes".
    pub found: String,
    /// What a machine with nothing wrong shows: "10.2 to 11.9 Ω"; `None` if it is not known.
    pub expected: Option<String>,
    /// Where the expected value comes from, and what may be said of it.
    pub provenance: Option<Provenance>,
    /// What the finding says.
    pub verdict: Verdict,
    /// The drawing, for numbers.
    pub plot: Option<Plot>,
    /// The words heard.
    pub words: String,
    /// Probability of what was heard, in thousandths.
    pub permille: u16,
    /// What was first accepted for this check and then corrected or taken back, in order.
    pub earlier: Vec<Earlier>,
    /// How a live measurement was guarded; `None` for one with the supply off.
    pub live: Option<Live>,
}

/// A finding that no longer stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Earlier {
    /// What was found.
    pub found: String,
    /// The words heard.
    pub words: String,
    /// Was it corrected or taken back?
    pub standing: Standing,
}

/// How a live measurement was guarded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Live {
    /// The hazard was spoken, and this was answered.
    Acknowledged {
        /// The hazard as spoken.
        hazard: String,
        /// The words heard.
        words: String,
    },
    /// No acknowledgement is on record.
    NotOnRecord,
}

/// A reading, drawn on a line.
#[derive(Clone, Debug, PartialEq)]
pub struct Plot {
    /// The line.
    pub scale: Scale,
    /// What is expected.
    pub band: Band,
    /// What was read.
    pub mark: Mark,
}

/// What is expected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Band {
    /// Between two values.
    Between(f64, f64),
    /// More than the meter can show.
    Overload,
}

/// What was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Mark {
    /// A number, or zero for a beep.
    At(f64),
    /// More than the meter can show.
    Overload,
    /// Nothing that has a place on a line.
    Nowhere,
}

/// Every finding that stands, in the order accepted.
pub fn rows(job: &Job, appliance: Option<&Appliance>) -> Vec<Row> {
    // Without a complaint every cause has the same verdicts: they judge against nothing being wrong.
    let complaint = job.complaint.clone().unwrap_or_else(|| ComplaintId::from(""));
    let diagnosis = appliance.map(|appliance| {
        let mut diagnosis = Diagnosis::new(appliance, &complaint);
        diagnosis.evidence.touch(job.leads().map(Finding::Reading));
        diagnosis
    });
    job.findings()
        .enumerate()
        .map(|(index, found)| {
            let verdict = diagnosis.as_ref().and_then(|d| d.verdict(&found.check, &found.finding));
            row(index + 1, found, job, appliance, verdict.unwrap_or(Verdict::CannotTell))
        })
        .collect()
}

/// Findings taken back and not taken again.
pub fn withdrawn(job: &Job, appliance: Option<&Appliance>) -> Vec<String> {
    job.found
        .iter()
        .filter(|found| found.standing == Standing::Retracted && job.finding(&found.check).is_none())
        .map(|found| {
            let check = appliance.and_then(|appliance| appliance.check(&found.check));
            format!("{}: {}", super::check_title(&found.check, appliance), shown(&found.finding, check))
        })
        .collect()
}

fn row(number: usize, found: &Found, job: &Job, appliance: Option<&Appliance>, verdict: Verdict) -> Row {
    let known = appliance.and_then(|a| a.check(&found.check).map(|check| (a, check)));
    let check = known.map(|(_, check)| check);
    let good = known.map(|(appliance, check)| appliance.predict(check, None));
    Row {
        number,
        at: found.at,
        title: super::check_title(&found.check, appliance),
        how: known.map(|(appliance, check)| how(appliance, check)),
        found: shown(&found.finding, check),
        expected: check.zip(good.as_ref()).and_then(|(check, good)| expected(check, good)),
        provenance: good.as_ref().and_then(provenance),
        verdict,
        plot: check.zip(good.as_ref()).and_then(|(check, good)| plot(check, &found.finding, good)),
        words: found.words.clone(),
        permille: found.permille,
        earlier: earlier(&found.check, job, check),
        live: known.and_then(|(appliance, check)| live(appliance, check, found, job)),
    }
}

fn how(appliance: &Appliance, check: &Check) -> String {
    let state = appliance.state(&check.state).map(|state| format!(" ({})", state.name)).unwrap_or_default();
    let point = |id: &PointId| appliance.point_name(id);
    match &check.kind {
        CheckKind::Measure(measure) => {
            let function = match measure.function {
                Function::AcVolts => "AC volts",
                Function::LowImpedanceVolts => "AC volts at low impedance",
                Function::DcVolts => "DC volts",
                Function::Ohms => "Ohms",
                Function::Continuity => "Continuity",
                Function::Farads => "Capacitance",
                Function::Amps => "Clamp",
            };
            match &measure.at {
                Site::Across(from, to) => format!("{function}, {} to {}{state}", point(from), point(to)),
                Site::Around { wire, .. } => format!("{function}, {wire}{state}"),
            }
        }
        CheckKind::Observe(observation) => format!("{}{state}", observation.question),
        CheckKind::Gauge(gauge) => format!("{}{state}", gauge.question),
    }
}

/// A finding as people say it; a number that was said without its unit gets the check's.
fn shown(finding: &Finding, check: Option<&Check>) -> String {
    match (finding, check.map(|check| &check.kind)) {
        (Finding::Reading(Reading::Value(quantity)), Some(_)) => {
            check.and_then(unit).map_or_else(|| quantity.to_string(), |unit| as_said(*quantity, unit))
        }
        (Finding::Outcome(name), Some(kind)) => kind.outcome(name).to_owned(),
        _ => finding.to_string(),
    }
}

fn expected(check: &Check, good: &Prediction) -> Option<String> {
    match good {
        Prediction::Value { low, high, .. } => {
            unit(check).map(|unit| range(at_least_zero(*low, unit), *high, unit))
        }
        Prediction::Overload => Some("OL (no path)".to_owned()),
        Prediction::Outcomes(shares) => {
            let CheckKind::Observe(observation) = &check.kind else { return None };
            let likeliest = shares.iter().zip(&observation.outcomes).max_by(|a, b| a.0.total_cmp(b.0))?;
            Some(likeliest.1.say.first().unwrap_or(&likeliest.1.name).clone())
        }
    }
}

const fn provenance(good: &Prediction) -> Option<Provenance> {
    match good {
        Prediction::Value { provenance, .. } => Some(*provenance),
        Prediction::Overload | Prediction::Outcomes(_) => None,
    }
}

fn plot(check: &Check, finding: &Finding, good: &Prediction) -> Option<Plot> {
    let (unit, Finding::Reading(reading)) = (unit(check)?, finding) else { return None };
    let mark = match reading {
        Reading::Value(quantity) => value_in(*quantity, unit).map_or(Mark::Nowhere, Mark::At),
        Reading::Closed => Mark::At(0.0),
        Reading::Overload => Mark::Overload,
        Reading::Unstable => Mark::Nowhere,
    };
    let value = if let Mark::At(value) = mark { Some(value) } else { None };
    match good {
        Prediction::Value { low, high, .. } => {
            let (low, high) = (at_least_zero(*low, unit), *high);
            let scale = Scale::holding(Some((low, high)), value, unit);
            Some(Plot { scale, band: Band::Between(low, high), mark })
        }
        Prediction::Overload => {
            Some(Plot { scale: Scale::holding(None, value, unit), band: Band::Overload, mark })
        }
        Prediction::Outcomes(_) => None,
    }
}

fn earlier(id: &CheckId, job: &Job, check: Option<&Check>) -> Vec<Earlier> {
    job.found
        .iter()
        .filter(|found| {
            found.check == *id && matches!(found.standing, Standing::Corrected | Standing::Retracted)
        })
        .map(|found| Earlier {
            found: shown(&found.finding, check),
            words: found.words.clone(),
            standing: found.standing,
        })
        .collect()
}

fn live(appliance: &Appliance, check: &Check, found: &Found, job: &Job) -> Option<Live> {
    let energised = appliance.state(&check.state).is_some_and(|state| state.energised);
    if !energised || !matches!(check.kind, CheckKind::Measure(_)) {
        return None;
    }
    let given = found.acknowledged.and_then(|index| job.acknowledgements.get(index));
    Some(given.map_or(Live::NotOnRecord, |given| Live::Acknowledged {
        hazard: given.hazard.clone(),
        words: given.words.clone(),
    }))
}

/// The unit of a check's readings, without prefix; `None` for observations.
const fn unit(check: &Check) -> Option<Unit> {
    match &check.kind {
        CheckKind::Measure(measurement) => Some(measurement.function.unit()),
        CheckKind::Gauge(gauge) => Some(gauge.unit),
        CheckKind::Observe(_) => None,
    }
}

/// Tolerances reach below zero where nothing can be read.
fn at_least_zero(low: f64, unit: Unit) -> f64 {
    match unit {
        Unit::Ohms | Unit::Volts | Unit::Amps | Unit::Seconds | Unit::Psi => low.max(0.0),
        _ => low,
    }
}
